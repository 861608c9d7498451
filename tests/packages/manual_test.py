#!/usr/bin/python3
"""The manual pages: clean for man and mandoc, every option of --help and no other, every example run.

Usage: manual_test.py PROGRAM MANUAL PROJECT
"""

import pathlib
import re
import subprocess
import sys

program, manual, project = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
sys.path.insert(0, str(project / "tests/support"))
import commands  # noqa: E402

# What each example must end with: verdict of the capture as in captures-demo/expected.json, or of the worst of all.
EXPECTED = {
    "diagnose far-220ohm.csv --protocol ws2815 --series-ohms 220 --cable pixel-18 --length 18m --html verdict.html": 1,
    "diagnose far-68ohm.wav --sample-rate 250MS/s --full-scale 8 --protocol ws2815": 0,
    "diagnose far-220ohm.csv --near near-220ohm.csv --protocol ws2815 --series-ohms 220 --json -": 1,
    "diagnose . --protocol ws2815 --cable pixel-18 --length 18m --html reports/": 1,
    "diagnose --watch . --protocol ws2815 --html reports/": 0,
    "compare far-220ohm.csv far-68ohm.csv --protocol ws2815 --series-ohms 220,68 --cable pixel-18 --length 18m": 0,
    "compare unchanged-before.csv unchanged-after.csv --label monday --label friday --html week.html": 2,
    "inspect far-220ohm.csv": 0,
    "protocols": 0,
    "protocols ws2815": 0,
}
wrong = []


def expect(condition, what):
    if not condition:
        wrong.append(what)


def said(*words):
    run = subprocess.run(words, capture_output=True, text=True, env={"LC_ALL": "C.UTF-8", "PATH": "/usr/bin:/bin", "MANWIDTH": "200", "COLUMNS": "110"})
    return run.stdout + run.stderr


def options_in(text):
    return set(re.findall(r"^ +(--[a-z0-9-]+)", text, re.MULTILINE))


examples = []
for name in ["", "-diagnose", "-compare", "-inspect", "-protocols"]:
    page = manual / f"man1/pulsewright{name}.1"
    expect(said("mandoc", "-Tlint", str(page)) == "", said("mandoc", "-Tlint", str(page)))
    warnings = subprocess.run(["man", "--warnings", "-E", "UTF-8", "-l", "-Tutf8", str(page)], capture_output=True, text=True).stderr
    expect(warnings == "", warnings)
    expect(said("gzip", "-cd", str(page) + ".gz") == page.read_text(), f"{page}.gz is another text")
    shown = re.sub("\x1b\\[[0-9;]*m|.\b", "", said("man", "-l", str(page)))
    for section in ["NAME", "SYNOPSIS", "DESCRIPTION", "EXIT STATUS", "CAUTIONS", "SEE ALSO"]:
        expect(re.search(f"^{section}$", shown, re.MULTILINE), f"{page}: no {section}")
    if name:
        help_text = said(program, name[1:], "--help")
        expect(options_in(shown) == options_in(help_text) | {"--help"}, f"{page}: {options_in(shown) ^ options_in(help_text)}")
        text = page.read_text().replace("\\-", "-").replace("\\e", "\\")
        for block in re.findall(r"^\.EX\n(.*?)^\.EE", text, re.MULTILINE | re.DOTALL):
            examples.append(commands.joined(block).strip())

bench = commands.Bench(program, project)
for example in examples:
    words = example.removeprefix("pulsewright ")
    if words not in EXPECTED:
        wrong.append(f"example without expected status: {words}")
        continue
    run = bench.watch(example) if "--watch" in example else bench.run(example)
    expect(run.returncode == EXPECTED[words], f"{example}: status {run.returncode}, expected {EXPECTED[words]}\n{run.stdout}{run.stderr}")
    expect(len(run.stdout) > 100 and run.stderr == "", f"{example}:\n{run.stdout}{run.stderr}")
    expect(bench.reports_of(example) == [], f"{example} left no {bench.reports_of(example)}")
expect(sorted(EXPECTED) == sorted(e.removeprefix("pulsewright ") for e in examples), "examples that no page has")

windows = bench.folder / "own.txt"
windows.write_text("# windows as pulsewright-protocols(1) describes them\n[mill-pond]\nt0h_ns = 220 - 380\nt1h_ns = 580 800 1000\n"
                   "period_ns = 1250\nperiod_tolerance_ns = 150\nlatch_us = 280\nbits_per_pixel = 24\nidle = low\nvih = 0.7 supply\n"
                   "vil = 1.5 V\nchip = invented\nsource = bench\n")
run = bench.run("pulsewright protocols mill-pond --windows own.txt")
expect(run.returncode == 0 and "invented" in run.stdout, run.stdout + run.stderr)

if wrong:
    sys.exit("\n".join(wrong))
print(f"{len(examples)} examples")
