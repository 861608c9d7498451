#!/usr/bin/env python3
"""Times whole processes with hyperfine, each right behind an untimed run of itself, and prints wall and processor time, their ratios and peak memory.

usage: whole_programs.py BUILD_FOLDER [MILLIONS_OF_SAMPLES ...]      (build with -DPULSEWRIGHT_BENCH=ON; default 1 10 24)

Needs hyperfine, python3-pandas, python3-scipy, and for polars node and `npm install --no-save --prefix tests/bench/polars`. Wall time is the
median of the runs; processor time (user and system, their mean) says more on a machine that does other work. The first program
of each list is what the others' ratios are to. BENCH_FOLDER holds the files while they are timed, RUNS says how often (5).
"""
import array
import datetime
import itertools
import json
import os
import pathlib
import shlex
import shutil
import statistics
import subprocess
import sys
import tempfile
import wave

here = pathlib.Path(__file__).resolve().parent
build = pathlib.Path(sys.argv[1]).resolve()
bench = build / "tests" / "bench"
program = str(build / "reports" / "cli" / "pulsewright")
sizes = [int(float(word) * 1e6) for word in sys.argv[2:]] or [1000000, 10000000, 24000000]
python = "/usr/bin/python3"
runs = int(os.environ.get("RUNS", "5"))


def peak_bytes(command):
    """Peak memory of one run, from a process of its own."""
    code = ("import resource,subprocess,sys\nsubprocess.run(sys.argv[1:],stdout=subprocess.DEVNULL,stderr=subprocess.DEVNULL)\n"
            "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss*1024)")
    return int(subprocess.run([python, "-c", code] + command, capture_output=True, text=True, check=True).stdout)


def timed(commands, folder):
    """Median wall and mean processor time of each command, run in turns, so that a host that changes its pace changes it for all.

    Each is run once untimed before: the page cache is warm, and the memory that it needs is there (a host that takes free memory
    back from a virtual machine within seconds hands it out again page by page, which takes longer than reading the file).
    """
    out = folder / "times.json"
    walls, processors = {name: [] for name in commands}, {name: [] for name in commands}
    for _ in range(runs):
        subprocess.run(["hyperfine", "-N", "-i", "-w", "1", "-r", "1", "--export-json", str(out)] + [shlex.join(c) for c in commands.values()],
                       check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        for name, result in zip(commands, json.loads(out.read_text())["results"]):
            if max(result["exit_codes"]) > 3:  # `diagnose` ends with a status that tells its verdict
                sys.exit("%s failed with status %d" % (name, max(result["exit_codes"])))
            walls[name].append(result["median"])
            processors[name].append(result["user"] + result["system"])
    return {name: (statistics.median(walls[name]), statistics.mean(processors[name])) for name in commands}


def report(title, commands, path, samples, folder):
    size = path.stat().st_size
    print("\n%s, %g million samples, %.0f MB" % (title, samples / 1e6, size / 1e6))
    times = timed(commands, folder)
    base = next(iter(times.values()))
    for name, (wall, processor) in times.items():
        peak = peak_bytes(commands[name])
        print("  %-40s wall %7.3f s, ratio %6.2f  processor %7.3f s, ratio %6.2f  %5.0f MB/s  peak %6.0f MB, %6.2f bytes a sample"
              % (name, wall, wall / base[0], processor, processor / base[1], size / wall / 1e6, peak / 1e6, peak / samples), flush=True)
    return times


def text_files(folder, samples):
    subprocess.run([python, str(here / "make_capture.py"), str(folder / "capture.csv"), str(samples)], check=True)
    with open(folder / "capture.csv") as source, open(folder / "fixed.csv", "w") as out:
        out.write(source.readline())
        for number, line in enumerate(source):
            out.write("%.9f,%.4f\n" % (number * 4e-9, float(line.split(",")[1])))
    with open(folder / "capture.csv") as source, open(folder / "shortest.csv", "w") as out:
        out.write(source.readline())
        for number, line in enumerate(source):
            out.write("%.12g,%.5g\n" % (number * 4e-9, float(line.split(",")[1])))


def wav_file(path, source):
    """The volts of a table as 16-bit samples, full scale 8 V."""
    with open(source) as rows, wave.open(str(path), "wb") as out:
        next(rows)
        out.setparams((1, 2, 250000000, 0, "NONE", ""))
        while block := array.array("h", (round(float(row.split(",")[1]) * 4096) for row in itertools.islice(rows, 100000))):
            out.writeframes(block.tobytes())


def change_list(path, rows):
    with open(path, "w") as out:
        out.write("Time [s],DIN\n")
        for i in range(0, rows, 2):
            width = 300e-9 if i % 6 else 700e-9
            out.write("%.9f,1\n%.9f,0\n" % (i * 625e-9, i * 625e-9 + width))


OTHER_FORMS = {  # title: head, row from index and volts
    "a blank behind the comma": ("Time (s), CH1 (V)\n", lambda i, v: "%.9f, %.4f\n" % (i * 4e-9, v)),
    "quotes": ('"Time (s)","CH1 (V)"\n', lambda i, v: '"%.9f","%.4f"\n' % (i * 4e-9, v)),
    "aligned columns": ("Time CH1\ns V\n", lambda i, v: "%14.9f %10.4f\n" % (i * 4e-9, v)),
    "microseconds and millivolts": ("Time (us),CH1 (mV)\n", lambda i, v: "%.3f,%.1f\n" % (i * 4e-3, v * 1e3)),
    "exponents of three digits": ("Time (s),CH1 (V)\n", lambda i, v: ("%.8e,%.4e\n" % (i * 4e-9, v)).replace("e-", "E-0").replace("e+", "E+0")),
    "columns that are not used": ("No,Time (s),CH1 (V),remark\n", lambda i, v: "%d,%.9f,%.4f,ok\n" % (i, i * 4e-9, v)),
    "date and time": ("Time,CH1 (V)\n", lambda i, v: "2031-05-06T07:08:09.%09d,%.4f\n" % (4 * i, v)),
    "units in the cells": ("Time,CH1\n", lambda i, v: "%.3f us,%.1f mV\n" % (i * 4e-3, v * 1e3)),
    "eighteen decimals": ("Time (s),CH1 (V)\n", lambda i, v: "%.18f,%.17f\n" % (i * 4e-9, v)),
}


def timed_other_forms(folder):
    """Reading rows of less common forms against the bare loop over the same numbers with fixed decimals."""
    samples = 3000000
    subprocess.run([python, str(here / "make_capture.py"), str(folder / "capture.csv"), str(samples)], check=True)
    volts = [float(row.split(",")[1]) for row in (folder / "capture.csv").read_text().splitlines()[1:]]
    with open(folder / "fixed.csv", "w") as out:
        out.writelines("%.9f,%.4f\n" % (i * 4e-9, v) for i, v in enumerate(volts))
    commands = {"bare loop, two threads, fixed decimals": [str(bench / "floor_loop"), str(folder / "fixed.csv")]}
    for title, (head, row) in OTHER_FORMS.items():
        path = folder / ("%d.csv" % len(commands))
        with open(path, "w") as out:
            out.write(head)
            out.writelines(row(i, v) for i, v in enumerate(volts))
        commands["reading " + title] = [str(bench / "read_capture"), str(path)]
    report("other forms", commands, folder / "fixed.csv", samples, folder)


def timed_forms(folder, samples):
    """Every form of one number of samples; gives the wall time of `diagnose` for CSV and WAV."""
    text_files(folder, samples)
    for form, title in (("fixed", "time,volts with fixed decimals"), ("shortest", "time,volts as short as possible")):
        path = folder / (form + ".csv")
        report(title, {"bare loop, two threads": [str(bench / "floor_loop"), str(path)], "reading": [str(bench / "read_capture"), str(path)]},
               path, samples, folder)
        path.unlink()
    path = folder / "capture.csv"
    csv = report("time,volts in scientific notation", {
        "newline count, one thread": [str(bench / "count_lines"), str(path)],
        "bare loop, two threads": [str(bench / "floor_loop"), str(path)],
        "reading": [str(bench / "read_capture"), str(path)],
        "reading, crossings": [str(bench / "read_capture"), "--crossings", str(path)],
        "diagnose": [program, "diagnose", str(path), "--quiet"],
        "pandas, NumPy: reading, crossings": [python, str(here / "peer_table.py"), str(path)],
        "pandas, NumPy, SciPy: figures": [python, str(here / "peer_figures.py"), str(path)],
        **({"polars, compiled loop: reading, crossings": ["node", str(polars / "peer_polars.mjs"), str(path)]} if has_polars else {})}, path, samples, folder)
    wav_file(folder / "capture.wav", path)
    path.unlink()
    path = folder / "capture.wav"
    wav = report("WAV, 16 bit", {
        "cat": ["/bin/cat", str(path)],
        "reading": [str(bench / "read_capture"), str(path)],
        "reading, crossings": [str(bench / "read_capture"), "--crossings", str(path)],
        "diagnose": [program, "diagnose", str(path), "--full-scale", "8", "--quiet"],
        "SciPy, NumPy: reading, crossings": [python, str(here / "peer_wav.py"), str(path)],
        "SciPy, NumPy: figures": [python, str(here / "peer_figures.py"), str(path)]}, path, samples, folder)
    path.unlink()
    path = folder / "changes.csv"
    change_list(path, samples // 4)
    report("change list", {"cat": ["/bin/cat", str(path)], "bare loop, two threads": [str(bench / "floor_loop"), str(path)],
                           "reading": [str(bench / "read_capture"), str(path)]}, path, samples // 4, folder)
    path.unlink()
    return {"CSV": csv["diagnose"][0], "WAV": wav["diagnose"][0]}


with open("/proc/cpuinfo") as info:
    model = next((line.split(":")[1].strip() for line in info if line.startswith("model name")), "unknown processor")
print("%s, %d cores, load %.1f, %s; %d runs" % (model, os.cpu_count(), os.getloadavg()[0], datetime.date.today(), runs))
polars = here / "polars"
has_polars = shutil.which("node") and (polars / "node_modules").is_dir()
if not has_polars:
    print("no figure for polars: it needs node and `npm install --no-save --prefix tests/bench/polars`")
with tempfile.TemporaryDirectory(dir=os.environ.get("BENCH_FOLDER")) as name:
    timed_other_forms(pathlib.Path(name))
with tempfile.TemporaryDirectory(dir=os.environ.get("BENCH_FOLDER")) as name:
    growth = {samples: timed_forms(pathlib.Path(name), samples) for samples in sizes}
ordered = sorted(growth)
for small, large in zip(ordered, ordered[1:]):
    print("\ndiagnose from %g to %g million samples: %s the time" % (
        small / 1e6, large / 1e6, ", ".join("%s %.1f times" % (kind, growth[large][kind] / growth[small][kind]) for kind in growth[large])))
