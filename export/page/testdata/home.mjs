// home.mjs DIR PAGE NAME=QUANTITY...: prints the file of changes that a page
// saves. DIR holds the scripts.
import { loaded } from "./load.mjs";

const [dir, page, ...settings] = process.argv.slice(2);
const { leafText } = await import(new URL(`../${dir}/home.js`, import.meta.url));
const sheet = await loaded(dir, page);
for (const setting of settings) {
  const cut = setting.indexOf("=");
  sheet.set(setting.slice(0, cut), setting.slice(cut + 1));
}
process.stdout.write(leafText(sheet));
process.exit(0);
