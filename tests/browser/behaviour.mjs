// What the script does: slider, zoom, cursor, filter, copying; and that hostile texts stay text.
//   node behaviour.mjs FOLDER

import { readFileSync } from "node:fs";
import { join } from "node:path";
import { check, done, folder, launch, open } from "./browser.mjs";

const browser = await launch();

async function slider() {
  const { page, context } = await open(browser, "overdamped");
  const data = await page.evaluate(() => JSON.parse(document.getElementById("page-data").textContent));
  const seen = new Set();
  await page.focus("#ohm");
  await page.keyboard.press("Home");
  for (const candidate of data.candidates) {
    check((await page.textContent("#ohm-shown")) === candidate.ohm_text, `slider shows ${candidate.ohm_text}`);
    for (const key of ["margin", "limited_by", "overshoot_ratio", "duration_10_90_s", "high_margin_v", "low_margin_v", "high_width_zero_s", "high_width_one_s"])
      check((await page.textContent(`[data-shows="${key}"]`)) === candidate[key], `${candidate.ohm_text}: ${key}`);
    check(await page.locator(`[data-shows="outcome"] .badge.${candidate.outcome}`).count() === 1, `${candidate.ohm_text}: verdict`);
    // The curve: every vertex of the path back through the axes onto the candidate's voltage at that time.
    const { d, x, y } = await page.evaluate(() => {
      const svg = document.querySelector("#ohm-figure svg");
      return { d: svg.querySelector('[data-part="curve"]').getAttribute("d"), x: svg.dataset.x, y: svg.dataset.y };
    });
    const [x0, x1, left, right] = x.split(" ").map(Number), [y0, y1, bottom, top] = y.split(" ").map(Number);
    const points = d.slice(1).split("L").map((pair) => pair.split(" ").map(Number));
    const inside = data.candidates.length && candidate.t_s.map((t, i) => [t, candidate.v[i]]).filter(([t]) => t >= x0 && t <= x1);
    check(points.length === inside.length, `${candidate.ohm_text}: ${points.length} points for ${inside.length}`);
    const volt = (y1 - y0) / Math.abs(bottom - top), second = (x1 - x0) / (right - left);
    points.forEach(([px, py], i) => {
      const time = x0 + (px - left) * second, value = y0 + (bottom - py) * volt;
      check(Math.abs(time - inside[i][0]) <= second * 0.06 && Math.abs(value - inside[i][1]) <= volt * 0.06, `${candidate.ohm_text}: point ${i}`);
    });
    seen.add(d);
    await page.keyboard.press("ArrowRight");
  }
  check(seen.size > data.candidates.length / 2, `only ${seen.size} different curves`);
  await page.click('button[data-ohm]:has-text("Fitted now")');
  check((await page.textContent("#ohm-shown")) === "220 Ω", "button of the fitted value");
  await page.click('button[data-ohm]:has-text("Suggested")');
  check((await page.textContent("#ohm-shown")) === "75 Ω", "button of the suggested value");
  await context.close();
}

async function zoom() {
  const { page, context } = await open(browser, "overdamped");
  const readout = () => page.textContent("#record-readout");
  check(/highest 9\.25 V/.test(await readout()), `glitch in the whole record: ${await readout()}`);
  // Column 2345 holds the glitch. Drag across a stretch around it.
  const { from, to, top } = await page.evaluate(() => {
    document.getElementById("record-plot").scrollIntoView();
    const over = document.querySelector("#record-plot .u-over").getBoundingClientRect();
    const record = JSON.parse(document.getElementById("page-data").textContent).record;
    const at = (column) => over.left + over.width * column / record.min_v.length;
    return { from: at(2300), to: at(2400), top: over.top + over.height / 2 };
  });
  await page.mouse.move(from, top);
  await page.mouse.down();
  await page.mouse.move(to, top, { steps: 5 });
  await page.mouse.up();
  check(/highest 9\.25 V/.test(await readout()), `glitch in the zoomed stretch: ${await readout()}`);
  const shown = /Showing ([\d.]+) ms to ([\d.]+) ms/.exec(await readout());
  check(shown && shown[2] - shown[1] > 0.05 && shown[2] - shown[1] < 0.1, `zoomed to 100 of 4000 columns of 2.8 ms: ${await readout()}`);
  const inked = await page.evaluate(() => {
    // Rows above 8 V: only the glitch reaches there.
    const canvas = document.querySelector("#record-plot canvas"), plot = document.querySelector("#record-plot .u-over");
    const scale = canvas.width / canvas.clientWidth, box = plot.getBoundingClientRect(), base = canvas.getBoundingClientRect();
    const record = JSON.parse(document.getElementById("page-data").textContent).record;
    const low = Math.min(...record.min_v), high = Math.max(...record.max_v), air = (high - low) * 0.06;
    const row = (volts) => (box.top - base.top + box.height * (high + air - volts) / (high - low + 2 * air)) * scale;
    const y = Math.ceil(row(9)), tall = Math.floor(row(7)) - y;
    const pixels = canvas.getContext("2d").getImageData((box.left - base.left) * scale, y, box.width * scale, tall).data;
    const measured = [10, 92, 138];
    let count = 0;
    for (let i = 0; i < pixels.length; i += 4)
      if (pixels[i + 3] > 100 && measured.every((part, k) => Math.abs(pixels[i + k] - part) < 60)) count += 1;
    return { count, tall };
  });
  check(inked.count >= inked.tall / 2, `glitch drawn with ${inked.count} points over ${inked.tall} rows`);
  // Away from it, by the keyboard.
  await page.focus('button[data-zoom="later"]');
  for (let i = 0; i < 4; ++i) await page.keyboard.press("Enter");
  check(!/highest 9\.25 V/.test(await readout()), `no glitch further on: ${await readout()}`);
  await page.click('button[data-zoom="whole"]');
  check(/highest 9\.25 V/.test(await readout()), "whole record again");
  await context.close();
}

async function cursor() {
  const { page, context } = await open(browser, "overdamped");
  const figure = page.locator("#edges svg.figure").first();
  await figure.focus();
  await page.keyboard.press("ArrowRight");
  const reading = await page.locator("#edges output.reading").first().textContent();
  check(/^Cursor: [−\d.]+ ns, [−\d.]+ m?V$/.test(reading), `cursor reads "${reading}"`);
  await context.close();
}

async function filter() {
  const { page, context } = await open(browser, "overdamped");
  const shown = () => page.locator("#checks details.check:visible").count();
  const all = await shown();
  const passed = await page.locator('#checks details[data-result="pass"]').count();
  check(all > passed && passed > 0, `${passed} of ${all} checks passed`);
  await page.click('[data-filter="open"]');
  check((await shown()) === all - passed, "only what did not pass");
  await page.click('[data-filter="all"]');
  await page.fill("#check-search", "LATCH");
  check((await shown()) === 1, "search of a word");
  await context.close();
}

async function copying() {
  const { page, context } = await open(browser, "overdamped", { permissions: ["clipboard-read", "clipboard-write"] });
  for (const [id, file] of [["forum-markdown", "forum.md"], ["forum-bbcode", "forum.txt"]]) {
    await page.click(`[data-copies="${id}"]`);
    await page.locator(`[data-copies="${id}"] + output:has-text("Copied")`).waitFor();
    const copied = await page.evaluate(() => navigator.clipboard.readText());
    check(copied === readFileSync(join(folder, file), "utf8"), `${file} copied as ${JSON.stringify(copied)}`);
  }
  await context.close();
}

async function hostile() {
  const { page, context } = await open(browser, "hostile");
  const title = await page.title();
  check(title.includes("</script>") && title !== "owned", `title is ${title}`);
  check((await page.locator("script:not([type])").count()) === 2, "no script beside the two of the page");
  check((await page.locator("img").count()) === 0, "no image");
  check((await page.textContent("#capture")).includes("<img src=x onerror=alert(1)>"), "the channel's name is shown as text");
  check((await page.inputValue("#command-line")).startsWith("</textarea></script>"), "the command line is shown as text");
  await context.close();
}

for (const part of [slider, zoom, cursor, filter, copying, hostile]) await part();
await browser.close();
done();
