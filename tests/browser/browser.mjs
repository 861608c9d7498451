// What the browser tests share.

import { readdirSync } from "node:fs";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

export const folder = resolve(process.argv[2] ?? "");

/// Names of the reports in the folder; never an empty list.
export function reports() {
  const names = readdirSync(folder).filter((name) => name.endsWith(".html")).map((name) => basename(name, ".html"));
  if (names.length === 0) throw new Error(`no reports in ${folder}`);
  return names.sort();
}

export const urlOf = (name) => pathToFileURL(join(folder, `${name}.html`)).href;

export const launch = () =>
  chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-dev-shm-usage"],
  });

let failures = 0;

/// Says what is wrong and goes on; `done` then fails.
export function check(holds, message) {
  if (holds) return;
  failures += 1;
  console.error(`FAILED: ${message}`);
}

export function done() {
  if (failures > 0) process.exit(1);
  console.log("all as it should be");
}

/// Opens a report. Console messages of any kind and requests beyond the file itself are failures.
export async function open(browser, name, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, ...options });
  const page = await context.newPage();
  const own = urlOf(name);
  page.on("console", (message) => check(false, `${name}: console ${message.type()}: ${message.text()}`));
  page.on("pageerror", (error) => check(false, `${name}: script error: ${error.message}`));
  page.on("request", (request) => check(request.url() === own, `${name}: request of ${request.url().slice(0, 100)}`));
  await page.goto(own);
  return { page, context };
}
