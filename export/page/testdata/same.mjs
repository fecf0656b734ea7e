// same.mjs DIR FILE...: holds the page's scripts to the tool in node, without a
// browser: each FILE.html with FILE.json beside it. DIR holds the scripts.
import { readFileSync } from "node:fs";
import { compare } from "./compare.mjs";
import { loaded } from "./load.mjs";

const [dir, ...names] = process.argv.slice(2);
const { doorOf } = await import(new URL(`../${dir}/door.js`, import.meta.url));
let failed = 0;
for (const name of names) {
  const sheet = await loaded(dir, `${name}.html`);
  for (const line of compare(doorOf(sheet), JSON.parse(readFileSync(`${name}.json`, "utf8")))) {
    console.log(`${name}: ${line}`);
    failed += 1;
  }
}
process.exit(failed > 0 ? 1 : 0);
