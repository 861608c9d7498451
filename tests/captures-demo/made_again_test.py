#!/usr/bin/python3
"""Makes the demo captures again, in a copy of their folder, and compares them byte by byte. Takes ten minutes: only with
PULSEWRIGHT_LONG_TESTS set; "one" makes a single capture, anything else all of them and the sweep of resistors.

Usage: made_again_test.py PROJECT
"""

import filecmp
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

SKIPPED = 77
wanted = os.environ.get("PULSEWRIGHT_LONG_TESTS")
if not wanted:
    sys.exit(SKIPPED)
project = pathlib.Path(sys.argv[1])
with tempfile.TemporaryDirectory() as scratch:
    copy = pathlib.Path(scratch) / "captures-demo"
    shutil.copytree(project / "captures-demo", copy)
    captures = ["far-68ohm.csv"] if wanted == "one" else [file.name for file in copy.iterdir() if file.suffix in (".csv", ".wav")]
    for name in captures:
        (copy / name).unlink()
    subprocess.run([copy / "make_captures.py", *([captures[0]] if wanted == "one" else [])], check=True, cwd=scratch, stdout=subprocess.DEVNULL)
    different = [name for name in captures if not filecmp.cmp(project / "captures-demo" / name, copy / name, False)]
    if different:
        sys.exit(f"made differently: {different}")
    if wanted != "one":
        table = subprocess.run([copy / "make_captures.py", "--sweep"], check=True, cwd=scratch, capture_output=True, text=True).stdout
        if not all(any(f" {ohm} " in line and " yes " in line for line in table.splitlines()) for ohm in (68, 82)):
            sys.exit(f"the sweep does not pass 68 and 82 ohm:\n{table}")
print(f"{len(captures)} captures the same")
