// Exporting the changes: as a command, as lines of a worksheet, as a file for
// readback, and as a link.

import { button, find, labelled, make, section } from "./element.js";
import { valueText } from "./words.js";

// quoted writes a word for a shell.
const quoted = (word) => (/^[\w.,:=+/%[\]-]+$/.test(word) && !/[[\]]/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`);

// literalOf is a changed value in the notation of worksheets.
function literalOf(data, { place, v, typed }) {
  const unit = (place.q.f ?? 0) === 0 ? data.units[place.q.u]?.s : "";
  if (typed === "" || !unit || unit === "1" || /\s/.test(typed)) return typed || '""';
  return v === Number.POSITIVE_INFINITY ? typed : `${typed} ${unit}`;
}

// settingOf is a change in the notation of --set.
const settingOf = ({ place, typed }) => `${place.name}=${typed}`;

// wordsOf returns the changes for a command line: those of the export, then
// those of the page.
function wordsOf(sheet) {
  return [...(sheet.data.settings ?? []), ...[...sheet.changes.values()].map(settingOf)].map(quoted);
}

export function changeLine(sheet) {
  return `gearleaf change ${quoted(sheet.data.file)} ${wordsOf(sheet).join(" ")} --write`;
}

export function confirmLine(sheet) {
  return `gearleaf change ${quoted(sheet.data.file)} ${wordsOf(sheet).join(" ")}`;
}

export function worksheetLines(sheet) {
  return [...sheet.changes.values()].map((c) => `${c.place.name} : ${literalOf(sheet.data, c)}`).join("\n");
}

// leafText is the file of the changes: a worksheet on top of the sheet's own.
export function leafText(sheet) {
  const { data, base } = sheet;
  const file = data.file.replaceAll('"', '""');
  const lines = [
    "gearleaf 1",
    `# Changed on the page of ${data.file}. gearleaf readback takes it into that worksheet.`,
    `# exported ${data.hash}`,
    `use "${file}"`,
    "",
  ];
  for (const change of sheet.changes.values()) {
    lines.push(`# exported ${valueText(data, change.place.q, sheet.valueIn(base, change.place)) || "empty"}`);
    lines.push(`${change.place.name} : ${literalOf(data, change)}`);
  }
  return `${lines.join("\n")}\n`;
}

// linkOf is the page's address with the changes after it.
export function linkOf(sheet) {
  const fragment = [...sheet.changes.values()].map((c) => `${encodeURIComponent(c.place.name)}=${encodeURIComponent(c.typed)}`).join("&");
  return `${location.href.split("#")[0]}#${fragment}`;
}

// takeLink makes the changes in an address; it returns the refused ones.
export function takeLink(sheet, fragment) {
  const refused = [];
  for (const part of fragment.replace(/^#/, "").split("&").filter(Boolean)) {
    const cut = part.indexOf("=");
    try {
      const [name, text] = [part.slice(0, cut), part.slice(cut + 1)].map(decodeURIComponent);
      if (cut > 0) sheet.set(name, text);
    } catch (error) {
      refused.push(error.message);
    }
  }
  return refused;
}

// Home is the part of the page that exports changes.
export class Home {
  constructor(sheet) {
    this.sheet = sheet;
    this.said = make("p", { role: "status" });
    this.command = this.field("Command that writes them into the worksheet");
    this.lines = this.field("Lines for a worksheet");
    this.link = this.field("Link to this page with the changes");
    this.save = button("Save the changes as a file", () => this.saveFile());
    this.nothing = make("p", { textContent: "Nothing was changed here." });
    this.some = make(
      "div",
      {},
      this.command.part,
      this.lines.part,
      this.link.part,
      make("p", { className: "buttons" }, this.save),
      this.said,
    );
    this.part = section("Take it home", this.nothing, this.some);
  }

  field(label) {
    const area = make("textarea", { readOnly: true, spellcheck: false });
    const copy = button("Copy", () => this.copy(area), { "aria-label": `Copy: ${label}` });
    return { area, part: make("div", {}, labelled(label, area), make("p", { className: "buttons" }, copy)) };
  }

  async copy(area) {
    area.select();
    try {
      await navigator.clipboard.writeText(area.value);
      this.said.textContent = "Copied.";
    } catch {
      this.said.textContent = "The text is selected: copy it from there.";
    }
  }

  saveFile() {
    const url = URL.createObjectURL(new Blob([leafText(this.sheet)], { type: "text/plain" }));
    const name = `${this.sheet.data.file.replace(/\.leaf$/, "")}-changes.leaf`;
    make("a", { href: url, download: name }).click();
    setTimeout(() => URL.revokeObjectURL(url), 10_000);
    this.said.textContent = `${name} was saved; gearleaf readback ${name} ${this.sheet.data.file} --write takes it.`;
  }

  follow() {
    const some = this.sheet.changes.size > 0;
    this.nothing.hidden = some;
    this.some.hidden = !some;
    find("#confirm").hidden = !some;
    if (!some) return;
    this.command.area.value = changeLine(this.sheet);
    this.lines.area.value = worksheetLines(this.sheet);
    this.link.area.value = linkOf(this.sheet);
    const twice = this.sheet.checked ? "twice, in two forms that agree" : "once so far";
    find("#confirm").replaceChildren(
      `Not confirmed: this page computed these values ${twice}; the tool’s second evaluator has not seen them. `,
      make("code", { textContent: confirmLine(this.sheet) }),
      " confirms them.",
    );
  }
}
