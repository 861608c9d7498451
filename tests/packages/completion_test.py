#!/usr/bin/python3
"""The completions, asked through each shell that is installed: commands, options of each command, values.

Usage: completion_test.py PROGRAM MANUAL
"""

import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

program, manual = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
wrong = []
COMMANDS = ["diagnose", "compare", "inspect", "protocols"]


def options_of(command):
    text = subprocess.run([program, command, "--help"], capture_output=True, text=True).stdout
    return set(re.findall(r"^ +(--[a-z0-9-]+)", text, re.MULTILINE)) | {"--help"}


def bash(line, folder):
    words = line.split(" ")
    script = (f"source {manual}/bash/pulsewright\nCOMP_WORDS=({' '.join(repr(w) for w in words)})\nCOMP_CWORD={len(words) - 1}\n"
              "compopt() { :; }\n_pulsewright\nprintf '%s\\n' \"${COMPREPLY[@]}\"")
    return run(["bash", "--norc", "-c", script], folder)


def fish(line, folder):
    script = f"source {manual}/fish/pulsewright.fish; complete -C {line!r}"
    return {found.split("\t")[0] for found in run(["fish", "--no-config", "-c", script], folder)}


def zsh(line, folder):
    """A zsh on a terminal of its own, asked for the list of matches, which it writes to a file."""
    with tempfile.TemporaryDirectory() as answers:
        found = pathlib.Path(answers) / "found"
        script = f"""
zmodload zsh/zpty
zpty shell zsh -f -i
zpty -w shell "PS1=; fpath=({manual}/zsh \\$fpath); autoload -Uz compinit; compinit -D -u"
zpty -w shell 'gather() {{ compadd() {{ local -a d; builtin compadd -O d "$@"; all+=($d); builtin compadd "$@" }}; local -a all; _main_complete; unfunction compadd; print -rl -- $all > {found}.part; mv {found}.part {found} }}; zle -C gather list-choices gather; bindkey "^X" gather'
zpty -w -n shell {line!r}$'\\x18'
repeat 600 {{ zpty -r -t shell piece; [[ -e {found} ]] && break; sleep 0.1 }}
zpty -d shell
"""
        run(["zsh", "-f", "-c", script], folder)
        return {word for word in found.read_text().split("\n") if word} if found.exists() else set()


def run(words, folder):
    lines = subprocess.run(words, cwd=folder, capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=90).stdout.split("\n")
    return {line for line in lines if line}


with tempfile.TemporaryDirectory() as folder:
    (pathlib.Path(folder) / "far.csv").touch()
    (pathlib.Path(folder) / "bench").mkdir()
    for name, ask in [("bash", bash), ("fish", fish), ("zsh", zsh)]:
        if not shutil.which(name):
            print(f"{name} is not installed")
            continue

        def expect(line, test, what):
            found = ask(line, folder)
            if not test(found):
                wrong.append(f"{name}: {line!r}: {what}, found {sorted(found)}")

        expect("pulsewright ", lambda found: found >= set(COMMANDS), "expected every command")
        for command in COMMANDS:
            expect(f"pulsewright {command} --", lambda found: found == options_of(command), f"expected {sorted(options_of(command))}")
        expect("pulsewright diagnose --at ", lambda found: found == {"far", "near"}, "expected far and near")
        expect("pulsewright diagnose --cable pix", lambda found: found == {"pixel-18", "pixel-20", "pixel-22"}, "expected cables")
        expect("pulsewright diagnose --driver hct", lambda found: "hct" in found, "expected drivers")
        expect("pulsewright protocols ws2815", lambda found: "ws2815-800k-v1.1" in found, "expected editions")
        expect("pulsewright diagnose fa", lambda found: found == {"far.csv"}, "expected the file")
        expect("pulsewright compare --html fa", lambda found: found == {"far.csv"}, "expected the file")
        expect("pulsewright diagnose --watch ", lambda found: {f.rstrip("/") for f in found} == {"bench"}, "expected the folder alone")

if wrong:
    sys.exit("\n".join(wrong))
