// A served page follows its worksheet: it reloads when the worksheet is saved
// and keeps the changes made here, shows the errors while there are any, and
// writes the changes into the worksheet when the button is pressed.

import { all, button, find, make } from "./element.js";
import { linkOf } from "./home.js";

const memory = "gearleaf-open";

// remember stores which sections are open, for the reloaded page.
function remember() {
  const open = all("details").map((d) => (d.open ? "1" : "0"));
  sessionStorage.setItem(memory, JSON.stringify({ open: open.join(""), top: scrollY }));
}

// recall opens the sections that were open.
export function recall() {
  const kept = JSON.parse(sessionStorage.getItem(memory) ?? "null");
  sessionStorage.removeItem(memory);
  const list = all("details");
  if (!kept || kept.open.length !== list.length) return;
  list.forEach((d, i) => {
    d.open = kept.open[i] === "1";
  });
  scrollTo(0, kept.top);
}

// Live is the page's connection to the server.
export class Live {
  constructor(sheet) {
    this.sheet = sheet;
    this.version = "";
    this.said = make("p", { role: "status" });
    this.trouble = make("p", { className: "trouble", role: "alert", hidden: true });
    this.write = button(`Write these changes to ${sheet.data.file}`, () => this.send(), { className: "main" });
  }

  start() {
    find("#strip").after(this.trouble);
    find("#changes .buttons").append(this.write);
    find("#changes").append(this.said);
    this.events = new EventSource("events");
    this.events.addEventListener("message", (event) => this.hear(JSON.parse(event.data)));
    this.events.addEventListener("error", () => this.tell(["The server has ended, or cannot be reached: the values are the last ones."]));
  }

  hear({ version, errors }) {
    if (this.version === "") this.version = version;
    if (version !== this.version) {
      this.reload();
      return;
    }
    this.tell(errors.length > 0 ? ["The worksheet has errors; the values are those of its last good state.", ...errors] : []);
  }

  tell(lines) {
    this.trouble.hidden = lines.length === 0;
    this.trouble.textContent = lines.join("\n");
    this.write.disabled = lines.length > 0;
  }

  reload() {
    remember();
    this.events.close();
    history.replaceState(null, "", linkOf(this.sheet));
    location.reload();
  }

  async send() {
    this.write.disabled = true;
    const set = [...this.sheet.changes.values()].map((c) => [c.place.name, c.typed]);
    try {
      const response = await fetch("write", { method: "POST", body: JSON.stringify({ version: this.version, set }) });
      const { ok, message } = await response.json();
      this.said.textContent = ok ? `${message}.` : `Not written: ${message}.`;
    } catch (error) {
      this.said.textContent = `Not written: ${error.message}.`;
    }
    this.write.disabled = false;
  }
}
