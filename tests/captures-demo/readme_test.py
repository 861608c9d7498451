#!/usr/bin/python3
"""Runs every command of README.md and captures-demo/README.md in a copy of the demo captures, and compares what the pages show.

Behind "$ command" stands its output; "..." stands for lines left out. Without output shown the exit status must be that of a
verdict. Reports that a command names must be there. Commands that build or install are run by what ELSEWHERE names.

Usage: readme_test.py PROGRAM PROJECT
"""

import pathlib
import re
import subprocess
import sys

program, project = sys.argv[1], pathlib.Path(sys.argv[2])
sys.path.insert(0, str(project / "tests/support"))
import commands  # noqa: E402

# Command as shown, the script that runs it, and the words in which it does.
ELSEWHERE = {
    "captures-demo/run": (".ci/run", "captures-demo/run"),
    "tests/run": (".ci/run", "tests/run"),
    "cmake --build build/demo": ("captures-demo/run", 'cmake --build "$build"'),
    "sudo cmake --install build/demo": ("tests/library_use/run.cmake", "--install;${BUILD}"),
    "(cd build/demo && cpack)": ("tests/packages/clean_debian", '(cd "$build" && cpack'),
    "sudo apt install ./build/demo/pulsewright_VERSION-1_amd64.deb": ("tests/packages/clean_debian", "pulsewright_*.deb"),
    "captures-demo/make_captures.py": ("tests/captures-demo/made_again_test.py", '[copy / "make_captures.py"'),
    "captures-demo/make_captures.py far-68ohm.csv": ("tests/captures-demo/made_again_test.py", '["far-68ohm.csv"]'),
    "captures-demo/make_captures.py --sweep": ("tests/captures-demo/made_again_test.py", '"--sweep"'),
}
wrong = []
version = subprocess.run([program, "--version"], capture_output=True, text=True).stdout.split()[1]
bench = commands.Bench(program, project)
(bench.folder / "footbridge.cir").write_bytes((project / "captures-demo/footbridge.cir").read_bytes())


def blocks(text):
    """Indented blocks of a page, without the indentation; blank lines inside belong to them."""
    found, current = [], []
    for line in text.splitlines() + ["end"]:
        if line.startswith("    ") or (current and not line.strip()):
            current.append(line[4:])
        elif current:
            found.append("\n".join(current).rstrip().split("\n"))
            current = []
    return found


def sessions(block):
    """Command and the lines shown behind it."""
    made = []
    for line in block:
        if line.startswith("$ "):
            made.append((line[2:], []))
        else:
            made[-1][1].append(line)
    return made


def agrees(shown, output):
    pattern = "".join(r"(?:.*\n)*?" if line == "..." else re.escape(line) + r"\n" for line in shown)
    return re.fullmatch(pattern, output) is not None


def check_session(command, shown):
    run = bench.watch(command) if "--watch" in command else bench.run(command)
    shown = "\n".join(shown).rstrip().split("\n") if shown else []
    if run.returncode > 3 or run.stderr or (bench.reports_of(command) and "diagnose" in command):
        wrong.append(f"$ {command}\nstatus {run.returncode}, missing {bench.reports_of(command)}\n{run.stdout}{run.stderr}")
    if shown and shown != [""] and not agrees(shown, run.stdout):
        wrong.append(f"$ {command}\nthe page shows\n" + "\n".join(shown) + f"\nbut the program says\n{run.stdout}{run.stderr}")


def check_elsewhere(line):
    command = re.split(r"\s{2,}", line)[0].replace(version, "VERSION")
    if command not in ELSEWHERE:
        wrong.append(f"nothing runs: {line}")
        return
    script, words = ELSEWHERE[command]
    if words not in (project / script).read_text():
        wrong.append(f"{script} does not run: {line}")


def check_help(block):
    """A list of commands: as --help has it."""
    told = subprocess.run([program, "--help"], capture_output=True, text=True, env={"COLUMNS": "110"}).stdout
    told = re.sub(r"\s+", " ", told)
    for line in block:
        usage, text = re.split(r"\s{2,}", line)
        if f"{usage} {text[0].upper()}{text[1:]}." not in told:
            wrong.append(f"--help does not say: {line}")


count = 0
for page in ["README.md", "captures-demo/README.md"]:
    for block in blocks((project / page).read_text()):
        if block[0].startswith("$ "):
            for command, shown in sessions(block):
                check_session(command, shown)
                count += 1
        elif block[0].startswith("pulsewright diagnose CAPTURE"):
            check_help(block)
        else:
            for line in block:
                check_elsewhere(line)
                count += 1
    for language in re.findall(r"^```(\w*)", (project / page).read_text(), re.MULTILINE):
        wrong.append(f"{page}: a fenced block ({language}); only indented ones are tested")
    for target in re.findall(r"\]\((?!https?:)([^)#]+)\)", (project / page).read_text()):
        if not (project / page).parent.joinpath(target).exists():
            wrong.append(f"{page}: {target} is not there")
if count < 15:
    wrong.append(f"only {count} commands found")
if wrong:
    sys.exit("\n\n".join(wrong))
print(f"{count} commands")
