// The interface for other scripts, window.gearleaf, which export/PAGE.md
// describes.

import { numberText, valueText } from "./words.js";

// doorOf returns the interface of a sheet; ready is a promise of its values.
export function doorOf(sheet, ready) {
  const single = (name) => {
    const place = sheet.place(name);
    if (place.column !== undefined && place.row < 0) throw new Error(`${place.name} is a column: name the row, as in ${place.name}[1]`);
    return place;
  };
  return Object.freeze({
    ready,
    set: (name, text) => sheet.set(name, String(text)),
    reset: () => sheet.reset(),
    value(name) {
      const place = single(name);
      return sheet.plainValue(place.q, sheet.valueAt(place));
    },
    column(name) {
      const place = sheet.place(name);
      if (place.column === undefined || place.row >= 0) throw new Error(`${name} is not a column`);
      const entries = sheet.now.columns[place.column].slice(0, sheet.live(place.q.t));
      return Array.from(entries, (v) => sheet.plainValue(place.q, v));
    },
    fault: (name) => sheet.faultWords(single(name)),
    text(name) {
      const place = single(name);
      if (sheet.faultAt(place)) return null;
      const text = place.cell === undefined ? numberText : valueText;
      return text(sheet.data, place.q, sheet.valueAt(place));
    },
    limits: () => sheet.limits().map(({ limit, state, text }) => ({ text: limit.t, message: limit.m ?? "", state, sides: text })),
  });
}
