#!/usr/bin/env bash
# Times reading of delimited text against the bare loop, page cache warm, and prints the ratios.
# usage: tests/bench/text.sh BUILD_FOLDER [ROWS]     (build with -DPULSEWRIGHT_BENCH=ON; needs hyperfine)
set -eu
bench=$1/tests/bench
rows=${2:-24000000}
here=$(cd "$(dirname "$0")" && pwd)
data=$(mktemp -d)
trap 'rm -rf "$data"' EXIT
grep -m1 'model name' /proc/cpuinfo || true
for form in scientific shortest; do
  python3 "$here/make_text.py" "$data/$form.csv" "$rows" $form
  "$bench/read_text" "$data/$form.csv"
  hyperfine -N -w 1 -r 7 --export-json "$data/$form.json" "$bench/floor_loop $data/$form.csv" "$bench/read_text $data/$form.csv" >/dev/null 2>&1
  python3 - "$form" "$data/$form.json" <<'P'
import json, sys
floor, read = json.load(open(sys.argv[2]))["results"]
cpu = lambda r: r["user"] + r["system"]
print("%s: bare loop %.3f s, reader %.3f s, ratio of medians %.2f, of processor time %.2f"
      % (sys.argv[1], floor["median"], read["median"], read["median"] / floor["median"], cpu(read) / cpu(floor)))
P
  rm "$data/$form.csv"
done
