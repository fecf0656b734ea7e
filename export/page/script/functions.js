// The intrinsics of the library, by name: the same operations in the same
// order as sheet/kernel/functions.go and the functions of Go's library that it
// calls (Cephes and FreeBSD's msun, by way of Go's math package), so that they
// give the same bits.

import { ceil, exp, fault, floor, gcd, isNumber, ln, mod, round } from "./kernel.js";
import { bitsOf, nearest, numberOf } from "./number.js";

const sinTerms = [
  1.58962301576546568060e-10, -2.50507477628578072866e-8, 2.75573136213857245213e-6, -1.98412698295895385996e-4,
  8.33333333332211858878e-3, -1.66666666666666307295e-1,
];
const cosTerms = [
  -1.13585365213876817300e-11, 2.08757008419747316778e-9, -2.75573141792967388112e-7, 2.48015872888517045348e-5,
  -1.38888888888730564116e-3, 4.16666666666665929218e-2,
];

const horner = (terms, z) => terms.slice(1).reduce((sum, term) => sum * z + term, terms[0]);

// reduced returns which eighth of a turn x, not negative, lies in, and the
// rest. Angles come here as an eighth of a turn at most either way.
function reduced(x) {
  let j = Math.trunc(x * (4 / Math.PI));
  if (j & 1) j += 1;
  const z = x - j * 7.85398125648498535156e-1 - j * 3.77489470793079817668e-8 - j * 2.69515142907905952645e-15;
  return [j & 7, z];
}

const sineOf = (z, zz) => z + z * zz * horner(sinTerms, zz);
const cosineOf = (zz) => 1 - 0.5 * zz + zz * zz * horner(cosTerms, zz);

function cosine(x) {
  let [j, z] = reduced(Math.abs(x));
  let sign = 1;
  if (j > 3) {
    j -= 4;
    sign = -sign;
  }
  if (j > 1) sign = -sign;
  const zz = z * z;
  return sign * (j === 1 || j === 2 ? sineOf(z, zz) : cosineOf(zz));
}

function sine(x) {
  if (x === 0) return x;
  let [j, z] = reduced(Math.abs(x));
  let sign = x < 0 ? -1 : 1;
  if (j > 3) {
    j -= 4;
    sign = -sign;
  }
  const zz = z * z;
  return sign * (j === 1 || j === 2 ? cosineOf(zz) : sineOf(z, zz));
}

const tanOver = [-1.30936939181383777646e4, 1.15351664838587416140e6, -1.79565251976484877988e7];
const tanUnder = [1, 1.36812963470692954678e4, -1.32089234440210967447e6, 2.50083801823357915839e7, -5.38695755929454629881e7];

function tangent(x) {
  if (x === 0) return x;
  const [j, z] = reduced(Math.abs(x));
  const zz = z * z;
  let y = z;
  if (zz > 1e-14) y = z + (z * (zz * horner(tanOver, zz))) / horner(tanUnder, zz);
  if ((j & 2) === 2) y = -1 / y;
  return x < 0 ? -y : y;
}

// quarters returns x, in turns, as a count of quarters and a rest.
function quarters(x) {
  const part = x % 1;
  const n = nearest(part * 4);
  return [n & 3, part - n * 0.25];
}

function sin(x) {
  const [q, rest] = quarters(x);
  const r = rest * (2 * Math.PI);
  return [sine, cosine, (v) => -sine(v), (v) => -cosine(v)][q](r);
}

function cos(x) {
  const [q, rest] = quarters(x);
  const r = rest * (2 * Math.PI);
  return [cosine, (v) => -sine(v), (v) => -cosine(v), sine][q](r);
}

function tan(x) {
  const [q, rest] = quarters(x);
  const t = tangent(2 * Math.PI * rest);
  return q & 1 ? -1 / t : t;
}

function arctangentNear(x) {
  let z = x * x;
  const over = horner([-8.750608600031904122785e-1, -1.615753718733365076637e1, -7.500855792314704667340e1, -1.228866684490136173410e2, -6.485021904942025371773e1], z);
  const under = horner([1, 2.485846490142306297962e1, 1.650270098316988542046e2, 4.328810604912902668951e2, 4.853903996359136964868e2, 1.945506571482613964425e2], z);
  z = (z * over) / under;
  return x * z + x;
}

const moreBits = 6.123233995736765886130e-17;

function arctangentAbove(x) {
  if (x <= 0.66) return arctangentNear(x);
  if (x > 2.41421356237309504880) return Math.PI / 2 - arctangentNear(1 / x) + moreBits;
  return Math.PI / 4 + arctangentNear((x - 1) / (x + 1)) + 0.5 * moreBits;
}

function arctangent(x) {
  if (x === 0) return x;
  return x > 0 ? arctangentAbove(x) : -arctangentAbove(-x);
}

function arcsine(x) {
  if (x === 0) return x;
  const size = Math.abs(x);
  if (size > 1) return Number.NaN;
  const other = Math.sqrt(1 - size * size);
  const angle = size > 0.7 ? Math.PI / 2 - arctangentAbove(other / size) : arctangentAbove(size / other);
  return x < 0 ? -angle : angle;
}

const isMinus = (v) => v < 0 || Object.is(v, -0);

function angleOf(y, x) {
  if (y === 0) {
    const size = x >= 0 && !isMinus(x) ? 0 : Math.PI;
    return isMinus(y) ? -size : size;
  }
  if (x === 0) return y < 0 ? -Math.PI / 2 : Math.PI / 2;
  const q = arctangent(y / x);
  if (x >= 0) return q;
  return q <= 0 ? q + Math.PI : q - Math.PI;
}

const turns = (radians) => radians / (2 * Math.PI);

function cbrt(v) {
  if (v === 0) return v;
  const x = Math.abs(v);
  let t = numberOf(bitsOf(x) / 3n + (715094163n << 32n));
  if (x < 2 ** -1022) t = numberOf(bitsOf(2 ** 54 * x) / 3n + (696219795n << 32n));
  let r = (t * t) / x;
  let s = 5.42857142857142815906e-1 + r * t;
  t *= 3.57142857142857150787e-1 + 1.60714285714285720630 / (s + 1.41428571428571436819 + -7.05306122448979611050e-1 / s);
  t = numberOf((bitsOf(t) & (0xffffffffcn << 28n)) + (1n << 30n));
  s = t * t;
  r = x / s;
  r = (r - t) / (t + t + r);
  t += t * r;
  return v < 0 ? -t : t;
}

function hypot(a, b) {
  const p = Math.max(Math.abs(a), Math.abs(b));
  if (p === 0) return 0;
  const q = Math.min(Math.abs(a), Math.abs(b)) / p;
  return p * Math.sqrt(1 + q * q);
}

// logOf is Go's logarithm, which takes its argument apart in another way than
// the kernel's.
function logOf(x) {
  if (x === 0) return Number.NEGATIVE_INFINITY;
  return x < 0 ? Number.NaN : ln(x);
}

function log10(x) {
  const r = logOf(x) * Math.LOG10E;
  const n = nearest(r);
  return n >= 0 && n <= 22 && Math.abs(r - n) < 1e-9 && Number(`1e${n}`) === x ? n : r;
}

// byName are the intrinsics; those that take two values fold over more.
const byName = {
  pi: () => Math.PI,
  abs: Math.abs,
  sign: (x) => (x > 0 ? 1 : x < 0 ? -1 : 0),
  min: (a, b) => (b < a ? b : a),
  max: (a, b) => (b > a ? b : a),
  plain: (x) => x,
  hypot,
  sqrt: Math.sqrt,
  cbrt,
  exp,
  ln,
  log10,
  sin,
  cos,
  tan,
  asin: (x) => turns(arcsine(x)),
  acos: (x) => turns(Math.PI / 2 - arcsine(x)),
  atan: (x) => turns(arctangent(x)),
  atan2: (y, x) => turns(angleOf(y, x)),
  floor,
  ceil,
  round,
  mod,
  gcd,
};

// intrinsicNamed returns the bare function of that name.
export function intrinsicNamed(name) {
  const f = byName[name];
  if (!f) throw new Error(`the page does not know the function ${name}`);
  return f;
}

// applied returns an intrinsic's value, a fault where that is no number.
export const applied = (v) => (isNumber(v) ? v : fault);
