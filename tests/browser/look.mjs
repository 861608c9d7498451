// Every report wide, narrow, dark, on paper and without script: nothing loaded, nothing said on the console, nothing wider than
// the page, no words over words, no complaint of the accessibility checker.
//   node look.mjs FOLDER

import { readFileSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { check, done, folder, launch, open, reports } from "./browser.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

async function accessibility(page, where) {
  // Evaluated by the debugger protocol, which the page's policy does not bind.
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(axe);
  const { violations } = await page.evaluate(() => axe.run({ resultTypes: ["violations"] }));
  for (const violation of violations)
    check(false, `${where}: ${violation.id}: ${violation.nodes.slice(0, 3).map((node) => node.target + " " + node.failureSummary).join("; ")}`);
}

const overflow = () => ({ wide: document.documentElement.scrollWidth, room: window.innerWidth });

/// Widths of A4 and letter inside the page's margins, at 96 pixels an inch.
async function onPaper(page, where) {
  await page.emulateMedia({ media: "print" });
  for (const width of [Math.round((210 - 26) / 25.4 * 96), Math.round((215.9 - 26) / 25.4 * 96)]) {
    await page.setViewportSize({ width, height: 1000 });
    const found = await page.evaluate(overflow);
    check(found.wide <= found.room, `${where}: ${found.wide} wide on paper of ${found.room}`);
  }
  const hidden = await page.evaluate(() => [...document.querySelectorAll(".script-only")].filter((part) => part.offsetHeight > 0).length);
  check(hidden === 0, `${where}: ${hidden} controls on paper`);
  const pdf = await page.pdf({ format: "A4" });
  check(pdf.length > 20000, `${where}: PDF of ${pdf.length} bytes`);
}

/// Pairs of words in one figure that lie over each other by more than a hair.
const wordsOverWords = () =>
  [...document.querySelectorAll("svg.figure")].flatMap((figure) => {
    const words = [...figure.querySelectorAll("text")].filter((text) => text.getClientRects().length > 0 && text.textContent.trim() !== "");
    const boxes = words.map((text) => text.getBoundingClientRect());
    const over = (a, b) =>
      Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 &&
      Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.3 * Math.min(a.height, b.height);
    return words.flatMap((one, i) => words.slice(i + 1).flatMap((other, j) => (over(boxes[i], boxes[i + 1 + j]) ? [`${one.textContent} / ${other.textContent}`] : [])));
  });

async function fits(page, where) {
  const found = await page.evaluate(overflow);
  check(found.wide <= found.room, `${where}: ${found.wide} wide in a window of ${found.room}`);
  for (const pair of await page.evaluate(wordsOverWords)) check(false, `${where}: words over words in a figure: ${pair}`);
}

async function scripted(browser, name) {
  const { page, context } = await open(browser, name);
  await fits(page, `${name}, wide`);
  await accessibility(page, `${name}, wide`);
  await page.setViewportSize({ width: 390, height: 844 });
  await fits(page, `${name}, narrow`);
  await page.emulateMedia({ colorScheme: "dark" });
  await accessibility(page, `${name}, narrow and dark`);
  await page.emulateMedia({ colorScheme: "light" });
  await onPaper(page, name);
  await context.close();
}

async function plain(browser, name) {
  const { page, context } = await open(browser, name, { javaScriptEnabled: false });
  check(await page.locator("h1").first().isVisible(), `${name}: no headline without script`);
  check((await page.locator(".script-only:visible").count()) === 0, `${name}: controls that do nothing without script`);
  await context.close();
}

const browser = await launch();
for (const name of reports()) {
  check(statSync(join(folder, `${name}.html`)).size < 2e6, `${name}: 2 MB or more`);
  await scripted(browser, name);
  await plain(browser, name);
}
await browser.close();
done();
