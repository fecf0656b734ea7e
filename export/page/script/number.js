// Numbers for people: the same characters as from sheet/unit. JavaScript's
// toFixed rounds a tie up, Go to the even digit, so the digits come from exact
// whole numbers here.

const bitsView = new DataView(new ArrayBuffer(8));

// bitsOf returns the bits of a number as a BigInt.
export function bitsOf(v) {
  bitsView.setFloat64(0, v);
  return bitsView.getBigUint64(0);
}

// numberOf returns the number that has these bits.
export function numberOf(bits) {
  bitsView.setBigUint64(0, bits);
  return bitsView.getFloat64(0);
}

// scaled returns v · 10^places, v not negative, rounded to a whole number:
// ties go to the even one.
function scaled(v, places) {
  const bits = bitsOf(v) & 0x7fffffffffffffffn; // of 0 the sign may be set
  const exponent = Number(bits >> 52n);
  const mantissa = (bits & 0xfffffffffffffn) | (exponent === 0 ? 0n : 1n << 52n);
  const power = Math.max(exponent, 1) - 1075;
  let over = mantissa;
  let under = 1n;
  if (power >= 0) over <<= BigInt(power);
  else under <<= BigInt(-power);
  if (places >= 0) over *= 10n ** BigInt(places);
  else under *= 10n ** BigInt(-places);
  const whole = over / under;
  const rest = 2n * (over % under);
  return rest > under || (rest === under && (whole & 1n) === 1n) ? whole + 1n : whole;
}

// isTie reports whether the digits of v after so many decimals could be a tie:
// a tie has few binary digits, so toFixed handles all other numbers.
function isTie(v, decimals) {
  const doubled = v * 2 * 10 ** decimals;
  return decimals > 22 || Math.abs(doubled - Math.round(doubled)) < 1e-3 * Math.max(1, Math.abs(doubled) * 1e-12);
}

// fixed writes v with so many decimals.
export function fixed(v, decimals) {
  const size = Math.abs(v);
  if (size < 1e15 && decimals <= 22 && !isTie(size, decimals)) return v.toFixed(decimals);
  const sign = v < 0 || Object.is(v, -0) ? "-" : "";
  const digits = scaled(size, decimals)
    .toString()
    .padStart(decimals + 1, "0");
  if (decimals === 0) return sign + digits;
  return `${sign}${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
}

// significantDigits returns v, above zero, to so many digits: the digits, and
// the power of ten of the first.
function significantDigits(v, count) {
  let power = Number(v.toExponential(20).split("e")[1]);
  let digits = scaled(v, count - 1 - power).toString();
  if (digits.length > count) {
    power += 1;
    digits = scaled(v, count - 1 - power).toString();
  }
  return { digits, power };
}

// rounded returns v to so many significant digits, as a number.
function toSignificant(v, count) {
  if (v === 0) return v;
  const { digits, power } = significantDigits(Math.abs(v), count);
  const size = Number(`${digits}e${power - count + 1}`);
  return v < 0 ? -size : size;
}

// plain writes a number in full, with all its digits.
export function plain(v) {
  const text = String(v);
  const cut = text.indexOf("e");
  if (cut < 0) return Object.is(v, -0) ? "-0" : text;
  const power = Number(text.slice(cut + 1));
  const sign = text.startsWith("-") ? "-" : "";
  const [whole, part = ""] = text.slice(sign.length, cut).split(".");
  const digits = whole + part;
  const dot = whole.length + power;
  if (dot <= 0) return `${sign}0.${"0".repeat(-dot)}${digits}`;
  return sign + digits.padEnd(dot, "0");
}

// exponential writes v as 1.5e+16, with so many significant digits at most.
function exponential(v, count = 6) {
  const { digits, power } = significantDigits(Math.abs(v), count);
  const part = digits.slice(1).replace(/0+$/, "");
  const mantissa = part === "" ? digits[0] : `${digits[0]}.${part}`;
  return `${v < 0 ? "-" : ""}${mantissa}e${power < 0 ? "-" : "+"}${String(Math.abs(power)).padStart(2, "0")}`;
}

// argument writes a refused argument with enough digits to distinguish it from
// the nearest whole number.
export function argument(v) {
  const text = general(v);
  const short = Number(text);
  return short === Math.trunc(short) && v !== short ? plain(v) : text;
}

// general writes v with up to six significant digits, as %.6g does.
export function general(v) {
  if (v === 0) return Object.is(v, -0) ? "-0" : "0";
  const { power } = significantDigits(Math.abs(v), 6);
  return power < -4 || power >= 6 ? exponential(v) : plain(toSignificant(v, 6));
}

// trim removes the noise of a conversion from v: everything beyond fifteen
// digits of the larger of v and reach.
export function trim(v, reach) {
  if (!Number.isFinite(v) || v === 0) return v;
  const size = Math.max(Math.abs(v), Math.abs(reach));
  const decimals = 14 - Math.floor(decade(size));
  if (decimals < 0 || decimals > 300) return toSignificant(v, 15);
  return Number(fixed(v, decimals));
}

// decade is the decimal logarithm, precise enough for its whole part: near a
// power of ten the digits decide.
function decade(v) {
  const power = Number(v.toExponential(20).split("e")[1]);
  const near = Math.log10(v);
  return Math.round(near) === near && near > power + 0.5 ? near : power;
}

const mostDecimals = 15;

const isStep = (step) => step > 0 && step !== Number.POSITIVE_INFINITY;

// decimalsOf returns the number of decimals of a number rounded to step.
export function decimalsOf(step) {
  if (!isStep(step)) return 0;
  const text = plain(step);
  const dot = text.indexOf(".");
  return dot < 0 ? 0 : Math.min(text.length - dot - 1, mostDecimals);
}

const awayFromZero = (v) => (v < 0 ? -Math.round(-v) : Math.round(v));

// nearest rounds to a whole number, halves away from zero.
export function nearest(v) {
  const size = Math.abs(v);
  if (size < 0.5) return v < 0 ? -0 : 0;
  if (size >= 2 ** 52) return v;
  if (size === 0.49999999999999994) return v < 0 ? -0 : 0;
  return awayFromZero(v);
}

// formatNumber writes v for people: rounded to step, or without one (0) with
// up to count significant digits, those before the point in full.
export function formatNumber(value, step, count = 6) {
  let v = value;
  if (!Number.isFinite(v)) return "—";
  if (v === 0) v = 0;
  else if (Math.abs(v) >= 1e15) return exponential(v, count);
  if (isStep(step) && Math.abs(v / step) < 1e15) return toStep(v, step);
  if (v !== 0 && Math.abs(v) < 1e-6) return exponential(v, count);
  if (v === Math.trunc(v)) return plain(v);
  if (Math.abs(v) >= 10 ** count) return fixed(v, 0);
  const short = toSignificant(v, count);
  return Math.abs(short) >= 1e15 ? exponential(short, count) : plain(short);
}

// formatTyped writes a typed number with all its digits: a number with more
// than twelve was not typed.
export const formatTyped = (v) => (toSignificant(v, 12) === v ? formatNumber(v, 0, 12) : formatNumber(v, 0));

// formatGiven writes a given number as formatNumber with its step, unless that
// hides a typed digit.
export const formatGiven = (v, step) => {
  const text = formatNumber(v, step);
  return step === 0 || (toSignificant(v, 12) === v && Number(text) !== v) ? formatTyped(v) : text;
};

const magnitude = (v) => (v === 0 ? 0 : Math.floor(decade(Math.abs(v))));

const ownDecimals = (v, step) => (isStep(step) ? decimalsOf(step) : 5 - magnitude(v));

// decimalsBeside returns with how many decimals v, shown to step, is written
// beside another number, as in the tool; -1 if as elsewhere.
export function decimalsBeside(v, step, other, otherStep, typed) {
  const own = ownDecimals(v, step);
  const d = Math.abs(v - other);
  const near = isStep(step) ? step : 10 ** (1 - own); // two digits of it are shown
  const asTyped = typed && toSignificant(other, 12) === other;
  let places = asTyped ? decimalsOf(Math.abs(other)) : ownDecimals(other, otherStep);
  if (d >= near && !(asTyped && places > own)) return -1;
  if (d < near && d > 1e-12 * Math.max(Math.abs(v), Math.abs(other))) places = Math.max(places, 1 - magnitude(d));
  return Math.max(0, Math.min(Math.max(own, places), 14 - magnitude(v), 300));
}

// formatDecimals writes v with so many decimals; zeros at the end only as far as
// step has decimals.
export function formatDecimals(v, places, step) {
  if (places > 12 || Math.abs(v) >= 1e15) return formatNumber(v, 0, 15);
  let text = toStep(v, Number(`1e-${places}`));
  for (let extra = places - decimalsOf(step); extra > 0 && text.endsWith("0"); extra--) text = text.slice(0, -1);
  return text.replace(/\.$/, "");
}

function toStep(v, step) {
  const steps = nearest(trim(v / step, 0));
  const text = fixed(steps * step, decimalsOf(step));
  return /^-?[0.]*$/.test(text) ? text.replace(/^-/, "") : text;
}

// shownIn returns the SI value si as a number in a unit.
export function shownIn(unit, si) {
  if (!unit) return si;
  return unit.o ? si / unit.k - unit.o : si / unit.k;
}

// siOf returns the SI value of v, a number in a unit, without the noise of the
// conversion.
export function siOf(unit, v) {
  if (!unit) return v;
  if (unit.o) return snap((v + unit.o) * unit.k);
  return unit.k === 1 ? v : snap(v * unit.k);
}

const tens = Array.from({ length: 23 }, (_, i) => Number(`1e${i}`));

// snap returns the number of fifteen digits that equals v except for its last
// bits, if there is one.
function snap(v) {
  const size = Math.abs(v);
  if (!(size >= 1e-7 && size < 1e15)) return v;
  let places = 0;
  while (places < tens.length - 1 && size * tens[places] < 1e14) places++;
  const near = nearest(v * tens[places]) / tens[places];
  return Math.abs(near - v) > 4e-16 * size ? v : near;
}

// clean returns the shown number without the noise of the conversion.
export function clean(unit, si) {
  return trim(shownIn(unit, si), unit ? (unit.o ?? 0) : 0);
}

// withSymbol writes a number and its unit.
export function withSymbol(number, unit) {
  return !unit || unit.s === "" || unit.s === "1" ? number : `${number} ${unit.s}`;
}
