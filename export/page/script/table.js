// Tables: short ones whole, long ones sampled, with access to any row.

import { button, find, make } from "./element.js";
import { moveText } from "./view.js";

const shortTable = 40;
const sampledRows = 20;

// sampled returns the shown rows, from 0, for a number of live ones.
export function sampled(live) {
  if (live <= shortTable) return Array.from({ length: live }, (_, i) => i);
  return Array.from({ length: sampledRows }, (_, i) => Math.trunc((i * (live - 1)) / (sampledRows - 1)));
}

// TableView follows one table. Its cells are made again only if the shown rows
// change.
export class TableView {
  constructor(view, element) {
    this.view = view;
    this.element = element;
    this.at = Number(element.dataset.table);
    this.table = view.sheet.data.tables[this.at];
    this.body = find("tbody", element);
    element.classList.add("live");
    element.hidden = false;
    this.columns = this.table.c.filter((c) => !element.closest(".givens") || view.sheet.data.columns[c].g);
    this.asked = -1;
    this.shown = "";
    if (this.table.r > shortTable && !this.table.x) this.addQuestion();
  }

  // addQuestion adds the field that asks for a row.
  addQuestion() {
    const field = make("input", { className: "entry", inputMode: "numeric", "aria-label": `Row of ${this.table.n}` });
    const show = () => {
      const row = Number.parseInt(field.value, 10);
      const live = this.view.sheet.live(this.at);
      this.asked = row >= 1 && row <= live ? row - 1 : -1;
      note.textContent = this.asked < 0 && field.value !== "" ? `rows 1 to ${live}` : "";
      this.draw();
    };
    const note = make("span", { className: "refused", role: "status" });
    field.addEventListener("keydown", (event) => {
      if (event.key === "Enter") show();
    });
    this.element.append(make("p", { className: "ask-row" }, make("label", {}, "Row ", field), button("Show it", show), note));
  }

  rows() {
    const live = this.view.sheet.live(this.at);
    const around = this.asked < 0 ? [] : [-2, -1, 0, 1, 2].map((d) => this.asked + d).filter((row) => row >= 0 && row < live);
    return [...new Set([...around, ...sampled(live)])].sort((a, b) => a - b);
  }

  draw() {
    if (this.table.x) return;
    const rows = this.rows();
    const key = rows.join();
    if (key !== this.shown) this.fill(rows);
    this.shown = key;
    for (const { place, td, output } of this.outputs) {
      this.view.drawValue(output, place, false);
      this.mark(td, place);
      this.view.drawOther(td, place);
    }
  }

  // fill makes the rows; it reuses those of the document.
  fill(rows) {
    const numbered = rows.length < this.view.sheet.live(this.at) || this.table.r > shortTable;
    this.outputs = [];
    const made = rows.map((row) => this.row(row, numbered));
    this.body.replaceChildren(...made);
    const head = find("thead tr", this.element);
    if (head && numbered && head.firstChild.textContent !== "row") head.prepend(make("th", { scope: "col", textContent: "row" }));
  }

  row(row, numbered) {
    const { data } = this.view.sheet;
    const tr = make("tr", { className: row === this.asked ? "asked" : "" });
    if (numbered) tr.append(make("th", { scope: "row", textContent: String(row + 1), data: { head: "row" } }));
    for (const column of this.columns) {
      const q = data.columns[column];
      const unit = q.u >= 0 ? data.units[q.u].s : "";
      const output = make("output", { className: "value" });
      const td = make(
        "td",
        { className: (q.f ?? 0) === 0 ? "" : "txt", data: { head: unit && unit !== "1" ? `${q.n}, ${unit}` : q.n } },
        output,
      );
      const place = { column, row, q };
      const entry = this.entryOf?.(place);
      if (entry) {
        td.classList.add("entered");
        td.replaceChildren(entry);
      } else this.outputs.push({ place, td, output });
      tr.append(td);
    }
    return tr;
  }

  mark(td, place) {
    const moved = this.view.sheet.moved(place);
    td.classList.toggle("moved", moved);
    find(".move", td)?.remove();
    if (!moved) return;
    const { arrow, text } = moveText(this.view.sheet, place);
    const was = text.slice(text.lastIndexOf("was "));
    td.append(
      make(
        "span",
        { className: "move" },
        make("span", { textContent: `${arrow} `, "aria-hidden": "true" }),
        make("span", { className: "unseen", textContent: `${text.split(",")[0]}, ` }),
        was,
      ),
    );
  }
}
