// The sheet's formulas, from its checked tree, over values that the module has
// computed: a fault is explained by computing its formula again. Each node
// becomes a function of the row; a function of the library is made once and
// finds its arguments in a frame of its own, for no function calls itself.

import { applied, intrinsicNamed } from "./functions.js";
import {
  add,
  blank,
  Curve,
  div,
  equal,
  fault,
  indexAt,
  isNumber,
  joined,
  moreEqual,
  mul,
  neg,
  not,
  pow,
  reduce,
  sameText,
  sub,
} from "./kernel.js";

const settled = (a) => (a === blank ? blank : fault);

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

// Tree evaluates formulas of a sheet.
export class Tree {
  constructor(data) {
    this.data = data;
    this.made = new Array(data.nodes.length);
    this.frames = data.functions.map((f) => ({ args: new Array(f.p).fill(blank), steps: [] }));
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
        return this.call(
          a,
          b,
          node.slice(3).map((n) => this.node(n, frame)),
        );
      case "fn":
        return this.intrinsic(
          a,
          node.slice(2).map((n) => this.node(n, frame)),
        );
      case "all":
        return () => this.whole(at, () => this.aggregate(a, b));
      case "at":
        return this.index(this.node(a, frame), b);
      default:
        return this.look(at, node, this.node(a, frame));
    }
  }

  leaf(op, a, frame) {
    switch (op) {
      case "num":
        return () => a;
      case "cell":
        return () => this.cells[a];
      case "here":
        return (row) => this.columns[a][row];
      case "prev":
        return (row) => this.columns[a][row - 1];
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
    const table = this.data.columns[column].t;
    return (row) => (row + 1 < this.spans[table].live ? this.columns[column][row + 1] : blank);
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

  // load takes over the values that the module has computed.
  load(values) {
    this.wholes.clear();
    this.cells = values.cells;
    this.columns = values.columns;
    this.spans = values.spans;
  }
}
