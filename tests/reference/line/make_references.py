#!/usr/bin/env python3
"""Step responses of random lines from ngspice: the reference of tests/analyzer/line_model_test.cpp.

    ./make_references.py > steps.csv

Each set is one row of parameters, then rows of time and the two nodes in volts for a unit ramp. Sets whose name begins
with "ltra" use ngspice's lossy line model LTRA (resistance constant over frequency), those with "skin" 24 sections of an
ideal line, each with a resistance and a ladder of six R-L pairs that follows the square root of frequency between
0.1 MHz and 100 MHz. The parameters come from a fixed seed.
"""
import math
import os
import random
import subprocess
import sys
import tempfile

ROWS = 48


def ladder(p, name, a, b, sections):
    """A skin ladder whose real part is about K sqrt(f) plus the direct-current resistance, for one section."""
    per = 1.0 / sections
    k = p["skin"] * per / 1e3  # ohm at f Hz: k sqrt(f)
    lines = [f"Rdc{name} {a} {name}n0 {p['loop'] * per:.6g}"]
    for i in range(6):
        corner = 0.1e6 * 4**i
        ohm = k * math.sqrt(corner) * 1.0
        here, there = f"{name}n{i}", (b if i == 5 else f"{name}n{i + 1}")
        lines += [f"R{name}{i} {here} {there} {ohm:.6g}", f"L{name}{i} {here} {there} {ohm / (2 * math.pi * corner):.6g}"]
    return lines


def netlist(p):
    lines = ["unit ramp into a line", f"V1 src 0 PWL(0 0 {p['edge']:.6g} 1)", f"R1 src near {p['source']:.6g}"]
    lines.append(f"C1 near 0 {p['near_f']:.6g}")
    if p["skin"] == 0:
        l, c = p["z0"] * p["delay"], p["delay"] / p["z0"]
        lines += ["O1 near 0 far 0 line", f".model line LTRA(R={p['loop']:.6g} L={l:.8g} G=0 C={c:.8g} LEN=1)"]
    else:
        n = 24
        a = "near"
        for i in range(n):
            b, m = ("far" if i == n - 1 else f"s{i}"), f"m{i}"
            lines.append(f"T{i} {a} 0 {m} 0 Z0={p['z0']:.6g} TD={p['delay'] / n:.8g}")
            lines += ladder(p, f"x{i}", m, b, n)
            a = b
    lines.append(f"C2 far 0 {p['far_f']:.6g}")
    for node in ("near", "far"):
        lines += [f"E{node} e{node} 0 {node} 0 1", f"Rb{node} e{node} b{node} 1k",
                  f"Cb{node} b{node} 0 {1 / (2 * math.pi * p['bandwidth'] * 1e3):.8g}"]
    step = min(p["delay"] / 200, p["edge"] / 20, 0.5e-9)
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
    print("set,source_ohm,z0_ohm,delay_s,loop_ohm,skin_ohm,near_f,far_f,edge_s,bandwidth_hz")
    print("t,time_s,near_v,far_v")
    for i in range(35):
        skin = i >= 32
        p = dict(source=math.exp(rng.uniform(math.log(8), math.log(470))), z0=rng.uniform(48, 150),
                 delay=math.exp(rng.uniform(math.log(12e-9), math.log(200e-9))), loop=rng.uniform(0.2, 12),
                 skin=rng.uniform(0.5, 8) if skin else 0.0, near_f=rng.uniform(1e-12, 20e-12), far_f=rng.uniform(4e-12, 60e-12),
                 edge=rng.uniform(2e-9, 15e-9), bandwidth=rng.choice([20e6, 50e6, 100e6, 200e6]))
        p["end"] = 8 * p["delay"] + 4 * p["edge"]
        name = ("skin" if skin else "ltra") + str(i)
        print(",".join([name] + [f"{p[k]:.9g}" for k in ("source", "z0", "delay", "loop", "skin", "near_f", "far_f", "edge", "bandwidth")]))
        # parameters as printed, so that both sides use the same digits
        rows = run(netlist({k: float(f"{v:.9g}") for k, v in p.items()}), p["end"])
        for k in range(ROWS):
            t = p["end"] * (k + 0.5) / ROWS
            print(f"t,{t:.6g},{at(rows, t, 1):.6f},{at(rows, t, 2):.6f}")


main()
