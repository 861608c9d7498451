"""Command lines of manual pages and README files, run as their reader would: in a copy of the demo captures."""

import os
import pathlib
import re
import shutil
import signal
import subprocess
import tempfile
import time


def joined(text):
    """Lines that end in a backslash go on in the next one."""
    return re.sub(r"\s*\\\n\s*", " ", text)


class Bench:
    """A folder with the demo captures in it, and the program on the path."""

    def __init__(self, program, project):
        self.scratch = tempfile.TemporaryDirectory()
        self.folder = pathlib.Path(self.scratch.name) / "captures-demo"
        self.folder.mkdir()
        for file in (project / "captures-demo").iterdir():
            if file.suffix in (".csv", ".wav"):
                shutil.copy(file, self.folder)
        path = f"{pathlib.Path(program).parent}:{os.environ['PATH']}"
        self.environment = {**os.environ, "PATH": path, "COLUMNS": "80", "TERM": "dumb"}

    def run(self, command):
        return subprocess.run(["sh", "-c", command], cwd=self.folder, env=self.environment, capture_output=True, text=True)

    def watch(self, command):
        """Runs a command that goes on until Ctrl-C, saves one capture meanwhile."""
        run = subprocess.Popen(["sh", "-c", "exec " + command], cwd=self.folder, env=self.environment, stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE, text=True)
        first = run.stdout.readline()
        shutil.copy(self.folder / "far-68ohm.csv", self.folder / "saved-now.csv")
        told = run.stdout.readline()
        run.send_signal(signal.SIGINT)
        out, err = run.communicate(timeout=120)
        return subprocess.CompletedProcess(command, run.returncode, first + told + out, err)

    def reports_of(self, command):
        """Files that the command names as outputs and that are missing or empty."""
        words = command.split()
        missing = []
        for option, value in zip(words, words[1:]):
            if option in ("--html", "--json", "--forum", "--png") and value != "-":
                file = self.folder / value / "index.html" if value.endswith("/") else self.folder / value
                if not file.is_file() or file.stat().st_size == 0:
                    missing.append(str(file))
        return missing
