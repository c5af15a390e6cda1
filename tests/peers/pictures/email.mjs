// What a browser makes of the morning email. Called by ../email_pictures.py:
//
//     node email.mjs SCENES OUT MODULES
//
// SCENES holds a file NAME.html for each scene, MODULES has playwright-core and axe-core. Writes OUT/NAME-WIDTH-SCHEME.png
// and prints one fault a line; silent where there is none.

import { readFileSync, readdirSync } from "node:fs";
import { createRequire } from "node:module";
import { join, resolve } from "node:path";

const [scenes, out, modules] = process.argv.slice(2).map((path) => resolve(path));
const require = createRequire(join(modules, "package.json"));
const { chromium } = require("playwright-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

// The pages ask for fonts that differ from machine to machine; pictures are taken in one that the test installs.
const FONT = "* { font-family: 'DejaVu Serif' !important }";
// 320 CSS pixels: WCAG 2.2, success criterion 1.4.10. 390 × 844: a common phone; common practice, no source.
const WIDTHS = [[320, 844], [390, 844], [1200, 900]];
// An email is a part of the page of whoever shows it, which has the landmarks.
const RULES = { region: { enabled: false }, "landmark-one-main": { enabled: false } };

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--font-render-hinting=none", "--disable-lcd-text"],
});
const faults = [];

function measured() {
  const faults = [];
  const root = document.documentElement;
  if (root.scrollWidth > root.clientWidth) {
    faults.push(`is ${root.scrollWidth} px wide in a window of ${root.clientWidth} px`);
  }
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode.data.trim();
    const size = parseFloat(getComputedStyle(walker.currentNode.parentElement).fontSize);
    if (text && size < 12) faults.push(`has text of ${size} px: ${text.slice(0, 40)}`);
  }
  // What comes first must be on the first screen; of many questions, at least as many as fit.
  const first = document.querySelector("h2");
  if (first && first.getBoundingClientRect().bottom > 300) faults.push("has its first heading below 300 px");
  const light = (color) => color.match(/\d+/g).slice(0, 3).reduce((sum, part) => sum + Number(part), 0) / 765;
  const style = getComputedStyle(document.body);
  const dark = matchMedia("(prefers-color-scheme: dark)").matches && document.querySelector("style");
  if (light(style.backgroundColor) < 0.5 !== Boolean(dark)) faults.push(`has a page of ${style.backgroundColor}`);
  for (const bad of document.querySelectorAll("a, img, script, iframe, object, embed, link, form, svg, video, audio")) {
    faults.push(`has a <${bad.localName}>`);
  }
  return faults;
}

async function look(name, width, height, scheme, stripped) {
  const page = await browser.newPage({ viewport: { width, height }, colorScheme: scheme });
  const where = `${name} at ${width} px, ${scheme}${stripped ? ", its style taken out" : ""}`;
  const file = `file://${join(scenes, `${name}.html`)}`;
  page.on("request", (request) => request.url() !== file && faults.push(`${where}: asks for ${request.url()}`));
  page.on("dialog", (dialog) => { faults.push(`${where}: opens a dialog`); dialog.dismiss(); });
  page.on("console", (message) => faults.push(`${where}: says ${message.text()}`));
  await page.goto(file);
  // Some mail programs drop <style>: what is inline must do.
  if (stripped) await page.evaluate(() => document.querySelector("style").remove());
  else await page.addStyleTag({ content: FONT });
  faults.push(...(await page.evaluate(measured)).map((fault) => `${where}: ${fault}`));
  if (!stripped) await page.screenshot({ path: join(out, `${name}-${width}-${scheme}.png`), fullPage: true });
  await page.evaluate(axe);
  const { violations } = await page.evaluate((rules) => window.axe.run(document, { rules }), RULES);
  for (const { id, help, nodes } of violations) faults.push(`${where}: axe ${id}, ${help}: ${nodes[0].html}`);
  await page.close();
}

for (const file of readdirSync(scenes).filter((file) => file.endsWith(".html")).sort()) {
  const name = file.slice(0, -".html".length);
  for (const [width, height] of WIDTHS) {
    for (const scheme of ["light", "dark"]) await look(name, width, height, scheme, false);
  }
  await look(name, 390, 844, "light", true);
}
await browser.close();
for (const fault of faults) console.log(fault);
process.exit(faults.length ? 1 : 0);
