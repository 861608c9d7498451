"""Which series resistors pass, taken from the circuit itself: the truth that the suggestion is held to.

One frame through footbridge.cir with no probe attached, every E24 value (IEC 60063) from 20 to 240 ohm. A value passes
when at the pixel's terminal
  - every edge crosses the input thresholds (0.3 and 0.7 of 5 V) once each: no bit reads twice,
  - the signal stays within 0.5 V of the rails (absolute maximum of the pixel data sheets),
  - every width, at whichever threshold the chip has, is inside the data-sheet window (220..380, 580..1600, 580..1600,
    220..420 ns: WS2815 sheet V1.1).
"""

from dataclasses import replace

import numpy as np

import make_captures
from cases import CASES

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
VALUES = tuple(value * scale for scale in (1, 10) for value in E24 if 20 <= value * scale <= 240)
VIL, VIH, VDD = 1.5, 3.5, 5.0
WINDOWS_NS = {"zero_high": (220, 380), "one_high": (580, 1600), "zero_low": (580, 1600), "one_low": (220, 420)}


def crossings(volts: np.ndarray, level: float) -> tuple[np.ndarray, np.ndarray]:
    """Instants (in grid steps) of upward and downward crossings, interpolated."""
    above = volts > level
    index = np.flatnonzero(above[1:] != above[:-1])
    instants = index + (level - volts[index]) / (volts[index + 1] - volts[index])
    return instants[above[index + 1]], instants[~above[index + 1]]


def judge(case) -> dict:
    rng = np.random.default_rng(case.seed)
    edges, _ = make_captures.drive_edges(case, rng)
    volts = make_captures.simulate(case, edges)["far"]
    bits = make_captures.frame_bits(case.pixels)
    widths, extra = {key: [] for key in WINDOWS_NS}, 0
    for level in (VIL, VIH):
        up, down = crossings(volts, level)
        extra += abs(len(up) - len(bits)) + abs(len(down) - len(bits))
        if len(up) != len(bits) or len(down) != len(bits):
            continue
        for index, bit in enumerate(bits):
            kind = "one" if bit else "zero"
            widths[f"{kind}_high"].append((down[index] - up[index]) * make_captures.GRID_S * 1e9)
            if index + 1 < len(bits):
                widths[f"{kind}_low"].append((up[index + 1] - down[index]) * make_captures.GRID_S * 1e9)
    inside = all(low <= min(widths[key]) and max(widths[key]) <= high
                 for key, (low, high) in WINDOWS_NS.items() if widths[key])
    return {"extra_crossings": extra, "above_v": volts.max() - VDD, "below_v": volts.min(), "widths": widths,
            "passes": extra == 0 and volts.max() <= VDD + 0.5 and volts.min() >= -0.5 and inside}


def print_table() -> None:
    base = replace(CASES[0], frames=1, pixels=1, probe="none", jitter_s=0.0)
    print("ohm  passes  above VDD  lowest   extra  zero high at VIL..VIH  one low")
    for ohm in VALUES:
        found = judge(replace(base, series_ohm=ohm))
        span = {key: f"{min(values):.0f}..{max(values):.0f}" if values else "-" for key, values in found["widths"].items()}
        print(f"{ohm:4} {'yes' if found['passes'] else 'no':>6} {found['above_v']:9.2f} V {found['below_v']:7.2f} V"
              f" {found['extra_crossings']:6}  {span['zero_high']:>12} ns {span['one_low']:>16} ns", flush=True)


if __name__ == "__main__":
    print_table()
