// The arithmetic of sheet/kernel, to the bit: every operation rounds for
// itself, and what comes out as no number is settled as a blank or a fault.
//
// A value in flight is a number. A blank is Infinity and a fault is NaN: no
// number of a sheet is either, and no payload of a NaN is needed.

import { bitsOf, nearest, numberOf } from "./number.js";

export const blank = Number.POSITIVE_INFINITY;
export const fault = Number.NaN;

export const isNumber = (v) => v - v === 0;
export const isFault = (v) => v - v !== 0 && v !== blank;
export const isBlank = (v) => v === blank;

// settle gives the value of an operation whose bare result was no number.
function settle(a, b) {
  if (isNumber(a) && isNumber(b)) return fault;
  return isFault(a) || isFault(b) ? fault : blank;
}

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

// --- exponentials, logarithms, powers: as in sheet/kernel/power.go

const ln2High = 6.9314718036912381649e-1;
const ln2Low = 1.90821492927058770002e-10;
const wholeAt = 2 ** 52 * 1.5;
const expLeast = -708;
const expMost = 709;
const expTerms = [
  0.5, 0x1555555555555bn, 0x15555555555503n, 0x1111111110ec5dn, 0x16c16c16c3048cn, 0x1a01a01b37e37fn, 0x1a01a01368f8a2n,
  0x171ddf020cdedcn, 0x127e5b44634161n, 0x1af6be7e49d961n, 0x11e3d2d1a6d39an,
].map((m, i) => (i === 0 ? m : Number(m) * 2 ** (-52 - [0, 3, 5, 7, 10, 13, 16, 19, 22, 26, 29][i])));

// expParts is e^x as y, near 1, times 2 to the whole number k.
function expParts(x) {
  const n = x * Math.LOG2E + wholeAt;
  const k = n - wholeAt;
  const high = x - k * ln2High;
  const low = k * ln2Low;
  const r = high - low;
  const c = expTerms;
  const r2 = r * r;
  const r4 = r2 * r2;
  const p = c[0] + r * c[1] + r2 * (c[2] + r * c[3]);
  const q = c[4] + r * c[5] + r2 * (c[6] + r * c[7]);
  const t = c[8] + r * c[9] + r2 * c[10];
  const g = p + r4 * (q + r4 * t);
  return [1 + (high + (r2 * g - low)), k];
}

const twoTo = (k) => numberOf(BigInt(k + 1023) << 52n);

// timesTwoTo returns y · 2^k, rounded once.
function timesTwoTo(y, k) {
  if (k > 1023) return y * 2 ** 1023 * 2 ** (k - 1023);
  if (k < -1022) return y * 2 ** (k + 200) * 2 ** -200;
  return y * 2 ** k;
}

function expPlain(x) {
  const [y, k] = expParts(x);
  return k > 1023 || k < -1022 ? timesTwoTo(y, k) : y * twoTo(k);
}

function expAtEnd(x, more) {
  const [y, k] = expParts(x);
  return timesTwoTo(y + y * more, k);
}

export function exp(x) {
  if (x >= expLeast && x <= expMost) return expPlain(x);
  if (x > expMost + 1) return Number.POSITIVE_INFINITY;
  return x < expLeast - 40 ? 0 : expAtEnd(x, 0);
}

const lnTerms = [
  6.66666666666673513e-1, 3.999999999940941908e-1, 2.857142874366239149e-1, 2.222219843214978396e-1, 1.818357216161805012e-1,
  1.531383769920937332e-1, 1.479819860511658591e-1,
];

const leastOrdinary = 2 ** -1022;
const isOrdinary = (x) => x >= leastOrdinary && x < Number.POSITIVE_INFINITY;

// lnSeries is what lnPlain and lnParts have in common, for f = x - 1.
function lnSeries(s) {
  const [t1, t2, t3, t4, t5, t6, t7] = lnTerms;
  const z = s * s;
  const w = z * z;
  const even = w * (t2 + w * (t4 + w * t6));
  const odd = z * (t1 + w * (t3 + w * (t5 + w * t7)));
  return [odd, even];
}

const mantissaMask = (1n << 52n) - 1n;
const rootHalfBits = 0x3fe6a09e00000000n;
const oneBits = 0x3ff0000000000000n;

// lnPlain is ln x for an ordinary x; less is what its exponent carries.
function lnPlain(x, less) {
  const u = bitsOf(x) + (oneBits - rootHalfBits);
  const k = Number(u >> 52n) - less;
  const f = numberOf((u & mantissaMask) + rootHalfBits) - 1;
  const s = f / (2 + f);
  const [odd, even] = lnSeries(s);
  const half = 0.5 * f * f;
  const rest = s * (half + (odd + even));
  return k * ln2High - (half - (rest + k * ln2Low) - f);
}

export function ln(x) {
  if (isOrdinary(x)) return lnPlain(x, 1023);
  if (x > 0 && x <= Number.MAX_VALUE) return lnPlain(x * 2 ** 54, 1023 + 54);
  if (x === 0) return Number.NEGATIVE_INFINITY;
  return x < 0 ? Number.NaN : x;
}

// fraction is a^b of numbers, b no small whole number.
function fraction(a, b) {
  if (isOrdinary(a)) {
    const e = b * lnPlain(a, 1023);
    if (Math.abs(e) < 30) return expPlain(e);
  }
  return anyPower(a, b);
}

function anyPower(a, b) {
  if (a === 0) return b < 0 ? Number.POSITIVE_INFINITY : 0;
  if (a > 0) return farPower(a, b);
  if (Math.floor(b) !== b) return Number.NaN;
  return b % 2 !== 0 ? -farPower(-a, b) : farPower(-a, b);
}

// productRest returns what is left of a · b beside p, its rounded product
// (T. J. Dekker, 1971).
function productRest(a, b, p) {
  const [a1, a2] = halves(a);
  const [b1, b2] = halves(b);
  return a1 * b1 - p + a1 * b2 + a2 * b1 + a2 * b2;
}

function halves(v) {
  const c = 134217729 * v;
  const high = c - (c - v);
  return [high, v - high];
}

function farPower(a, b) {
  const [high, low] = lnParts(a);
  const e = b * high;
  if (e > expMost + 1) return Number.POSITIVE_INFINITY;
  if (e < expLeast - 40) return 0;
  return expAtEnd(e, productRest(b, high, e) + b * low);
}

// lnParts is ln a in two parts, a above zero.
function lnParts(a) {
  let [m, exponent] = parts(a);
  if (m < Math.SQRT2 / 2) {
    m *= 2;
    exponent -= 1;
  }
  const k = exponent;
  const f = m - 1;
  const d = 2 + f;
  const s = f / d;
  const p = s * d;
  const more = (f - p - productRest(s, d, p) - s * (2 - d + f)) / d;
  const [odd, even] = lnSeries(s);
  let rest = s * (odd + even) + 2 * more + k * ln2Low;
  const first = k * ln2High;
  const sum = first + 2 * s;
  const over = sum - first;
  rest += first - (sum - over) + (2 * s - over);
  const high = sum + rest;
  return [high, sum - high + rest];
}

// parts returns v, above zero, as a fraction from ½ to 1 and a power of two.
function parts(v) {
  if (v < leastOrdinary) {
    const [m, e] = parts(v * 2 ** 54);
    return [m, e - 54];
  }
  const bits = bitsOf(v);
  return [numberOf((bits & mantissaMask) | (1022n << 52n)), Number(bits >> 52n) - 1022];
}

const mostWhole = 64;

function wholePower(a, n) {
  if (n === 0) return a - a + 1;
  if (n === 1) return a;
  if (n === 2) return a * a;
  if (n < 0) {
    const p = wholePower(a, -n);
    const size = Math.abs(p);
    return size > 2 ** -1000 && size < 2 ** 1000 ? 1 / p : anyPower(a, n);
  }
  let r = 1;
  let square = a;
  for (let left = n; left > 0; left >>= 1) {
    if (left & 1) r *= square;
    square *= square;
  }
  return r;
}

export function pow(a, b) {
  if (!isNumber(a) || !isNumber(b)) return settle(a, b);
  if (Number.isInteger(b) && Math.abs(b) <= mostWhole) return number(wholePower(a, b));
  return number(b === 0.5 ? Math.sqrt(a) : fraction(a, b));
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

export const forms = { linear: 1, clamped: 2, monotone: 3, firstAt: 4, pick: 5 };

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

// holds returns whether a condition of every live row holds, and the row it is
// about.
export function holds(conditions, ended) {
  let faulty = -1;
  for (let i = 0; i < conditions.length; i++) {
    if (conditions[i] === 0) return [0, i];
    if (faulty < 0 && isFault(conditions[i])) faulty = i;
  }
  return faulty >= 0 || !ended ? [fault, faulty] : [1, -1];
}
