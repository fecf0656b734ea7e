// Values and verdicts in words, as the tool has them.

import { isBlank, isFault } from "./kernel.js";
import { clean, formatNumber, formatTyped, withSymbol } from "./number.js";

// numberText returns a value without its unit; it must not be a fault.
export function numberText(data, q, v) {
  if (isBlank(v)) return "";
  if (q.f === 2) return data.texts[v] ?? "";
  if (q.f === 1) return v === 0 ? "no" : "yes";
  const number = clean(data.units[q.u], v);
  return q.g && !q.to ? formatTyped(number) : formatNumber(number, q.to ?? 0);
}

// valueText returns a value with its unit; it must not be a fault.
export function valueText(data, q, v) {
  const number = numberText(data, q, v);
  return (q.f ?? 0) === 0 && number !== "" ? withSymbol(number, data.units[q.u]) : number;
}

// faultText says why a value is a fault.
export function faultText(f) {
  return f.waitsOn ? `waits on ${f.origin}: ${f.cause}` : f.cause;
}

// originText names where a fault began.
export function originText(f) {
  return f.row < 0 ? f.origin : `${f.origin}[${f.row + 1}]`;
}

// labelOf returns what people call a quantity.
export function labelOf(q) {
  return q.l || q.n;
}

const limitWords = { kept: "kept", broken: "BROKEN", advised: "advice", waiting: "waits" };

export const limitWord = (state) => limitWords[state];

// limitState returns how a limit stands.
export function limitState(limit, value) {
  if (value === 1) return "kept";
  if (value !== 0) return "waiting";
  return limit.a ? "advised" : "broken";
}

// limitNumbers returns a limit's condition with values put in; row is the one
// that it is about.
export function limitNumbers(data, values, limit, row) {
  return limit.p.map((p) => (typeof p === "string" ? p : wordAt(data, values, p, row))).join("");
}

function wordAt(data, values, place, row) {
  if (place.c !== undefined) return word(data, data.cells[place.c], values.cells[place.c]);
  const q = data.columns[place.k];
  const v = columnValue(data, values, place, row);
  if (place.r === -8) return formatTyped(v);
  return word(data, place.r === -7 ? { ...q, g: false } : q, v);
}

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

function word(data, q, v) {
  if (v === undefined || isBlank(v)) return "blank";
  if (isFault(v)) return "fault";
  const text = valueText(data, q, v);
  if (q.f === 2) return `"${text.replaceAll('"', '""')}"`;
  return text.startsWith("-") ? `(${text})` : text;
}

// limitText is the condition of a limit, and the same with values put in.
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
  return `${head}: ${limitNumbers(data, values, limit, row)}`;
}

// counted returns "1 limit broken", "3 limits broken"; nothing for 0.
const counted = (n, one, many) => (n === 0 ? [] : [n === 1 ? `1 ${one}` : `${n} ${many}`]);

// verdictText sums up limits, faults and advices: a text, and whether
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
