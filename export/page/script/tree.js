// The sheet's formulas, from its checked tree: the same tree that every
// evaluator of the tool reads. Each node becomes a function of the row; a
// function of the library is made once and finds its arguments in a frame of
// its own, for no function calls itself.

import { applied, intrinsicNamed } from "./functions.js";
import {
  Curve, add, blank, div, equal, fault, holds, indexAt, isFault, isNumber, moreEqual, mul, neg, not, pow, reduce, sameText, sub,
} from "./kernel.js";

const settled = (a) => (a === blank ? blank : fault);

const joined = (a, b) => (isFault(a) || isFault(b) ? fault : blank);

const twos = {
  "+": add,
  "-": sub,
  "*": mul,
  "/": div,
  "^": pow,
  "<": (a, b) => not(moreEqual(a, b)),
  "<=": (a, b) => moreEqual(b, a),
  ">": (a, b) => not(moreEqual(b, a)),
  ">=": moreEqual,
  "=": equal,
  "<>": (a, b) => not(equal(a, b)),
  same: sameText,
  other: (a, b) => not(sameText(a, b)),
};

// Tree evaluates a sheet by its tree.
export class Tree {
  constructor(data) {
    this.data = data;
    this.made = new Array(data.nodes.length);
    this.frames = data.functions.map((f) => ({ args: new Array(f.p).fill(blank), steps: [] }));
    this.cells = new Array(data.cells.length).fill(blank);
    this.columns = data.columns.map((c) => new Array(data.tables[c.t].r).fill(blank));
    this.spans = data.tables.map((t) => ({ live: t.r, ended: true, broken: -1 }));
    this.limits = data.limits.map(() => [fault, -1]);
    this.advices = data.advices.map(() => [fault, -1]);
    this.wholes = new Map();
  }

  // node returns the function of the row that evaluates a node.
  node(at, frame) {
    const known = this.made[at];
    if (known) return known;
    const made = this.make(this.data.nodes[at], at, frame);
    this.made[at] = made;
    return made;
  }

  make(node, at, frame) {
    const [op, a, b] = node;
    const two = twos[op];
    if (two) {
      const [x, y] = [this.node(a, frame), this.node(b, frame)];
      return (row) => two(x(row), y(row));
    }
    const leaf = this.leaf(op, a, frame);
    if (leaf) return leaf;
    switch (op) {
      case "neg":
        return this.one(neg, a, frame);
      case "not":
        return this.one(not, a, frame);
      case "if":
        return this.choice(this.node(a, frame), this.node(b, frame), this.node(node[3], frame));
      case "and":
        return this.choice(this.node(a, frame), this.node(b, frame), () => 0);
      case "or":
        return this.choice(this.node(a, frame), () => 1, this.node(b, frame));
      case "call":
        return this.call(a, b, node.slice(3).map((n) => this.node(n, frame)));
      case "fn":
        return this.intrinsic(a, node.slice(2).map((n) => this.node(n, frame)));
      case "all":
        return () => this.whole(at, () => this.aggregate(a, b));
      case "at":
        return this.index(this.node(a, frame), b);
      default:
        return this.look(at, node, this.node(a, frame));
    }
  }

  leaf(op, a, frame) {
    const { cells, columns } = this;
    switch (op) {
      case "num":
        return () => a;
      case "cell":
        return () => cells[a];
      case "here":
        return (row) => columns[a][row];
      case "prev":
        return (row) => columns[a][row - 1];
      case "next":
        return this.next(a);
      case "row":
        return (row) => row + 1;
      case "arg":
        return () => frame.args[a];
      case "step":
        return () => frame.steps[a];
      default:
        return null;
    }
  }

  next(column) {
    const span = this.spans[this.data.columns[column].t];
    const entries = this.columns[column];
    return (row) => (row + 1 < span.live ? entries[row + 1] : blank);
  }

  one(f, a, frame) {
    const x = this.node(a, frame);
    return (row) => f(x(row));
  }

  choice(cond, then, otherwise) {
    return (row) => {
      const c = cond(row);
      if (c === 1) return then(row);
      return c === 0 ? otherwise(row) : settled(c);
    };
  }

  // call evaluates the arguments, then the function's steps, then its result.
  call(fn, result, args) {
    const frame = this.frames[fn];
    const { s: steps = [] } = this.data.functions[fn];
    let body = null;
    let ways = [];
    return (row) => {
      if (!body) {
        body = this.node(result, frame);
        ways = steps.map((n) => this.node(n, frame));
      }
      const values = args.map((f) => f(row));
      frame.args = values;
      frame.steps = [];
      for (let i = 0; i < ways.length; i++) frame.steps.push(ways[i](-1));
      return body(-1);
    };
  }

  intrinsic(at, args) {
    const f = intrinsicNamed(this.data.intrinsics[at].n);
    if (args.length === 0) {
      const value = f();
      return () => value;
    }
    if (args.length === 1) {
      const [x] = args;
      return (row) => {
        const v = x(row);
        return isNumber(v) ? applied(f(v)) : settled(v);
      };
    }
    const two = (a, b) => (isNumber(a) && isNumber(b) ? applied(f(a, b)) : joined(a, b));
    return (row) => {
      let v = args[0](row);
      for (let i = 1; i < args.length; i++) v = two(v, args[i](row));
      return v;
    };
  }

  // entries returns a column from its first row to its last live one; null
  // where its table has no end.
  entries(column) {
    const table = this.data.columns[column].t;
    const span = this.spans[table];
    if (this.data.tables[table].x || !span.ended) return null;
    return this.columns[column].slice(0, span.live);
  }

  // whole returns what is made of whole columns, once a run.
  whole(key, make) {
    if (!this.wholes.has(key)) this.wholes.set(key, make());
    return this.wholes.get(key);
  }

  aggregate(column, how) {
    const entries = this.entries(column);
    return entries ? reduce(how, entries) : fault;
  }

  index(row, column) {
    return (at) => {
      const v = row(at);
      const entries = this.entries(column);
      return entries ? indexAt(v, entries) : fault;
    };
  }

  look(key, [, , xs, ys, form], x) {
    return (row) => {
      const v = x(row);
      const curve = this.whole(key, () => this.curve(xs, ys, form));
      return curve ? curve.at(v) : fault;
    };
  }

  curve(xs, ys, form) {
    const [x, y] = [this.entries(xs), this.entries(ys)];
    return x && y ? new Curve(form, x, y) : null;
  }

  // run evaluates everything from the givens' values.
  run(givens) {
    const { data } = this;
    this.wholes.clear();
    data.tables.forEach((t, i) => {
      Object.assign(this.spans[i], { live: t.r, ended: !t.u && !t.x, broken: -1, raw: null });
    });
    data.cells.forEach((c, i) => {
      if (c.g) this.cells[i] = givens.cells[i];
    });
    data.columns.forEach((c, i) => {
      if (!c.g) return;
      const values = data.tables[c.t].x ? null : givens.columns[i];
      for (let row = 0; row < this.columns[i].length; row++) this.columns[i][row] = values ? values[row] : fault;
    });
    for (const [kind, at] of data.tasks) this.task(kind, at);
  }

  task(kind, at) {
    const { data } = this;
    if (kind === 0) this.cells[at] = this.node(data.cells[at].e, null)(-1);
    else if (kind === 1) this.column(data.columns[at], at);
    else if (kind === 2) this.loop(data.tables[at], at);
    else if (kind === 3) this.limits[at] = this.verdict(data.limits[at].e, data.limits[at].tb);
    else this.advices[at] = this.verdict(data.advices[at].e, this.tableOf(data.advices[at]));
  }

  tableOf(advice) {
    return advice.k < 0 ? -1 : this.data.columns[advice.k].t;
  }

  column(c, at) {
    const entries = this.columns[at];
    const span = this.spans[c.t];
    entries.fill(blank);
    for (let row = 0; row < span.live; row++) {
      entries[row] = span.broken >= 0 && row >= span.broken ? fault : this.rowOf(c, row);
    }
  }

  rowOf(c, row) {
    return this.node(row === 0 && c.st ? c.st : c.e, null)(row);
  }

  // loop evaluates the columns of a table that read one another's rows, a row
  // after the other, up to the one where its until holds.
  loop(t, at) {
    const span = this.spans[at];
    const columns = (t.lo ?? []).map((i) => ({ first: this.firstOf(i), later: this.laterOf(i), entries: this.columns[i].fill(blank) }));
    const until = t.u ? this.node(t.u, null) : () => 0;
    for (let row = 0; row < t.r; row++) {
      for (const c of columns) c.entries[row] = row === 0 ? c.first(row) : c.later(row);
      const turn = until(row);
      if (turn === 1) {
        Object.assign(span, { live: row + 1, ended: true });
        return this.clear(t, row + 1, blank);
      }
      if (isFault(turn)) {
        span.broken = row;
        span.raw = new Map((t.lo ?? []).map((i) => [i, this.columns[i][row]]));
        return this.clear(t, row, fault);
      }
    }
    return undefined;
  }

  laterOf(column) {
    return this.node(this.data.columns[column].e, null);
  }

  firstOf(column) {
    const c = this.data.columns[column];
    return this.node(c.st || c.e, null);
  }

  // clear puts v into the computed entries of a table from a row on.
  clear(t, row, v) {
    for (const i of t.c) if (!this.data.columns[i].g) this.columns[i].fill(v, row);
  }

  verdict(cond, table) {
    const holdsHere = this.node(cond, null);
    if (table < 0) return [holdsHere(-1), -1];
    const span = this.spans[table];
    const sound = span.broken < 0 ? span.live : Math.min(span.broken, span.live);
    const conditions = new Array(span.live).fill(fault);
    for (let row = 0; row < sound; row++) conditions[row] = holdsHere(row);
    return holds(conditions, span.ended);
  }
}
