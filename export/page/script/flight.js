// Runtime values: a number, a blank or a fault. A blank is Infinity and a
// fault is NaN: no number of a sheet is either, and no payload of a NaN is
// needed.

import { nearest } from "./number.js";

export const blank = Number.POSITIVE_INFINITY;
export const fault = Number.NaN;

export const isNumber = (v) => v - v === 0;
export const isFault = (v) => v - v !== 0 && v !== blank;
export const isBlank = (v) => v === blank;

const tolerance = 1e-12;

// same and atLeast compare numbers with the tolerance of the language.
export const same = (a, b) => a === b || Math.abs(a - b) <= tolerance * Math.max(Math.abs(a), Math.abs(b));
export const atLeast = (a, b) => a >= b || same(a, b);

// rowOf returns the place of the row that the index v names, or -1.
export function rowOf(v, live) {
  const n = nearest(v);
  return !same(v, n) || n < 1 || n > live ? -1 : n - 1;
}
