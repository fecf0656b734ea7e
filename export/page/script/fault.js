// Why a value is a fault: the walk of sheet/program's explainer, in the same
// words. A place is a cell, an entry of a column, the until of a table, a
// limit or an advice.

import { applied, intrinsicNamed } from "./functions.js";
import { aggregates, Curve, forms, isFault, isNumber, joined, rowOf, same } from "./kernel.js";
import { argument, clean, fixed, formatNumber, general, nearest, withSymbol } from "./number.js";

const tooLarge = "the result is too large for a number";

export const cellPlace = (at) => ({ kind: "cell", at, row: -1 });
export const entryPlace = (at, row) => ({ kind: "column", at, row });
const untilPlace = (at) => ({ kind: "until", at, row: -1 });

// Explainer walks the faults of a tree that has run.
export class Explainer {
  constructor(tree) {
    this.tree = tree;
    this.data = tree.data;
    this.known = new Map();
  }

  // load takes over values that the module has computed.
  load(values) {
    this.known.clear();
    this.tree.load(values);
  }

  // explain says why the value at a place is a fault.
  explain(start) {
    const { next, cause } = this.step(start);
    if (!next) return this.found(start, cause);
    const origin = this.origin(next);
    return { ...origin, waitsOn: this.name(next) };
  }

  // origin walks from a faulty place to the one where its fault began. What a
  // walk has found is kept, for many values wait on one origin.
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

  // explainVerdict says what a limit, or an advice, waits on.
  explainVerdict(kind, at, table, row) {
    const place = { kind, at, row };
    if (table < 0) return this.explain(place);
    const span = this.tree.spans[table];
    const live = span.broken < 0 ? span.live : span.broken;
    if (row >= 0 && row < live) return this.explain(place);
    const f = this.explain(untilPlace(table));
    return { ...f, waitsOn: f.waitsOn || f.origin };
  }

  found(at, cause) {
    let row = at.kind === "column" ? at.row : -1;
    if (at.kind === "until") row = this.tree.spans[at.at].broken;
    return { origin: this.name(at), row, cause, waitsOn: "" };
  }

  name({ kind, at }) {
    const { data } = this;
    if (kind === "cell") return data.cells[at].n;
    if (kind === "column") return this.columnName(at);
    if (kind === "until") return data.tables[at].x ? data.tables[at].n : `until of ${data.tables[at].n}`;
    if (kind === "limit") return data.limits[at].t;
    const advice = data.advices[at];
    return advice.c >= 0 ? data.cells[advice.c].n : this.columnName(advice.k);
  }

  columnName(at) {
    const c = this.data.columns[at];
    return `${this.data.tables[c.t].n}.${c.n}`;
  }

  // step returns the faulty place that a place waits on, or the cause where
  // the fault began at it.
  step(at) {
    const { data } = this;
    if (at.kind === "cell") {
      const c = data.cells[at.at];
      return c.g ? { cause: "its value could not be read" } : this.follow(c.e, at.row);
    }
    if (at.kind === "column") return this.stepColumn(at, data.columns[at.at]);
    if (at.kind === "until") return this.stepUntil(at, data.tables[at.at]);
    return this.follow((at.kind === "limit" ? data.limits : data.advices)[at.at].e, at.row);
  }

  stepColumn({ at, row }, c) {
    const table = this.data.tables[c.t];
    if (c.g) return { cause: table.x || "its value could not be read" };
    const { broken } = this.tree.spans[c.t];
    const begun = c.lo && row === broken && isFault(this.entry(at, row));
    if (broken >= 0 && row >= broken && !begun) return { next: untilPlace(c.t) };
    return this.follow(row === 0 && c.st ? c.st : c.e, row);
  }

  stepUntil({ at }, table) {
    const { broken } = this.tree.spans[at];
    if (table.x) return { cause: table.x };
    if (broken < 0) return { cause: `${table.n} never ends: its until does not hold in any of its ${table.r} rows` };
    return this.follow(table.u, broken);
  }

  // entry returns an entry as it was when the row was computed.
  entry(column, row) {
    const c = this.data.columns[column];
    const entries = this.tree.columns[column];
    return c.lo && row === this.tree.spans[c.t].broken ? entries.raw : entries[row];
  }

  value(node, row) {
    return this.tree.node(node, null)(row);
  }

  // follow goes from a faulty formula down to the operation whose operands
  // are no faults, or to what it read from elsewhere. It puts back the row in
  // which until broke while it looks.
  follow(root, row) {
    const restore = this.unveil(row);
    try {
      return this.descend(root, row);
    } finally {
      restore();
    }
  }

  unveil(row) {
    const hidden = [];
    this.data.columns.forEach((c, at) => {
      if (!c.lo || row < 0 || this.tree.spans[c.t].broken !== row) return;
      const entries = this.tree.columns[at];
      hidden.push([entries, entries[row]]);
      entries[row] = entries.raw;
    });
    return () => {
      for (const [entries, v] of hidden) entries[row] = v;
    };
  }

  descend(root, row) {
    let at = root;
    let env = { args: [], name: "", outer: null };
    for (;;) {
      const node = this.data.nodes[at];
      const down = this.inner(node, env, row);
      if (down) {
        ({ at, env } = down);
        continue;
      }
      const operand = this.operands(node, row).find((n) => isFault(this.value(n, row)));
      if (operand === undefined) return this.source(node, row, env);
      at = operand;
    }
  }

  // inner enters a function, or goes from its body to what it was given.
  inner(node, env, row) {
    const [op, a, result, ...args] = node;
    if (op === "arg") return { at: env.args[a], env: env.outer };
    if (op === "step") return { at: env.steps[a], env };
    if (op !== "call") return null;
    this.value(this.data.nodes.indexOf(node), row);
    const f = this.data.functions[a];
    return { at: result, env: { args, steps: f.s ?? [], name: f.n, outer: env } };
  }

  // operands returns the operands that count, in order.
  operands(node, row) {
    const [op, a, b, c] = node;
    switch (op) {
      case "if": {
        const cond = this.value(a, row);
        if (cond === 1) return [b];
        return cond === 0 ? [c] : [a];
      }
      case "fn":
        return node.slice(2).filter((_, i, args) => !isFault(this.folded(node, args.slice(0, i), row)));
      case "neg":
      case "not":
      case "at":
      case "look":
        return [a];
      case "num":
      case "cell":
      case "here":
      case "prev":
      case "next":
      case "row":
      case "all":
        return [];
      default:
        return [a, b];
    }
  }

  // folded is what an intrinsic gives for the first of its arguments; 0 where
  // there are none or one.
  folded(node, args, row) {
    if (args.length < 2) return 0;
    const f = intrinsicNamed(this.data.intrinsics[node[1]].n);
    return args.map((n) => this.value(n, row)).reduce((v, w) => (isNumber(v) && isNumber(w) ? applied(f(v, w)) : joined(v, w)));
  }

  // source says where a fault comes from, no operand being one.
  source(node, row, env) {
    const [op, a, b, c] = node;
    if (op === "cell") return { next: cellPlace(a) };
    if (op === "here") return { next: entryPlace(a, row) };
    if (op === "prev") return { next: entryPlace(a, row - 1) };
    if (op === "next") return { next: entryPlace(a, row + 1) };
    const next =
      op === "all"
        ? this.faulty(a)
        : op === "at"
          ? this.faultyIndex(b, this.value(a, row))
          : op === "look"
            ? (this.faulty(b) ?? this.faulty(c))
            : null;
    if (next) return { next };
    const cause = this.cause(node, row);
    return { cause: env.name && op !== "num" ? `${cause} (in ${env.name})` : cause };
  }

  faulty(column) {
    const entries = this.tree.entries(column);
    if (!entries) return untilPlace(this.data.columns[column].t);
    const row = entries.findIndex(isFault);
    return row < 0 ? null : entryPlace(column, row);
  }

  faultyIndex(column, v) {
    const entries = this.tree.entries(column);
    if (!entries) return untilPlace(this.data.columns[column].t);
    const row = rowOf(v, entries.length);
    return row >= 0 && isFault(entries[row]) ? entryPlace(column, row) : null;
  }

  // cause words what an operation did to its operands.
  cause(node, row) {
    const [op, a, b] = node;
    const two = () => [this.value(a, row), this.value(b, row)];
    switch (op) {
      case "+":
      case "-":
      case "*":
        return tooLarge;
      case "/":
        return two()[1] === 0 ? "division by zero" : tooLarge;
      case "^":
        return powCause(...two());
      case "all":
        return this.reduceCause(a, b);
      case "at":
        return this.indexCause(this.value(a, row), b);
      case "look":
        return this.lookCause(node, row);
      case "fn":
        return this.intrinsicCause(node, row);
      default:
        return "it cannot be computed";
    }
  }

  reduceCause(column, how) {
    const label = `${aggregates[how]} of ${this.columnName(column)}`;
    return this.tree.entries(column).some(isNumber) ? `${label}: ${tooLarge}` : `${label}, which has no values`;
  }

  indexCause(v, column) {
    const label = this.columnName(column);
    const entries = this.tree.entries(column);
    const n = nearest(v);
    if (!same(v, n)) return `${label} has no row ${general(v)}: a row is a whole number`;
    if (entries.length === 0) return `${label} has no rows`;
    if (n < 1 || n > entries.length) return `off the end of ${label}: row ${fixed(n, 0)} is beyond 1..${entries.length}`;
    return `row ${fixed(n, 0)} of ${label} is blank`;
  }

  lookCause([, a, xs, ys, form], row) {
    const x = this.value(a, row);
    const curve = new Curve(form, this.tree.entries(xs), this.tree.entries(ys));
    const [labelX, labelY] = [this.columnName(xs), this.columnName(ys)];
    const show = (v) => this.show(xs, v);
    if (curve.state === "empty") return `no row has both ${labelX} and ${labelY}`;
    if (curve.state === "turning") return `${labelX} turns back in row ${curve.turned + 1}; first_at reads a column that does`;
    if (curve.state === "still") return `${labelX} stands still in row ${curve.turned + 1}, where lookup_monotone needs it to rise`;
    if (form === forms.pick) return `${labelX} has no row ${show(x)}`;
    if (form === forms.firstAt) return `${labelX} never comes to ${show(x)}`;
    if (form === forms.freedom) return `${labelY} must be above zero in every row, and one of ${labelX} too`;
    if (form > forms.pick) return lineCause(curve, labelX, labelY);
    const high = curve.x[curve.x.length - 1];
    const i = curve.interval(x);
    if (i >= 0 && (i < curve.x.length - 1 || same(x, high))) return tooLarge;
    return `off the end of ${labelX}: ${show(x)} is beyond ${show(curve.x[0])}..${show(high)}`;
  }

  // show writes a value of a column in a cause.
  show(column, v) {
    const c = this.data.columns[column];
    if (c.f === 2) return JSON.stringify(this.data.texts[v]);
    if (c.f === 1) return v === 0 ? "no" : "yes";
    const unit = this.data.units[c.u];
    return withSymbol(formatNumber(clean(unit, v), c.to ?? 0), unit);
  }

  intrinsicCause(node, row) {
    const { n: name, d: domain } = this.data.intrinsics[node[1]];
    const values = node.slice(2).map((n) => this.value(n, row));
    const f = intrinsicNamed(name);
    let args = values;
    for (let i = 1, v = values[0]; i < values.length; i++) {
      args = [v, values[i]];
      v = applied(f(v, values[i]));
      if (isFault(v)) break;
    }
    if (name === "sqrt" && args[0] < 0) return "the square root of a negative number";
    if (!domain) return `${name}: ${tooLarge}`;
    if (args.length === 1) return `${name} takes ${domain}, not ${argument(args[0])}`;
    return `${name} takes ${domain}, and this is ${name}(${args.map(argument).join(", ")})`;
  }
}

// lineCause words what two columns cannot say of a straight line.
function lineCause({ x }, labelX, labelY) {
  if (x.every((v) => v === x[0])) return `a line needs two different values of ${labelX}`;
  return x.length < 3 ? `the spread about a line needs three rows; ${labelX} and ${labelY} have ${x.length}` : tooLarge;
}

function powCause(a, b) {
  if (a === 0 && b < 0) return "zero to a negative power, which divides by zero";
  if (a < 0 && b === 0.5) return "the square root of a negative number";
  if (a < 0 && Math.floor(b) !== b) return `a negative number to the power ${general(b)}, which is not whole`;
  return tooLarge;
}
