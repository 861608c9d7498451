// The slider of a demo report shows, for every resistor, what the --json file of the same run says: curve, figures and verdict.
//   node resistors.mjs FOLDER

import { readFileSync } from "node:fs";
import { join } from "node:path";
import { check, done, folder, launch, open } from "./browser.mjs";

const prefixes = { f: 1e-15, p: 1e-12, n: 1e-9, "µ": 1e-6, m: 1e-3, "": 1, k: 1e3, M: 1e6, G: 1e9 };

/// The leading number of "412 ns ± 6 ns" in its base unit, and the worth of its last digit.
function leading(text, unit) {
  const found = /^(−?)(\d+(?:\.(\d+))?)\s?(.*)$/.exec(text.split(/ ±| \(/)[0]);
  if (!found) return null;
  const [, sign, digits, decimals = "", words] = found;
  const factor = unit === "%" ? 0.01 : unit === "" ? 1 : prefixes[words.slice(0, words.length - unit.length)];
  const finest = / ± (\d+)/.exec(text)?.[1] ?? digits;  // 0 mV ± 900 mV: rounded to hundreds
  const zeros = decimals ? 0 : /0*$/.exec(finest)[0].length % finest.length;
  return { value: (sign ? -1 : 1) * Number(digits) * factor, last: factor * 10 ** (zeros - decimals.length) };
}

const shown = { margin: "", overshoot_ratio: "%", duration_10_90_s: "s", high_margin_v: "V", low_margin_v: "V", high_width_zero_s: "s",
  high_width_one_s: "s" };

/// "at most 110 ns", for what cannot be negative: the upper end of the 95 % interval, in two digits.
function bounds(text, unit, value, u) {
  const upper = Math.max(value, 0) + 2 * u;
  const read = leading(text.replace("at most ", ""), unit);
  return value <= 2 * u && read !== null && Math.abs(read.value - upper) <= 0.0501 * upper;
}

/// Equal within half the last digit shown.
function holds(text, unit, value) {
  const read = leading(text, unit);
  return read !== null && Math.abs(read.value - value) <= read.last * 0.501;
}

async function resistors(browser, name) {
  const { suggestion } = JSON.parse(readFileSync(join(folder, `${name}.json`), "utf8"));
  const { page, context } = await open(browser, name);
  const data = await page.evaluate(() => JSON.parse(document.getElementById("page-data").textContent));
  check(data.candidates.length === suggestion.candidates.length && data.candidates.length > 60, `${name}: ${data.candidates.length} resistors`);
  await page.focus("#ohm");
  await page.keyboard.press("Home");
  let compared = 0;
  for (const [i, wanted] of suggestion.candidates.entries()) {
    const where = `${name}, ${wanted.ohm} ohm`;
    check(holds(await page.textContent("#ohm-shown"), "Ω", wanted.ohm), `${where}: slider shows ${await page.textContent("#ohm-shown")}`);
    check(await page.locator(`[data-shows="outcome"] .badge.${wanted.outcome}`).count() === 1, `${where}: verdict`);
    check((await page.textContent('[data-shows="limited_by"]')) === wanted.limited_by, `${where}: limited by`);
    for (const [key, unit] of Object.entries(shown)) {
      const text = await page.textContent(`[data-shows="${key}"]`);
      if (typeof wanted[key] !== "number") {
        check(leading(text, unit) === null, `${where}: ${key} shows ${text} for a missing figure`);
        continue;
      }
      const agrees = text.startsWith("at most ") ? bounds(text, unit, wanted[key], wanted[`${key}_u`]) : holds(text, unit, wanted[key]);
      check(agrees, `${where}: ${key} shows ${text} for ${wanted[key]}`);
      compared += 1;
    }
    const { t_s, v } = data.candidates[i];
    check(t_s.length === wanted.waveform.t_s.length, `${where}: points of the curve`);
    v.forEach((volts, k) => check(Math.abs(volts - wanted.waveform.v[k]) <= 1e-3 * Math.max(1, Math.abs(volts)) &&
      Math.abs(t_s[k] - wanted.waveform.t_s[k]) <= 1e-4 * Math.abs(t_s[k]) + 1e-13, `${where}: point ${k}`));
    await page.keyboard.press("ArrowRight");
  }
  check(compared > 400, `${name}: only ${compared} figures compared`);
  await context.close();
}

const browser = await launch();
for (const name of ["far-220ohm", "far-68ohm"]) await resistors(browser, name);
await browser.close();
done();
