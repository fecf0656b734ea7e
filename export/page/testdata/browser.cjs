// browser.cjs CHECK FILE...: holds pages to what they promise, in Chromium.
// A check prints what it finds and fails if that is anything. Packages from
// npm: puppeteer-core drives the browser, axe-core looks for what keeps people
// out; NODE_PATH says where they are.
const { readFileSync, writeFileSync } = require("node:fs");
const { createServer } = require("node:http");
const { join } = require("node:path");
const { pathToFileURL } = require("node:url");
const puppeteer = require("puppeteer-core");

const compareText = readFileSync(join(__dirname, "compare.mjs"), "utf8").replace("export function", "function");

// opened opens a page and waits until it calculates.
async function opened(browser, url, { width = 360, height = 640, scheme = "light", script = true, before = null } = {}) {
  const page = await browser.newPage();
  page.found = [];
  page.on("pageerror", (error) => page.found.push(`error: ${error.message}`));
  page.on("console", (message) => message.type() === "error" && page.found.push(`console: ${message.text()}`));
  page.on(
    "request",
    (request) =>
      /^(https?|ws)/.test(request.url()) &&
      new URL(request.url()).origin !== new URL(url).origin &&
      page.found.push(`asked the network for ${request.url()}`),
  );
  page.on("dialog", (dialog) => {
    page.found.push(`a dialog: ${dialog.message()}`);
    dialog.dismiss();
  });
  if (before) await page.evaluateOnNewDocument(before);
  await page.setViewport({ width, height });
  await page.setJavaScriptEnabled(script);
  await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
  await page.goto(url);
  if (script) await page.evaluate(() => gearleaf.ready);
  return page;
}

// inSection runs a function on the part of the tools with a name, in the page.
const inSection = (page, name, action, ...args) => {
  const part = `[...document.querySelectorAll(".tools details")].find((d) => d.querySelector("summary").textContent === ${JSON.stringify(name)})`;
  return page.evaluate(`(${action})(${[part, ...args.map((a) => JSON.stringify(a))].join(", ")})`);
};

// asked works the page's questions: what moved, A against B, a sweep, what is
// needed, and which results stay in sight, which the browser remembers.
async function asked(page, is) {
  const drawn = () => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => setTimeout(done, 50))));
  const press = (part, label) => [...part.querySelectorAll("button")].find((b) => b.textContent === label).click();
  await inSection(page, "A against B", press, "Keep these values as A");
  await page.evaluate(() => gearleaf.set("rear_sprocket", "42"));
  await drawn();
  const moved = await page.$$eval(".results .moved[data-c]", (list) => list.map((e) => e.innerText.replace(/\s+/g, " ")));
  is(
    "what moved",
    moved.some((t) => /2\.471 ▲ up 2\.4 %, was 2\.412 A: 2\.412/.test(t)),
    true,
  );
  await page.click(".said button");
  is("put back", await page.evaluate(() => gearleaf.text("rear_sprocket")), "41 teeth");
  const fill = (part, values) => {
    [...part.querySelectorAll("select, input")].forEach((field, i) => {
      field.value = values[i];
    });
    part.querySelector("button.main").click();
    return [...part.querySelectorAll("[role=status] tr, [role=status] li, [role=status] > p")].map((e) =>
      e.innerText.replace(/\s+/g, " ").trim(),
    );
  };
  const sweep = await inSection(page, "One given over a range", fill, ["rear_sprocket", "", "", "final_ratio"]);
  is("a sweep", sweep.join("|"), "Rear sprocket, in the van, teeth final_ratio|38 2.235|40 2.353|41 2.412|42 2.471|44 2.588");
  const chart = await inSection(page, "One given over a range", (part) => part.querySelector("svg")?.getAttribute("aria-label"));
  is("its chart", chart, "final_ratio by Rear sprocket, in the van");
  const needed = await inSection(page, "What do I need?", fill, ["top_speed", "200 mph", "shift_speed"]);
  const typed = /Take it ([\d.]+) rpm: 200\.0 mph/.exec(needed[1] ?? "")?.[1];
  is("what is needed", typed === undefined ? needed.join("|") : "found", "found");
  await inSection(page, "What do I need?", press, "Take it");
  is("taken", await page.evaluate(() => gearleaf.text("top_speed")), "200.0 mph");
  await inSection(page, "Which results stay in sight", (part) => {
    const field = part.querySelector("select");
    field.value = "final_ratio";
    field.dispatchEvent(new Event("change"));
  });
  is("a result in sight", await page.$eval(".pick", (e) => e.innerText.startsWith("final_ratio")), true);
  await page.reload();
  await page.evaluate(() => gearleaf.ready);
  is("the same after a reload", await page.$eval(".pick", (e) => e.innerText.startsWith("final_ratio")), true);
  return [];
}

const urlOf = (file) => pathToFileURL(file).href;

const checks = {
  // same compares every value, text and cause with FILE.json.
  async same(browser, file) {
    const page = await opened(browser, urlOf(`${file}.html`));
    const expected = readFileSync(`${file}.json`, "utf8");
    const found = await page.evaluate(`(() => { ${compareText}; return compare(gearleaf, ${expected}); })()`);
    return [...page.found, ...found];
  },

  // still looks at the document without scripts.
  async still(browser, file) {
    const page = await opened(browser, urlOf(file), { script: false });
    const text = await page.$eval("body", (body) => body.innerText);
    const found = [...page.found];
    if (!text.includes("This viewer does not calculate")) found.push("it does not say that it does not calculate");
    if ((await page.$$("figure svg")).length !== (await page.$$("figure")).length) found.push("a chart is missing");
    if ((await page.$$eval("details:not([open])", (list) => list.length)) > 0) found.push("something is folded");
    if ((await page.$$eval("[data-c] output", (list) => list.filter((v) => v.textContent === "").length)) > 3)
      found.push("values are missing");
    return found;
  },

  // looks holds a page to its sizes and to axe-core, in both schemes, with
  // every section open and shut.
  async looks(browser, file) {
    const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
    const found = [];
    const page = await opened(browser, urlOf(file));
    await page.evaluate(changeSomething);
    await page.evaluate(`${axe}; 0`);
    for (const scheme of ["light", "dark"]) {
      for (const width of [360, 1280]) {
        await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
        await page.setViewport({ width, height: width < 400 ? 640 : 900 });
        for (const open of [false, true]) {
          await page.$$eval("details", (list, to) => list.map((d) => d.toggleAttribute("open", to)), open);
          await page.evaluate(() => new Promise(requestAnimationFrame));
          const where = `${scheme}, ${width} px, ${open ? "open" : "shut"}`;
          found.push(...(await page.evaluate(measured)).map((f) => `${where}: ${f}`));
          const result = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
          for (const v of result.violations)
            found.push(`${where}: axe: ${v.id}: ${v.nodes[0].html.slice(0, 160)} ${v.nodes[0].failureSummary}`);
        }
      }
    }
    return [...found, ...page.found];
  },

  // speed measures changes at a processor slowed four times.
  async speed(browser, file) {
    const page = await opened(browser, urlOf(file));
    const session = await page.createCDPSession();
    await session.send("Emulation.setCPUThrottlingRate", { rate: 4 });
    const { compute, frame } = await page.evaluate(timed);
    const middle = (list, share) => list.sort((a, b) => a - b)[Math.floor(list.length * share)];
    const [median, late] = [middle(compute, 0.5), middle(frame, 0.9)];
    console.log(`${file}: a change takes ${median.toFixed(1)} ms (median), the next frame comes after ${late.toFixed(1)} ms (nine in ten)`);
    const slack = Number(process.env.GEARLEAF_SLACK ?? 1);
    return [
      ...(median > 16 * slack ? [`computing and script take ${median.toFixed(1)} ms, more than 16`] : []),
      ...(late > 100 * slack ? [`the next frame takes ${late.toFixed(1)} ms, more than 100`] : []),
    ];
  },

  // hostile opens a page whose texts try to become markup or script.
  async hostile(browser, file) {
    const page = await opened(browser, urlOf(file), { width: 1280 });
    await page.evaluate(changeSomething);
    await page.$$eval("details", (list) => list.map((d) => d.toggleAttribute("open", true)));
    await page.$$eval(".tools button.main", (list) => list.map((b) => b.click()));
    await new Promise((done) => setTimeout(done, 300));
    const strange = await page.evaluate(() => ({
      ran: globalThis.ran ?? false,
      elements: [
        ...document.querySelectorAll(
          "img, iframe, object, embed, link, base, form, math, a[href]:not([href='#more-cautions']), [onclick], [onerror], [onload], [style]",
        ),
      ].map((e) => e.outerHTML.slice(0, 100)),
      scripts: document.scripts.length,
    }));
    const found = [...page.found, ...strange.elements.map((e) => `an element: ${e}`)];
    if (strange.ran) found.push("a text ran");
    if (strange.scripts !== 5) found.push(`${strange.scripts} scripts`);
    return found;
  },

  // print counts the sides of paper that a page takes.
  async print(browser, file) {
    const page = await opened(browser, urlOf(file));
    await page.evaluate(changeSomething);
    const pdf = Buffer.from(await page.pdf({ format: "a4", printBackground: true })).toString("latin1");
    const sides = (pdf.match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;
    return sides === 1 ? page.found : [`${sides} sides of paper`];
  },

  // use works the page as a person does.
  async use(browser, file) {
    const page = await opened(browser, `${urlOf(file)}#tyre_rollout=2.05%20m`);
    const found = [...page.found];
    const is = (what, got, want) => {
      if (got !== want) found.push(`${what}: ${got}, want ${want}`);
    };
    const text = (selector) => page.$eval(selector, (e) => e.innerText.replace(/\s+/g, " ").trim());
    const field = (name) => page.$(`[aria-describedby="r-${name}"]`);
    const enter = async (name, typed) => {
      const input = await field(name);
      await input.evaluate((e) => {
        e.value = "";
      });
      await input.type(`${typed}\n`);
      await page.keyboard.press("Tab");
    };
    is("the link's change", await page.evaluate(() => gearleaf.value("tyre_rollout")), 2.05);
    await (await page.$('[aria-label^="Rear sprocket"][aria-label$="the next one"]')).click();
    is("one step up", await page.evaluate(() => gearleaf.text("rear_sprocket")), "42 teeth");
    is("what the sheet says", (await text(".said:not(:empty)")).startsWith("sheet says 41 teeth"), true);
    await enter("tyre_rollout", "2090,5");
    is("a comma", await page.evaluate(() => gearleaf.text("tyre_rollout")), "2090.5 mm");
    await enter("shift_speed", "20000");
    is("outside the range", await text("#r-shift_speed"), "Not taken: the sheet has shift_speed from 9000 to 11800 rpm.");
    is("a refused value", await page.evaluate(() => gearleaf.text("shift_speed")), "11200 rpm");
    await enter("shift_speed", "11000 bananas");
    is("a strange unit", (await text("#r-shift_speed")).includes("bananas"), true);
    await page.click("#undo");
    is("undone", await page.evaluate(() => gearleaf.text("tyre_rollout")), "2050 mm");
    await page.$$eval("details", (list) => list.map((d) => d.toggleAttribute("open", true)));
    const areas = await page.$$eval("textarea", (list) => list.map((a) => a.value));
    is(
      "the command",
      areas[0],
      `gearleaf change ${file.split("/").pop().replace(".html", ".leaf")} 'tyre_rollout=2.05 m' rear_sprocket=42 --write`,
    );
    is("the lines", areas[1], "tyre_rollout : 2.05 m\nrear_sprocket : 42 teeth");
    is("the link", areas[2].split("#")[1], "tyre_rollout=2.05%20m&rear_sprocket=42");
    is("limits", JSON.stringify(await page.evaluate(() => gearleaf.limits().map((l) => l.state))), '["kept","kept"]');
    await page.click("#reset");
    is("the sheet's values", await page.evaluate(() => gearleaf.value("rear_sprocket")), 41);
    return [...found, ...(await asked(page, is)), ...page.found];
  },

  // doubt makes the form with care give another value, which must be seen.
  async doubt(browser, file) {
    const page = await opened(browser, urlOf(file), {
      before: () => {
        const instantiate = WebAssembly.instantiate;
        WebAssembly.instantiate = async (code) => {
          const { memory, run, care, given } = (await instantiate(code)).instance.exports;
          const doubtful = () => {
            care();
            const numbers = new Float64Array(memory.buffer);
            for (let i = 0; i < numbers.length; i++) if (numbers[i] > 1) numbers[i] += 1e-9;
          };
          return { instance: { exports: { memory, run, given, care: doubtful } } };
        };
      },
    });
    await page.evaluate(changeSomething);
    await page.waitForFunction(() => document.querySelector("#differ"), { timeout: 5_000, polling: 100 });
    const shown = await page.$eval("#strip", (e) => getComputedStyle(e).display);
    return shown === "none" ? page.found : ["values are still shown"];
  },

  // offline visits a site in FOLDER once, ends its server, and asks again.
  async offline(browser, folder) {
    const types = { html: "text/html", js: "text/javascript", svg: "image/svg+xml", webmanifest: "application/manifest+json" };
    const server = createServer((request, response) => {
      const name = request.url === "/" ? "index.html" : request.url.slice(1);
      try {
        const data = readFileSync(join(folder, name));
        response.writeHead(200, { "Content-Type": types[name.split(".").pop()] }).end(data);
      } catch {
        response.writeHead(404).end();
      }
    });
    await new Promise((done) => server.listen(0, "127.0.0.1", done));
    const url = `http://localhost:${server.address().port}/`;
    const page = await opened(browser, url);
    await page.evaluate(() => navigator.serviceWorker.ready);
    const before = await page.evaluate(() => gearleaf.text("top_speed"));
    await page.waitForFunction(() => caches.keys().then((names) => names.length > 0), { timeout: 10_000, polling: 100 });
    server.closeAllConnections();
    await new Promise((done) => server.close(done));
    await page.reload();
    await page.evaluate(() => gearleaf.ready);
    const after = await page.evaluate(() => gearleaf.text("top_speed"));
    const manifest = await page.evaluate(() => document.querySelector("link[rel=manifest]").href);
    const found = page.found.filter((line) => !line.includes("ERR_CONNECTION_REFUSED"));
    if (before !== after || !before) found.push(`${before} with the network, ${after} without`);
    if (!manifest.endsWith("/manifest.webmanifest")) found.push("no manifest");
    return found;
  },

  // live works a page that is served from the file LEAF.
  async live(browser, url) {
    const leaf = process.env.LEAF;
    const found = [];
    const is = (what, got, want) => got !== want && found.push(`${what}: ${got}, want ${want}`);
    const [page, other] = [await opened(browser, url), await opened(browser, url)];
    const until = (p, name, text) =>
      p.waitForFunction((n, t) => gearleaf.ready.then(() => gearleaf.text(n) === t), { timeout: 20_000, polling: 100 }, name, text);
    await page.evaluate(() => gearleaf.set("rear_sprocket", "42"));
    is("before the button", readFileSync(leaf, "utf8").includes("42 teeth"), false);
    await page.bringToFront();
    await page.click("#changes button.main");
    await until(other, "rear_sprocket", "42 teeth");
    is("after the button", readFileSync(leaf, "utf8").includes("rear_sprocket : 42 teeth"), true);
    const good = readFileSync(leaf, "utf8");
    writeFileSync(leaf, good.replace("final_ratio = rear_sprocket", "final_ratio = rear_sprokcet"));
    for (const p of [page, other])
      await p.waitForFunction(() => /mule.leaf:4:15: .*rear_sprokcet/.test(document.querySelector(".trouble")?.textContent), {
        timeout: 20_000,
        polling: 100,
      });
    is("values of the last good state", await other.evaluate(() => gearleaf.text("final_ratio")), "2.471");
    await other.evaluate(() => gearleaf.set("front_sprocket", "16"));
    writeFileSync(leaf, good.replace("42 teeth", "40 teeth"));
    await until(other, "rear_sprocket", "40 teeth");
    is("what was changed on the page stays", await other.evaluate(() => gearleaf.text("front_sprocket")), "16 teeth");
    is("trouble is over", await other.$eval(".trouble", (e) => e.hidden), true);
    return [...found, ...page.found, ...other.found];
  },
};

// What follows runs in the page.

function changeSomething() {
  for (const e of document.querySelectorAll(".givens .stepper button:not(:disabled)")) {
    e.click();
    return;
  }
  const field = document.querySelector(".givens input.entry");
  if (!field) return;
  field.value = String(Number(field.value) * 1.01);
  field.dispatchEvent(new Event("change"));
}

function measured() {
  const found = [];
  const width = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth > width) {
    const wide = [...document.querySelectorAll("main *")].find((e) => e.getBoundingClientRect().right > width + 1 && !e.closest("svg"));
    found.push(`${document.documentElement.scrollWidth} px wide${wide ? `: ${wide.outerHTML.slice(0, 120)}` : ""}`);
  }
  if (width < 400) {
    const share = document.querySelector("#strip").getBoundingClientRect().height / innerHeight;
    if (share > 0.2) found.push(`the strip takes ${(share * 100).toFixed(0)} % of the height`);
  }
  for (const e of document.querySelectorAll("button, input, select, summary")) {
    const { width: w, height: h } = e.getBoundingClientRect();
    if (w > 0 && (w < 43.9 || h < 43.9)) found.push(`a target of ${w.toFixed(0)} by ${h.toFixed(0)} px: ${e.outerHTML.slice(0, 120)}`);
  }
  if (document.querySelector("details .cautions")) found.push("cautions can be folded away");
  return found.slice(0, 5);
}

async function timed() {
  const places = [...document.querySelectorAll(".givens [data-c]")].map(
    (e) => e.querySelector("code")?.textContent ?? e.querySelector("span").firstChild.textContent.trim(),
  );
  const numeric = places.filter((name) => typeof gearleaf.value(name) === "number");
  const compute = [];
  const frame = [];
  for (let i = 0; i < 40; i++) {
    const name = numeric[i % numeric.length];
    const text = gearleaf.text(name).split(" ")[0];
    const typed = String(Number(text) * (1 + 0.001 * (1 + (i % 3))));
    const begin = performance.now();
    try {
      gearleaf.set(name, typed);
    } catch {
      continue;
    }
    compute.push(performance.now() - begin);
    await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
    frame.push(performance.now() - begin);
    await new Promise((done) => setTimeout(done, 60));
  }
  return { compute, frame };
}

async function main() {
  const [check, ...files] = process.argv.slice(2);
  const browser = await puppeteer.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu"],
    protocolTimeout: 120_000,
  });
  let failed = false;
  try {
    for (const file of files) {
      for (const line of await checks[check](browser, file)) {
        console.log(`${file}: ${line}`);
        failed = true;
      }
      for (const page of (await browser.pages()).slice(1)) await page.close();
    }
  } finally {
    await browser.close();
  }
  process.exitCode = failed ? 1 : 0;
}

main().catch((error) => {
  console.log(error.stack);
  process.exitCode = 1;
});
