#!/usr/bin/python3
"""Holds the program's figures of the demo captures against SciPy's (scipy_measure.py). Usage: scipy_test.py PROGRAM FOLDER

Tolerances, each from what the two methods can differ by:
  levels      one converter step (40 mV): neither a histogram nor a kernel density finds a mode closer than the step
  period      0.1 ns: both average some 90 intervals whose crossings differ by less than 0.05 samples
  widths      the interpolation: straight lines make the 10-90 % duration of a Gaussian edge up to 19 % longer at 2 samples
              an edge and up to 60 % at 1 (computed), so they shift a crossing at 30 or 70 % by a quarter of that, once at each
              end of a pulse: 0.1 of the duration from 2 samples an edge, 0.3 below; plus, at the middle level, the level step over the slew at both
              ends
  10-90 %     straight lines read up to 19 % long at 2 samples an edge, up to 5 % at 4 (computed for a Gaussian edge)
  overshoot   (and undershoot) 0.02 of the swing: a converter step (0.008) and the noise that a largest value picks up (0.6 sigma of 0.022 V)
  ring        the program's expanded uncertainty, and 3 % for SciPy's one sine fitted to a line's square-cornered ring; for the
              probe's ring, over after three cycles on the line's slow tail, 1 % and 0.03 of decay for SciPy's (what a later
              start of the fit changes)
  circuit     the probe's ring as the elements of the netlist make it: the program's expanded uncertainty alone
"""

import json
import math
import pathlib
import subprocess
import sys
import tempfile

import scipy_measure as measure

VIL, VIH = 1.5, 3.5
SETTLED = ("far-68ohm", "far-68ohm-wav", "far-3v3", "unchanged-before", "worse-before")
RINGING = ("far-0ohm",)
PROTOCOL = ["--protocol", "ws2815-800k-v1.1"]
FILES = {"far-68ohm-wav": ("far-68ohm.wav", ["--sample-rate", "250MS/s", "--full-scale", "8"])}


def diagnose(program: str, path: pathlib.Path, options: list[str]) -> dict:
    with tempfile.TemporaryDirectory() as scratch:
        stored = pathlib.Path(scratch) / "figures.json"
        subprocess.run([program, "diagnose", path, *PROTOCOL, *options, "--quiet", "--json", stored], stdin=subprocess.DEVNULL,
                       check=False)
        return json.loads(stored.read_text())


class Comparison:
    def __init__(self):
        self.failures = 0
        self.count = 0

    def hold(self, name: str, what: str, found, reference: float, tolerance: float, scale: float, unit: str) -> None:
        self.count += 1
        good = found is not None and abs(found - reference) <= tolerance
        self.failures += not good
        shown = "missing" if found is None else f"{found * scale:.3f}"
        print(f"{'' if good else 'WRONG '}{name}: {what} {shown} {unit}, SciPy {reference * scale:.3f}, "
              f"tolerance {tolerance * scale:.3f}")


def settled(compare: Comparison, name: str, record: measure.Record, found: dict) -> None:
    low, high = measure.states(record)
    compare.hold(name, "low level", found["levels"]["low_v"], low, 0.04, 1, "V")
    compare.hold(name, "high level", found["levels"]["high_v"], high, 0.04, 1, "V")
    interval_s, volts = measure.fine(record)
    duration_s = measure.rising_duration(volts, interval_s, low, high)
    samples_on_edge = duration_s / record.interval_s
    if samples_on_edge >= 2:
        compare.hold(name, "10-90 %", found["rising"]["duration_10_90_s"], duration_s,
                     (0.05 if samples_on_edge >= 4 else 0.19) * duration_s, 1e9, "ns")
    middle_s = 2 * measure.rising_duration(volts, interval_s, low, high, 0.3, 0.7)  # a ramp's 10-90 %, without later steps
    edge_s = max(middle_s, 0.8 * record.interval_s)  # below that a straight line cannot read an edge
    level_s = 2 * 0.04 / (0.8 * (high - low) / edge_s)
    band = (high - low) / 10
    for key, level, extra_s in (("mean", (low + high) / 2, level_s), ("at_vil_mean", VIL, 0), ("at_vih_mean", VIH, 0)):
        if level + band > high:
            continue
        reference = measure.widths(volts, interval_s, level, band)
        for kind in ("zero", "one"):
            compare.hold(name, f"high time of a {kind}, {key}", found["pulses"][kind]["high_width_s"][key], reference[kind],
                         (0.1 if edge_s >= 2 * record.interval_s else 0.3) * edge_s + extra_s, 1e9, "ns")
    compare.hold(name, "period", found["pulses"]["period_s"]["mean"], reference["period"], 0.1e-9, 1e9, "ns")


def expanded(found: dict, key: str) -> float:
    return 2 * (found["ringing"].get(f"{key}_u") or 0)


def ring_tolerance(found: dict, reference_ratio: float) -> float:
    return math.hypot(expanded(found, "frequency_hz"), reference_ratio * (found["ringing"]["frequency_hz"] or 0))


def ring_of_the_circuit() -> tuple[float, float]:
    """(frequency, amplitude ratio over one period) of 300 nH of ground lead with 8 pF of tip, closed through the line's 82 ohm
    beside the pixel's 100 ohm and 12 pF (footbridge.cir): root of s L + 1 / (s C) + Z(s) by Newton's method."""
    def loop(s: complex) -> complex:
        return s * 300e-9 + 1 / (s * 8e-12) + 1 / (1 / 82 + 1 / (100 + 1 / (s * 12e-12)))

    s = complex(-1e8, 2 * math.pi * 103e6)
    for _ in range(50):
        s -= loop(s) / ((loop(s + 1e3) - loop(s - 1e3)) / 2e3)
    frequency_hz = s.imag / (2 * math.pi)
    return frequency_hz, math.exp(s.real / frequency_hz)


def ringing(compare: Comparison, name: str, record: measure.Record, found: dict) -> None:
    low, high = found["levels"]["low_v"], found["levels"]["high_v"]
    interval_s, volts = measure.fine(record)
    compare.hold(name, "overshoot", found["rising"]["overshoot_ratio"],
                 measure.overshoot(record.volts, record.interval_s, low, high, 250e-9), 0.02, 1, "of the swing")
    compare.hold(name, "undershoot", found["rising"]["undershoot_ratio"],
                 measure.undershoot(record.volts, record.interval_s, low, high, 500e-9), 0.02, 1, "of the swing")
    t, v, _ = measure.mean_edge(volts, interval_s, low, high, 3e-6, False)
    compare.hold(name, "ring", found["ringing"]["frequency_hz"], measure.ring_frequency(t, v, 250e-9, 2.5e6),
                 ring_tolerance(found, 0.03), 1e-6, "MHz")


def probe_ring(compare: Comparison, name: str, record: measure.Record, found: dict) -> None:
    low, high = measure.states(record)
    interval_s, volts = measure.fine(record)
    t, v, _ = measure.mean_edge(volts, interval_s, low, high, 60e-9, True)
    ring, shown = found["ringing"], measure.ring_on_a_creeping_level(t, v, 8e-9, 110e6)
    compare.hold(name, "ring", ring["frequency_hz"], shown[0], ring_tolerance(found, 0.01), 1e-6, "MHz")
    compare.hold(name, "decay", ring["decay_ratio"], shown[1], math.hypot(expanded(found, "decay_ratio"), 0.03), 1, "a period")
    made = ring_of_the_circuit()
    compare.hold(name, "ring of the circuit", ring["frequency_hz"], made[0], expanded(found, "frequency_hz"), 1e-6, "MHz")
    compare.hold(name, "decay of the circuit", ring["decay_ratio"], made[1], expanded(found, "decay_ratio"), 1, "a period")
    compare.hold(name, "overshoot", found["rising"]["overshoot_ratio"],
                 measure.overshoot(volts, interval_s, low, high, 60e-9), 0.02, 1, "of the swing")


def main() -> None:
    program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    compare = Comparison()
    for name in (*SETTLED, *RINGING, "probe-ground-lead"):
        file, options = FILES.get(name, (f"{name}.csv", []))
        record = measure.load(folder / file, 250e6, 8.0)
        found = diagnose(program, folder / file, options)
        compare.hold(name, "sample interval", found["capture"]["sample_interval_s"], record.interval_s, 1e-6 * record.interval_s,
                     1e9, "ns")
        judge = settled if name in SETTLED else ringing if name in RINGING else probe_ring
        judge(compare, name, record, found)
    print(f"{compare.count} figures, {compare.failures} outside their tolerance")
    sys.exit(1 if compare.failures or compare.count == 0 else 0)


if __name__ == "__main__":
    main()
