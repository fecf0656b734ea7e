// numbers.mjs DIR: writes numbers as the page does. Standard input has a line a
// number: the bits of the number, of the step, and of a number that it is
// compared with, and 1 if that was typed.
import { readFileSync } from "node:fs";

const { decimalsBeside, formatDecimals, formatNumber, general, numberOf } = await import(
  new URL(`../${process.argv[2]}/number.js`, import.meta.url)
);
const out = [];
for (const line of readFileSync(0, "utf8").split("\n").filter(Boolean)) {
  const [v, step, other] = line.split(" ", 3).map((bits) => numberOf(BigInt(`0x${bits}`)));
  const places = decimalsBeside(v, step, other, step, line.endsWith(" 1"));
  out.push(`${formatNumber(v, step)} ${general(v)} ${places} ${places < 0 ? "" : formatDecimals(v, places, step)}\n`);
}
process.stdout.write(out.join(""));
