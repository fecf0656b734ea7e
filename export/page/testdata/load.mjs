// loaded returns the sheet of a page, made ready in node by the page's own
// scripts, which are in DIR.
import { readFileSync } from "node:fs";
import { gunzipSync } from "node:zlib";

export async function loaded(dir, page) {
  const { Sheet } = await import(new URL(`../${dir}/sheet.js`, import.meta.url));
  const html = readFileSync(page, "utf8");
  const packed = (id) => gunzipSync(Buffer.from(new RegExp(`id="${id}">(.*?)</script>`, "s").exec(html)[1], "base64url"));
  return new Sheet().start(JSON.parse(packed("page-data").toString()), packed("page-code"));
}
