// A second column of values: the present values are kept as A and shown beside
// later ones.

import { button, make, section } from "./element.js";

// comparePart returns the part of the page that compares.
export function comparePart(sheet, view) {
  const said = make("p", { role: "status", textContent: "Nothing is kept." });
  const show = (other, text) => {
    view.other = other;
    said.textContent = text;
    forget.disabled = other === null;
    view.follow();
  };
  const keep = button("Keep these values as A", () => {
    const changed = [...sheet.changes.values()].map((c) => `${c.place.name} ${c.typed || "empty"}`).join(", ");
    show({ name: "A", values: sheet.now }, `A is ${changed ? `with ${changed}` : "the sheet as exported"}; what you change now is B.`);
  });
  const exported = button("Compare with the sheet’s values", () => {
    show({ name: "sheet", values: sheet.engine.run(sheet.base) }, "The sheet’s own values are below yours.");
  });
  const forget = button("Stop comparing", () => show(null, "Nothing is kept."));
  forget.disabled = true;
  return section("A against B", make("p", { className: "buttons" }, keep, exported, forget), said);
}
