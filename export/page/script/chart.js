// Charts in the layout of export/chart, step by step, with classes instead of
// colours.

import { fixed, plain } from "./number.js";

const left = 74;
const right = 18;
const top = 66;
const bottom = 56;
const dashes = ["", "8 4", "2 3", "10 3 2 3", "5 2", "1 2"];
const narrow = 500;
const legendLine = 18;
const nameChar = 6.6;
const nameLine = 13;

const titleAt = (width) => (width < narrow ? 4 : left);

// axisOf returns an axis that contains lo..hi with about n round marks.
function axisOf(low, high, n) {
  let [lo, hi] = [low, high];
  if (!(hi > lo)) {
    const pad = Math.max(Math.abs(lo) * 0.05, 0.5);
    [lo, hi] = [lo - pad, hi + pad];
  }
  const step = nice((hi - lo) / n);
  return { lo: Math.floor(lo / step + 1e-9) * step, hi: Math.ceil(hi / step - 1e-9) * step, step };
}

function nice(x) {
  const power = 10 ** Math.floor(Math.log10(x));
  const f = x / power;
  if (f <= 1) return power;
  if (f <= 2) return 2 * power;
  return (f <= 5 ? 5 : 10) * power;
}

// marksOf returns the numbers at which an axis has marks, with their texts.
function marksOf(axis) {
  const decimals = Math.max(0, -Math.floor(Math.log10(axis.step) + 1e-9));
  const out = [];
  for (let i = 0; ; i++) {
    const v = axis.lo + i * axis.step;
    if (v > axis.hi + axis.step / 2) return out;
    const text = fixed(v, decimals);
    out.push([v, /^-?[0.]*$/.test(text) ? text.replace(/^-/, "") : text]);
  }
}

const share = (axis, v) => (v - axis.lo) / (axis.hi - axis.lo);

// coordinate writes a coordinate to a tenth of a pixel.
const coordinate = (v) => plain(Math.trunc(v * 10 + 0.5) / 10);

const escapes = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&#34;", "'": "&#39;", "\t": "&#x9;", "\n": "&#xA;", "\r": "&#xD;" };

const escaped = (text) => text.replace(/[&<>"'\t\n\r]/g, (c) => escapes[c]);

// Drawing collects a few large SVG elements: the rules of one colour are one
// path, so are the dots, and texts of the same style are a group.
class Drawing {
  constructor(width, height, title) {
    this.head = `<svg viewBox="0 0 ${width} ${height}" role="img" aria-label="${escaped(title)}">`;
    this.rules = new Map();
    this.bars = new Map();
    this.lines = [];
    this.dots = new Map();
    this.texts = new Map();
  }

  rule(x1, y1, x2, y2, look) {
    add(this.rules, look, `M${coordinate(x1)} ${coordinate(y1)}L${coordinate(x2)} ${coordinate(y2)}`);
  }

  line(points, look, dash) {
    const path = points.map(([x, y], i) => `${i === 0 ? "M" : "L"}${coordinate(x)} ${coordinate(y)}`).join("");
    this.lines.push(`<path class="line ${look}" d="${path}"${dash === "" ? "" : ` stroke-dasharray="${dash}"`}/>`);
  }

  // dot is a line without length, whose round caps are the dot.
  dot([x, y], look) {
    add(this.dots, look, `M${coordinate(x)} ${coordinate(y)}h0`);
  }

  // bar is upright, x in its middle.
  bar(x, from, to, width, look) {
    add(this.bars, `${look}" stroke-width="${coordinate(width)}`, `M${coordinate(x)} ${coordinate(from)}V${coordinate(to)}`);
  }

  words(x, y, text, size, anchor, look, bold = "") {
    const group = `${look}" font-size="${size}"${bold} text-anchor="${anchor}"`;
    add(this.texts, group, `<text x="${coordinate(x)}" y="${coordinate(y)}">${escaped(text)}</text>`);
  }

  // upright writes a text that reads upwards.
  upright(x, y, text, size, look, anchor = "middle") {
    const at = `transform="translate(${coordinate(x)} ${coordinate(y)}) rotate(-90)"`;
    add(this.texts, `${look}" font-size="${size}" text-anchor="${anchor}"`, `<text ${at}>${escaped(text)}</text>`);
  }

  toString() {
    const rules = [...this.rules, ...this.bars].map(([look, d]) => `<path class="${look}" d="${d}"/>`);
    const dots = [...this.dots].map(([look, d]) => `<path class="dot ${look}" d="${d}"/>`);
    const texts = [...this.texts].map(([group, all]) => `<g class="${group}>${all}</g>`);
    return [this.head, ...rules, ...this.lines, ...dots, ...texts, "</svg>"].join("");
  }
}

const add = (layers, key, text) => layers.set(key, (layers.get(key) ?? "") + text);

function extent(series) {
  const out = { x: [Infinity, -Infinity], y: [Infinity, -Infinity] };
  for (const s of series) {
    for (let i = 0; i < s.x.length; i++) {
      if (Number.isNaN(s.x[i]) || Number.isNaN(s.y[i])) continue;
      out.x = [Math.min(out.x[0], s.x[i]), Math.max(out.x[1], s.x[i])];
      out.y = [Math.min(out.y[0], s.y[i]), Math.max(out.y[1], s.y[i])];
    }
  }
  return out;
}

const legendWidth = (s) => 32 + 6.6 * [...s.name].length + 22;

function legendLines(chart, width) {
  let lines = 1;
  let x = titleAt(width);
  for (const s of chart.series) {
    if (x > titleAt(width) && x + legendWidth(s) - 22 > width) {
      lines += 1;
      x = titleAt(width);
    }
    x += legendWidth(s);
  }
  return lines;
}

// drawn returns a chart as an SVG element's text: { title, axes: [x, y],
// series: [{ name, x, y }], places } with NaN where a line is broken.
export function drawn(chart, width, height) {
  const on = new Drawing(width, height, chart.title);
  on.words(titleAt(width), 24, chart.title, 16, "start", "ink", ' font-weight="bold"');
  const { x, y } = extent(chart.series);
  if (x[0] > x[1]) {
    on.words(width / 2, height / 2, "nothing to draw: no row has a value", 12, "middle", "muted");
    return on.toString();
  }
  const head = top + legendLine * (legendLines(chart, width) - 1);
  const [nx, ny] = [Math.max(2, Math.trunc(width / 95)), Math.max(2, Math.trunc(height / 70))];
  const { places } = chart;
  const xAxis = places ? { lo: -0.5, hi: places.length - 0.5, step: 1 } : axisOf(...x, nx);
  let yAxis = axisOf(...y, ny);
  if (places && (yAxis.lo > 0 || yAxis.hi < 0)) yAxis = axisOf(Math.min(yAxis.lo, 0), Math.max(yAxis.hi, 0), ny);
  const names = places && namesOf(places, width, height);
  const foot = bottom + (names ? names.high : 0);
  const px = (v) => left + share(xAxis, v) * (width - left - right);
  const py = (v) => height - foot - share(yAxis, v) * (height - head - foot);
  for (const [v, text] of marksOf(yAxis)) {
    on.rule(left, py(v), width - right, py(v), "grid");
    on.words(left - 8, py(v) + 4, text, 11, "end", "muted");
  }
  if (names) drawNames(on, names, px, height - foot);
  for (const [v, text] of places ? [] : marksOf(xAxis)) {
    on.rule(px(v), py(yAxis.lo), px(v), py(yAxis.hi), "grid");
    on.words(px(v), height - foot + 18, text, 11, "middle", "muted");
  }
  on.rule(left, py(yAxis.lo), width - right, py(yAxis.lo), "muted");
  on.words((left + width - right) / 2, height - 12, chart.axes[0], 12, "middle", "ink");
  on.upright(18, (head + height - foot) / 2, chart.axes[1], 12, "ink");
  chart.series.forEach((s, i) => {
    if (places) drawBars(on, i, chart.series.length, s, px, py);
    else drawSeries(on, i, s, px, py);
  });
  drawLegend(on, chart, width);
  return on.toString();
}

// namesOf returns the names below bars: across in up to three lines, or, if one
// does not fit, upwards; every step-th has room.
function namesOf(places, width, height) {
  const room = (width - left - right) / Math.max(1, places.length);
  const most = Math.trunc((room - 6) / nameChar);
  const names = { lines: places.map((p) => wrapped(p, most)), upward: false, step: 1, high: 0 };
  if (names.lines.includes(null)) {
    while (names.step * room < nameLine) names.step++;
    names.upward = true;
    names.lines = places.map((p) => [shortened([...p], Math.trunc((height * 0.35) / nameChar))]);
  }
  for (const lines of names.lines) {
    const high = names.upward ? nameChar * [...lines[0]].length - nameLine : nameLine * (lines.length - 1);
    names.high = Math.max(names.high, high);
  }
  return names;
}

// wrapped divides a text into lines, null if it takes too many or a word is longer.
function wrapped(text, chars) {
  const lines = [];
  for (const word of text.split(/\s+/).filter((w) => w !== "")) {
    const last = lines.length - 1;
    const size = [...word].length;
    if (size > chars) return null;
    if (last >= 0 && [...lines[last]].length + 1 + size <= chars) lines[last] += ` ${word}`;
    else if (lines.length === 3) return null;
    else lines.push(word);
  }
  return lines.length > 0 ? lines : [""];
}

// shortened leaves out the middle of a long text.
function shortened(text, most) {
  if (text.length <= most) return text.join("");
  const end = Math.trunc(most / 2);
  return `${text.slice(0, most - 1 - end).join("")}…${text.slice(text.length - end).join("")}`;
}

function drawNames(on, names, px, y) {
  names.lines.forEach((lines, i) => {
    if (i % names.step !== 0) return;
    if (names.upward) on.upright(px(i) + 11 / 3, y + 8, lines[0], 11, "muted", "end");
    else for (const [k, line] of lines.entries()) on.words(px(i), y + 18 + nameLine * k, line, 11, "middle", "muted");
  });
}

// drawBars draws one of several series as bars, beside those of the others.
function drawBars(on, i, count, s, px, py) {
  const width = 0.7 / count;
  s.x.forEach((x, k) => {
    if (Number.isNaN(x) || Number.isNaN(s.y[k])) return;
    on.bar(px(x - 0.35 + (i + 0.5) * width), py(0), py(s.y[k]), px(width) - px(0), `s${i % 6}`);
  });
}

function drawSeries(on, i, s, px, py) {
  const [look, dash] = [`s${i % 6}`, dashes[i % 6]];
  let run = [];
  const flush = () => {
    if (run.length > 1) on.line(thin(run), look, dash);
    if (s.x.length <= 30 || run.length === 1) for (const p of run) on.dot(p, look);
    run = [];
  };
  for (let k = 0; k < s.x.length; k++) {
    if (Number.isNaN(s.x[k]) || Number.isNaN(s.y[k])) flush();
    else run.push([px(s.x[k]), py(s.y[k])]);
  }
  flush();
}

function drawLegend(on, chart, width) {
  if (chart.series.length < 2) return;
  let x = titleAt(width);
  let y = 46;
  chart.series.forEach((s, i) => {
    if (x > titleAt(width) && x + legendWidth(s) - 22 > width) {
      x = titleAt(width);
      y += legendLine;
    }
    const look = `s${i % 6}`;
    const dash = [
      [x, y - 4],
      [x + 26, y - 4],
    ];
    if (chart.places) on.bar(x + 20, y - 10, y + 1, 12, look);
    else on.line(dash, look, dashes[i % 6]);
    on.words(x + 32, y, s.name, 11, "start", "ink");
    x += legendWidth(s);
  });
}

// thin leaves out the invisible points of a line.
function thin(points) {
  const keep = new Array(points.length).fill(false);
  keep[0] = keep[points.length - 1] = true;
  const open = [[0, points.length - 1]];
  while (open.length > 0) {
    const [from, to] = open.pop();
    let at = 0;
    let far = 0.1;
    for (let i = from + 1; i < to; i++) {
      const d = distance(points[i], points[from], points[to]);
      if (d > far) [at, far] = [i, d];
    }
    if (at > 0) {
      keep[at] = true;
      open.push([from, at], [at, to]);
    }
  }
  return points.filter((_, i) => keep[i]);
}

function distance(p, a, b) {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const long = dx * dx + dy * dy;
  const t = long > 0 ? Math.min(Math.max(((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / long, 0), 1) : 0;
  return Math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy);
}
