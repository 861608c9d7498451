"use strict";
(() => {
  const root = document.documentElement;
  const data = JSON.parse(document.getElementById("page-data")?.textContent ?? "{}");
  const find = (selector, within = document) => [...within.querySelectorAll(selector)];
  const svgElement = (name) => document.createElementNS("http://www.w3.org/2000/svg", name);
  root.classList.add("scripted");

  const prefixes = { "-15": "f", "-12": "p", "-9": "n", "-6": "µ", "-3": "m", 0: "", 3: "k", 6: "M", 9: "G" };
  function quantity(value, unit, digits = 4) {
    const shownUnit = unit === "ohm" ? "Ω" : unit === "1" ? "" : unit;
    if (Math.abs(value) < 1e-15 && unit !== "F") value = 0;
    if (value === 0 || unit === "1" || !unit) return `${+value.toPrecision(digits)} ${shownUnit}`.trim().replace("-", "−");
    const exponent = Math.min(9, Math.max(-15, Math.floor(Math.log10(Math.abs(value)) / 3 + 1e-9) * 3));
    const number = +(value / 10 ** exponent).toPrecision(digits);
    return `${number} ${prefixes[exponent]}${shownUnit}`.replace("-", "−");
  }

  // ---- the whole record, to be zoomed -------------------------------------------------------------------------------

  function recordPlot() {
    const place = document.getElementById("record-plot");
    const record = data.record;
    if (!place || !record || record.min_v.length === 0) return;
    const count = record.min_v.length;
    const columnStart = (i) => record.start_s + i * record.column_s;
    // Each column is drawn there and back from its end nearer to the column before: a lone spike stays one upright line.
    const x = [], y = [];
    let before = 0;
    for (let i = 0; i < count; ++i) {
      const middle = columnStart(i + 0.5), low = record.min_v[i], high = record.max_v[i];
      const [near, far] = Math.abs(low - before) < Math.abs(high - before) ? [low, high] : [high, low];
      x.push(middle, middle, middle);
      y.push(near, far, near);
      before = near ?? before;
    }
    const whole = { min: columnStart(0), max: columnStart(count) };
    const finite = y.filter(Number.isFinite);
    const low = finite.reduce((a, b) => Math.min(a, b), Infinity), high = finite.reduce((a, b) => Math.max(a, b), -Infinity);
    const air = (high - low) * 0.06 || 1;
    const readout = document.getElementById("record-readout");
    const columnAt = (time) => Math.min(count - 1, Math.max(0, Math.floor((time - record.start_s) / record.column_s)));
    let plot = null;

    function extremes(from, to) {
      let least = Infinity, most = -Infinity;
      for (let i = columnAt(from); i <= columnAt(to); ++i) {
        if (record.min_v[i] !== null) least = Math.min(least, record.min_v[i]);
        if (record.max_v[i] !== null) most = Math.max(most, record.max_v[i]);
      }
      return `lowest ${quantity(least, record.unit)}, highest ${quantity(most, record.unit)}`;
    }
    function tell() {
      const { min, max } = plot.scales.x;
      const left = plot.cursor.left;
      const shown = `Showing ${quantity(min, "s")} to ${quantity(max, "s")}: ${extremes(min, max)}.`;
      const time = left >= 0 ? plot.posToVal(left, "x") : null;
      readout.textContent = time === null ? shown : `${shown} At ${quantity(time, "s", 6)}: ${extremes(time, time)}.`;
    }
    function colours() {
      const style = getComputedStyle(root);
      const value = (name) => style.getPropertyValue(name).trim();
      return { line: value("--measured"), ink: value("--mute"), hair: value("--hair") };
    }
    function build() {
      const kept = plot ? { ...plot.scales.x } : whole;
      plot?.destroy();
      const colour = colours();
      const axis = { stroke: colour.ink, grid: { stroke: colour.hair, width: 1 }, ticks: { stroke: colour.hair, width: 1 }, font: "13px system-ui, 'DejaVu Sans', sans-serif" };
      plot = new uPlot({
        width: place.clientWidth - 12, height: 300, legend: { show: false },
        cursor: { y: false, points: { show: false }, drag: { x: true, y: false } },
        scales: { x: { time: false }, y: { range: [low - air, high + air] } },
        axes: [
          { ...axis, space: 90, values: (u, splits) => splits.map((v) => quantity(v, "s", 6)) },
          { ...axis, size: 76, values: (u, splits) => splits.map((v) => quantity(v, record.unit)) },
        ],
        series: [{}, { stroke: colour.line, width: 1.2, points: { show: false } }],
        hooks: { setScale: [(u, key) => key === "x" && plot && tell()], setCursor: [() => plot && tell()] },
      }, [x, y], place);
      plot.setScale("x", { min: kept.min, max: kept.max });
      tell();
    }
    function show(from, to) {
      const span = Math.min(Math.max(to - from, 4 * record.column_s), whole.max - whole.min);
      const start = Math.min(Math.max((from + to - span) / 2, whole.min), whole.max - span);
      plot.setScale("x", { min: start, max: start + span });
    }
    const moves = {
      in: (a, b) => show(a + (b - a) / 4, b - (b - a) / 4),
      out: (a, b) => show(a - (b - a) / 2, b + (b - a) / 2),
      earlier: (a, b) => show(a - (b - a) / 2, b - (b - a) / 2),
      later: (a, b) => show(a + (b - a) / 2, b + (b - a) / 2),
      whole: () => show(whole.min, whole.max),
    };
    for (const button of find("[data-zoom]"))
      button.addEventListener("click", () => moves[button.dataset.zoom](plot.scales.x.min, plot.scales.x.max));
    build();
    new ResizeObserver(() => {
      const width = place.clientWidth - 12;
      if (width > 50 && width !== plot.width) plot.setSize({ width, height: 300 });
    }).observe(place);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", build);
  }

  // ---- figures: axes, cursor ----------------------------------------------------------------------------------------

  function axisOf(text) {
    const [low, high, from, to, unit] = text.split(" ");
    const [a, b, p, q] = [low, high, from, to].map(Number);
    return {
      low: a, high: b, from: p, to: q, unit,
      place: (value) => p + (Math.min(Math.max(value, Math.min(a, b)), Math.max(a, b)) - a) / (b - a) * (q - p),
      value: (place) => a + (place - p) / (q - p) * (b - a),
    };
  }

  function cursor(svg) {
    const x = axisOf(svg.dataset.x), y = axisOf(svg.dataset.y);
    const upright = svgElement("line"), across = svgElement("line");
    const reading = document.createElement("output");
    reading.className = "reading";
    svg.after(reading);
    svg.tabIndex = 0;
    let at = null;
    function draw() {
      if (at === null) {
        upright.remove(), across.remove();
        reading.textContent = "";
        return;
      }
      for (const [line, values] of [[upright, [at.x, y.to, at.x, y.from]], [across, [x.from, at.y, x.to, at.y]]]) {
        ["x1", "y1", "x2", "y2"].forEach((name, i) => line.setAttribute(name, values[i]));
        line.setAttribute("class", "cursor-line");
        svg.append(line);
      }
      reading.textContent = `Cursor: ${quantity(x.value(at.x), x.unit)}, ${quantity(y.value(at.y), y.unit)}`;
    }
    function move(px, py) {
      at = { x: Math.min(Math.max(px, x.from), x.to), y: Math.min(Math.max(py, y.to), y.from) };
      draw();
    }
    svg.addEventListener("pointermove", (event) => {
      const box = svg.getBoundingClientRect(), view = svg.viewBox.baseVal;
      move((event.clientX - box.left) / box.width * view.width, (event.clientY - box.top) / box.height * view.height);
    });
    const leave = () => { at = null; draw(); };
    svg.addEventListener("pointerleave", leave);
    svg.addEventListener("blur", leave);
    svg.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: [-4, 0], ArrowRight: [4, 0], ArrowUp: [0, -4], ArrowDown: [0, 4] }[event.key];
      if (!step) return;
      event.preventDefault();
      const now = at ?? { x: (x.from + x.to) / 2, y: (y.from + y.to) / 2 };
      move(now.x + step[0], now.y + step[1]);
    });
  }

  // ---- other resistors ------------------------------------------------------------------------------------------------

  function explorer() {
    const slider = document.getElementById("ohm");
    if (!slider || !data.candidates?.length) return;
    const svg = document.querySelector("#ohm-figure svg");
    const figures = document.getElementById("ohm-figures");
    const words = { pass: "passes", marginal: "marginal", fail: "fails", "cannot-tell": "cannot tell" };
    const signs = new Map(find("#explorer tbody .badge").map((badge) => [badge.className.replace("badge ", ""), badge]));
    const path = (t, v, x, y) => t.flatMap((time, i) => time < x.low || time > x.high || v[i] === null ? [] : [`${x.place(time).toFixed(1)} ${y.place(v[i]).toFixed(1)}`]);

    function curves(candidate) {
      if (!svg) return;
      const x = axisOf(svg.dataset.x), y = axisOf(svg.dataset.y);
      const { t_s: t, v, band_v: band } = candidate;
      const half = (sign) => v.map((value, i) => value + sign * (band[i] ?? 0));
      const line = path(t, v, x, y), upper = path(t, half(1), x, y), lower = path(t, half(-1), x, y).reverse();
      svg.querySelector('[data-part="curve"]')?.setAttribute("d", line.length ? "M" + line.join("L") : "");
      svg.querySelector('[data-part="band"]')?.setAttribute("d", upper.length ? "M" + upper.concat(lower).join("L") + "Z" : "");
      const label = svg.querySelector(".predicted-text");
      if (label) label.textContent = `predicted, ${candidate.ohm_text}`;
    }
    function show() {
      const candidate = data.candidates[Number(slider.value)];
      document.getElementById("ohm-shown").textContent = candidate.ohm_text;
      slider.setAttribute("aria-valuetext", `${candidate.ohm_text}, ${words[candidate.outcome]}`);
      for (const cell of find("[data-shows]", figures)) {
        if (cell.dataset.shows === "outcome") cell.replaceChildren(signs.get(candidate.outcome).cloneNode(true));
        else cell.textContent = candidate[cell.dataset.shows];
      }
      curves(candidate);
    }
    slider.addEventListener("input", show);
    for (const button of find("[data-ohm]"))
      button.addEventListener("click", () => { slider.value = button.dataset.ohm; show(); });
  }

  // ---- checks, copying, paper -------------------------------------------------------------------------------------------

  function filter() {
    const search = document.getElementById("check-search");
    const buttons = find("[data-filter]");
    if (!search) return;
    let only = "all";
    function apply() {
      const wanted = search.value.trim().toLowerCase();
      const checks = find("#checks details.check");
      for (const check of checks)
        check.hidden = (only === "open" && check.dataset.result === "pass") || !check.textContent.toLowerCase().includes(wanted);
      document.getElementById("check-count").textContent = `${checks.filter((check) => !check.hidden).length} of ${checks.length} shown`;
    }
    for (const button of buttons)
      button.addEventListener("click", () => {
        only = button.dataset.filter;
        for (const other of buttons) other.setAttribute("aria-pressed", String(other === button));
        apply();
      });
    search.addEventListener("input", apply);
    apply();
  }

  function copying() {
    for (const button of find("[data-copies]")) {
      const text = document.getElementById(button.dataset.copies);
      const told = button.parentElement.querySelector("output");
      button.addEventListener("click", async () => {
        try {
          await navigator.clipboard.writeText(text.value);
        } catch {
          text.select();
          document.execCommand("copy");
        }
        told.textContent = "Copied.";
      });
    }
  }

  function paper() {
    let opened = [];
    addEventListener("beforeprint", () => {
      opened = find("details:not([open])");
      for (const details of opened) details.open = true;
    });
    addEventListener("afterprint", () => {
      for (const details of opened) details.open = false;
    });
  }

  explorer();
  filter();
  copying();
  paper();
  for (const svg of find("svg.figure[data-x]")) cursor(svg);
  recordPlot();
})();
