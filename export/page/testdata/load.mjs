// loaded returns the sheet of a page, made ready in node by the page's own
// scripts, which are in DIR.
import { readFileSync } from "node:fs";
import { gunzipSync } from "node:zlib";

// bytesOf is that of the page's first script.
async function reader(dir) {
  const text = readFileSync(new URL(`../${dir}/boot.js`, import.meta.url), "utf8");
  const from = text.indexOf("function bytesOf");
  return import(`data:text/javascript,export ${encodeURIComponent(text.slice(from, text.indexOf("\n}\n", from) + 3))}`);
}

export async function loaded(dir, page) {
  const { Sheet } = await import(new URL(`../${dir}/sheet.js`, import.meta.url));
  const { bytesOf } = await reader(dir);
  const html = readFileSync(page, "utf8");
  const packed = (id) => gunzipSync(bytesOf(new RegExp(`id="?${id}"?>(.*?)</script>`, "s").exec(html)[1]));
  return new Sheet().start(JSON.parse(packed("page-data").toString()), packed("page-code"));
}
