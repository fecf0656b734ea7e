// tree.mjs DIR FILE...: compares the script's own evaluator with the tool, in
// node: each FILE.html with FILE.json beside it. DIR holds the scripts.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { gunzipSync } from "node:zlib";
import { compare } from "./compare.mjs";

const [dir, ...names] = process.argv.slice(2);
const { Sheet } = await import(pathToFileURL(`${dir}/sheet.js`));
const { doorOf } = await import(pathToFileURL(`${dir}/door.js`));
let failed = 0;
for (const name of names) {
  const html = readFileSync(`${name}.html`, "utf8");
  const packed = (id) => gunzipSync(Buffer.from(new RegExp(`id="${id}">(.*?)</script>`, "s").exec(html)[1], "base64url"));
  const sheet = await new Sheet().start(JSON.parse(packed("page-data").toString()), packed("page-code"));
  for (const line of compare(doorOf(sheet), JSON.parse(readFileSync(`${name}.json`, "utf8")))) {
    console.log(`${name}: ${line}`);
    failed += 1;
  }
}
process.exitCode = failed > 0 ? 1 : 0;
