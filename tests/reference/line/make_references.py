#!/usr/bin/env python3
"""Step responses of random lines from ngspice: the reference of tests/analyzer/line_model_test.cpp.

    ./make_references.py > steps.csv        ("./make_references.py skin": only those sets)

Each set is one row of parameters, then rows of time and the two nodes in volts for a unit ramp. Sets whose name begins
with "ltra" use ngspice's lossy line model LTRA (resistance constant over frequency), those with "skin" 10 sections of an
ideal line, each with a resistance and a ladder of ten R-L pairs that follows the square root of frequency between
a few kHz and 400 MHz. The parameters come from a fixed seed.
"""
import math
import os
import random
import subprocess
import sys
import tempfile

ROWS = 48
# Sum of R x^2 / (1 + x^2) over corners a factor of 4 apart, R = k sqrt(corner): (pi / (2 sin(3 pi / 4))) / ln 4 = 1.602 k sqrt(f).
LADDER = 1.602
PAIRS = 10


def ladder(p, name, a, b, sections):
    """A skin ladder whose real part is about K sqrt(f) plus the direct-current resistance, for one section."""
    per = 1.0 / sections
    k = p["skin"] / LADDER * per / 1e3  # each pair: k sqrt(its corner)
    lines = [f"Rdc{name} {a} {name}n0 {p['loop'] * per:.6g}"]
    for i in range(PAIRS):
        corner = 1562.5 * 4**i
        ohm = k * math.sqrt(corner)
        here, there = f"{name}n{i}", (b if i == PAIRS - 1 else f"{name}n{i + 1}")
        lines += [f"R{name}{i} {here} {there} {ohm:.6g}", f"L{name}{i} {here} {there} {ohm / (2 * math.pi * corner):.6g}"]
    return lines


def netlist(p):
    lines = ["unit ramp into a line", f"V1 src 0 PWL(0 0 {p['edge']:.6g} 1)", f"R1 src near {p['source']:.6g}"]
    lines.append(f"C1 near 0 {p['near_f']:.6g}")
    if p["skin"] == 0:
        l, c = p["z0"] * p["delay"], p["delay"] / p["z0"]
        lines += ["O1 near 0 far 0 line", f".model line LTRA(R={p['loop']:.6g} L={l:.8g} G=0 C={c:.8g} LEN=1)"]
    else:
        n = 10
        lines.append(f"Tfirst near 0 m0 0 Z0={p['z0']:.6g} TD={p['delay'] / (2 * n):.8g}")
        for i in range(n):  # losses in the middle of each section
            lines += ladder(p, f"x{i}", f"m{i}", f"s{i}", n)
            last = i == n - 1
            lines.append(f"T{i} s{i} 0 {'far' if last else f'm{i + 1}'} 0 Z0={p['z0']:.6g} TD={p['delay'] / (2 * n if last else n):.8g}")
    lines.append(f"C2 far 0 {p['far_f']:.6g}")
    for node in ("near", "far"):
        lines += [f"E{node} e{node} 0 {node} 0 1", f"Rb{node} e{node} b{node} 1k",
                  f"Cb{node} b{node} 0 {1 / (2 * math.pi * p['bandwidth'] * 1e3):.8g}"]
    step = 0.25e-9 if p["skin"] else min(p["delay"] / 200, p["edge"] / 20, 0.5e-9)
    lines += [".options reltol=1e-4 abstol=1e-12", f".tran {step:.4g} {p['end']:.6g} 0 {step:.4g}", ".end"]
    return "\n".join(lines) + "\n"


def run(text, end):
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "a.cir")
        body = text.replace(".end\n", f".control\nrun\nset wr_singlescale\nset wr_vecnames\nlinearize v(bnear) v(bfar)\n"
                                      f"wrdata {folder}/out.txt v(bnear) v(bfar)\nquit\n.endc\n.end\n")
        with open(path, "w") as f:
            f.write(body)
        done = subprocess.run(["ngspice", "-b", path], capture_output=True, text=True)
        try:
            with open(os.path.join(folder, "out.txt")) as f:
                rows = [list(map(float, r.split())) for r in f.readlines()[1:]]
        except FileNotFoundError:
            sys.exit(done.stdout + done.stderr)
    return rows


def at(rows, t, column):
    step = rows[1][0] - rows[0][0]
    k = min(int(t / step), len(rows) - 2)
    x = (t - rows[k][0]) / step
    return rows[k][column] + x * (rows[k + 1][column] - rows[k][column])


def main():
    rng = random.Random(1907)
    only = sys.argv[1] if len(sys.argv) > 1 else ""
    print("set,source_ohm,z0_ohm,delay_s,loop_ohm,skin_ohm,near_f,far_f,edge_s,bandwidth_hz")
    print("t,time_s,near_v,far_v")
    for i in range(34):
        skin = i >= 32
        p = dict(source=math.exp(rng.uniform(math.log(8), math.log(470))), z0=rng.uniform(48, 150),
                 delay=math.exp(rng.uniform(math.log(12e-9), math.log(200e-9))), loop=rng.uniform(0.2, 12),
                 skin=0.0, near_f=rng.uniform(1e-12, 20e-12), far_f=rng.uniform(4e-12, 60e-12),
                 edge=rng.uniform(2e-9, 15e-9), bandwidth=rng.choice([20e6, 50e6, 100e6, 200e6]))
        if skin:  # a real cable's skin effect per metre at 5.2 ns; little else, since LTRA tests the rest
            length = p["delay"] / 5.2e-9
            p["loop"], p["skin"] = rng.uniform(0.002, 0.004) * length, rng.uniform(0.2, 0.6) * length
        p["end"] = 8 * p["delay"] + 4 * p["edge"]
        name = ("skin" if skin else "ltra") + str(i)
        row = (",".join([name] + [f"{p[k]:.9g}" for k in ("source", "z0", "delay", "loop", "skin", "near_f", "far_f", "edge", "bandwidth")]))
        if only and only not in name:
            continue
        # parameters as printed, so that both sides use the same digits
        print(row)
        rows = run(netlist({k: float(f"{v:.9g}") for k, v in p.items()}), p["end"])
        for k in range(ROWS):
            t = p["end"] * (k + 0.5) / ROWS
            print(f"t,{t:.6g},{at(rows, t, 1):.6f},{at(rows, t, 2):.6f}")


main()
