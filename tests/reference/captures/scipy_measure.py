"""The demo captures measured with SciPy alone: an outside reference for levels, widths, edges, overshoot and rings.

Nothing here shares code or method with the program where the method leaves a choice: states by a kernel density instead of
a histogram, crossings on a band-limited interpolation instead of straight lines, rings by a least-squares fit of one damped
sine instead of a mode search.
"""

import pathlib
from dataclasses import dataclass

import numpy as np
from scipy import io, optimize, signal, stats

UP = 8  # band-limited interpolation: points a sample


@dataclass
class Record:
    interval_s: float
    volts: np.ndarray


def load(path: pathlib.Path, sample_rate_hz: float | None = None, full_scale_v: float | None = None) -> Record:
    """Reads the shapes that captures-demo/exports.py writes."""
    if path.suffix == ".wav":
        _, counts = io.wavfile.read(path)
        return Record(1 / sample_rate_hz, counts / 32768 * full_scale_v)
    lines = path.read_text().splitlines()
    preamble = {line.split(",")[0]: line.split(",") for line in lines[:12]}
    if "Data" in preamble:
        return Record(float(preamble["Sample Period"][1]), np.array(lines[lines.index("Data,") + 1:], dtype=float))
    if lines[0].startswith("N,"):
        step = float(lines[1].split(",")[3])
        return Record(step, np.array([line.split(",")[1] for line in lines[2:]], dtype=float))
    if "Interval" in preamble:
        return Record(float(preamble["Interval"][1]), np.array([line.split(",")[1] for line in lines[3:]], dtype=float))
    mark, head, scale = (";", 2, 1.0) if ";" in lines[1] else ("\t", 3, 1e-6)
    table = np.array([line.split(mark) for line in lines[head:]], dtype=float)
    return Record((table[-1, 0] - table[0, 0]) / (len(table) - 1) * scale, table[:, 1])


def states(record: Record) -> tuple[float, float]:
    """Low and high state: the densest voltage of each half of the range (Gaussian kernel as wide as the converter's step)."""
    volts = record.volts
    middle = (volts.min() + volts.max()) / 2
    step = np.diff(np.unique(np.round(volts, 4))).min()
    found = []
    for half in (volts[volts < middle], volts[volts >= middle]):
        some = half[:: max(1, len(half) // 20000)]
        kernel = stats.gaussian_kde(some, bw_method=step / some.std())
        grid = np.linspace(half.min(), half.max(), 2000)
        found.append(float(grid[np.argmax(kernel(grid))]))
    return found[0], found[1]


def fine(record: Record) -> tuple[float, np.ndarray]:
    return record.interval_s / UP, signal.resample_poly(record.volts, UP, 1, padtype="line")


def crossings(volts: np.ndarray, level: float, hysteresis_v: float) -> tuple[np.ndarray, np.ndarray]:
    """Indices (with fraction) of upward and downward crossings of `level`, each the last one before the far side of the
    hysteresis band is reached."""
    side = np.where(volts > level + hysteresis_v, 1, np.where(volts < level - hysteresis_v, -1, 0))
    decided = np.flatnonzero(side)
    turn = np.flatnonzero(np.diff(side[decided]))
    up, down = [], []
    for left, right in zip(decided[turn], decided[turn + 1]):
        rising = side[right] > 0
        between = volts[left:right + 1] > level
        last = left + np.flatnonzero(between[:-1] != between[1:])[-1]
        (up if rising else down).append(last + (level - volts[last]) / (volts[last + 1] - volts[last]))
    return np.array(up), np.array(down)


def widths(volts: np.ndarray, interval_s: float, level: float, hysteresis_v: float) -> dict[str, float]:
    """Mean high time of zeros and ones (apart at 600 ns) and mean bit period within frames, in seconds."""
    up, down = crossings(volts, level, hysteresis_v)
    down = down[down > up[0]][:len(up)]
    high = (down - up[:len(down)]) * interval_s
    period = np.diff(up) * interval_s
    return {"zero": high[high < 600e-9].mean(), "one": high[high >= 600e-9].mean(), "period": period[period < 5e-6].mean()}


def rising_duration(volts: np.ndarray, interval_s: float, low: float, high: float, foot_at=0.1, head_at=0.9) -> float:
    """Median duration of the rising edges between two fractions of the swing, each the crossing nearest to 50 %."""
    swing = high - low
    up, _ = crossings(volts, low + swing / 2, swing / 10)
    durations = []
    for instant in up.astype(int):
        before, after = volts[instant::-1], volts[instant + 1:]
        foot, head = np.argmax(before < low + foot_at * swing), np.argmax(after > low + head_at * swing)
        if foot == 0:
            continue
        a, b = instant - foot, instant + head
        first = a + (low + foot_at * swing - volts[a]) / (volts[a + 1] - volts[a])
        last = b + (low + head_at * swing - volts[b]) / (volts[b + 1] - volts[b])
        durations.append((last - first) * interval_s)
    return float(np.median(durations))


def mean_edge(volts: np.ndarray, interval_s: float, low: float, high: float, span_s: float, rising: bool) -> tuple:
    """All edges of one direction that stand alone for `span_s`, aligned at 50 % and averaged: (time, voltage)."""
    up, down = crossings(volts, (low + high) / 2, (high - low) / 10)
    starts, ends = (up, down) if rising else (down, up)
    t = np.arange(-20e-9, span_s, 0.5e-9)
    index = np.arange(len(volts))
    rows = []
    for start in starts:
        later = ends[ends > start]
        if len(later) and (later[0] - start) * interval_s < span_s + 20e-9:
            continue
        if start * interval_s < 20e-9 or start + span_s / interval_s >= len(volts):
            continue
        cut = slice(int(start) - int(30e-9 / interval_s), int(start) + int(span_s / interval_s) + 4)
        rows.append(np.interp(start + t / interval_s, index[cut], volts[cut]))
    return t, np.mean(rows, axis=0), len(rows)


def overshoot(volts: np.ndarray, interval_s: float, low: float, high: float, span_s: float) -> float:
    """Of the averaged rising edge, as a ratio of the swing. A band-limited interpolation of edges with one sample adds an
    overshoot of its own (up to 7 %, computed for a Gaussian edge): give the stored samples then."""
    _, v, _ = mean_edge(volts, interval_s, low, high, span_s, True)
    return float((v.max() - high) / (high - low))


def undershoot(volts: np.ndarray, interval_s: float, low: float, high: float, span_s: float) -> float:
    """The same for the lowest value after the highest, short of the high state."""
    _, v, _ = mean_edge(volts, interval_s, low, high, span_s, True)
    return float((high - v[v.argmax():].min()) / (high - low))


def ring_frequency(t: np.ndarray, v: np.ndarray, from_s: float, start_hz: float) -> float:
    """Least-squares fit of an offset and one damped sine to an edge from `from_s` on."""
    def damped(x, offset, size, decay, frequency, phase):
        return offset + size * np.exp(-decay * x) * np.cos(2 * np.pi * frequency * x + phase)

    part = t >= from_s
    return float(abs(best_fit(damped, t[part] - from_s, v[part], start_hz, ())[3]))


def ring_on_a_creeping_level(t: np.ndarray, v: np.ndarray, from_s: float, start_hz: float) -> tuple[float, float]:
    """(frequency, amplitude ratio over one period) of a damped sine on a level that ends exponentially, as skin effect makes
    the level behind a line."""
    def damped(x, offset, size, decay, frequency, phase, creep, rate):
        return (offset + size * np.exp(-decay * x) * np.cos(2 * np.pi * frequency * x + phase)
                + creep * np.exp(-rate * x))

    part = t >= from_s
    fitted = best_fit(damped, t[part] - from_s, v[part], start_hz, (-0.1, start_hz / 4))
    return float(abs(fitted[3])), float(np.exp(-fitted[2] / abs(fitted[3])))


def best_fit(model, x: np.ndarray, y: np.ndarray, start_hz: float, more: tuple) -> np.ndarray:
    best = None
    for phase in (0, np.pi / 2, np.pi, 3 * np.pi / 2):
        try:
            fitted, _ = optimize.curve_fit(model, x, y, p0=(y[-1], np.ptp(y) / 2, start_hz, start_hz, phase, *more), maxfev=20000)
        except RuntimeError:
            continue
        misfit = np.sum((model(x, *fitted) - y) ** 2)
        if best is None or misfit < best[0]:
            best = (misfit, fitted)
    return best[1]
