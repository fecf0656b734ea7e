// Where the page comes to life: the sheet is computed, the document comes to life,
// and the door is opened.

import { doorOf } from "./door.js";
import { all, find } from "./element.js";
import { Givens } from "./givens.js";
import { Sheet } from "./sheet.js";
import { View } from "./view.js";

// fold leaves the first section of givens and the results open.
function fold() {
  all(".givens details.section").forEach((d, i) => {
    d.open = i === 0;
  });
  all(".results details.section").forEach((d, i) => {
    d.open = i < 3;
  });
  find("#kept").open = false;
}

async function begin(sheet) {
  await sheet.start(JSON.parse(await globalThis.unpacked("page-data")));
  const view = new View(sheet);
  view.start();
  const givens = new Givens(sheet, view);
  givens.start();
  sheet.followers.push(
    () => givens.follow(),
    () => view.follow(),
  );
  fold();
  view.follow();
  find("#still").remove();
}

const theSheet = new Sheet();
const ready = begin(theSheet);
globalThis.gearleaf = doorOf(theSheet, ready);
ready.catch((error) => {
  find("#still").textContent = `The page cannot calculate here (${error.message}): it shows the sheet as it was exported.`;
});
