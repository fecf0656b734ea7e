// picture.cjs PAGE NAME=QUANTITY FOLDER: pictures of a page after a change, at
// 360 and 1280 pixels, light and dark.
const { join, resolve } = require("node:path");
const { pathToFileURL } = require("node:url");
const puppeteer = require("puppeteer-core");

async function main() {
  const [file, change, folder] = process.argv.slice(2);
  const browser = await puppeteer.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu"],
  });
  for (const [width, scheme] of [
    [360, "light"],
    [360, "dark"],
    [1280, "light"],
    [1280, "dark"],
  ]) {
    const page = await browser.newPage();
    await page.setViewport({ width, height: 800 });
    await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
    await page.goto(pathToFileURL(resolve(file)).href);
    await page.evaluate(() => gearleaf.ready);
    await page.evaluate((setting) => gearleaf.set(...setting.split("=")), change);
    await page.evaluate(() => document.querySelector(".columns").scrollIntoView());
    await new Promise((done) => setTimeout(done, 700));
    await page.screenshot({ path: join(folder, `${width}-${scheme}.png`) });
    await page.close();
  }
  await browser.close();
}

main().catch((error) => {
  console.log(error.stack);
  process.exitCode = 1;
});
