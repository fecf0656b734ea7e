// Values and verdicts in words, as in the tool.

import { isBlank, isFault, isNumber } from "./flight.js";
import { clean, decimalsBeside, formatDecimals, formatGiven, formatNumber, formatTyped, nearest, siOf, withSymbol } from "./number.js";

// numberText returns a value without its unit; it must not be a fault.
export function numberText(data, q, v) {
  if (isBlank(v)) return "";
  if (q.f === 2) return data.texts[v] ?? "";
  if (q.f === 1) return v === 0 ? "no" : "yes";
  const number = clean(data.units[q.u], v);
  if (!q.g) return formatNumber(number, q.to ?? 0);
  return asTyped(data, q, number) ?? formatGiven(number, q.to ?? 0);
}

// asTyped returns the digits with which the worksheet has a number of a given;
// undefined where they are those that the number has.
export function asTyped(data, q, number) {
  if (!q.ty) return undefined;
  const unit = data.units[q.u];
  q.typed ??= new Map(q.ty.map((text) => [clean(unit, siOf(unit, Number(text))), text]));
  return q.typed.get(number);
}

// valueText returns a value with its unit; it must not be a fault.
export function valueText(data, q, v) {
  const number = numberText(data, q, v);
  return (q.f ?? 0) === 0 && number !== "" ? withSymbol(number, data.units[q.u]) : number;
}

// faultText describes why a value is a fault.
export function faultText(f) {
  return f.waitsOn ? `waits on ${f.origin}: ${f.cause}` : f.cause;
}

// originText names the origin of a fault.
export function originText(f) {
  return f.row < 0 ? f.origin : `${f.origin}[${f.row + 1}]`;
}

// labelOf returns the name of a quantity for people.
export function labelOf(q) {
  return q.l || q.n;
}

const limitWords = { kept: "kept", broken: "BROKEN", advised: "advice", waiting: "waits" };

export const limitWord = (state) => limitWords[state];

// limitState returns the state of a limit.
export function limitState(limit, value) {
  if (value === 1) return "kept";
  if (value !== 0) return "waiting";
  return limit.a ? "advised" : "broken";
}

// limitNumbers returns a limit's condition with values; row is the row that it
// is about. A list of two texts has the second one for a broken limit.
function limitNumbers(data, values, limit, row, kept) {
  const parts = limit.p.map((p) => (Array.isArray(p) ? p[kept ? 0 : 1] : p));
  const found = parts.map((p) => (typeof p === "string" ? null : partValue(data, values, p, row)));
  const texts = parts.map((p, i) => (found[i] ? word(data, found[i]) : p));
  setApart(data, found, texts, limit.q ?? []);
  return texts.join("");
}

// partValue returns the quantity and the value at a part's place: { q, v }, or
// a text if there is no such row. Part of a compared number, it has all its digits.
function partValue(data, values, place, row) {
  const part = valueAt(data, values, place, row);
  return place.f && part.q && !part.q.g ? { ...part, q: { ...part.q, to: 0 } } : part;
}

function valueAt(data, values, place, row) {
  if (place.c !== undefined) return { q: data.cells[place.c], v: values.cells[place.c] };
  const q = data.columns[place.k];
  if (place.x === undefined) return columnPart(q, columnValue(data, values, place, row), place.r);
  const at = values.cells[place.x];
  const table = data.tables[q.t];
  const r = nearest(at) - 1;
  if (r >= 0 && r < table.r) return { q, v: values.columns[place.k][r] };
  return { text: `${table.n}.${q.n}[${word(data, { q: data.cells[place.x], v: at })}]` };
}

// columnPart is an aggregate of a column: a mean is shown as a computed value,
// and a count is not a quantity.
function columnPart(q, v, r) {
  if (r === -8) return { text: formatTyped(v) };
  return { q: r === -7 ? { ...q, g: false } : q, v };
}

// setApart writes compared numbers so that their texts compare as they do.
function setApart(data, found, texts, pairs) {
  const places = texts.map(() => -1);
  for (const pair of pairs) {
    const [a, b] = pair.map((side) => sideOf(data, found, side));
    if (!a || !b) continue;
    for (const [one, other] of [
      [a, b],
      [b, a],
    ]) {
      if (one.typed) continue;
      const step = one.unit?.s === other.unit?.s ? other.step : 0;
      const more = decimalsBeside(clean(one.unit, one.v), one.step, clean(one.unit, other.v), step, other.typed);
      if (more < 0 || more < places[one.part]) continue;
      places[one.part] = more;
      texts[one.part] = signed(withSymbol(formatDecimals(clean(one.unit, one.v), more, one.step), one.unit));
    }
  }
}

// sideOf returns a compared number as shown; null if there is none.
function sideOf(data, found, side) {
  if (typeof side !== "number") {
    const unit = data.units[side[1]];
    return { v: siOf(unit, side[0]), unit, step: 0, typed: true };
  }
  const { q, v } = found[side];
  if (!q || !isNumber(v)) return null;
  const unit = data.units[q.u];
  const step = q.to ?? 0;
  const number = clean(unit, v);
  return { part: side, v, unit, step, typed: q.g && formatGiven(number, step) === formatTyped(number) };
}

const signed = (text) => (text.startsWith("-") ? `(${text})` : text);

function columnValue(data, values, { k, r }, row) {
  const entries = values.columns[k];
  if (r === -1) return entries[row];
  if (r >= 0) return entries[r];
  const { live } = values.spans[data.columns[k].t];
  const seen = entries.slice(0, live).filter((v) => !isBlank(v));
  if (r <= -6) {
    const sum = seen.reduce((a, b) => a + b, 0);
    return r === -8 ? seen.length : r === -7 ? sum / seen.length : sum;
  }
  if (r === -2) return seen[0];
  if (r === -3) return seen[seen.length - 1];
  return seen.reduce((a, b) => ((r === -4 ? b > a : b < a) ? b : a), seen[0]);
}

function word(data, { q, v, text }) {
  if (text !== undefined) return text;
  if (v === undefined || isBlank(v)) return "blank";
  if (isFault(v)) return "fault";
  const shown = valueText(data, q, v);
  return q.f === 2 ? `"${shown.replaceAll('"', '""')}"` : signed(shown);
}

// limitText is the condition of a limit, and the same with values.
export function limitText(data, values, at, explain) {
  const limit = data.limits[at];
  const [value, row] = values.limits[at];
  const state = limitState(limit, value);
  if (state === "waiting") {
    const f = isFault(value) ? explain(at) : null;
    return f ? `${limit.t}; waits on ${originText(f)}` : limit.t;
  }
  if (limit.tb >= 0 && state === "kept") return `${limit.t}, in every row`;
  const head = limit.tb >= 0 && row >= 0 ? `${limit.t}, row ${row + 1}` : limit.t;
  return `${head}: ${limitNumbers(data, values, limit, row, state === "kept")}`;
}

// counted returns "1 limit broken", "3 limits broken"; nothing for 0.
const counted = (n, one, many) => (n === 0 ? [] : [n === 1 ? `1 ${one}` : `${n} ${many}`]);

// verdictText summarises limits, faults and advices: a text, and whether
// something is wrong.
export function verdictText(counts) {
  const bad = [
    ...counted(counts.broken, "limit broken", "limits broken"),
    ...counted(counts.faults, "fault", "faults"),
    ...counted(counts.waiting, "limit waits", "limits wait"),
  ];
  const kept = bad.length === 0 && counts.kept > 0 ? ["No limit broken"] : [];
  const all = [...bad, ...kept, ...counted(counts.advised, "advice", "advices")];
  return { bad: bad.length > 0, text: all.join(" · ") || "Nothing broken; the sheet has no limits" };
}
