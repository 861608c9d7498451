#!/usr/bin/python3
"""Step responses of the demo's footbridge from ngspice: the reference of tests/analyzer/compare_ngspice_test.cpp.

    ./make_steps.py > steps.csv        (needs ngspice and python3-numpy)
    ./make_steps.py --check            (a whole bit train in ngspice against the sum of shifted steps)

The circuit is captures-demo/footbridge.cir without the pixel's clamp diodes: it is linear then, and the response to any bits is the
sum of shifted step responses. Each column is one fitted resistor seen through one probe, after a scope of 100 MHz (Gaussian),
of a unit ramp of 6 ns that begins at 0. 1 ns apart up to 1.5 us, then 10 ns.
"""

import pathlib
import subprocess
import sys
import tempfile

import numpy as np

HERE = pathlib.Path(__file__).resolve().parent
CIRCUIT = HERE.parents[2] / "captures-demo" / "footbridge.cir"
GRID_S, END_S, EDGE_S, BANDWIDTH_HZ = 0.25e-9, 12e-6, 6e-9, 100e6
ABSENT_F, TEN_TO_ONE_F, ONE_TO_ONE_F = 0.01e-12, 11e-12, 95e-12

# name, series resistor, node, capacitance of the probe at near and far end
COLUMNS = [(f"far{ohm}", ohm, "pf", ABSENT_F, TEN_TO_ONE_F) for ohm in (0, 33, 68, 100, 220, 470)]
COLUMNS += [("near68", 68, "pn", TEN_TO_ONE_F, ABSENT_F), ("near220", 220, "pn", TEN_TO_ONE_F, ABSENT_F),
            ("far68direct", 68, "pf", ABSENT_F, ONE_TO_ONE_F)]


def run(column, source: str, end_s: float) -> np.ndarray:
    _, ohm, node, near_f, far_f = column
    text = CIRCUIT.read_text().replace(".end\n", "")
    text = "\n".join(line for line in text.splitlines() if not line.startswith(("Dup ", "Ddown ", ".model clamp")))
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        (folder / "drive.inc").write_text(source)
        (folder / "case.inc").write_text(f".param ro=17 rs={ohm + 1e-3} rpad=100 z0=82 td=99n\n"
                                         f".param llead=15n cprobe_near={near_f} cprobe_far={far_f}\n"
                                         ".param ks={0.61/sqrt(10e6)/1.602}\n")
        (folder / "run.cir").write_text(text + f"\n.save v({node})\n.tran 1n {end_s:.9e} 0 0.5n\n.end\n")
        done = subprocess.run(["ngspice", "-b", "-r", "out.raw", "run.cir"], cwd=folder, capture_output=True, text=True)
        if not (folder / "out.raw").exists():
            sys.exit(done.stdout[-2000:] + done.stderr[-2000:])
        header, body = (folder / "out.raw").read_bytes().split(b"Binary:\n", 1)
    table = np.frombuffer(body, dtype="<f8").reshape(-1, 2)
    return np.interp(np.arange(0, end_s, GRID_S), table[:, 0], table[:, 1])


def seen(volts: np.ndarray) -> np.ndarray:
    sigma = np.sqrt(np.log(2)) / (2 * np.pi * BANDWIDTH_HZ) / GRID_S
    reach = int(np.ceil(6 * sigma))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    padded = np.concatenate([np.full(reach, volts[0]), volts, np.full(reach, volts[-1])])
    return np.convolve(padded, kernel / kernel.sum(), mode="valid")


def step(column) -> np.ndarray:
    return seen(run(column, f"Vdrive drive 0 PWL(0 0 100n 0 {100e-9 + EDGE_S:.10e} 1)\n", END_S))


def check() -> None:
    bits, worst = [1, 0, 1, 1, 0, 0, 1, 0, 1, 1, 1, 0], {}
    edges, now = [], 100e-9
    for bit in bits:
        edges += [now, now + (902e-9 if bit else 301e-9)]
        now += 1254e-9
    points = "".join(f" {at:.10e} {i % 2} {at + EDGE_S:.10e} {1 - i % 2}" for i, at in enumerate(edges))
    for column in COLUMNS:
        response = step(column)
        whole = seen(run(column, f"Vdrive drive 0 PWL(0 0{points})\n", now))
        grid = np.arange(len(whole)) * GRID_S
        own = np.arange(len(response)) * GRID_S - 100e-9
        total = sum((-1) ** i * np.interp(grid - at, own, response) for i, at in enumerate(edges))
        worst[column[0]] = float(np.max(np.abs(whole - total)))
    print(worst)
    sys.exit(max(worst.values()) > 2e-3)


def main() -> None:
    if sys.argv[1:] == ["--check"]:
        check()
    steps = {column[0]: step(column) for column in COLUMNS}
    print(",".join(["time_s", *steps]))
    own = np.arange(len(next(iter(steps.values())))) * GRID_S - 100e-9
    for time_s in np.concatenate([np.arange(-20e-9, 1500e-9, 1e-9), np.arange(1500e-9, 11.8e-6, 10e-9)]):
        print(f"{time_s:.5g}," + ",".join(f"{np.interp(time_s, own, v):.5f}" for v in steps.values()))


main()
