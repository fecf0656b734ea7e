// The view follows the sheet: values, marks of moved values, limits, the
// results bar, charts. Elements off the screen are drawn when they become
// visible.

import { drawn } from "./chart.js";
import { all, find, make, section, selection, setText } from "./element.js";
import { isFault, isNumber } from "./flight.js";
import { formatNumber, shownIn } from "./number.js";
import { TableView } from "./table.js";
import { labelOf, limitWord, numberText, valueText } from "./words.js";

// placeOf returns the place of the cell that an element of the document shows.
export function placeOf(sheet, element) {
  const cell = Number(element.dataset.c);
  return { cell, row: -1, q: sheet.data.cells[cell] };
}

// moveText describes how far a number moved: "up 6.7 %, was 221.8".
export function moveText(sheet, place) {
  const [before, after] = [sheet.valueAt(place, sheet.before), sheet.valueAt(place)];
  const was = isFault(before) ? "a fault" : numberText(sheet.data, place.q, before) || "empty";
  if (!isNumber(before) || !isNumber(after) || (place.q.f ?? 0) !== 0) return { arrow: "●", text: `was ${was}` };
  const up = after > before;
  const unit = sheet.data.units[place.q.u];
  const percent =
    before !== 0 && !unit?.o && !place.q.p ? ` ${formatNumber((Math.abs(after - before) / Math.abs(before)) * 100, 0.1)} %` : "";
  return { arrow: up ? "▲" : "▼", text: `${up ? "up" : "down"}${percent === " 0.0 %" ? "" : percent}, was ${was}` };
}

// View draws the sheet on the page.
export class View {
  constructor(sheet) {
    this.sheet = sheet;
    this.blocks = [];
    this.other = null; // the values that are beside the sheet's own
    this.seen = new Set();
    this.watch = new IntersectionObserver((entries) => this.sight(entries), { rootMargin: "200px" });
  }

  start() {
    for (const element of all("[data-c]")) this.nameCell(element);
    for (const element of all("[data-c]")) this.add(element, () => this.drawCell(element));
    this.tables = all(".table[data-table]").map((element) => new TableView(this, element));
    for (const table of this.tables) this.add(table.element, () => table.draw());
    for (const figure of all("figure[data-chart]")) this.add(figure, () => this.drawChart(figure));
    this.picks = this.keptPicks() ?? this.firstPicks();
    addEventListener("beforeprint", () => {
      this.draw();
      this.drawAll();
    });
    this.resized = new ResizeObserver(() => this.follow());
    if (find("figure")) this.resized.observe(find("figure"));
  }

  // nameCell reads a cell's label from the document.
  nameCell(element) {
    const name = find("span", element);
    if (find("code", name)) placeOf(this.sheet, element).q.l = name.firstChild.textContent.trim();
  }

  // add registers an element and its draw function.
  add(element, draw) {
    const block = { element, draw, stale: false };
    this.blocks.push(block);
    element.gearleafBlock = block;
    this.watch.observe(element);
  }

  sight(entries) {
    for (const { target, isIntersecting } of entries) {
      const block = target.gearleafBlock;
      if (!isIntersecting) this.seen.delete(block);
      else {
        this.seen.add(block);
        if (block.stale) this.drawBlock(block);
      }
    }
  }

  drawBlock(block) {
    block.stale = false;
    block.draw();
  }

  // follow schedules drawing for the next frame.
  follow() {
    this.waiting ??= requestAnimationFrame(() => this.draw());
  }

  // draw draws the visible elements, and marks the rest.
  draw() {
    this.waiting = null;
    for (const block of this.blocks) {
      block.stale = true;
      if (this.seen.has(block)) this.drawBlock(block);
    }
    this.drawLimits();
    this.drawStrip();
  }

  drawAll() {
    for (const block of this.blocks) if (block.stale) this.drawBlock(block);
  }

  drawCell(element) {
    const place = placeOf(this.sheet, element);
    if (place.q.g) return;
    this.drawValue(find("output", element), place, true);
    this.mark(element, place);
    this.drawOther(element, place);
  }

  // drawValue shows the value at a place.
  drawValue(output, place, withUnit) {
    const fault = this.sheet.faultAt(place);
    output.classList.toggle("fault", fault !== null);
    const text = withUnit ? valueText : numberText;
    setText(
      output,
      fault ? (withUnit ? this.sheet.faultWords(place) : "fault") : text(this.sheet.data, place.q, this.sheet.valueAt(place)),
    );
  }

  // mark shows whether the value moved: by a bar, an arrow and words.
  mark(element, place) {
    const moved = this.sheet.moved(place);
    element.classList.toggle("moved", moved);
    let words = find(".move", element);
    if (!moved) {
      words?.remove();
      return;
    }
    if (!words) {
      words = make("span", { className: "move" });
      find("output", element).after(words);
    }
    const { arrow, text } = moveText(this.sheet, place);
    words.replaceChildren(make("span", { textContent: `${arrow} `, "aria-hidden": "true" }), text);
  }

  drawOther(element, place) {
    find(".other", element)?.remove();
    if (!this.other) return;
    const v = this.sheet.valueAt(place, this.other.values);
    const words = place.cell === undefined ? numberText : valueText;
    const text = isFault(v) ? "fault" : words(this.sheet.data, place.q, v);
    element.append(make("span", { className: "other", textContent: `${this.other.name}: ${text}` }));
  }

  // chartOf returns the present points of a chart.
  chartOf(at, values = this.sheet.now) {
    const { data } = this.sheet;
    const c = data.charts[at];
    const { live } = values.spans[data.columns[c.x].t];
    const points = (column) => {
      const q = data.columns[column];
      return Array.from(values.columns[column].slice(0, live), (v) =>
        isNumber(v) ? (q.f === 2 ? v : shownIn(data.units[q.u], v)) : Number.NaN,
      );
    };
    const texts = data.columns[c.x].f === 2;
    const x = texts ? points(c.x).map((_, i) => i) : points(c.x);
    const places = texts ? Array.from(values.columns[c.x].slice(0, live), (v) => numberText(data, data.columns[c.x], v)) : null;
    return { title: c.t, axes: c.a, places, series: c.y.map((y, i) => ({ name: c.s[i], x, y: points(y) })) };
  }

  drawChart(figure) {
    const width = Math.round(Math.min(Math.max(figure.clientWidth, 280), 760));
    const chart = this.chartOf(Number(figure.dataset.chart));
    if (this.other) {
      for (const s of this.chartOf(Number(figure.dataset.chart), this.other.values).series) {
        chart.series.push({ ...s, name: `${s.name} (${this.other.name})` });
      }
    }
    // The text is made by drawn, which escapes every text of the sheet.
    figure.innerHTML = drawn(chart, width, width < 500 ? 300 : 420);
  }

  drawLimits() {
    const { sheet } = this;
    const limits = sheet.limits();
    const rank = { broken: 0, waiting: 1, advised: 2 };
    const open = limits.filter((l) => l.state !== "kept").sort((a, b) => rank[a.state] - rank[b.state]);
    const kept = limits.filter((l) => l.state === "kept");
    const failures = sheet.failures().map((f) => limitItem("fault", "FAULT", "", `${f.origin}: ${f.cause}`));
    const advices = sheet.advices().map((a) => limitItem("advised", "advice", "", `${a.cell}: ${a.text}`));
    const items = open.map((l) => limitItem(l.state, limitWord(l.state), l.limit.m ?? "", l.text));
    find("#broken").replaceChildren(...items.slice(0, open.length), ...failures, ...advices);
    this.drawKept(kept);
    find("#kept").hidden = kept.length === 0;
    setText(find("#kept-count"), `${kept.length} kept`);
  }

  // drawKept lists the kept limits, if they are visible.
  drawKept(kept) {
    const fill = () => {
      const items = kept.map((l) => make("li", {}, make("b", { textContent: "kept" }), ` ${l.text}`));
      find("#kept-list").replaceChildren(...items);
    };
    find("#kept").ontoggle = fill;
    if (find("#kept").open) fill();
  }

  drawStrip() {
    const { bad, text } = this.sheet.verdict();
    find("#strip").classList.toggle("bad", bad);
    setText(find("#verdict"), text);
    find("#picks").replaceChildren(...this.picks.map((name) => this.pick(name)).filter(Boolean));
  }

  pick(name) {
    if (name === "") return null;
    const place = this.sheet.place(name);
    const output = make("output", {});
    this.drawValue(output, place, true);
    const box = make("div", { className: "pick" }, make("span", { textContent: labelOf(place.q) }), output);
    if (this.sheet.moved(place)) {
      box.classList.add("moved");
      const { arrow, text } = moveText(this.sheet, place);
      box.firstChild.prepend(make("span", { textContent: `${arrow} `, "aria-hidden": "true" }));
      output.append(make("span", { className: "unseen", textContent: `, ${text}` }));
    }
    return box;
  }

  // firstPicks are the first results of the sheet: the labelled ones in their
  // order, then the others.
  firstPicks() {
    const names = this.results();
    const labelled = names.filter((n) => this.sheet.place(n).q.l && (this.sheet.place(n).q.f ?? 0) === 0);
    return [...new Set([...labelled, ...names]), "", "", ""].slice(0, 3);
  }

  // keptPicks are the reader's earlier choices in this browser; null if there
  // are none, if the sheet lacks one, or if there is no storage.
  keptPicks() {
    try {
      const names = JSON.parse(localStorage.getItem(this.picksKey));
      return names?.length === 3 && names.every((n) => n === "" || this.results().includes(n)) ? names : null;
    } catch {
      return null;
    }
  }

  keepPicks() {
    try {
      localStorage.setItem(this.picksKey, JSON.stringify(this.picks));
    } catch {
      // A browser without storage for files shows the sheet's own next time.
    }
  }

  get picksKey() {
    return `gearleaf results of ${this.sheet.data.file}`;
  }

  // results are the names of the computed cells.
  results() {
    return [...this.sheet.places].filter(([, p]) => p.cell !== undefined && !p.q.g).map(([name]) => name);
  }

  // picker lets the reader choose the results in the bar.
  picker() {
    const choices = [["", "nothing"], ...this.results().map((name) => [name, labelOf(this.sheet.place(name).q)])];
    const fields = this.picks.map((name, i) => {
      const field = selection(choices, name, { "aria-label": `Result ${i + 1} in sight` });
      field.addEventListener("change", () => {
        this.picks[i] = field.value;
        this.keepPicks();
        this.drawStrip();
      });
      return field;
    });
    return section("Which results stay in sight", ...fields);
  }
}

function limitItem(state, word, message, sides) {
  const text = make("span", {});
  if (message) text.append(message, make("br"));
  text.append(make("span", { className: "sides", textContent: sides }));
  return make("li", { className: `limit ${state}` }, make("strong", { className: "word", textContent: word }), text);
}
