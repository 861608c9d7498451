#!/usr/bin/python3
"""Runs the example of README.md and compares its output with what the page shows.

Usage: readme_test.py PROGRAM PROJECT
"""

import pathlib
import shlex
import subprocess
import sys
import tempfile

program, project = sys.argv[1], pathlib.Path(sys.argv[2])
lines = (project / "README.md").read_text().splitlines()
start = next(i for i, line in enumerate(lines) if line.startswith("    $ pulsewright "))
shown = []
for line in lines[start + 1:]:
    if line and not line.startswith("    "):
        break
    shown.append(line[4:])
shown = "\n".join(shown).rstrip() + "\n"
with tempfile.TemporaryDirectory() as scratch:
    words = [str(pathlib.Path(scratch) / word) if word == "verdict.html" else word for word in shlex.split(lines[start][6:])]
    run = subprocess.run([program, *words[1:]], cwd=project / "captures-demo", capture_output=True, text=True)
if len(shown) < 500 or not run.stdout.startswith(shown):
    sys.exit(f"README.md shows\n{shown}\nbut the program says\n{run.stdout}{run.stderr}")
