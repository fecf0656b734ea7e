// Quantities as people type them: a number, maybe with a unit, with a decimal
// point or comma; a text; yes or no. A refused value is returned with the
// reason and the correction.

import { blank } from "./flight.js";
import { clean, nearest, plain, siOf } from "./number.js";
import { asTyped, numberText, valueText } from "./words.js";

const refused = (why) => ({ why });

// readQuantity reads typed as a value of the given q: { v, typed } or { why }.
export function readQuantity(data, q, typed) {
  const text = typed.trim();
  if (text === "") return q.b ? { v: blank, typed: "" } : refused(`${q.n} needs a value`);
  const read = q.f === 2 ? readText(data, text) : q.f === 1 ? readTruth(q, text) : readNumber(data, q, text);
  return read.why ? read : admitted(data, q, read);
}

function readText(data, text) {
  const quoted = /^"(?:[^"]|"")*"$/.test(text);
  const plainText = quoted ? text.slice(1, -1).replaceAll('""', '"') : text;
  let at = data.texts.indexOf(plainText);
  if (at < 0) at = data.texts.push(plainText) - 1;
  return { v: at, typed: quoteText(plainText) };
}

const quoteText = (text) => `"${text.replaceAll('"', '""')}"`;

function readTruth(q, text) {
  const word = text.toLowerCase();
  if (word === "yes" || word === "no") return { v: word === "yes" ? 1 : 0, typed: word };
  return refused(`${q.n} is yes or no`);
}

const numberForm = /^([+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(\S*)$/;

function readNumber(data, q, typed) {
  const text = typed.replace(/^\u2212/, "-");
  const found = numberForm.exec(text);
  const unit = data.units[q.u];
  if (!found) return refused(`${JSON.stringify(typed)} is not a number${unit?.s ? ` with or without a unit, as in 12.5 ${unit.s}` : ""}`);
  const number = found[1]
    .replace(",", ".")
    .replace(/^([+-]?)\./, "$10.")
    .replace(/\.(?=$|e|E)/, "");
  const from = found[2] === "" ? unit : unitNamed(unit, found[2]);
  if (!from && found[2] !== "") return refused(unknownUnit(q, unit, found[2]));
  const v = siOf(from, Number(number));
  if (!Number.isFinite(v)) return refused("this number is too large to compute with");
  return { v, typed: found[2] === "" ? number : `${number} ${found[2]}` };
}

function unitNamed(unit, symbol) {
  if (!unit) return null;
  if (unit.s === symbol) return unit;
  return (unit.reads ?? []).find((u) => u.s === symbol) ?? null;
}

function unknownUnit(q, unit, symbol) {
  const known = [unit?.s, ...(unit?.reads ?? []).map((u) => u.s)].filter((s) => s && s !== "1").slice(0, 8);
  if (known.length === 0) return `${q.n} has no unit: type the number alone`;
  const other = "gearleaf change takes every other unit of its kind";
  return `${q.n} cannot be in ${JSON.stringify(symbol)} on this page: type ${known.join(", ")}, or the number alone; ${other}`;
}

const near = (a, b) => Math.abs(a - b) <= 1e-12 * Math.max(Math.abs(a), Math.abs(b));

// admitted checks a value against the sheet's declaration of its given.
function admitted(data, q, read) {
  if (q.w && !near(read.v, nearest(read.v))) return refused(`${q.n} comes in whole ${data.units[q.u].s} only`);
  if (!q.c || q.c.some((c) => c === read.v || ((q.f ?? 0) === 0 && near(c, read.v)))) return read;
  return refused(`${q.n} can be ${listed(q.c.map((c) => choiceText(data, q, c)))}; ${choiceText(data, q, read.v)} is not among them`);
}

const choiceText = (data, q, v) => (q.f === 2 ? quoteText(data.texts[v]) : valueText(data, q, v));

function listed(words) {
  if (words.length < 2) return words.join("");
  return `${words.slice(0, -1).join(", ")} or ${words[words.length - 1]}`;
}

// outside says that a value is outside the sheet's range; empty if it is
// not. The tool computes it, with an advice; a page refuses it.
export function outside(data, q, v) {
  if (!q.r || v === blank || (q.r[0] <= v && v <= q.r[1])) return "";
  if (near(v, q.r[0]) || near(v, q.r[1])) return "";
  return `the sheet has ${q.n} from ${numberText(data, q, q.r[0])} to ${valueText(data, q, q.r[1])}`;
}

// typedOf writes a value as it would be typed; the text reads back as the same
// value if the sheet's own text could express it.
export function typedOf(data, q, v) {
  if (v === blank) return "";
  if (q.f === 2) return quoteText(data.texts[v]);
  if (q.f === 1) return v === 0 ? "no" : "yes";
  const number = clean(data.units[q.u], v);
  return asTyped(data, q, number) ?? plain(number);
}
