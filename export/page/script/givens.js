// The controls of the givens: a stepper through choices and whole numbers, a
// field with a decimal keypad for other numbers, a list or a field for words.

import { all, button, find, make, selection } from "./element.js";
import { outside, readQuantity, typedOf } from "./quantity.js";
import { sameValue } from "./sheet.js";
import { placeOf } from "./view.js";
import { labelOf, numberText, valueText } from "./words.js";

// Givens makes the controls and updates them with the sheet.
export class Givens {
  constructor(sheet, view) {
    this.sheet = sheet;
    this.view = view;
    this.controls = [];
  }

  start() {
    for (const element of all(".givens [data-c]")) this.addCell(element);
    for (const table of this.view.tables) {
      if (table.element.closest(".givens") && !table.columns.every((c) => this.sheet.data.columns[c].ff)) this.addTable(table);
    }
    find("#undo").addEventListener("click", () => this.sheet.undo());
    find("#reset").addEventListener("click", () => this.sheet.reset());
    this.follow();
  }

  addCell(element) {
    const place = placeOf(this.sheet, element);
    place.name = place.q.n;
    find("span", element).id = `n-${element.dataset.c}`;
    const control = new Control(this.sheet, place, `n-${element.dataset.c}`);
    find("output", element).replaceWith(control.element);
    element.classList.add("live");
    element.append(control.refused, control.said);
    this.controls.push(control);
  }

  addTable(table) {
    const { data } = this.sheet;
    table.entryOf = (place) => {
      if (data.columns[place.column].ff) return null;
      const name = `${table.table.n}.${place.q.n}[${place.row + 1}]`;
      const control = new Control(this.sheet, { ...place, name }, "");
      this.controls = this.controls.filter((c) => c.place.name !== name);
      this.controls.push(control);
      return make("span", {}, control.element, control.refused, control.said);
    };
    table.shown = "";
    table.draw();
  }

  follow() {
    for (const control of this.controls) control.follow();
    const { changes } = this.sheet;
    find("#changes").hidden = changes.size === 0 && this.sheet.past.length === 0;
    find("#undo").disabled = this.sheet.past.length === 0;
    find("#reset").disabled = changes.size === 0;
    find("#changed").replaceChildren(...[...changes.values()].map((c) => this.changeItem(c)));
  }

  changeItem({ place, v }) {
    const { data, base } = this.sheet;
    const was = valueText(data, place.q, this.sheet.valueIn(base, place)) || "empty";
    return make(
      "li",
      { className: "change" },
      make("strong", { className: "word", textContent: "changed" }),
      make("span", {}, `${place.q.l || place.name}: ${was} → ${valueText(data, place.q, v) || "empty"}`),
    );
  }
}

// Control changes one given.
class Control {
  constructor(sheet, place, labelledBy) {
    this.sheet = sheet;
    this.place = place;
    this.refused = make("span", { className: "refused", role: "alert" });
    this.said = make("span", { className: "said" });
    this.id = `e-${place.name}`;
    this.refused.id = `r-${place.name}`;
    const naming = labelledBy ? { "aria-labelledby": labelledBy } : { "aria-label": place.name };
    this.naming = { ...naming, "aria-describedby": this.refused.id };
    this.field = this.makeField();
    this.field.addEventListener("change", () => this.enter(this.field.value));
    this.element = this.build();
  }

  // steps reports whether the given has a stepper.
  get steps() {
    const { q } = this.place;
    return q.c !== undefined || q.w === true || q.f === 1;
  }

  makeField() {
    const { q } = this.place;
    const { data } = this.sheet;
    if (q.f === 1) return selection([["no", "no"], ["yes", "yes"], ...(q.b ? [["", "empty"]] : [])], "no", this.naming);
    if (q.c)
      return selection(
        q.c.map((v) => [typedOf(data, q, v), numberText(data, q, v)]),
        "",
        this.naming,
      );
    const field = make("input", { type: "text", className: q.f === 2 ? "entry text" : "entry", autocomplete: "off", ...this.naming });
    if ((q.f ?? 0) === 0) field.inputMode = q.w ? "numeric" : "decimal";
    return field;
  }

  build() {
    const { q, column } = this.place;
    const unit = (q.f ?? 0) === 0 ? this.sheet.data.units[q.u]?.s : "";
    const beside = unit && unit !== "1" && column === undefined ? make("span", { className: "unit", textContent: unit }) : null;
    if (!this.steps || column !== undefined) return make("span", { className: "control" }, this.field, beside);
    this.less = button("−", () => this.step(-1), { "aria-label": `${labelOf(q)}: the one before` });
    this.more = button("+", () => this.step(1), { "aria-label": `${labelOf(q)}: the next one` });
    return make("span", { className: "control stepper" }, this.less, this.field, this.more, beside);
  }

  // stops are the values of the stepper; null for all whole numbers.
  stops() {
    const { q } = this.place;
    if (q.f === 1) return [0, 1];
    return q.c ?? null;
  }

  stepped(by) {
    const v = this.sheet.valueIn(this.sheet.givens, this.place);
    const stops = this.stops();
    if (!stops) return v + by * (this.sheet.data.units[this.place.q.u]?.k ?? 1);
    const at = stops.findIndex((stop) => Math.abs(stop - v) <= 1e-12 * Math.abs(v));
    return stops[at + by];
  }

  step(by) {
    const v = this.stepped(by);
    if (v !== undefined) this.enter(typedOf(this.sheet.data, this.place.q, v));
  }

  // enter accepts a typed value, or shows why it is refused.
  enter(text) {
    const { data } = this.sheet;
    const { q } = this.place;
    const read = readQuantity(data, q, text);
    const why = read.why ?? outside(data, q, read.v);
    this.refuse(why);
    if (!why) this.sheet.set(this.place.name, text);
  }

  refuse(why) {
    this.refused.textContent = why ? `Not taken: ${why}.` : "";
    this.field.setAttribute("aria-invalid", why ? "true" : "false");
  }

  follow() {
    const { data } = this.sheet;
    const { q, name } = this.place;
    const change = this.sheet.changes.get(name);
    const v = this.sheet.valueIn(this.sheet.givens, this.place);
    if (this.change === change && sameValue(this.v, v) && this.field.value === this.text) return;
    const text = change && (q.f ?? 0) === 0 && !q.c ? change.typed : fieldText(data, q, v);
    if (this.field.value !== text) {
      this.field.value = text;
      this.refuse("");
    }
    // The shown state, to detect changes.
    [this.change, this.v, this.text] = [change, v, text];
    if (this.less) {
      this.less.disabled = this.stops() !== null && this.stepped(-1) === undefined;
      this.more.disabled = this.stops() !== null && this.stepped(1) === undefined;
    }
    this.tell(change);
  }

  // tell shows the sheet's value of a changed given.
  tell(change) {
    const key = change ? "yes" : "";
    if (this.announced === key) return;
    this.announced = key;
    if (!change) {
      this.said.replaceChildren();
      return;
    }
    const was = valueText(this.sheet.data, this.place.q, this.sheet.valueIn(this.sheet.base, this.place)) || "nothing";
    const back = button("put back", () => this.sheet.putBack(this.place.name), { "aria-label": `put back ${this.place.name}: ${was}` });
    this.said.replaceChildren(`sheet says ${was} · `, back);
  }
}

// fieldText is the text of a field for a value.
function fieldText(data, q, v) {
  if (q.f === 2 && !q.c) return v === Number.POSITIVE_INFINITY ? "" : data.texts[v];
  return typedOf(data, q, v);
}
