#!/usr/bin/env python3
"""Times whole processes with hyperfine, page cache warm, and prints processor time, ratio and peak memory.

usage: whole_programs.py BUILD_FOLDER [MILLIONS_OF_SAMPLES ...]      (build with -DPULSEWRIGHT_BENCH=ON; default 1 10 24)

Needs hyperfine, python3-pandas, python3-scipy. Processor time (user and system, mean of the runs) is printed because wall time
says little on a machine that does other work; the shortest wall time stands beside it. Ratios are of processor time, to the bare
loop for text and to `cat` for the rest.
"""
import array
import datetime
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import wave

here = pathlib.Path(__file__).resolve().parent
bench = pathlib.Path(sys.argv[1]).resolve() / "tests" / "bench"
sizes = [int(float(word) * 1e6) for word in sys.argv[2:]] or [1000000, 10000000, 24000000]
python = "/usr/bin/python3"
runs = int(os.environ.get("RUNS", "5"))


def peak_bytes(command):
    """Peak memory of one run, from a process of its own."""
    code = ("import resource,subprocess,sys\nsubprocess.run(sys.argv[1:],stdout=subprocess.DEVNULL,check=True)\n"
            "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss*1024)")
    return int(subprocess.run([python, "-c", code] + command, capture_output=True, text=True, check=True).stdout)


def timed(commands, folder):
    out = folder / "times.json"
    subprocess.run(["hyperfine", "-N", "-w", "1", "-r", str(runs), "--export-json", str(out)] + [" ".join(c) for c in commands.values()],
                   check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    results = json.loads(out.read_text())["results"]
    return {name: (r["user"] + r["system"], r["min"]) for name, r in zip(commands, results)}


def report(title, commands, base, path, samples, folder):
    size = path.stat().st_size
    print("\n%s, %g million samples, %.0f MB" % (title, samples / 1e6, size / 1e6))
    times = timed(commands, folder)
    for name, (cpu, wall) in times.items():
        peak = peak_bytes(commands[name])
        print("  %-34s processor %7.3f s  wall %7.3f s  ratio %6.2f  %5.0f MB/s  peak %6.0f MB, %6.2f bytes a sample"
              % (name, cpu, wall, cpu / times[base][0], size / cpu / 1e6, peak / 1e6, peak / samples), flush=True)
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


def wav_file(path, samples):
    block = array.array("h", ((i // 50 % 2) * 20000 + i * 97 % 401 - 200 for i in range(100000)))
    with wave.open(str(path), "wb") as out:
        out.setparams((1, 2, 20000000, 0, "NONE", ""))
        for begin in range(0, samples, len(block)):
            out.writeframes(block[:samples - begin].tobytes())


def change_list(path, rows):
    with open(path, "w") as out:
        out.write("Time [s],DIN\n")
        for i in range(0, rows, 2):
            width = 300e-9 if i % 6 else 700e-9
            out.write("%.9f,1\n%.9f,0\n" % (i * 625e-9, i * 625e-9 + width))


with open("/proc/cpuinfo") as info:
    model = next((line.split(":")[1].strip() for line in info if line.startswith("model name")), "unknown processor")
print("%s, %d cores, load %.1f, %s; mean of %d runs" % (model, os.cpu_count(), os.getloadavg()[0], datetime.date.today(), runs))
has_polars = subprocess.run([python, "-c", "import polars"], capture_output=True).returncode == 0
if not has_polars:
    print("polars is not installed here: no figure for it")
growth = {}
with tempfile.TemporaryDirectory(dir=os.environ.get("BENCH_FOLDER")) as name:
    folder = pathlib.Path(name)
    for samples in sizes:
        text_files(folder, samples)
        for form in ("capture", "fixed", "shortest"):
            path = folder / (form + ".csv")
            commands = {"pulsewright reader": [str(bench / "read_capture"), str(path)], "bare loop, two threads": [str(bench / "floor_loop"), str(path)]}
            if form == "capture":
                commands["newline count, one thread"] = [str(bench / "count_lines"), str(path)]
                commands["pandas and NumPy"] = [python, str(here / "peer_table.py"), str(path)]
                if has_polars:
                    commands["polars and NumPy"] = [python, str(here / "peer_table.py"), str(path), "polars"]
            title = {"capture": "time,volts in scientific notation", "fixed": "time,volts with fixed decimals", "shortest": "time,volts as short as possible"}
            times = report(title[form], commands, "bare loop, two threads", path, samples, folder)
            if form == "capture":
                growth[samples] = times["pulsewright reader"][0]
            path.unlink()
        path = folder / "capture.wav"
        wav_file(path, samples)
        report("WAV, 16 bit", {"pulsewright reader": [str(bench / "read_capture"), str(path)], "cat": ["/bin/cat", str(path)],
                               "SciPy and NumPy": [python, str(here / "peer_wav.py"), str(path)]}, "cat", path, samples, folder)
        path.unlink()
        path = folder / "changes.csv"
        change_list(path, samples // 4)
        report("change list", {"pulsewright reader": [str(bench / "read_capture"), str(path)], "cat": ["/bin/cat", str(path)]}, "cat", path,
               samples // 4, folder)
        path.unlink()
ordered = sorted(growth)
for small, large in zip(ordered, ordered[1:]):
    print("\ngrowth from %g to %g million samples: %.1f times the processor time" % (small / 1e6, large / 1e6, growth[large] / growth[small]))
