// Computing a sheet: the module in the page is the compiled form that the tool
// also runs. The checked tree is for explaining faults.

import { cellPlace, Explainer, entryPlace } from "./fault.js";
import { blank, fault, isFault } from "./flight.js";
import { joined } from "./module.js";

// The bits of a blank, low and high half; every other NaN is a fault.
const blankLow = 0x0000b1a7;
const blankHigh = 0x7ff80000;

// Ways in which a table's rows end.
const ended = 0;
const broken = 2;

// The places of a curve's points and their state.
const [curveX, curveState, curveTurned] = [8, 32, 40];

// Engine computes values and explains faults.
export class Engine {
  constructor(data) {
    this.data = data;
    this.layout = layoutOf(data.layout);
    this.explainer = new Explainer(this);
    this.explained = null; // the values that the explainer has
    this.Columns = columnsOf(data, this.layout);
  }

  // start loads the module.
  async start(code) {
    const { instance } = await WebAssembly.instantiate(joined(new Uint8Array(code), this.data.layout.streams));
    this.module = instance.exports;
    this.numbers = new Float64Array(this.module.memory.buffer);
    this.words = new Int32Array(this.module.memory.buffer);
    this.module.given();
    this.columns = null; // those that the module has
    return this;
  }

  // run returns the values for givens, computed in the fast form.
  run(givens) {
    this.compute(givens);
    return { ...this.read(), givens };
  }

  // cell is run for the value of one cell.
  cell(givens, at) {
    this.compute(givens);
    return this.value(this.layout.cells[at]);
  }

  compute(givens) {
    this.put(givens);
    this.module.run();
  }

  // agrees reports whether the general form gives the same values for givens,
  // bit for bit.
  agrees(givens, values) {
    this.put(givens);
    this.module.care();
    return sameValues(this.data, values, this.read());
  }

  // put writes the givens to the module.
  put(givens) {
    const { cells, columns } = givens;
    const { layout } = this;
    this.given = givens;
    this.data.cells.forEach((c, at) => {
      if (c.g) this.store(layout.cells[at], cells[at]);
    });
    let changed = false;
    columns.forEach((entries, at) => {
      if (!entries || this.columns?.[at] === entries) return;
      changed = true;
      const from = layout.columns[at];
      if (!this.data.tables[this.data.columns[at].t].x) for (let row = 0; row < entries.length; row++) this.store(from + row, entries[row]);
    });
    this.columns = columns;
    if (changed) this.module.given();
  }

  store(at, v) {
    if (v === blank) {
      this.words[2 * at] = blankLow;
      this.words[2 * at + 1] = blankHigh;
    } else this.numbers[at] = v;
  }

  value(at) {
    const v = this.numbers[at];
    if (v === v) return v;
    return this.words[2 * at] === blankLow && this.words[2 * at + 1] === blankHigh ? blank : fault;
  }

  // read copies the values from the module's memory. Columns are read from the
  // copy on demand: most never are.
  read() {
    const { data, layout } = this;
    return {
      cells: layout.cells.map((at) => this.value(at)),
      columns: new this.Columns(this.numbers.slice()),
      spans: data.tables.map((t, i) => this.span(t, layout.tables[i])),
      limits: data.limits.map((_, i) => this.verdict(i)),
      advices: data.advices.map((_, i) => this.verdict(data.limits.length + i)),
    };
  }

  span(table, at) {
    const [rows, way] = [this.words[2 * at], this.words[2 * at + 1]];
    if (way === ended) return { live: rows, ended: true, broken: -1 };
    return { live: table.r, ended: false, broken: way === broken ? rows : -1 };
  }

  verdict(i) {
    const { verdicts } = this.layout;
    return [this.value(verdicts[2 * i]), this.numbers[verdicts[2 * i + 1]]];
  }

  // faultOfCell and faultOfEntry return why a value is a fault.
  faultOfCell(values, at) {
    return this.explain(values, cellPlace(at));
  }

  faultOfEntry(values, at, row) {
    return this.explain(values, entryPlace(at, row));
  }

  faultOfLimit(values, at) {
    const [value, row] = values.limits[at];
    if (!isFault(value)) return null;
    this.load(values);
    return this.explainer.explainLimit(at, this.data.limits[at].tb, row);
  }

  explain(values, place) {
    this.load(values);
    return this.explainer.explain(place);
  }

  load(values) {
    if (this.given !== values.givens) this.compute(values.givens);
    if (this.explained === values) return;
    this.explained = values;
    this.explainer.load(values);
  }

  // reduce, index and look are the module's functions of whole columns.
  reduce(column, how) {
    return this.module.Reduce(how, 8 * this.layout.columns[column], this.live(column));
  }

  index(column, v) {
    return this.module.Index(v, 8 * this.layout.columns[column], this.live(column));
  }

  look(at, x) {
    return this.module["Curve.At"](this.data.curves[at].at, x);
  }

  // curve returns the module's state of the points of a look-up.
  curve(at) {
    const word = (offset) => this.words[(this.data.curves[at].at + offset) / 4];
    const from = word(curveX) / 8;
    return { state: word(curveState), turned: word(curveTurned), points: this.numbers.slice(from, from + word(curveX + 4)) };
  }

  live(column) {
    return this.words[2 * this.layout.tables[this.data.columns[column].t]];
  }
}

// layoutOf returns the places of values, in units of 8 bytes: the page stores
// each less the one before.
function layoutOf({ cells, columns, tables, verdicts }) {
  const places = (steps) => {
    let at = 0;
    return steps.map((step) => {
      at += step;
      return at;
    });
  };
  return { cells: places(cells), columns: places(columns), tables: places(tables), verdicts: places(verdicts) };
}

// columnsOf returns the class of a sheet's columns over a copy of the module's
// memory: column i is [i].
function columnsOf(data, layout) {
  class Columns {
    constructor(numbers) {
      this.numbers = numbers;
      this.words = new Int32Array(numbers.buffer);
      this.made = [];
    }

    value(at) {
      const v = this.numbers[at];
      if (v === v) return v;
      return this.words[2 * at] === blankLow && this.words[2 * at + 1] === blankHigh ? blank : fault;
    }

    // span returns the number of live rows of a table, and the row from which
    // they are at fault, -1 for none.
    span(table) {
      const at = layout.tables[table];
      const [rows, way] = [this.words[2 * at], this.words[2 * at + 1]];
      if (way === ended) return [rows, -1];
      return [data.tables[table].r, way === broken ? rows : -1];
    }

    // firstFault returns the first live row of a column at fault, or -1.
    firstFault(i) {
      const c = data.columns[i];
      const [live, from] = this.span(c.t);
      if (c.g && data.tables[c.t].x) return live > 0 ? 0 : -1;
      const at = layout.columns[i];
      const sound = c.g || from < 0 ? live : from;
      for (let row = 0; row < sound; row++) {
        const v = this.numbers[at + row];
        if (v !== v && this.value(at + row) !== blank) return row;
      }
      return sound < live ? sound : -1;
    }

    // column returns a column's entries: blank after the live rows, and faults
    // from the row on in which until was one; that row is kept as raw.
    column(i) {
      const c = data.columns[i];
      const rows = data.tables[c.t].r;
      const at = layout.columns[i];
      const out = this.numbers.slice(at, at + rows);
      if (c.g && data.tables[c.t].x) return out.fill(fault);
      const [live, from] = this.span(c.t);
      const sound = c.g ? rows : from < 0 ? live : from;
      for (let row = 0; row < sound; row++) if (out[row] !== out[row]) out[row] = this.value(at + row);
      if (sound < rows && from >= 0) {
        out.raw = this.value(at + sound);
        return out.fill(fault, sound);
      }
      return out.fill(blank, sound);
    }
  }
  data.columns.forEach((_, i) => {
    Object.defineProperty(Columns.prototype, i, {
      get() {
        this.made[i] ??= this.column(i);
        return this.made[i];
      },
    });
  });
  return Columns;
}

const sameLists = (a, b) => a.length === b.length && a.every((v, i) => Object.is(v, b[i]));

// sameValues compares two runs.
function sameValues(data, a, b) {
  return (
    sameLists(a.cells, b.cells) &&
    data.columns.every((_, i) => sameLists(a.columns[i], b.columns[i])) &&
    a.spans.every((s, i) => s.live === b.spans[i].live && s.ended === b.spans[i].ended) &&
    a.limits.every((l, i) => sameLists(l, b.limits[i])) &&
    a.advices.every((l, i) => sameLists(l, b.advices[i]))
  );
}
