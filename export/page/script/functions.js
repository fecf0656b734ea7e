// The intrinsics of the library, by name, for explaining a fault.

import { ceil, fault, floor, gcd, isNumber, mod, round } from "./kernel.js";

const turn = 2 * Math.PI;

// byName are the intrinsics; those that take two values fold over more.
const byName = {
  pi: () => Math.PI,
  abs: Math.abs,
  sign: Math.sign,
  min: Math.min,
  max: Math.max,
  plain: (x) => x,
  hypot: Math.hypot,
  sqrt: Math.sqrt,
  cbrt: Math.cbrt,
  exp: Math.exp,
  ln: Math.log,
  log10: Math.log10,
  sin: (x) => Math.sin(turn * x),
  cos: (x) => Math.cos(turn * x),
  tan: (x) => (Math.abs(x % 0.5) === 0.25 ? Number.NaN : Math.tan(turn * x)),
  asin: (x) => Math.asin(x) / turn,
  acos: (x) => Math.acos(x) / turn,
  atan: (x) => Math.atan(x) / turn,
  atan2: (y, x) => Math.atan2(y, x) / turn,
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
