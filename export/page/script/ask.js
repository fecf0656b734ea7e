// Questions to the sheet: one given over a range, and the value of a given for
// a wanted result.

import { drawn } from "./chart.js";
import { button, labelled, make, section, selection } from "./element.js";
import { isNumber } from "./flight.js";
import { nearest, shownIn, siOf } from "./number.js";
import { outside, readQuantity, typedOf } from "./quantity.js";
import { labelOf, numberText, valueText } from "./words.js";

const steps = 20;

const isNumeric = (q) => (q.f ?? 0) === 0;

// Asker has the givens and results for questions.
class Asker {
  constructor(sheet) {
    this.sheet = sheet;
    const names = [...sheet.places].filter(([, p]) => p.cell !== undefined && isNumeric(p.q));
    this.givens = names.filter(([, p]) => p.q.g).map(([name, p]) => [name, labelOf(p.q)]);
    this.results = names.filter(([, p]) => !p.q.g).map(([name, p]) => [name, labelOf(p.q)]);
  }

  // bounds returns the range of a given for a search.
  bounds(place) {
    const { q } = place;
    if (q.c) return [Math.min(...q.c), Math.max(...q.c)];
    if (q.r) return q.r;
    const v = this.sheet.valueIn(this.sheet.givens, place);
    return v < 0 ? [v * 1.5, v * 0.5] : v > 0 ? [v * 0.5, v * 1.5] : [-1, 1].map((n) => siOf(this.sheet.data.units[q.u], n));
  }

  // stops returns the values that are tried between two bounds.
  stops(place, low, high) {
    const { q } = place;
    if (q.c) return q.c.filter((v) => low <= v && v <= high).sort((a, b) => a - b);
    const all = Array.from({ length: steps + 1 }, (_, i) => low + ((high - low) * i) / steps);
    return q.w ? [...new Set(all.map(nearest))] : all;
  }

  // result returns the value of a cell with one given at a value.
  result(place, v, cell) {
    const changes = [...this.sheet.changes.values(), { place, v }];
    return this.sheet.engine.cell(this.sheet.givensWith(changes), cell);
  }

  // typed reads a bound; it throws the reason if it is refused.
  typed(place, field, otherwise) {
    if (field.value.trim() === "") return otherwise;
    const read = readQuantity(this.sheet.data, { ...place.q, c: undefined }, field.value);
    if (read.why) throw new Error(read.why);
    return read.v;
  }
}

const choose = (label, choices) => {
  const list = selection(choices, choices[0][0]);
  return [labelled(label, list), list];
};

const keypad = (label, placeholder = "") => {
  const field = make("input", { type: "text", inputMode: "decimal", autocomplete: "off", placeholder });
  return [labelled(label, field), field];
};

// attempt runs an action and shows an error that it throws.
const attempt = (answer, action) => () => {
  try {
    action();
  } catch (error) {
    answer.replaceChildren(make("p", { className: "refused", textContent: `Not taken: ${error.message}.` }));
  }
};

// askParts returns the parts of the page for questions.
export function askParts(sheet) {
  const asker = new Asker(sheet);
  if (asker.givens.length === 0 || asker.results.length === 0) return [];
  return [sweepPart(asker), solvePart(asker)];
}

function sweepPart(asker) {
  const { sheet } = asker;
  const [byLabel, by] = choose("Given", asker.givens);
  const [ofLabel, of] = choose("Result", asker.results);
  const [fromLabel, from] = keypad("From (its range, if empty)");
  const [toLabel, to] = keypad("To");
  const answer = make("div", { role: "status" });
  const run = () => {
    const place = sheet.place(by.value);
    const result = sheet.place(of.value);
    const [low, high] = asker.bounds(place);
    const stops = asker.stops(place, asker.typed(place, from, low), asker.typed(place, to, high));
    if (stops.length === 0) throw new Error("there is no value between these two");
    const found = stops.map((v) => [v, asker.result(place, v, result.cell)]);
    answer.replaceChildren(sweepChart(sheet, place, result, found), sweepTable(sheet, place, result, found));
  };
  return section(
    "One given over a range",
    byLabel,
    fromLabel,
    toLabel,
    ofLabel,
    make("p", { className: "buttons" }, button("Try it", attempt(answer, run), { className: "main" })),
    answer,
  );
}

const axisText = (data, q) => {
  const unit = data.units[q.u]?.s;
  return unit && unit !== "1" ? `${labelOf(q)}, ${unit}` : labelOf(q);
};

function sweepChart(sheet, place, result, found) {
  const { data } = sheet;
  const shown = (q, v) => (isNumber(v) ? shownIn(data.units[q.u], v) : Number.NaN);
  const chart = {
    title: `${labelOf(result.q)} by ${labelOf(place.q)}`,
    axes: [axisText(data, place.q), axisText(data, result.q)],
    places: null,
    series: [{ name: labelOf(result.q), x: found.map(([v]) => shown(place.q, v)), y: found.map(([, v]) => shown(result.q, v)) }],
  };
  const figure = make("figure");
  const width = Math.min(Math.max(document.documentElement.clientWidth - 32, 280), 760);
  // The text is made by drawn, which escapes every text of the sheet.
  figure.innerHTML = drawn(chart, width, width < 500 ? 300 : 420);
  return figure;
}

function sweepTable(sheet, place, result, found) {
  const { data } = sheet;
  const head = make("tr", {}, ...[place.q, result.q].map((q) => make("th", { scope: "col", textContent: axisText(data, q) })));
  const rows = found.map(([v, r]) =>
    make(
      "tr",
      {},
      make("th", { scope: "row", textContent: numberText(data, place.q, v) }),
      make("td", { textContent: Number.isNaN(r) ? "fault" : numberText(data, result.q, r) }),
    ),
  );
  return make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows));
}

function solvePart(asker) {
  const { sheet } = asker;
  const [ofLabel, of] = choose("Result", asker.results);
  const [goalLabel, goal] = keypad("is to be");
  const [byLabel, by] = choose("by changing", asker.givens);
  const answer = make("div", { role: "status" });
  const run = () => {
    const place = sheet.place(by.value);
    const result = sheet.place(of.value);
    const read = readQuantity(sheet.data, { ...result.q, b: false }, goal.value);
    if (read.why) throw new Error(read.why);
    const found = solve(asker, place, result, read.v);
    const items = found.values.map((v) => solution(asker, place, result, v));
    answer.replaceChildren(make("p", { textContent: found.text }), make("ul", { className: "list" }, ...items));
  };
  return section(
    "What do I need?",
    ofLabel,
    goalLabel,
    byLabel,
    make("p", { className: "buttons" }, button("Find it", attempt(answer, run), { className: "main" })),
    answer,
  );
}

// solve looks for values of the given at place at which the result has a value:
// { values, text }.
function solve(asker, place, result, goal) {
  const { data } = asker.sheet;
  const [low, high] = asker.bounds(place);
  const stops = asker.stops(place, low, high);
  const off = (v) => asker.result(place, v, result.cell) - goal;
  const tried = stops.map((v) => [v, off(v)]).filter(([, d]) => isNumber(d));
  const between = `${numberText(data, place.q, low)} and ${valueText(data, place.q, high)}`;
  const target = valueText(data, result.q, goal);
  if (tried.length === 0) return { values: [], text: `Between ${between} the result cannot be computed.` };
  const crossings = tried.flatMap(([v, d], i) =>
    i > 0 && d !== 0 && tried[i - 1][1] !== 0 && d > 0 !== tried[i - 1][1] > 0 ? [[tried[i - 1][0], v]] : [],
  );
  const exact = tried.filter(([, d]) => d === 0).map(([v]) => v);
  if (place.q.c || place.q.w) {
    const values = exact.length > 0 ? exact : [...new Set(crossings.flat())];
    if (values.length > 0)
      return { values, text: exact.length > 0 ? `${target} is reached at:` : `None gives ${target} exactly; it lies between these:` };
  } else if (exact.length + crossings.length > 0) {
    const values = [...exact, ...crossings.map(([a, b]) => root(off, a, b))].sort((a, b) => a - b);
    return { values, text: `${target} is reached at:` };
  }
  const closest = tried.reduce((best, t) => (Math.abs(t[1]) < Math.abs(best[1]) ? t : best));
  return { values: [closest[0]], text: `No value between ${between} gives ${target}; the nearest:` };
}

// root bisects an interval at whose ends off has different signs.
function root(off, from, to) {
  let [a, b] = [from, to];
  const rising = off(b) > 0;
  for (let i = 0; i < 60 && Math.abs(b - a) > 1e-12 * Math.max(Math.abs(a), Math.abs(b)); i++) {
    const middle = (a + b) / 2;
    if (off(middle) > 0 === rising) b = middle;
    else a = middle;
  }
  return (a + b) / 2;
}

function solution(asker, place, result, v) {
  const { sheet } = asker;
  const short = place.q.c || place.q.w ? v : sixDigits(sheet.data, place.q, v);
  const text = `${valueText(sheet.data, place.q, short)}: ${valueText(sheet.data, result.q, asker.result(place, short, result.cell))}`;
  const why = outside(sheet.data, place.q, short);
  const take = button("Take it", () => sheet.set(place.q.n, typedOf(sheet.data, place.q, short)), {
    "aria-label": `Set ${place.q.n} to ${typedOf(sheet.data, place.q, short)}`,
  });
  return make("li", { className: "answer" }, take, make("span", { textContent: why ? `${text} (${why})` : text }));
}

// sixDigits rounds a value to digits that somebody would type.
function sixDigits(data, q, v) {
  const unit = data.units[q.u];
  return siOf(unit, Number(shownIn(unit, v).toPrecision(6)));
}
