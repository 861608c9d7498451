#!/usr/bin/python3
"""Makes the demo captures: circuit (footbridge.cir) -> ngspice -> probe, scope -> export file.

Usage: make_captures.py [NAME ...]      all captures, or the named ones; files are written beside this script
       make_captures.py --sweep         passing range of the series resistor, from the circuit itself

Needs ngspice and numpy (Debian: ngspice, python3-numpy). Every random number comes from a seed in `cases.py`, so a second
run should write the same bytes with the same versions of both (not tried).
"""

import pathlib
import subprocess
import sys
import tempfile

import numpy as np

import exports
from cases import CASES, PIXELS, Case

HERE = pathlib.Path(__file__).resolve().parent
GRID_S = 0.25e-9       # uniform grid between circuit and scope
LEAD_S = 1e-6          # idle line before the first frame, in the circuit
GAP_S = 8e-6           # latch gap in the circuit: the line is at rest long before; the scope sees it stretched to its real length
TIME_BASE_ERROR = 11e-6
GAIN, OFFSET_V = 1.004, 0.008   # a scope within a tenth of its own accuracy limits (common practice: 3 % and a tenth division)


def frame_bits(pixels: int) -> list[int]:
    return [byte >> shift & 1 for pixel in PIXELS[:pixels] for byte in pixel for shift in range(7, -1, -1)]


def drive_edges(case: Case, rng: np.random.Generator) -> tuple[list[float], list[float]]:
    """Edge instants (rising, falling, rising, ...) in circuit time, and the start of each frame."""
    edges, starts, now = [], [], LEAD_S
    for _ in range(case.frames):
        starts.append(now)
        for bit in frame_bits(case.pixels):
            high, low = case.timing_ns[2 * bit] * 1e-9, case.timing_ns[2 * bit + 1] * 1e-9
            edges += [now, now + high]
            now += high + low
        now += GAP_S
    jitter = rng.normal(0, case.jitter_s, len(edges))
    return [edge + shake for edge, shake in zip(edges, jitter)], starts


def write_circuit(case: Case, edges: list[float], folder: pathlib.Path) -> None:
    half = case.edge_s / 2
    points = ["0 0"]
    for index, edge in enumerate(edges):
        before, after = (0, case.drive_v) if index % 2 == 0 else (case.drive_v, 0)
        points += [f"{edge - half:.13e} {before}", f"{edge + half:.13e} {after}"]
    pwl = "\n+ ".join(points)
    (folder / "drive.inc").write_text(f"Vdrive drive 0 PWL(\n+ {pwl})\n")
    near_f, far_f = (case.probe_f if case.probe in (end, "both") else 0.01e-12 for end in ("near", "far"))
    (folder / "case.inc").write_text(
        f".param ro={case.driver_ohm} rs={case.series_ohm + 1e-3} rpad=100 z0=82 td=99n\n"
        f".param llead={case.lead_h} cprobe_near={near_f} cprobe_far={far_f}\n"
        # 18 AWG, both conductors, 20 % more for their proximity: 0.61 ohm/m at 10 MHz; 1.602 is the sum of the ladder
        f".param ks={{0.61/sqrt(10e6)/1.602}}\n")


def simulate(case: Case, edges: list[float]) -> dict[str, np.ndarray]:
    """Voltages on the uniform grid: near and far probe, the driver's own pin, and inside the pixel."""
    stop = edges[-1] + GAP_S
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        write_circuit(case, edges, folder)
        netlist = (HERE / "footbridge.cir").read_text().replace(".end\n", "")
        (folder / "run.cir").write_text(netlist + f".save v(pn) v(pf) v(out) v(din)\n.tran 1n {stop:.9e} 0 0.5n\n.end\n")
        run = subprocess.run(["ngspice", "-b", "-r", "out.raw", "run.cir"], cwd=folder, capture_output=True, text=True)
        if run.returncode != 0 or not (folder / "out.raw").exists():
            sys.exit(f"{case.name}: ngspice failed\n{run.stdout[-2000:]}{run.stderr[-2000:]}")
        raw = (folder / "out.raw").read_bytes()
    header, body = raw.split(b"Binary:\n", 1)
    names = [line.split()[1].decode() for line in header.split(b"Variables:\n")[1].splitlines() if line.strip()]
    table = np.frombuffer(body, dtype="<f8").reshape(-1, len(names))
    grid = np.arange(0, stop, GRID_S)
    return {key: np.interp(grid, table[:, 0], table[:, names.index(f"v({node})")])
            for key, node in (("near", "pn"), ("far", "pf"), ("driver pin", "out"), ("chip", "din"))}


def band_limit(volts: np.ndarray, bandwidth_hz: float) -> np.ndarray:
    """Gaussian response, -3 dB at the bandwidth: sigma = sqrt(ln 2) / (2 pi f)."""
    sigma = np.sqrt(np.log(2)) / (2 * np.pi * bandwidth_hz) / GRID_S
    reach = int(np.ceil(6 * sigma))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    padded = np.concatenate([np.full(reach, volts[0]), volts, np.full(reach, volts[-1])])
    return np.convolve(padded, kernel / kernel.sum(), mode="valid")


def circuit_time(case: Case, real_s: np.ndarray, starts: list[float]) -> np.ndarray:
    """Real time (0 = first edge) to circuit time: the same within a frame, at rest in the rest of a latch gap."""
    frame_s = (starts[1] - starts[0] - GAP_S) if case.frames > 1 else sum(
        case.timing_ns[2 * bit] + case.timing_ns[2 * bit + 1] for bit in frame_bits(case.pixels)) * 1e-9
    index = np.clip(np.floor(real_s / (frame_s + case.gap_s)), 0, case.frames - 1).astype(int)
    into_frame = real_s - index * (frame_s + case.gap_s)
    # the next frame's first edge begins half an edge time before its instant: stay a microsecond clear of it
    settled = np.minimum(into_frame, np.where(into_frame > frame_s + case.gap_s - 0.9e-6,
                                              into_frame - case.gap_s + GAP_S, frame_s + GAP_S - 1e-6))
    return np.array(starts)[index] + np.maximum(settled, -0.9e-6)


def record(case: Case) -> tuple[float, dict[str, np.ndarray]]:
    """(time of the first sample against the first edge, channel -> volts as the scope stores them)."""
    rng = np.random.default_rng(case.seed)
    edges, starts = drive_edges(case, rng)
    nodes = simulate(case, edges)
    frame_s = sum(case.timing_ns[2 * bit] + case.timing_ns[2 * bit + 1] for bit in frame_bits(case.pixels)) * 1e-9
    span_s = case.before_s + case.frames * frame_s + (case.frames - 1) * case.gap_s + case.after_s
    count = int(span_s * case.rate_hz)
    start_s = -case.before_s + rng.uniform(0, 1 / case.rate_hz)
    instants = start_s + np.arange(count) / case.rate_hz * (1 + TIME_BASE_ERROR)
    where = circuit_time(case, instants, starts)
    stored = {}
    for channel in (("near", "far") if case.probe == "both" else (case.probe,)):
        analog = band_limit(nodes[channel], case.bandwidth_hz)
        seen = np.interp(where, np.arange(len(analog)) * GRID_S, analog) * GAIN + OFFSET_V
        seen = seen + rng.normal(0, case.noise_v, count)
        codes = np.clip(np.round((seen - case.centre_v) / case.step_v), -128, 127)
        stored[channel] = codes * case.step_v + case.centre_v
    return -case.before_s, stored


def make(case: Case) -> None:
    start_s, channels = record(case)
    exports.WRITERS[case.export](HERE / case.name, case, start_s, channels)
    print(f"{case.name}: {len(next(iter(channels.values())))} samples, {(HERE / case.name).stat().st_size} bytes")


def main() -> None:
    if sys.argv[1:] == ["--sweep"]:
        import sweep
        sweep.print_table()
        return
    chosen = [case for case in CASES if not sys.argv[1:] or case.name in sys.argv[1:]]
    unknown = set(sys.argv[1:]) - {case.name for case in CASES}
    if unknown:
        sys.exit(f"no such capture: {', '.join(sorted(unknown))}")
    for case in chosen:
        make(case)


if __name__ == "__main__":
    main()
