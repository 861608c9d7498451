#!/usr/bin/python3
"""Runs the program on one demo capture as captures-demo/commands says, and holds it to captures-demo/expected.json.

Usage: demo_test.py PROGRAM CAPTURES_DEMO NAME

Checks the verdict, its cause, the action and the resistor, but for what `falls_short` names; the exit status; the JSON against the schema beside this file,
and that every missing figure carries its reason; and that the HTML page is there and needs nothing from outside.
"""

import json
import pathlib
import re
import subprocess
import sys
import tempfile

import jsonschema

HERE = pathlib.Path(__file__).resolve().parent
STATUS = {"pass": 0, "fail": 1, "marginal": 2, "cannot-tell": 3}
# Keys whose null says "none", not "not measured": a limit that a check does not have, no common answer, no difference.
MAY_BE_NULL = re.compile(r"^(limit_(low|high)|u|monotonic|first_difference|acceptable_ohm|predicted|(min|nominal|max)_s|period_s"
                         r"|period_tolerance_s|latch_gap_min_s|near_rising|far_rising|better)$")


def arguments_of(folder: pathlib.Path, name: str) -> list[str]:
    for line in (folder / "commands").read_text().splitlines():
        words = line.split()
        if words and words[0] == name:
            return words[1:]
    sys.exit(f"{name}: no such line in captures-demo/commands")


def refuse_constant(text: str):
    raise ValueError(f"{text} is no JSON number")


def nulls_without_reason(value, path="$") -> list[str]:
    found = []
    if isinstance(value, dict):
        for key, item in value.items():
            if item is None and not value.get(f"{key}_missing") and not MAY_BE_NULL.match(key):
                found.append(f"{path}.{key}")
            found += nulls_without_reason(item, f"{path}.{key}")
    elif isinstance(value, list):
        for index, item in enumerate(value):
            if item is None:
                found.append(f"{path}[{index}]")
            found += nulls_without_reason(item, f"{path}[{index}]")
    return found


def check_diagnosis(result: dict, expected: dict, status: int, problems: list[str]) -> None:
    verdict, suggestion = result["verdict"], result["suggestion"]
    cause = verdict["causes"][0]["id"] if verdict["causes"] else None
    for what, got, wanted in (("result", verdict["result"], expected["result"]), ("top cause", cause, expected["cause"]),
                              ("action", suggestion["action"], expected["action"])):
        if got not in wanted:
            problems.append(f"{what} is {got}, expected {' or '.join(wanted)}")
    if status != STATUS[verdict["result"]]:
        problems.append(f"exit status {status} does not belong to {verdict['result']}")
    if "series_ohm" in expected:
        low, high = expected["series_ohm"]
        value = suggestion["series_ohm"]
        if value is None or not low <= value <= high:
            problems.append(f"suggested resistor {value} ohm, expected {low} to {high} ohm")


def check_comparison(result: dict, expected: dict, status: int, problems: list[str]) -> None:
    if result["verdict"]["result"] not in expected["result"]:
        problems.append(f"result is {result['verdict']['result']}, expected {' or '.join(expected['result'])}")
    wanted_status = {"better": 0, "worse": 1, "no-clear-change": 2, "not-comparable": 3}[result["verdict"]["result"]]
    if status != wanted_status:
        problems.append(f"exit status {status} does not belong to {result['verdict']['result']}")
    if "kept" in expected and result["prediction"].get("within_band") is not expected["kept"]:
        problems.append(f"prediction within its band: {result['prediction'].get('within_band')}, expected {expected['kept']}")


def without_known_gaps(problems: list[str], gaps: dict[str, str]) -> list[str]:
    """Takes out what the program is known to get wrong, and complains where it no longer does: then the gap's line goes."""
    left = [problem for problem in problems if not any(problem.startswith(what) for what in gaps)]
    return left + [f"{what} is right by now: take it from falls_short" for what in gaps
                   if not any(problem.startswith(what) for problem in problems)]


def check_page(page: str, problems: list[str]) -> None:
    if not page.lower().startswith("<!doctype html>") or "</html>" not in page[-200:].lower():
        problems.append("the HTML page is cut")
    if re.search(r"<(script|link|img|iframe)[^>]+(src|href)=[\"']?(https?:)?//", page, re.IGNORECASE):
        problems.append("the HTML page loads something from outside")


def main() -> None:
    program, folder, name = sys.argv[1], pathlib.Path(sys.argv[2]), sys.argv[3]
    expected = json.loads((folder / "expected.json").read_text())[name]
    arguments = arguments_of(folder, name)
    with tempfile.TemporaryDirectory() as scratch:
        page, stored = pathlib.Path(scratch) / "page.html", pathlib.Path(scratch) / "figures.json"
        run = subprocess.run([program, *arguments, "--html", page, "--json", stored], cwd=folder, stdin=subprocess.DEVNULL,
                             capture_output=True, text=True)
        if not page.exists() or not stored.exists():
            sys.exit(f"{name}: status {run.returncode}, no reports\n{run.stdout}{run.stderr}")
        result = json.loads(stored.read_text(), parse_constant=refuse_constant)
        text = page.read_text()
    print(run.stdout)
    problems = []
    is_comparison = arguments[0] == "compare"
    schema = json.loads((HERE / ("comparison.schema.json" if is_comparison else "diagnosis.schema.json")).read_text())
    for error in jsonschema.Draft202012Validator(schema).iter_errors(result):
        problems.append(f"schema, at {error.json_path}: {error.message[:200]}")
    problems += [f"{path} is null without a reason" for path in nulls_without_reason(result)[:10]]
    (check_comparison if is_comparison else check_diagnosis)(result, expected, run.returncode, problems)
    check_page(text, problems)
    if run.stderr:
        problems.append(f"standard error is not empty: {run.stderr.splitlines()[0]}")
    problems = without_known_gaps(problems, expected.get("falls_short", {}))
    for problem in problems:
        print(f"{name}: {problem}")
    sys.exit(1 if problems else 0)


if __name__ == "__main__":
    main()
