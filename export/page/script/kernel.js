// The arithmetic of sheet/kernel, for explaining a fault: one formula is
// computed again to see which operand it came from. No value that is shown
// comes from here, so that a last digit does not matter.
//
// A value in flight is a number. A blank is Infinity and a fault is NaN: no
// number of a sheet is either, and no payload of a NaN is needed.

import { nearest } from "./number.js";

export const blank = Number.POSITIVE_INFINITY;
export const fault = Number.NaN;

export const isNumber = (v) => v - v === 0;
export const isFault = (v) => v - v !== 0 && v !== blank;
export const isBlank = (v) => v === blank;

// settle gives the value of an operation whose bare result was no number.
function settle(a, b) {
  return isNumber(a) && isNumber(b) ? fault : joined(a, b);
}

// joined is what comes of two operands of which one is no number.
export const joined = (a, b) => (isFault(a) || isFault(b) ? fault : blank);

const settleOne = (a) => (a === blank ? blank : fault);

const number = (v) => (isNumber(v) ? v : fault);

export function add(a, b) {
  const r = a + b;
  return isNumber(r) ? r : settle(a, b);
}

export function sub(a, b) {
  const r = a - b;
  return isNumber(r) ? r : settle(a, b);
}

export function mul(a, b) {
  const r = a * b;
  return isNumber(r) ? r : settle(a, b);
}

// A number over a blank is 0 in bare arithmetic, so operands are looked at.
export function div(a, b) {
  const r = a / b;
  return isNumber(r) && b !== blank ? r : settle(a, b);
}

export const neg = (a) => (isNumber(a) ? -a : settleOne(a));

const tolerance = 1e-12;

function nearly(a, b) {
  const d = Math.abs(a - b);
  return d <= tolerance * Math.abs(a) || d <= tolerance * Math.abs(b);
}

export const atLeast = (a, b) => a >= b || nearly(a, b);
export const same = (a, b) => a === b || nearly(a, b);

export function moreEqual(a, b) {
  if (!isNumber(a) || !isNumber(b)) return settle(a, b);
  return atLeast(a, b) ? 1 : 0;
}

export function equal(a, b) {
  if (!isNumber(a) || !isNumber(b)) return settle(a, b);
  return same(a, b) ? 1 : 0;
}

export function sameText(a, b) {
  if (!isNumber(a) || !isNumber(b)) return settle(a, b);
  return a === b ? 1 : 0;
}

export const not = (a) => (isNumber(a) ? 1 - a : settleOne(a));

export function pow(a, b) {
  if (!isNumber(a) || !isNumber(b)) return settle(a, b);
  return number(a ** b);
}

// --- whole numbers

export function floor(x) {
  const n = nearest(x);
  return same(x, n) ? n : Math.floor(x);
}

export function ceil(x) {
  const n = nearest(x);
  return same(x, n) ? n : Math.ceil(x);
}

export function round(x) {
  let low = Math.floor(Math.abs(x));
  if (low > 1e11) return nearest(x);
  if (atLeast(Math.abs(x), low + 0.5)) low += 1;
  return x < 0 || Object.is(x, -0) ? -low : low;
}

export function mod(a, b) {
  if (b === 0) return Number.NaN;
  const q = a / b;
  if (same(q, nearest(q))) return 0;
  const r = a % b;
  return r !== 0 && r < 0 !== b < 0 ? r + b : r;
}

export function gcd(a, b) {
  const m = nearest(Math.abs(a));
  const n = nearest(Math.abs(b));
  if (!same(Math.abs(a), m) || !same(Math.abs(b), n) || m > 2 ** 53 || n > 2 ** 53) return Number.NaN;
  let [i, k] = [m, n];
  while (k !== 0) [i, k] = [k, i % k];
  return i;
}

// rowOf returns the place of the row that the index v names, or -1.
export function rowOf(v, live) {
  const n = nearest(v);
  return !same(v, n) || n < 1 || n > live ? -1 : n - 1;
}

export function indexAt(v, column) {
  if (!isNumber(v)) return settleOne(v);
  const i = rowOf(v, column.length);
  return i < 0 || !isNumber(column[i]) ? fault : column[i];
}

// --- whole columns

export const aggregates = ["", "sum", "mean", "min", "max", "count", "first", "last"];

export function reduce(how, column) {
  const name = aggregates[how];
  if (name === "first" || name === "last") return end(name, column);
  let sum = 0;
  let low = 0;
  let high = 0;
  let n = 0;
  for (const v of column) {
    if (v === blank) continue;
    if (!isNumber(v)) return fault;
    low = n === 0 || v < low ? v : low;
    high = n === 0 || v > high ? v : high;
    sum += v;
    n += 1;
  }
  return chosen(name, sum, low, high, n);
}

function chosen(name, sum, low, high, n) {
  if (name === "count") return n;
  if (name === "sum" && isNumber(sum)) return sum;
  if (n === 0) return fault;
  if (name === "mean" && isNumber(sum)) return sum / n;
  if (name === "min") return low;
  return name === "max" ? high : fault;
}

function end(name, column) {
  let found = fault;
  let seen = false;
  for (const v of column) {
    if (isFault(v)) return fault;
    if (isNumber(v) && (!seen || name === "last")) {
      found = v;
      seen = true;
    }
  }
  return found;
}

// --- look-ups

export const forms = { linear: 1, clamped: 2, monotone: 3, firstAt: 4, pick: 5, slope: 6, lineAt: 7, freedom: 12 };

// Curve is two columns made ready for look-ups.
export class Curve {
  constructor(form, xs, ys) {
    this.form = form;
    this.x = [];
    this.y = [];
    this.state = "sound";
    this.turned = -1;
    const rows = Math.min(xs.length, ys.length);
    for (let i = 0; i < rows && this.state !== "faulty"; i++) this.take(i, xs[i], ys[i]);
    if (this.state === "sound" && this.x.length === 0) this.state = "empty";
    if (this.state === "sound" && form === forms.monotone) this.fit();
  }

  take(i, x, y) {
    if (!isNumber(x) || !isNumber(y)) {
      if (isFault(x) || isFault(y)) this.state = "faulty";
      return;
    }
    const n = this.x.length;
    if (n > 0 && this.state === "sound" && this.form !== forms.firstAt && this.form !== forms.pick) {
      const last = this.x[n - 1];
      if (x < last) this.stop("turning", i);
      else if (x === last && this.form === forms.monotone) this.stop("still", i);
    }
    this.x.push(x);
    this.y.push(y);
  }

  stop(state, row) {
    this.state = state;
    this.turned = row;
  }

  at(x) {
    if (this.state === "faulty") return fault;
    if (!isNumber(x)) return settleOne(x);
    if (this.state !== "sound") return fault;
    if (this.form === forms.pick) return this.pick(x);
    return this.form === forms.firstAt ? this.firstAt(x) : this.between(x);
  }

  // interval returns the last row whose x is not above x, or -1.
  interval(x) {
    let low = -1;
    let high = this.x.length;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (atLeast(x, this.x[middle])) low = middle;
      else high = middle;
    }
    return low;
  }

  between(x) {
    const n = this.x.length;
    const i = this.interval(x);
    const clamped = this.form === forms.clamped;
    if (i < 0) return clamped ? this.y[0] : fault;
    if (same(this.x[i], x)) return this.y[i];
    if (i === n - 1) return clamped ? this.y[i] : fault;
    if (this.form === forms.monotone) return number(this.cubic(i, x));
    return line(x, this.x[i], this.x[i + 1], this.y[i], this.y[i + 1]);
  }

  firstAt(x) {
    for (let i = 0; i < this.x.length; i++) {
      const at = this.x[i];
      if (same(at, x)) return this.y[i];
      if (i > 0 && this.x[i - 1] < x !== at < x) return line(x, this.x[i - 1], at, this.y[i - 1], this.y[i]);
    }
    return fault;
  }

  pick(key) {
    const i = this.x.findIndex((at) => same(at, key));
    return i < 0 ? fault : this.y[i];
  }

  step(i) {
    return this.x[i + 1] - this.x[i];
  }

  rise(i) {
    return (this.y[i + 1] - this.y[i]) / this.step(i);
  }

  // fit lays out the slopes of the monotone cubic (Fritsch and Butland 1984).
  fit() {
    const n = this.x.length;
    this.slope = new Array(n).fill(0);
    if (n === 1) return;
    if (n === 2) {
      this.slope.fill(this.rise(0));
      return;
    }
    for (let i = 1; i < n - 1; i++) this.slope[i] = inner(this.step(i - 1), this.step(i), this.rise(i - 1), this.rise(i));
    this.slope[0] = outer(this.step(0), this.step(1), this.rise(0), this.rise(1));
    this.slope[n - 1] = outer(this.step(n - 2), this.step(n - 3), this.rise(n - 2), this.rise(n - 3));
  }

  cubic(i, x) {
    const h = this.step(i);
    const d = this.rise(i);
    const s = x - this.x[i];
    const c2 = (3 * d - 2 * this.slope[i] - this.slope[i + 1]) / h;
    const c3 = (this.slope[i] - 2 * d + this.slope[i + 1]) / (h * h);
    return this.y[i] + s * (this.slope[i] + s * (c2 + s * c3));
  }
}

const line = (x, x0, x1, y0, y1) => number(y0 + (y1 - y0) * ((x - x0) / (x1 - x0)));

function inner(h0, h1, d0, d1) {
  if (!(d0 > 0 && d1 > 0) && !(d0 < 0 && d1 < 0)) return 0;
  const w0 = 2 * h1 + h0;
  const w1 = h1 + 2 * h0;
  return (w0 + w1) / (w0 / d0 + w1 / d1);
}

function outer(h, h1, d, d1) {
  const s = ((2 * h + h1) * d - h * d1) / (h + h1);
  if (Math.sign(s) !== Math.sign(d)) return 0;
  return Math.sign(d) !== Math.sign(d1) && Math.abs(s) > Math.abs(3 * d) ? 3 * d : s;
}
