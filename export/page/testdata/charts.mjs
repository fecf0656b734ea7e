// charts.mjs DIR: draws charts as the page does, a line each. Standard input has
// them as JSON; null stands for no value.
import { readFileSync } from "node:fs";

const { drawn } = await import(new URL(`../${process.argv[2]}/chart.js`, import.meta.url));
const value = (v) => v ?? Number.NaN;
for (const chart of JSON.parse(readFileSync(0, "utf8"))) {
  for (const s of chart.series) Object.assign(s, { x: s.x.map(value), y: s.y.map(value) });
  process.stdout.write(`${drawn(chart, ...chart.size)}\n`);
}
