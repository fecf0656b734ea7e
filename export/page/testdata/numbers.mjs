// numbers.mjs DIR: writes numbers as the page does. Standard input has a line a
// number: the bits of the number, of the step, and of a number to distinguish it
// from.
import { readFileSync } from "node:fs";

const { formatApart, formatNumber, general, numberOf } = await import(new URL(`../${process.argv[2]}/number.js`, import.meta.url));
const out = [];
for (const line of readFileSync(0, "utf8").split("\n").filter(Boolean)) {
  const [v, step, other] = line.split(" ").map((bits) => numberOf(BigInt(`0x${bits}`)));
  out.push(`${formatNumber(v, step)} ${general(v)} ${formatApart(v, other).join(" ")}\n`);
}
process.stdout.write(out.join(""));
