// Opens what scruple publishes in a real browser: every page loads and its ways lead somewhere, it can
// be used by everyone, paper has room for it, labels hold their text, pictures match their numbers,
// and hostile names stay text.
//
//   npm ci && npm test
//
// SCRUPLE names the program, else target/release or target/debug is taken; CHROMIUM names the browser.
// With SHOTS=folder, pictures of the pages are left there to look at.

import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join, relative } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const home = join(dirname(fileURLToPath(import.meta.url)), "../..");
const strict = process.env.CI === "true";

function missing(what) {
  console.error(`\n!!! the tests in a browser did not run: ${what} is missing !!!\n`);
  process.exit(strict ? 1 : 0);
}

const program = [process.env.SCRUPLE, join(home, "target/release/scruple"), join(home, "target/debug/scruple")]
  .filter(Boolean)
  .find((path) => existsSync(path));
if (!program) missing("the program (cargo build)");
const chromium = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser"]
  .filter(Boolean)
  .find((path) => existsSync(path));
if (!chromium) missing("chromium (apt-get install chromium)");
let playwright, jsqr, axeSource;
try {
  playwright = (await import("playwright-core")).default;
  jsqr = (await import("jsqr")).default;
  axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
} catch (error) {
  missing(`a package (npm ci in tests/browser): ${error.message}`);
}

const place = mkdtempSync(join(tmpdir(), "scruple-browser-"));
const scruple = (...args) =>
  execFileSync(program, args, { cwd: home, encoding: "utf8", maxBuffer: 1 << 28 });
/** The same where findings are expected: exit code 1 is fine. */
const scrupleWithFindings = (...args) => {
  try {
    return scruple(...args);
  } catch (error) {
    if (error.status !== 1) throw error;
    return error.stdout;
  }
};

let checks = 0;
const faults = [];
function hold(fine, what) {
  checks += 1;
  if (!fine) faults.push(what);
}

const browser = await playwright.chromium.launch({
  executablePath: chromium,
  headless: true,
  args: [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
  ],
});

function pagesBelow(folder) {
  return readdirSync(folder, { withFileTypes: true }).flatMap((one) => {
    const path = join(folder, one.name);
    if (one.isDirectory()) return pagesBelow(path);
    return path.endsWith(".html") ? [path] : [];
  });
}

/** Opens a page; whatever it complains of, and whatever it asks the network for, is a fault. */
async function opened(context, path) {
  const page = await context.newPage();
  const name = relative(place, path);
  page.on("pageerror", (error) => hold(false, `${name}: ${error.message}`));
  page.on("console", (message) => {
    if (message.type() === "error") hold(false, `${name}: ${message.text()}`);
  });
  page.on("dialog", async (dialog) => {
    hold(false, `${name}: a script spoke: ${dialog.message()}`);
    await dialog.dismiss();
  });
  page.on("request", (request) =>
    hold(request.url().startsWith("file:"), `${name}: asks for ${request.url()}`),
  );
  page.on("requestfailed", (request) => hold(false, `${name}: ${request.url()} is not there`));
  await page.goto(pathToFileURL(path).href, { waitUntil: "load" });
  return page;
}

const PHONE = { width: 360, height: 780 };
const DESK = { width: 1280, height: 900 };
const schemes = [
  { name: "phone", viewport: PHONE, colorScheme: "light" },
  { name: "desk", viewport: DESK, colorScheme: "light" },
  { name: "dark", viewport: DESK, colorScheme: "dark" },
];

async function everyPage(site) {
  const pages = pagesBelow(site);
  hold(pages.length > 10, "there are pages");
  for (const { name: scheme, viewport, colorScheme } of schemes) {
    const context = await browser.newContext({ viewport, colorScheme, bypassCSP: true });
    for (const path of pages) {
      const page = await opened(context, path);
      const name = `${relative(place, path)} (${scheme})`;
      hold((await page.title()).length > 0, `${name}: has a title`);
      hold((await page.locator("h1").count()) === 1, `${name}: has one first heading`);
      const ruled = await page.evaluate(() => getComputedStyle(document.querySelector("h2, h1")).fontWeight);
      hold(ruled === "400", `${name}: has its style`);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      hold(wide <= 0, `${name}: ${wide} points wider than the screen`);
      await page.evaluate(axeSource);
      const found = await page.evaluate(() =>
        globalThis.axe.run(document, {
          // The engine would ask for the style again, which a page in a folder may not.
          preload: false,
          runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
        }),
      );
      for (const one of found.violations) {
        const where = one.nodes.slice(0, 3).map((node) => node.html.slice(0, 120));
        hold(false, `${name}: ${one.id}: ${one.help}: ${where.join(" | ")}`);
      }
      hold(found.passes.length > 5, `${name}: the engine looked at it`);
      await page.close();
    }
    await context.close();
  }
}

/** Every way on every page leads to a page that is there, and to a place on it. */
async function ways(site) {
  const context = await browser.newContext();
  const places = new Map();
  const named = async (path) => {
    if (!places.has(path)) {
      const page = await opened(context, path);
      places.set(path, new Set(await page.evaluate(() => [...document.querySelectorAll("[id]")].map((one) => one.id))));
      await page.close();
    }
    return places.get(path);
  };
  let followed = 0;
  for (const path of pagesBelow(site)) {
    const page = await opened(context, path);
    const all = await page.evaluate(() => [...document.querySelectorAll("a[href]")].map((one) => one.href));
    await page.close();
    for (const one of all) {
      const url = new URL(one);
      const target = url.protocol === "file:" ? fileURLToPath(new URL(url.pathname, "file:")) : "";
      followed += 1;
      if (!target || !existsSync(target)) {
        hold(false, `${relative(place, path)}: ${one} leads nowhere`);
      } else if (url.hash) {
        hold((await named(target)).has(decodeURIComponent(url.hash.slice(1))), `${relative(place, path)}: no place ${one}`);
      }
    }
  }
  hold(followed > 100, `ways were followed (${followed})`);
  await context.close();
}

/** Bars are as long as the figures beside them say, as far as a point of the screen shows. */
async function pictures(site) {
  const context = await browser.newContext({ viewport: DESK });
  let bars = 0;
  for (const path of pagesBelow(join(site, "class/formulas"))) {
    const page = await opened(context, path);
    const drawn = await page.evaluate(() =>
      [...document.querySelectorAll("figure.amounts")].map((figure) => ({
        axis: Number(figure.querySelector("figcaption").textContent.match(/from 0 to ([0-9.]+)/)[1]),
        rows: [...figure.querySelectorAll("li")].map((row) => {
          const svg = row.querySelector("svg").getBoundingClientRect();
          const bar = row.querySelector("rect.second")?.getBoundingClientRect();
          return {
            figure: Number(row.querySelector(".figure").textContent.match(/^[0-9.]+/)[0]),
            words: row.textContent,
            part: bar ? bar.width / svg.width : 0,
          };
        }),
      })),
    );
    for (const { axis, rows } of drawn) {
      for (const { figure, part, words } of rows) {
        bars += 1;
        // The figure is rounded, the bar to a thousandth; its outline is a point wide.
        hold(Math.abs(part - figure / axis) < 0.012, `${relative(place, path)}: ${words}: ${part} of ${axis}`);
      }
      hold(rows.length > 0, `${relative(place, path)}: a picture has bars`);
    }
    await page.close();
  }
  hold(bars > 20, `pictures were measured (${bars})`);
  await context.close();
}

/** On paper nothing is wider than the sheet, and no page is torn from its margins. */
async function paper(site, shots) {
  const context = await browser.newContext({ viewport: { width: 672, height: 950 } });
  for (const path of pagesBelow(site)) {
    const page = await opened(context, path);
    await page.emulateMedia({ media: "print" });
    // A sheet of A4 with margins of 16 mm is 178 mm wide: 672 points of a screen.
    const over = await page.evaluate(() =>
      [...document.querySelectorAll("body *")]
        .filter((one) => !one.closest(".unseen") && one.getBoundingClientRect().right > innerWidth + 1)
        .map((one) => `${one.tagName} ${one.textContent.slice(0, 40)}`),
    );
    hold(over.length === 0, `${relative(place, path)}: wider than the paper: ${over.slice(0, 3).join("; ")}`);
    const sheet = await page.pdf({ preferCSSPageSize: true });
    hold(sheet.length > 5000, `${relative(place, path)}: prints`);
    if (shots) writeFileSync(join(shots, `${relative(site, path).replaceAll("/", "-")}.pdf`), sheet);
    await page.close();
  }
  await context.close();
}

/** The formulas of the demo ledger on every size of label: what was said to have room has room. */
async function labels() {
  const sizes = ["105 x 148", "105 x 74", "99.1 x 67.7", "105 x 57", "70 x 50.8", "63.5 x 38.1"];
  const formulas = ["after-supper tea", "garden tea", "throat drops", "low barn bitters", "yarrow salve", "orchard tea"];
  const context = await browser.newContext({ viewport: { width: 900, height: 1300 } });
  let fitted = 0;
  let refused = 0;
  for (const formula of formulas) {
    for (const size of sizes) {
      for (const more of [[], ["--with-leaflet"], ["--with-leaflet", "--code"]]) {
        const markup = scrupleWithFindings(
          "label", formula, "--on", size, "--net", formula === "throat drops" || formula === "low barn bitters" ? "50 ml" : formula === "yarrow salve" ? "1 times" : "50 g",
          "--copies", "1", "--as", "html", "--in", "examples/low-barn", ...more,
        );
        if (!markup.includes('class="label"')) {
          refused += 1;
          continue;
        }
        fitted += 1;
        const path = join(place, "label.html");
        // With the widest common font as with the usual one.
        for (const font of ["", "<style>html { font-family: 'DejaVu Sans' !important; }</style></head>"]) {
          writeFileSync(path, font ? markup.replace("</head>", font) : markup);
          const page = await opened(context, path);
          const room = await page.evaluate(() => {
            const label = document.querySelector(".label").getBoundingClientRect();
            const text = document.querySelector(".text").getBoundingClientRect();
            const edge = (3 / 25.4) * 96;
            return {
              below: label.bottom - edge - text.bottom,
              right: label.right - edge - Math.max(...[...document.querySelectorAll(".text p")].map((one) => one.getBoundingClientRect().left + one.scrollWidth)),
            };
          });
          const what = `${formula} on ${size} ${more.join(" ")} ${font ? "(wide font)" : ""}`;
          hold(room.below >= -0.6, `${what}: reaches ${-room.below} points too far down`);
          hold(room.right >= -0.6, `${what}: reaches ${-room.right} points too far right`);
          await page.close();
        }
      }
    }
  }
  hold(fitted > 20 && refused > 5, `labels with room and without were seen (${fitted}, ${refused})`);
  await context.close();
}

/** The code on a label, read by a reader of codes that has nothing to do with its writer. */
async function codes() {
  const markup = scruple(
    "label", "after-supper tea", "--net", "50 g", "--batch", "2026-11-03", "--with-leaflet", "--code",
    "--copies", "1", "--as", "html", "--in", "examples/low-barn",
  );
  const path = join(place, "code.html");
  writeFileSync(path, markup);
  const context = await browser.newContext({ viewport: DESK, deviceScaleFactor: 4 });
  const page = await opened(context, path);
  const picture = await page.locator("svg.code").screenshot();
  await page.close();
  // Another page draws it on a canvas, since labels may load nothing.
  const reader = await context.newPage();
  const read = await reader.evaluate(async (base64) => {
    const image = new Image();
    image.src = `data:image/png;base64,${base64}`;
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = image.width;
    canvas.height = image.height;
    const context = canvas.getContext("2d");
    context.drawImage(image, 0, 0);
    const { data } = context.getImageData(0, 0, image.width, image.height);
    return { data: [...data], width: image.width, height: image.height };
  }, picture.toString("base64"));
  const found = jsqr(Uint8ClampedArray.from(read.data), read.width, read.height);
  hold(
    found?.data === "after-supper tea; net 50 g; batch 2026-11-03; best before 2027-07; Low Barn Dispensary",
    `the code on a label says: ${found?.data}`,
  );
  await context.close();
}

/** Names that would do something, if they were anything but text. */
async function hostile() {
  const names = [
    "<script>alert(1)<\\script> leaf",
    "<img src=x onerror=alert(1)>",
    "\u05e0\u05e2\u05e0\u05e2 leaf",
    "\"'><svg onload=alert(1)>",
    "${alert(1)}",
  ].map((name) => name.replaceAll('"', "”"));
  const ledger = join(place, "hostile");
  mkdirSync(ledger);
  const entries = names.map(
    (name) =>
      `herb "${name}"\n  latin   <b>Bold</b> & co\n  mind   </dd><script>alert(1)</script>: <script>alert(2)</script>\n\n` +
      `formula "${name} tea"\n  for   <script>alert(3)</script>\n  take\n    "${name}"   30 g\n  infuse   2 g in 1 cup of boiling water for 5 minutes\n  dose   1 cup, 3 times a day\n`,
  );
  writeFileSync(
    join(ledger, "l.scruple"),
    `practice <script>alert(4)</script>\n\n${entries.join("\n")}\nset hostile class\n  title   </title><script>alert(5)</script>\n  holds   ${names.map((name) => `"${name} tea"`).join(", ")}\n  lesson   <script>alert(6)</script>: <iframe src=x></iframe>\n`,
  );
  const site = join(place, "hostile-site");
  scruple("publish", "--to", site, "--in", ledger);
  const context = await browser.newContext();
  for (const path of pagesBelow(site)) {
    const page = await opened(context, path);
    const strangers = await page.evaluate(() => document.querySelectorAll("script, iframe, img, [onload], [onerror]").length);
    hold(strangers === 0, `${relative(place, path)}: ${strangers} elements came out of a name`);
    await page.close();
  }
  const shown = await opened(context, join(site, "class/index.html"));
  const text = await shown.locator("body").innerText();
  for (const name of names.slice(0, 2)) hold(text.includes(name), `${name} is shown as it is written`);
  await context.close();
}

async function leaflets(shots) {
  const path = join(place, "leaflet.html");
  writeFileSync(path, scruple("label", "after-supper tea", "--leaflet", "--as", "html", "--in", "examples/low-barn"));
  const context = await browser.newContext({ viewport: DESK, bypassCSP: true });
  const page = await opened(context, path);
  await page.evaluate(axeSource);
  const found = await page.evaluate(() => globalThis.axe.run(document, { preload: false }));
  for (const one of found.violations) hold(false, `leaflet: ${one.id}: ${one.nodes[0].html.slice(0, 120)}`);
  const sheet = await page.pdf({ preferCSSPageSize: true });
  hold(sheet.length > 5000, "the leaflet prints");
  if (shots) writeFileSync(join(shots, "leaflet.pdf"), sheet);
  await context.close();
}

/** Pictures of some pages, for people to look at. */
async function shoot(site, shots) {
  for (const { name, viewport, colorScheme } of schemes) {
    const context = await browser.newContext({ viewport, colorScheme });
    for (const path of ["class/index.html", "class/lessons.html", "class/formulas/after-supper-tea.html", "class/herbs.html", "class/by-word.html", "class/exercises.html", "class/sources.html", "teacher/answers.html"]) {
      const page = await opened(context, join(site, path));
      await page.screenshot({ path: join(shots, `${name}-${path.replaceAll("/", "-")}.png`), fullPage: true });
      await page.close();
    }
    await context.close();
  }
}

try {
  const site = join(place, "site");
  scruple("publish", "winter evening class", "--to", site, "--in", "examples/low-barn");
  const shots = process.env.SHOTS;
  if (shots) mkdirSync(shots, { recursive: true });
  await everyPage(site);
  await ways(site);
  await pictures(site);
  await paper(site, shots);
  await labels();
  await codes();
  await leaflets(shots);
  await hostile();
  if (shots) await shoot(site, shots);
} finally {
  await browser.close();
  rmSync(place, { recursive: true, force: true });
}
if (faults.length > 0) {
  console.error(`${faults.length} of ${checks} checks failed:\n  ${[...new Set(faults)].join("\n  ")}`);
  process.exit(1);
}
console.log(`in a browser: ${checks} checks hold`);
