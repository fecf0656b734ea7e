// The sheet on the page: its givens, the changes in their order, the present
// values and those before the last change.

import { Engine } from "./engine.js";
import { blank, isBlank, isFault, isNumber } from "./flight.js";
import { readQuantity } from "./quantity.js";
import { faultText, limitState, limitText, verdictText } from "./words.js";

const flight = (v) => v ?? blank;

// sameValue reports whether two runtime values have the same bits.
export const sameValue = (a, b) => Object.is(a, b);

// Sheet is the sheet with its changes.
export class Sheet {
  constructor() {
    this.places = new Map();
    this.changes = new Map(); // by name: { place, v, typed }
    this.past = []; // of changes, to undo
    this.followers = [];
    this.checkers = []; // called with whether the two forms agree
    this.checked = false;
  }

  // start loads the sheet's data and its module, and computes.
  async start(data, code) {
    this.data = data;
    this.engine = new Engine(data);
    data.cells.forEach((c, at) => {
      if (!c.x) this.places.set(c.n, { q: c, cell: at });
    });
    data.columns.forEach((c, at) => {
      const table = data.tables[c.t];
      if (!table.l) this.places.set(`${table.n}.${c.n}`, { q: c, column: at });
    });
    this.base = {
      cells: data.cells.map((c) => (c.g ? flight(c.v) : blank)),
      columns: data.columns.map((c) => (c.g ? (c.v ?? []).map(flight) : null)),
    };
    await this.engine.start(code);
    this.givens = this.base;
    this.now = this.engine.run(this.base);
    this.before = null;
    return this;
  }

  // place resolves a name: a cell, a column, or a row of one, from 0.
  place(name) {
    if (!this.now) throw new Error("the sheet is not ready: wait for gearleaf.ready");
    const [, head, row] = /^\s*([^[\s]*)\s*(?:\[\s*(\d+)\s*\])?\s*$/.exec(name) ?? [];
    const found = this.places.get(head);
    if (!found) throw new Error(`there is no cell ${JSON.stringify(name)} in this sheet`);
    if (row === undefined) return { ...found, name: head, row: -1 };
    if (found.cell !== undefined) throw new Error(`${head} is a single value, without rows`);
    const rows = this.data.tables[found.q.t].r;
    if (row < 1 || row > rows) throw new Error(`${head} has rows 1 to ${rows}: ${JSON.stringify(name)} names none of them`);
    return { ...found, name: `${head}[${row}]`, row: Number(row) - 1 };
  }

  // givenPlace is place for givens.
  givenPlace(name) {
    const place = this.place(name);
    if (!place.q.g) throw new Error(`${place.name} is computed; only a given can be set`);
    if (place.column !== undefined && place.row < 0) throw new Error(`${place.name} is a column: name the row, as in ${place.name}[1]`);
    return place;
  }

  // read reads a quantity for the given at place; it throws the reason if it is
  // refused.
  read(place, text) {
    const read = readQuantity(this.data, place.q, text);
    if (read.why) throw new Error(read.why);
    return read;
  }

  // set changes one given, and computes.
  set(name, text) {
    const place = this.givenPlace(name);
    const read = this.read(place, text);
    const next = new Map(this.changes);
    next.delete(place.name);
    if (!sameValue(read.v, this.valueIn(this.base, place))) next.set(place.name, { place, ...read });
    this.turnTo(next, true);
  }

  // putBack undoes one change.
  putBack(name) {
    const next = new Map(this.changes);
    if (next.delete(name)) this.turnTo(next, true);
  }

  reset() {
    if (this.changes.size > 0) this.turnTo(new Map(), true);
  }

  undo() {
    const last = this.past.pop();
    if (last) this.turnTo(last, false);
  }

  // turnTo replaces the current changes, and computes.
  turnTo(changes, remember) {
    if (remember) this.past = [...this.past.slice(-49), this.changes];
    this.changes = changes;
    this.givens = this.givensWith([...changes.values()]);
    this.before = this.now;
    this.now = this.engine.run(this.givens);
    this.checked = false;
    for (const follow of this.followers) follow();
    this.checkLater();
  }

  // checkLater computes the values again by the general form, once the changes
  // are on the screen; if the two forms differ, no value can be trusted.
  checkLater() {
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => {
      const agree = this.engine.agrees(this.givens, this.now);
      this.checked = agree;
      for (const follow of this.checkers) follow(agree);
    }, 300);
  }

  // givensWith returns the sheet's givens with changes applied.
  givensWith(changes) {
    const cells = this.base.cells.slice();
    const columns = this.base.columns.slice();
    for (const { place, v } of changes) {
      if (place.cell !== undefined) {
        cells[place.cell] = v;
        continue;
      }
      if (columns[place.column] === this.base.columns[place.column]) columns[place.column] = columns[place.column].slice();
      columns[place.column][place.row] = v;
    }
    return { cells, columns };
  }

  valueIn(values, { cell, column, row }) {
    if (cell !== undefined) return values.cells[cell];
    return values.columns[column][row];
  }

  live(table) {
    return this.now.spans[table].live;
  }

  // valueAt returns the runtime value at a place that is not a whole column.
  valueAt(place, values = this.now) {
    const v = this.valueIn(values, place);
    if (place.cell !== undefined || v === undefined) return v ?? blank;
    return place.row < values.spans[place.q.t].live ? v : blank;
  }

  // plainValue returns a value for other scripts.
  plainValue(q, v) {
    if (!isNumber(v)) return null;
    if (q.f === 2) return this.data.texts[v];
    return q.f === 1 ? v !== 0 : v;
  }

  // faultAt returns why the value at a place is a fault; null if it is not one.
  faultAt(place) {
    if (!isFault(this.valueAt(place))) return null;
    if (place.cell !== undefined) return this.engine.faultOfCell(this.now, place.cell);
    return this.engine.faultOfEntry(this.now, place.column, place.row);
  }

  // once caches results for the present values.
  once(name, make) {
    this.now.kept ??= {};
    this.now.kept[name] ??= make();
    return this.now.kept[name];
  }

  // limits returns the states of the limits.
  limits() {
    return this.once("limits", () => this.limitsNow());
  }

  // limitsNow makes the texts on demand: those of kept limits are seldom
  // needed.
  limitsNow() {
    const { data, engine, now } = this;
    return data.limits.map((limit, at) => {
      const [value, row] = now.limits[at];
      const text = () => limitText(data, now, at, () => engine.faultOfLimit(now, at));
      return {
        limit,
        at,
        row,
        state: limitState(limit, value),
        get text() {
          return text();
        },
      };
    });
  }

  // advices returns those that do not hold: { cell, text }.
  advices() {
    return this.data.advices.flatMap((a, at) => {
      const [value, row] = this.now.advices[at];
      return value === 0 ? [{ cell: this.adviceOwner(a, row), text: a.t }] : [];
    });
  }

  adviceOwner(a, row) {
    if (a.c >= 0) return this.data.cells[a.c].n;
    const c = this.data.columns[a.k];
    return `${this.data.tables[c.t].n}.${c.n}[${row + 1}]`;
  }

  // failures returns the origins of faults: { origin, cause }.
  failures() {
    return this.once("failures", () => this.failuresNow());
  }

  failuresNow() {
    const found = new Map();
    for (const place of this.faultyPlaces()) {
      const f = this.faultAt(place);
      const origin = f.row < 0 ? f.origin : `${f.origin}[${f.row + 1}]`;
      if (!found.has(origin)) found.set(origin, f.cause);
    }
    return [...found].map(([origin, cause]) => ({ origin, cause }));
  }

  // faultyPlaces returns the first place at fault of every cell and column.
  faultyPlaces() {
    const out = [];
    for (const [name, found] of this.places) {
      if (found.cell !== undefined) {
        if (isFault(this.now.cells[found.cell])) out.push({ ...found, name, row: -1 });
        continue;
      }
      const row = this.now.columns.firstFault(found.column);
      if (row >= 0) out.push({ ...found, name, row });
    }
    return out;
  }

  verdict() {
    const counts = { broken: 0, waiting: 0, kept: 0, advised: this.advices().length, faults: this.failures().length };
    for (const { state } of this.limits()) counts[state] += 1;
    return verdictText(counts);
  }

  // moved reports whether the value at a place differs from that before the
  // last change.
  moved(place) {
    return this.before !== null && !sameValue(this.valueAt(place), this.valueAt(place, this.before));
  }

  faultWords(place) {
    const f = this.faultAt(place);
    return f ? faultText(f) : null;
  }

  isBlankAt(place) {
    return isBlank(this.valueAt(place));
  }
}
