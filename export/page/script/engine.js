// What computes a sheet: the checked tree, and where the page carries one and
// the browser runs it, the compiled form. Both give the same values; where
// they differ nothing is shown.

import { Explainer, cellPlace, entryPlace } from "./fault.js";
import { isFault } from "./kernel.js";
import { Tree } from "./tree.js";

// snapshot copies the values of a tree that has run.
function snapshot(tree) {
  return {
    cells: tree.cells.slice(),
    columns: tree.columns.map((c) => c.slice()),
    spans: tree.spans.map(({ live, ended }) => ({ live, ended })),
    limits: tree.limits.slice(),
    advices: tree.advices.slice(),
  };
}

// Engine computes values and explains faults.
export class Engine {
  constructor(data) {
    this.data = data;
    this.tree = new Tree(data);
    this.explainer = new Explainer(this.tree);
    this.of = null; // the givens that the tree has run with
  }

  // start makes the engine ready.
  async start() {
    return this;
  }

  // run returns the values for givens.
  run(givens) {
    this.runTree(givens);
    return snapshot(this.tree);
  }

  runTree(givens) {
    this.tree.run(givens);
    this.of = givens;
  }

  // faultOfCell and faultOfEntry say why a value is a fault.
  faultOfCell(givens, at) {
    return this.explained(givens, cellPlace(at));
  }

  faultOfEntry(givens, at, row) {
    return this.explained(givens, entryPlace(at, row));
  }

  explained(givens, place) {
    if (this.of !== givens) this.runTree(givens);
    return this.explainer.explain(place);
  }

  faultOfLimit(givens, at) {
    if (this.of !== givens) this.runTree(givens);
    const [value, row] = this.tree.limits[at];
    return isFault(value) ? this.explainer.explainVerdict("limit", at, this.data.limits[at].tb, row) : null;
  }
}
