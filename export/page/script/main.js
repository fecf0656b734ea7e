// Starts the page: computes the sheet, connects the document to it and sets up
// the interface for scripts.

import { askParts } from "./ask.js";
import { comparePart } from "./compare.js";
import { doorOf } from "./door.js";
import { all, find, make } from "./element.js";
import { Givens } from "./givens.js";
import { Home, takeLink } from "./home.js";
import { Live, recall } from "./live.js";
import { Sheet } from "./sheet.js";
import { View } from "./view.js";

// fold leaves open the first section of givens that is not a table, and the
// first results.
function fold() {
  const sections = all(".givens details");
  const first = sections.find((d) => d.querySelector("table") === null) ?? sections[0];
  sections.forEach((d) => {
    d.open = d === first;
  });
  all(".results details").forEach((d, i) => {
    d.open = i < 3;
  });
  find("#kept").open = false;
}

// tellTrouble shows an error above everything else.
function tellTrouble(text) {
  const notice = make("p", { className: "trouble", role: "alert", textContent: text });
  find("header").append(notice);
  return notice;
}

// distrust hides every value: the two forms of the module differ.
function distrust() {
  document.body.classList.add("distrusted");
  if (!find("#differ"))
    tellTrouble("The two forms of the calculation differ: no number of this page can be trusted. Please report the worksheet.").id =
      "differ";
}

// dress adds the style of the parts that only a calculating page has.
function dress(text) {
  const style = new CSSStyleSheet();
  style.replaceSync(text);
  document.adoptedStyleSheets = [style];
}

async function begin(sheet) {
  await sheet.start(await globalThis.unpacked("page-data").json(), await globalThis.unpacked("page-code").arrayBuffer());
  dress(sheet.data.style);
  const view = new View(sheet);
  view.start();
  const givens = new Givens(sheet, view);
  givens.start();
  const home = new Home(sheet);
  sheet.followers.push(
    () => givens.follow(),
    () => view.follow(),
    () => home.follow(),
  );
  sheet.checkers.push((agree) => {
    home.follow();
    if (!agree) distrust();
  });
  find("#tools").append(comparePart(sheet, view), ...askParts(sheet), home.part, view.picker());
  find("#tools").hidden = false;
  fold();
  view.draw();
  home.follow();
  find("#still").remove();
  if (sheet.data.site) await navigator.serviceWorker?.register("worker.js");
  if (sheet.data.live) {
    const live = new Live(sheet);
    live.start();
    recall();
  }
  const refused = takeLink(sheet, location.hash);
  if (refused.length > 0) tellTrouble(`Refused changes of the link: ${refused.join("; ")}.`);
}

const theSheet = new Sheet();
const ready = begin(theSheet);
globalThis.gearleaf = doorOf(theSheet, ready);
ready.catch((error) => {
  find("#still").textContent = `The page cannot calculate here (${error.message}): it shows the sheet as it was exported.`;
});
