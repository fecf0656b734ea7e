// compare holds a page's door against what the tool computed. It runs in the
// page, so it stands alone. It returns the differences in words.
export function compare(door, expected) {
  const view = new DataView(new ArrayBuffer(8));
  const bits = (v) => {
    view.setFloat64(0, v);
    return view.getBigUint64(0).toString(16).padStart(16, "0");
  };
  const differences = [];
  const differ = (where, got, want) => {
    if (differences.length < 20) differences.push(`${where}: ${got} in the page, ${want} by the tool`);
  };
  const said = (v) => (v === null ? "blank" : typeof v === "number" ? bits(v) : JSON.stringify(v));
  const one = (where, name, v, want) => {
    if (want.startsWith("fault ")) {
      const words = v === null ? door.fault(name) : said(v);
      if (words !== want.slice(6)) differ(where, words, want.slice(6));
      return;
    }
    if (said(v) !== want) differ(where, said(v), want);
    if (v === null && door.fault(name) !== null) differ(where, door.fault(name), want);
  };
  const values = (where, want) => {
    for (const [name, v, text] of want.cells) {
      one(`${where} ${name}`, name, door.value(name), v);
      if (!v.startsWith("fault ") && door.text(name) !== text) differ(`${where} text of ${name}`, door.text(name), text);
    }
    for (const [name, rows, texts] of want.columns) {
      const got = door.column(name);
      if (got.length !== rows.length) {
        differ(`${where} ${name}`, `${got.length} rows`, `${rows.length} rows`);
        continue;
      }
      rows.forEach((v, row) => {
        const place = `${name}[${row + 1}]`;
        one(`${where} ${place}`, place, got[row], v);
        if (texts && !v.startsWith("fault ") && door.text(place) !== texts[row])
          differ(`${where} text of ${place}`, door.text(place), texts[row]);
      });
    }
    const limits = door.limits();
    want.limits.forEach(([state, sides], i) => {
      if (limits[i].state !== state) differ(`${where} limit ${limits[i].text}`, limits[i].state, state);
      if (limits[i].sides !== sides) differ(`${where} limit ${i}`, limits[i].sides, sides);
    });
  };
  values("as exported:", expected.before);
  for (const change of expected.changes) {
    door.reset();
    for (const [name, text] of change.set) door.set(name, text);
    values(`${change.set.map((s) => s.join("=")).join(" ")}:`, change.after);
  }
  door.reset();
  values("after reset:", expected.before);
  return differences;
}
