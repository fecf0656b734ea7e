// Why a value is a fault: the walk of sheet/program's explainer, with the same
// texts. A place is a cell, an entry of a column, the until of a table or a
// limit.

import { atLeast, blank, isFault, isNumber, rowOf, same } from "./flight.js";
import { argument, clean, fixed, formatNumber, general, nearest, withSymbol } from "./number.js";
import { Tracer } from "./trace.js";

const tooLarge = "the result is too large for a number";
const aggregates = ["", "sum", "mean", "min", "max", "count", "first", "last"];

// Numbers of kernel.LookupForm: those from slope on are statistics of a
// straight line.
const forms = { firstAt: 4, pick: 5, slope: 6, freedom: 12 };

// States of points in the module.
const [empty, turning, still] = [2, 3, 4];

export const cellPlace = (at) => ({ kind: "cell", at, row: -1 });
export const entryPlace = (at, row) => ({ kind: "column", at, row });
const untilPlace = (at) => ({ kind: "until", at, row: -1 });

// Explainer walks the faults of values that an engine has computed. It calls
// the module's functions through the engine.
export class Explainer {
  constructor(engine) {
    this.engine = engine;
    this.data = engine.data;
    this.functions = this.data.functions;
    this.known = new Map();
  }

  // load sets the values, which are also those in the module's memory.
  load(values) {
    this.known.clear();
    this.values = values;
  }

  // explain returns why the value at a place is a fault.
  explain(start) {
    const { next, cause } = this.step(start);
    if (!next) return this.found(start, cause);
    const origin = this.origin(next);
    return { ...origin, waitsOn: this.name(next) };
  }

  // origin walks from a faulty place to the origin of its fault. Results are
  // cached, because many values depend on one origin.
  origin(from) {
    const walk = [];
    let at = from;
    let found = null;
    while (!found) {
      const key = `${at.kind} ${at.at} ${at.row}`;
      found = this.known.get(key) ?? null;
      if (found) break;
      walk.push(key);
      const { next, cause } = this.step(at);
      if (!next) found = this.found(at, cause);
      else at = next;
    }
    for (const key of walk) this.known.set(key, found);
    return found;
  }

  // explainLimit returns what a limit waits on.
  explainLimit(at, table, row) {
    const place = { kind: "limit", at, row };
    if (table < 0) return this.explain(place);
    const span = this.values.spans[table];
    const live = span.broken < 0 ? span.live : span.broken;
    if (row >= 0 && row < live) return this.explain(place);
    const f = this.explain(untilPlace(table));
    return { ...f, waitsOn: f.waitsOn || f.origin };
  }

  found(at, cause) {
    let row = at.kind === "column" ? at.row : -1;
    if (at.kind === "until") row = this.values.spans[at.at].broken;
    return { origin: this.name(at), row, cause, waitsOn: "" };
  }

  name({ kind, at }) {
    const { data } = this;
    if (kind === "cell") return data.cells[at].n;
    if (kind === "column") return this.columnName(at);
    if (kind === "until") return data.tables[at].x ? data.tables[at].n : `until of ${data.tables[at].n}`;
    return data.limits[at].t;
  }

  columnName(at) {
    const c = this.data.columns[at];
    return `${this.data.tables[c.t].n}.${c.n}`;
  }

  // step returns the faulty place that a place waits on, or the cause if the
  // fault began at it.
  step(at) {
    const { data } = this;
    if (at.kind === "cell") {
      const c = data.cells[at.at];
      return c.g ? { cause: "its value could not be read" } : this.follow(c.e, at.row);
    }
    if (at.kind === "column") return this.stepColumn(at, data.columns[at.at]);
    if (at.kind === "until") return this.stepUntil(at, data.tables[at.at]);
    return this.follow(data.limits[at.at].e, at.row);
  }

  stepColumn({ at, row }, c) {
    const table = this.data.tables[c.t];
    if (c.g) return { cause: table.x || "its value could not be read" };
    const { broken } = this.values.spans[c.t];
    const begun = c.lo && row === broken && isFault(this.own(at, row));
    if (broken >= 0 && row >= broken && !begun) return { next: untilPlace(c.t) };
    return this.follow(row === 0 && c.st ? c.st : c.e, row);
  }

  stepUntil({ at }, table) {
    const { broken } = this.values.spans[at];
    if (table.x) return { cause: table.x };
    if (broken < 0) return { cause: `${table.n} never ends: its until does not hold in any of its ${table.r} rows` };
    return this.follow(table.u, broken);
  }

  // --- what a tracer reads

  cell(at) {
    return this.values.cells[at];
  }

  // own returns the entry of the computed row, as it was then: in the row in
  // which until was a fault, a fault replaces it.
  own(column, row) {
    const c = this.data.columns[column];
    const entries = this.values.columns[column];
    return c.lo && row === this.values.spans[c.t].broken ? entries.raw : this.entry(column, row);
  }

  // entry returns an entry of another row, a blank above the first.
  entry(column, row) {
    return this.values.columns[column][row] ?? blank;
  }

  next(column, row) {
    const { live } = this.values.spans[this.data.columns[column].t];
    return row + 1 < live ? this.entry(column, row + 1) : blank;
  }

  reduce(column, how) {
    return this.entries(column) ? this.engine.reduce(column, how) : Number.NaN;
  }

  index(column, v) {
    return this.entries(column) ? this.engine.index(column, v) : Number.NaN;
  }

  look(at, x) {
    return this.engine.look(at, x);
  }

  power(a, b) {
    return this.engine.module.Pow(a, b);
  }

  intrinsic(at, count) {
    const { o, t } = this.data.intrinsics[at];
    return this.engine.module[count === 1 ? o : t];
  }

  // entries returns a column from its first row to its last live one; null if
  // its table has no end.
  entries(column) {
    const { t } = this.data.columns[column];
    const { live, ended } = this.values.spans[t];
    return this.data.tables[t].x || !ended ? null : this.values.columns[column].slice(0, live);
  }

  // follow goes from a faulty formula to the operation whose operands are not
  // faults, or to the place that it read.
  follow(text, row) {
    let at = new Tracer(this, row).trace(text);
    for (;;) {
      const down = at.args.find((a) => isFault(a.v));
      if (!down) return this.source(at, row);
      at = down;
    }
  }

  // source returns the source of a fault without faulty operands.
  source(traced, row) {
    const { op, at, inside } = traced;
    if (op === "c") return { next: cellPlace(at) };
    if (op === "h") return { next: entryPlace(at, row) };
    if (op === "p") return { next: entryPlace(at, row - 1) };
    if (op === "n") return { next: entryPlace(at, row + 1) };
    const next = this.faultyColumn(traced);
    if (next) return { next };
    const cause = this.cause(traced);
    return { cause: inside && op !== "k" ? `${cause} (in ${inside})` : cause };
  }

  // faultyColumn returns the place in a column that an operation on whole
  // columns waits on; null if there is none.
  faultyColumn({ op, at, args }) {
    if (op === "g") return this.faulty(at);
    if (op === "x") return this.faultyIndex(at, args[0].v);
    if (op !== "l") return null;
    const { x, y } = this.data.curves[at];
    return this.faulty(x) ?? this.faulty(y);
  }

  faulty(column) {
    const entries = this.entries(column);
    if (!entries) return untilPlace(this.data.columns[column].t);
    const row = entries.findIndex(isFault);
    return row < 0 ? null : entryPlace(column, row);
  }

  faultyIndex(column, v) {
    const entries = this.entries(column);
    if (!entries) return untilPlace(this.data.columns[column].t);
    const row = rowOf(v, entries.length);
    return row >= 0 && isFault(entries[row]) ? entryPlace(column, row) : null;
  }

  // cause describes why an operation on its operands is a fault.
  cause({ op, at, more, args }) {
    const [a, b] = args.map((v) => v.v);
    switch (op) {
      case "+":
      case "-":
      case "*":
        return tooLarge;
      case "/":
        return b === 0 ? "division by zero" : tooLarge;
      case "^":
        return powCause(a, b);
      case "g":
        return this.reduceCause(at, more);
      case "x":
        return this.indexCause(a, at);
      case "l":
        return this.lookCause(at, a);
      case "i":
        return intrinsicCause(this.data.intrinsics[at], b === undefined ? [a] : [a, b]);
      default:
        return "it cannot be computed";
    }
  }

  reduceCause(column, how) {
    const label = `${aggregates[how]} of ${this.columnName(column)}`;
    return this.entries(column).some(isNumber) ? `${label}: ${tooLarge}` : `${label}, which has no values`;
  }

  indexCause(v, column) {
    const label = this.columnName(column);
    const entries = this.entries(column);
    const n = nearest(v);
    if (!same(v, n)) return `${label} has no row ${general(v)}: a row is a whole number`;
    if (entries.length === 0) return `${label} has no rows`;
    if (n < 1 || n > entries.length) return `off the end of ${label}: row ${fixed(n, 0)} is beyond 1..${entries.length}`;
    return `row ${fixed(n, 0)} of ${label} is blank`;
  }

  lookCause(at, x) {
    const { x: xs, y: ys, f: form } = this.data.curves[at];
    const { state, turned, points } = this.engine.curve(at);
    const [labelX, labelY] = [this.columnName(xs), this.columnName(ys)];
    const show = (v) => this.show(xs, v);
    if (state === empty) return `no row has both ${labelX} and ${labelY}`;
    if (state === turning) return `${labelX} turns back in row ${turned + 1}; first_at reads a column that does`;
    if (state === still) return `${labelX} does not rise in row ${turned + 1}, as lookup_monotone needs`;
    if (form === forms.pick) return `${labelX} has no row ${show(x)}`;
    if (form === forms.firstAt) return `${labelX} never reaches ${show(x)}`;
    if (form === forms.freedom) return `${labelY} must be above zero in every row, and one of ${labelX} too`;
    if (form >= forms.slope) return lineCause(points, labelX, labelY);
    const [low, high] = [points[0], points[points.length - 1]];
    if (atLeast(x, low) && (!atLeast(x, high) || same(x, high))) return tooLarge;
    return `off the end of ${labelX}: ${show(x)} is beyond ${show(low)}..${show(high)}`;
  }

  // show writes a value of a column in a cause.
  show(column, v) {
    const c = this.data.columns[column];
    if (c.f === 2) return JSON.stringify(this.data.texts[v]);
    if (c.f === 1) return v === 0 ? "no" : "yes";
    const unit = this.data.units[c.u];
    return withSymbol(formatNumber(clean(unit, v), c.to ?? 0), unit);
  }
}

function intrinsicCause({ n: name, d: domain }, args) {
  if (name === "sqrt" && args[0] < 0) return "the square root of a negative number";
  if (!domain) return `${name}: ${tooLarge}`;
  if (args.length === 1) return `${name} takes ${domain}, not ${argument(args[0])}`;
  return `${name} takes ${domain}, and this is ${name}(${args.map(argument).join(", ")})`;
}

// lineCause describes why two columns do not define a straight line.
function lineCause(x, labelX, labelY) {
  if (same(Math.min(...x), Math.max(...x))) return `a line needs two different values of ${labelX}`;
  return x.length < 3 ? `the spread about a line needs three rows; ${labelX} and ${labelY} have ${x.length}` : tooLarge;
}

function powCause(a, b) {
  if (a === 0 && b < 0) return "zero to a negative power, which divides by zero";
  if (a < 0 && b === 0.5) return "the square root of a negative number";
  if (a < 0 && Math.floor(b) !== b) return `a negative number to the power ${general(b)}, which is not whole`;
  return tooLarge;
}
