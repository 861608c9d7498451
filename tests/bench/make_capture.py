#!/usr/bin/env python3
"""Writes ROWS rows of `time,volts` in scientific notation to FILE: the demo capture of a slow line, repeated.

usage: make_capture.py FILE ROWS
"""
import pathlib
import sys

demo = pathlib.Path(__file__).resolve().parents[2] / "captures-demo" / "far-220ohm.csv"
volts = ["%.4e" % float(line) for line in demo.read_text().split("Data,")[1].split()]
rows = int(sys.argv[2])
with open(sys.argv[1], "w") as out:
    out.write("Time (s),far end (V)\n")
    for begin in range(0, rows, len(volts)):
        end = min(begin + len(volts), rows)
        out.write("".join("%.8e,%s\n" % (i * 4e-9, volts[i - begin]) for i in range(begin, end)))
