#!/usr/bin/python3
"""The packages that cpack makes, unpacked into a folder: dependencies, files, licences; the program runs from there, and a
program of somebody else builds against it.

Usage: debian_test.py BUILD PROJECT
"""

import filecmp
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

build, project = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
wrong = []

# What programs of others are meant to include; the other headers may change.
CONTRACT = ["importers/import.hpp", "importers/capture.hpp", "importers/import_error.hpp", "analyzer/diagnose.hpp", "analyzer/diagnosis.hpp",
            "analyzer/settings.hpp", "analyzer/measured.hpp", "analyzer/compare.hpp", "analyzer/inspect.hpp", "analyzer/protocol/windows.hpp",
            "analyzer/line/tables.hpp"]


def expect(condition, what):
    if not condition:
        wrong.append(what)


def output(*words, **options):
    run = subprocess.run([str(word) for word in words], capture_output=True, text=True, **options)
    if run.returncode != 0:
        sys.exit(f"{words}: {run.returncode}\n{run.stdout}{run.stderr}")
    return run.stdout


def packages_of(libraries, program):
    """Packages of this system that hold the shared libraries a program loads."""
    loaded = dict(re.findall(r"^\s+(\S+) => (/\S+)", output("ldd", program), re.MULTILINE))
    found = set()
    for library in libraries:
        path = os.path.realpath(loaded[library]) if library in loaded else ""
        owner = subprocess.run(["dpkg", "-S", path, path.removeprefix("/usr")], capture_output=True, text=True).stdout
        expect(owner, f"{library} belongs to no package")
        found.add(owner.split(":")[0])
    return found


with tempfile.TemporaryDirectory() as scratch:
    scratch = pathlib.Path(scratch)
    output("cpack", "-G", "DEB", "-B", scratch / "made", cwd=build)
    made = {output("dpkg-deb", "-f", file, "Package").strip(): file for file in (scratch / "made").glob("*.deb")}
    expect(sorted(made) == ["libpulsewright-dev", "pulsewright"], f"packages {sorted(made)}")
    root = scratch / "root"
    for file in made.values():
        output("dpkg-deb", "-x", file, root)

    program = root / "usr/bin/pulsewright"
    depends = output("dpkg-deb", "-f", made["pulsewright"], "Depends")
    named = set(re.findall(r"(?:^|, )([a-z0-9.+-]+)", depends))
    needed = [library for library in re.findall(r"NEEDED.*\[(.*)\]", output("readelf", "-d", program)) if not library.startswith("ld-linux")]
    expect(len(needed) > 5, f"libraries {needed}")
    expect(packages_of(needed, program) <= named, f"Depends lacks {packages_of(needed, program) - named}")
    expect("librsvg2-2" in named, "Depends lacks what draws the picture")
    expect("RPATH" not in output("readelf", "-d", program) and "RUNPATH" not in output("readelf", "-d", program), "a run path is left")
    expect(output("dpkg-deb", "-f", made["pulsewright"], "Description").count("\n") >= 4, "no description")

    share = root / "usr/share"
    for file in ["man/man1/pulsewright.1.gz", "man/man1/pulsewright-diagnose.1.gz", "man/man1/pulsewright-compare.1.gz",
                 "man/man1/pulsewright-inspect.1.gz", "man/man1/pulsewright-protocols.1.gz",
                 "bash-completion/completions/pulsewright", "zsh/vendor-completions/_pulsewright",
                 "fish/vendor_completions.d/pulsewright.fish", "doc/pulsewright/README.md", "doc/pulsewright/captures-demo/README.md"]:
        expect((share / file).is_file(), f"no {file}")
    for package in made:
        text = (share / f"doc/{package}/copyright").read_text()
        expect(text.startswith("Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/\n"), f"{package}: copyright")
        for licence in [project / "LICENSE", project / "reports/html/page/node_modules/uplot/LICENSE"]:
            lines = [line for line in licence.read_text().splitlines() if line.strip()]
            expect(all(f"\n {line}\n" in text for line in lines), f"{package}: {licence} is not whole")

    demo = share / "doc/pulsewright/captures-demo"
    captures = [file for file in (project / "captures-demo").iterdir() if file.suffix in (".csv", ".wav")]
    expect(len(captures) > 10, "no demo captures")
    for capture in captures:
        expect((demo / capture.name).is_file() and filecmp.cmp(capture, demo / capture.name, False), f"{capture.name} is not installed")
    for line in (demo / "commands").read_text().splitlines():
        if not line or line.startswith("#"):
            continue
        words = line.split()[1:]
        here, there = [subprocess.run([binary, *words], cwd=demo, capture_output=True, text=True) for binary in
                       (build / "reports/cli/pulsewright", program)]
        expect(there.stdout == here.stdout and there.returncode == here.returncode and there.stdout, f"{line}:\n{there.stdout}{there.stderr}")

    # Somebody else's program, and every header alone: what it needs it includes.
    example = scratch / "example"
    output("cmake", "-G", "Ninja", "-S", project / "tests/library_use", "-B", example, f"-DCMAKE_PREFIX_PATH={root}/usr",
           "-DCMAKE_FIND_USE_PACKAGE_REGISTRY=OFF", "-DEVERY_HEADER=ON")
    output("cmake", "--build", example)
    expect("verdict fail\n" in output(example / "edge_report", demo / "far-3v3.csv"), "the example says something else")
    installed = {file.relative_to(root / "usr/include/pulsewright") for file in (root / "usr/include").rglob("*.hpp")}
    expected = {file.relative_to(project) for layer in ("importers", "analyzer") for file in (project / layer).rglob("*.hpp")}
    expected -= {pathlib.Path("analyzer/line") / name for name in ("fit_solver.hpp", "fit_covariance.hpp", "line_problem.hpp", "line_frequency.hpp")}  # inside
    expect(installed == expected, f"headers {installed ^ expected}")

    # Each function of the contract says what it promises.
    functions = 0
    for header in CONTRACT:
        lines = (root / "usr/include/pulsewright" / header).read_text().splitlines()
        for above, line in zip(lines, lines[1:]):
            if re.match(r"(?!inline constexpr|namespace|using|template)[A-Za-z].*[a-z_0-9]\(.*", line):
                functions += 1
                expect(above.startswith("///"), f"{header}: no word on {line}")
    expect(functions > 15, f"only {functions} functions in the contract")

    if shutil.which("lintian"):
        for file in made.values():
            told = subprocess.run(["lintian", "--allow-root", "--fail-on", "error", "--suppress-tags", "initial-upload-closes-no-bugs", file],
                                  capture_output=True, text=True, env={**os.environ, "LC_ALL": "C.UTF-8"})
            expect(told.returncode == 0 and "W:" not in told.stdout, told.stdout + told.stderr)

if wrong:
    sys.exit("\n".join(wrong))
