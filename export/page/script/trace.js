// Recomputing a formula, one operation after another, which the script does
// only to find the origin of a fault. The page has a formula as a text, in
// postfix order; the kernel's functions are the module's own.

import { atLeast, blank, fault, isFault, isNumber, same } from "./flight.js";

const arities = { "~": 1, "!": 1, "?": 3, x: 1, l: 1 };
const leaves = "chpnasrg";

// parsed returns the tree of a formula's text: { op, at, args }.
export function parsed(text, functions) {
  const stack = [];
  for (const word of text.split(" ")) {
    const [, op, at = "", more = ""] = /^([a-z]?)(.*?)(?:\.(\d+))?$/.exec(/^-?\d/.test(word) ? `k${word}` : word);
    const node = op === "k" ? { op, v: Number(word) } : { op: op || word, at: Number(at), more: Number(more) };
    const count = arityOf(node, functions);
    node.args = stack.splice(stack.length - count, count);
    stack.push(node);
  }
  return stack[0];
}

function arityOf({ op, at, more }, functions) {
  if (op === "k" || leaves.includes(op)) return 0;
  if (op === "f") return functions[at].p;
  return op === "i" ? more : (arities[op] ?? 2);
}

const bit = (v) => (v ? 1 : 0);

const operations = {
  "+": (a, b) => a + b,
  "-": (a, b) => a - b,
  "*": (a, b) => a * b,
  "/": (a, b) => a / b,
  "~": (a) => -a,
  "<": (a, b) => bit(!atLeast(a, b)),
  "<=": (a, b) => bit(atLeast(b, a)),
  ">": (a, b) => bit(!atLeast(b, a)),
  ">=": (a, b) => bit(atLeast(a, b)),
  "=": (a, b) => bit(same(a, b)),
  "<>": (a, b) => bit(!same(a, b)),
  "==": (a, b) => bit(a === b),
  "!=": (a, b) => bit(a !== b),
  "!": (a) => 1 - a,
};

// settled gives the value of an operation on values: operands that are not
// numbers pass through, a fault before a blank; a result that is not a number
// is a fault.
function settled(args, f) {
  const values = args.map((a) => a.v);
  if (values.some(isFault)) return fault;
  if (values.includes(blank)) return blank;
  const v = f(...values);
  return isNumber(v) ? v : fault;
}

// Tracer computes formulas on one row. Its source reads values and calls the
// module: { functions, intrinsics, own, entry, cell, next, power, intrinsic, reduce,
// index, look }.
export class Tracer {
  constructor(source, row) {
    this.source = source;
    this.row = row;
  }

  // trace returns the operations of a formula: { op, at, v, args, inside },
  // args the operations that determine the value, in order, inside the function
  // that it is in.
  trace(text) {
    return this.grow(parsed(text, this.source.functions), { name: "" });
  }

  grow(node, frame) {
    const { op, at } = node;
    if (op === "a") return frame.args[at];
    if (op === "s") return frame.steps[at];
    if (op === "f") return this.call(node, frame);
    if (op === "?") return this.choice(node, frame);
    const args = node.args.map((n) => this.grow(n, frame));
    if (op === "i" && args.length > 2) return this.folded(node, args, frame);
    return this.made(node, args, frame);
  }

  made(node, args, frame, v = this.value(node, args)) {
    return { op: node.op, at: node.at, more: node.more, v, args, inside: frame.name };
  }

  call({ at, args }, outer) {
    const { n, s = [], e } = this.source.functions[at];
    const frame = { name: n, args: args.map((a) => this.grow(a, outer)), steps: [] };
    for (const step of s) frame.steps.push(this.grow(parsed(step, this.source.functions), frame));
    return this.grow(parsed(e, this.source.functions), frame);
  }

  // choice leaves out the branch that is not taken, and the condition if one is
  // taken.
  choice(node, frame) {
    const cond = this.grow(node.args[0], frame);
    if (!isNumber(cond.v)) return this.made(node, [cond], frame, cond.v);
    const taken = this.grow(node.args[cond.v === 1 ? 1 : 2], frame);
    return this.made(node, [taken], frame, taken.v);
  }

  // folded evaluates a function of more than two arguments as a repeated one of
  // two.
  folded(node, args, frame) {
    return args.reduce((a, b) => this.made(node, [a, b], frame));
  }

  value({ op, at, more, v }, args) {
    const { source, row } = this;
    switch (op) {
      case "k":
        return v;
      case "c":
        return source.cell(at);
      case "h":
        return source.own(at, row);
      case "p":
        return source.entry(at, row - 1);
      case "n":
        return source.next(at, row);
      case "r":
        return row + 1;
      case "&":
        return args[0].v === 1 ? args[1].v : args[0].v;
      case "|":
        return args[0].v === 0 ? args[1].v : args[0].v;
      case "g":
        return source.reduce(at, more);
      case "x":
        return settled(args, (i) => source.index(at, i));
      case "l":
        return settled(args, (x) => source.look(at, x));
      case "^":
        return settled(args, (a, b) => source.power(a, b));
      case "i":
        return settled(args, source.intrinsic(at, args.length));
      default:
        return settled(args, operations[op]);
    }
  }
}
