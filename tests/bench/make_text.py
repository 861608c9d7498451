#!/usr/bin/env python3
"""Writes ROWS rows of `time,volts` in scientific notation to FILE: an invented capture for timing.

usage: make_text.py FILE ROWS [shortest]      (shortest: numbers as short as they can be printed)
"""
import random
import sys

path, rows = sys.argv[1], int(sys.argv[2])
shortest = sys.argv[3:] == ["shortest"]
random.seed(1)
noise = ["%.4e" % (level + random.gauss(0, 0.02)) for level in [0.0] * 30000 + [3.3] * 30000]
with open(path, "w") as out:
    out.write("Time (s),CH1 (V)\n")
    for begin in range(0, rows, 100000):
        end = min(begin + 100000, rows)
        if shortest:
            out.write("".join("%r,%r\n" % (round((i - rows // 2) * 1e-9, 9), float(noise[i * 97 % 60000])) for i in range(begin, end)))
        else:
            out.write("".join("%.6e,%s\n" % ((i - rows // 2) * 1e-9, noise[i * 97 % 60000]) for i in range(begin, end)))
