// numbers.mjs DIR: writes numbers as the page does. Standard input has a line a
// number, the bits of the number and of the step.
import { readFileSync } from "node:fs";

const { formatNumber, general, numberOf } = await import(new URL(`../${process.argv[2]}/number.js`, import.meta.url));
const out = [];
for (const line of readFileSync(0, "utf8").split("\n").filter(Boolean)) {
  const [v, step] = line.split(" ").map((bits) => numberOf(BigInt(`0x${bits}`)));
  out.push(`${formatNumber(v, step)} ${general(v)}\n`);
}
process.stdout.write(out.join(""));
