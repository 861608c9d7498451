"""The program under hostile conditions: disks, names, pipes, signals and files that change while they are read.

    hardening_test.py PROGRAM [unittest arguments]

Every failure has to be one line on standard error with a sysexits status, and to leave nothing behind but what was there.
"""

import html.parser
import json
import os
import pathlib
import resource
import signal
import struct
import subprocess
import sys
import tempfile
import threading
import time
import unittest

PROGRAM = ""
EX_USAGE, EX_DATAERR, EX_NOINPUT, EX_CANTCREAT = 64, 65, 66, 73  # sysexits.h


def capture(rows=4000):
    """Two-level data with 20 ns a sample, 800 kbit/s; every third bit is a 1."""
    lines = ["time,volts"]
    for i in range(rows):
        bit, phase = divmod(i % (24 * 62 + 3000), 62)
        high = bit < 24 and phase < (40 if bit % 3 == 0 else 17)
        lines.append(f"{i * 20}e-9,{(4.97 if high else 0.02) + 0.01 * (i * 7 % 5):.2f}")
    return ("\n".join(lines) + "\n").encode()


def nameless_files(folder):
    """Whether the file system makes files that have no name yet."""
    try:
        os.close(os.open(folder, os.O_TMPFILE | os.O_WRONLY))
        return True
    except OSError:
        return False


class Page(html.parser.HTMLParser):
    """Collects what a browser would show and the attributes it would obey."""

    def __init__(self):
        super().__init__()
        self.text, self.handlers = "", []

    def handle_data(self, data):
        self.text += data

    def handle_starttag(self, tag, attributes):
        self.handlers += [name for name, _ in attributes if name.startswith("on")]


class Hardening(unittest.TestCase):
    def setUp(self):
        self.scratch = tempfile.TemporaryDirectory()
        self.addCleanup(self.scratch.cleanup)
        self.folder = pathlib.Path(self.scratch.name)
        (self.folder / "c.csv").write_bytes(capture())

    def run_program(self, *words, limits=(), before=(), **options):
        """`before`: words of a program that starts this one."""

        def prepare():
            for which, value in limits:
                resource.setrlimit(which, (value, value))
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # so that a full quota is an error of write, as a full disk is

        return subprocess.run([*before, PROGRAM, *words], cwd=self.folder, capture_output="stdout" not in options, timeout=120,
                              preexec_fn=prepare, **options)

    def run_bound_by_permissions(self, *words):
        """The superuser gives up what lets it pass over permission bits."""
        before = ("setpriv", "--bounding-set=-dac_override,-dac_read_search") if os.geteuid() == 0 else ()
        return self.run_program(*words, before=before)

    def names(self):
        return sorted(os.listdir(self.folder.as_posix().encode()))

    def refused(self, run, status):
        self.assertEqual(run.returncode, status, run.stderr)
        self.assertEqual(run.stderr.count(b"\n"), 1, run.stderr)
        self.assertTrue(run.stderr.startswith(b"pulsewright: "), run.stderr)
        self.assertTrue(run.stderr[:-1].decode("utf-8").isprintable(), run.stderr)

    def judged(self, run):
        self.assertIn(run.returncode, (0, 1, 2, 3), run.stderr)

    # ---- disks and folders

    def test_a_full_device_is_told(self):
        before = self.names()
        for option in ("--html", "--json", "--png"):
            self.refused(self.run_program("diagnose", "c.csv", option, "/dev/full"), EX_CANTCREAT)
        self.assertEqual(self.names(), before)

    def test_a_full_disk_leaves_the_old_report(self):
        # A limit on the size of files fails in the middle of a write, as a disk that fills up does.
        for name in ("o.html", "o.json", "o.png"):
            (self.folder / name).write_text("the report of yesterday")
            before = self.names()
            run = self.run_program("diagnose", "c.csv", "--" + name[2:], name, limits=[(resource.RLIMIT_FSIZE, 8192)])
            self.refused(run, EX_CANTCREAT)
            self.assertEqual((self.folder / name).read_text(), "the report of yesterday")
            self.assertEqual(self.names(), before)

    def test_the_second_report_fails_and_the_first_is_not_left_alone(self):
        before = self.names()
        run = self.run_program("diagnose", "c.csv", "--forum", "o.md", "--html", "o.html", limits=[(resource.RLIMIT_FSIZE, 8192)])
        self.refused(run, EX_CANTCREAT)
        self.assertEqual(self.names(), before)

    def test_a_folder_that_takes_no_files(self):
        (self.folder / "file").write_text("no folder")
        places = ["file/o.json", "missing/o.json"]
        if os.path.isdir("/proc/self"):
            places.append("/proc/self/o.json")  # no file can be made here, not even by the superuser
        for place in places:
            self.refused(self.run_program("diagnose", "c.csv", "--json", place), EX_CANTCREAT)

    def test_a_folder_without_write_permission(self):
        closed = self.folder / "closed"
        closed.mkdir()
        (closed / "o.json").write_text("the report of yesterday")
        closed.chmod(0o555)
        for name in ("closed/o.json", "closed/new.json"):
            run = self.run_bound_by_permissions("diagnose", "c.csv", "--json", name)
            self.refused(run, EX_CANTCREAT)
            self.assertEqual(run.stderr.decode(), f"pulsewright: cannot write {name}: Permission denied\n")
        self.assertEqual(os.listdir(closed), ["o.json"])
        self.assertEqual((closed / "o.json").read_text(), "the report of yesterday")

    def test_a_capture_that_may_not_be_read(self):
        self.refused(self.run_program("diagnose", "/proc/self/mem"), EX_NOINPUT)
        (self.folder / "c.csv").chmod(0)
        run = self.run_bound_by_permissions("diagnose", "c.csv")
        self.refused(run, EX_NOINPUT)
        self.assertIn(b"Permission denied", run.stderr)

    def test_a_small_disk_that_fills_up(self):
        # A file system of 64 kB in a name space of its own, which is where an ordinary user may mount one.
        mount = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c"]
        (self.folder / "disk").mkdir()
        if subprocess.run([*mount, "mount -t tmpfs -o size=64k small disk"], cwd=self.folder, capture_output=True).returncode != 0:
            self.skipTest("no file system may be mounted here; the limits on file sizes stand in for it")
        script = """mount -t tmpfs -o size=64k small disk && echo yesterday >disk/o.html || exit 99
            "$0" diagnose c.csv --html disk/o.html --json disk/o.json; status=$?; cat disk/*; ls -A disk; exit $status"""
        run = subprocess.run([*mount, script, PROGRAM], cwd=self.folder, capture_output=True, timeout=60)
        self.refused(run, EX_CANTCREAT)
        self.assertEqual(run.stderr, b"pulsewright: cannot write disk/o.html: No space left on device\n")
        self.assertEqual(run.stdout, b"yesterday\no.html\n")

    def test_killed_at_any_time_leaves_the_old_report_or_the_new_one_whole(self):
        report = self.folder / "o.html"
        report.write_text("the report of yesterday")
        started = time.monotonic()
        self.judged(self.run_program("diagnose", "c.csv", "--html", "o.html"))
        whole_s = time.monotonic() - started
        before = self.names()
        for kill in (signal.SIGTERM, signal.SIGKILL):
            for part in range(1, 6):
                report.write_text("the report of yesterday")
                run = subprocess.Popen([PROGRAM, "diagnose", "c.csv", "--html", "o.html"], cwd=self.folder,
                                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
                time.sleep(whole_s * part / 5)
                run.send_signal(kill)
                run.wait(timeout=60)
                content = report.read_text()
                self.assertTrue(content == "the report of yesterday" or content.rstrip().endswith("</html>"), content[-80:])
                if nameless_files(self.folder):
                    for left in [name for name in self.names() if name not in before]:  # killed between its two last steps
                        self.assertTrue(os.fsdecode(left).startswith(".pulsewright-"), left)
                        hidden = self.folder / os.fsdecode(left)
                        self.assertTrue(hidden.read_text().rstrip().endswith("</html>"), left)
                        hidden.unlink()
                    self.assertEqual(self.names(), before)

    # ---- inputs are never written over

    def test_an_output_that_is_an_input(self):
        good = capture()
        os.link(self.folder / "c.csv", self.folder / "twin.csv")
        os.symlink("c.csv", self.folder / "link.csv")
        (self.folder / "w.txt").write_text("[a]\nt0h_ns = 220 - 380\nt1h_ns = 580 800 1000\n")
        for spelling in ("c.csv", "./c.csv", ".//c.csv", str(self.folder / "c.csv"), f"../{self.folder.name}/c.csv", "twin.csv",
                         "link.csv"):
            for option in ("--json", "--html", "--png"):
                self.refused(self.run_program("diagnose", "c.csv", option, spelling), EX_USAGE)
            self.refused(self.run_program("compare", spelling, "c.csv", "--json", "twin.csv"), EX_USAGE)
            self.assertEqual((self.folder / "c.csv").read_bytes(), good)
        self.refused(self.run_program("diagnose", "c.csv", "--windows", "w.txt", "--json", "./w.txt"), EX_USAGE)
        with open(self.folder / "c.csv", "rb") as file:
            run = self.run_program("diagnose", "/dev/stdin", "--json", "c.csv", stdin=file)
        self.assertEqual((self.folder / "c.csv").read_bytes(), good, run.stderr)
        self.refused(run, EX_USAGE)

    # ---- files that change, pipes

    def changing(self, change):
        """The program on a long capture that `change` spoils meanwhile, several times at different moments."""
        block = capture(200000)
        for delay_s in (0.0, 0.01, 0.03, 0.06, 0.1):
            file = self.folder / "long.csv"
            file.write_bytes(block)
            run = subprocess.Popen([PROGRAM, "inspect", "long.csv"], cwd=self.folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
            time.sleep(delay_s)
            change(file)
            out, err = run.communicate(timeout=120)
            self.assertIn(run.returncode, (0, EX_DATAERR, EX_NOINPUT), err)
            if run.returncode != 0:
                self.assertEqual(err.count(b"\n"), 1, err)
                self.assertEqual(out, b"")

    def test_a_capture_that_is_replaced_while_it_is_read(self):
        def replace(file):
            other = file.with_name("other.csv")
            other.write_bytes(capture(100))
            os.replace(other, file)

        self.changing(replace)

    def test_a_capture_that_shrinks_or_grows_while_it_is_read(self):
        self.changing(lambda file: os.truncate(file, 1000))
        self.changing(lambda file: os.truncate(file, 0))
        with_more = capture(200000) + b"4000000e-9,0.02\n"
        self.changing(lambda file: file.write_bytes(with_more))

    def test_pipes_and_standard_input(self):
        plain = self.run_program("diagnose", "c.csv", "--json", "-").stdout
        expected = json.loads(plain)["levels"]
        with open(self.folder / "c.csv", "rb") as file:
            for name in ("-", "/dev/stdin"):
                file.seek(0)
                run = self.run_program("diagnose", name, "--json", "-", stdin=file)
                self.assertEqual(json.loads(run.stdout)["levels"], expected)
        for name in ("-", "/dev/stdin"):
            run = self.run_program("diagnose", name, "--json", "-", input=capture())
            self.assertEqual(json.loads(run.stdout)["levels"], expected)
        os.mkfifo(self.folder / "pipe")
        writer = threading.Thread(target=lambda: (self.folder / "pipe").write_bytes(capture()))
        writer.start()
        run = self.run_program("diagnose", "pipe", "--json", "-")
        writer.join()
        self.assertEqual(json.loads(run.stdout)["levels"], expected)

    def test_a_report_goes_through_a_pipe_whole(self):
        (self.folder / "m.csv").write_bytes(capture(300000))
        for option, whole in (("--json", lambda out: json.loads(out)), ("--html", lambda out: self.assertTrue(out.rstrip().endswith(b"</html>")))):
            self.judged(self.run_program("diagnose", "m.csv", option, "o"))
            expected = (self.folder / "o").read_bytes()
            self.assertGreater(len(expected), 65536)  # more than a pipe holds: the program has to wait for its reader
            run = subprocess.Popen([PROGRAM, "diagnose", "m.csv", option, "-"], cwd=self.folder, stdout=subprocess.PIPE)
            time.sleep(0.2)
            out, _ = run.communicate(timeout=120)
            self.assertEqual(len(out), len(expected))
            whole(out)

    def test_a_stored_diagnosis_from_a_pipe_is_limited_too(self):
        self.judged(self.run_program("diagnose", "c.csv", "--json", "o.json"))
        content = (self.folder / "o.json").read_bytes()
        os.mkfifo(self.folder / "pipe.json")

        def compared(text, *words):
            writer = threading.Thread(target=self.fill_pipe, args=(self.folder / "pipe.json", text))
            writer.start()
            run = self.run_program("compare", "o.json", "pipe.json", *words)
            writer.join()
            return run

        self.judged(compared(content))
        refused = compared(content + b" " * 3000000, "--memory-limit", "100MB")
        self.refused(refused, EX_DATAERR)
        self.assertIn(b"memory limit", refused.stderr)

    @staticmethod
    def fill_pipe(path, content):
        try:
            path.write_bytes(content)
        except BrokenPipeError:
            pass  # the reader has read enough

    def test_standard_input_that_is_none(self):
        self.refused(self.run_program("diagnose", "-", stdin=subprocess.DEVNULL), EX_DATAERR)
        closed = subprocess.run(["sh", "-c", 'exec "$0" diagnose - <&-', PROGRAM], capture_output=True, timeout=60)
        self.refused(closed, EX_NOINPUT)

    # ---- names

    def test_names_of_any_bytes(self):
        for name in (b"two words.csv", b"it's \"quoted\".csv", b"new\nline.csv", b"tab\there.csv", b"not-utf8-\xff\xfe.csv",
                     b"<b onclick=x>&amp;.csv", b"esc\x1b[31m.csv", b"-starts-with-a-dash.csv", "überbrückt \u202e.csv".encode()):
            with self.subTest(name=name):
                path = self.folder.as_posix().encode() + b"/" + name
                with open(path, "wb") as file:
                    file.write(capture())
                run = self.run_program("diagnose", b"./" + name, "--html", "o.html", "--json", "o.json", "--forum", "o.md")
                self.judged(run)
                self.assertEqual(run.stderr, b"")
                text = run.stdout.decode("utf-8")
                self.assertFalse([c for c in text if not c.isprintable() and c != "\n"], text)
                stored = json.loads((self.folder / "o.json").read_bytes().decode("utf-8"))
                if name.isascii():
                    self.assertEqual(pathlib.PurePath(stored["capture"]["file"]).name, name.decode())
                page = Page()
                page.feed((self.folder / "o.html").read_bytes().decode("utf-8"))
                self.assertEqual([h for h in page.handlers if h == "onclick"], [])
                self.assertNotIn("\x1b", page.text)
                (self.folder / "o.md").read_bytes().decode("utf-8")
                inspected = self.run_program("inspect", b"./" + name)
                self.assertEqual(inspected.returncode, 0, inspected.stderr)
                missing = self.run_program("diagnose", b"./no-such-" + name)
                self.refused(missing, EX_NOINPUT)
                os.remove(path)

    def test_outputs_and_windows_of_any_name(self):
        for name in (b"two words", b"it's \"quoted\"", b"new\nline", b"not-utf8-\xff\xfe", b"<b onclick=x>", b"esc\x1b[31m"):
            with self.subTest(name=name):
                windows = name + b".txt"
                with open(self.folder.as_posix().encode() + b"/" + windows, "wb") as file:
                    file.write(b"[own]\nt0h_ns = 220 - 380\nt1h_ns = 580 800 1000\n")
                reports = {b"--" + kind: name + b"." + kind for kind in (b"html", b"json", b"png")}
                run = self.run_program("diagnose", "c.csv", "--windows", windows, *[word for pair in reports.items() for word in pair])
                self.judged(run)
                self.assertEqual(self.names(), sorted([b"c.csv", windows, *reports.values()]))
                self.judged(self.run_program("compare", reports[b"--json"], reports[b"--json"]))
                refused = self.run_program("diagnose", "c.csv", "--json", b"no-such-folder/" + name)
                self.refused(refused, EX_CANTCREAT)
                for made in self.names():
                    if made != b"c.csv":
                        os.remove(self.folder.as_posix().encode() + b"/" + made)

    def test_a_dash_in_front_is_an_option_until_two_dashes(self):
        (self.folder / "-c.csv").write_bytes(capture())
        self.refused(self.run_program("inspect", "-c.csv"), EX_USAGE)
        self.assertEqual(self.run_program("inspect", "--", "-c.csv").returncode, 0)

    # ---- standard output

    def test_closed_standard_output_is_told(self):
        run = subprocess.run(["sh", "-c", 'exec "$0" diagnose c.csv >&-', PROGRAM], cwd=self.folder, capture_output=True, timeout=60)
        self.refused(run, EX_CANTCREAT)

    def test_closed_streams_never_end_in_a_report(self):
        # With standard output or error closed, the next file opened takes their number.
        for closed in (">&-", "2>&-", "<&- >&- 2>&-"):
            subprocess.run(["sh", "-c", f'exec "$0" diagnose c.csv --html o.html --json o.json {closed}', PROGRAM], cwd=self.folder,
                           capture_output=True, timeout=60)
            self.assertEqual((self.folder / "c.csv").read_bytes(), capture())
            if (self.folder / "o.json").exists():
                json.loads((self.folder / "o.json").read_bytes())
            if (self.folder / "o.html").exists():
                page = (self.folder / "o.html").read_bytes()
                self.assertTrue(page.startswith(b"<!") and page.rstrip().endswith(b"</html>"), page[-200:])

    def test_a_reader_that_goes_away(self):
        run = subprocess.Popen([PROGRAM, "diagnose", "c.csv", "--html", "-"], cwd=self.folder, stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE, preexec_fn=lambda: signal.signal(signal.SIGPIPE, signal.SIG_DFL))
        run.stdout.close()
        error = run.stderr.read()
        run.wait(timeout=60)
        run.stderr.close()
        self.assertIn(run.returncode, (-signal.SIGPIPE, EX_CANTCREAT))
        self.assertLessEqual(error.count(b"\n"), 1, error)

    # ---- memory

    def test_the_memory_ceiling_holds_for_every_format(self):
        import gzip

        square = b"".join(struct.pack("<h", 16000 if i // 8 % 2 else 0) for i in range(2000000))
        header = b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 1, 8000000, 16000000, 2, 16) + b"data" + struct.pack("<I", len(square))
        files = {
            "big.csv": capture(900000),
            "big.wav": b"RIFF" + struct.pack("<I", len(header) + len(square)) + header + square,
            "big.gz": gzip.compress(b"time,volts\n" + b"0.0,1.0\n" * 4000000, 9),
            "big.vcd": b"$timescale 1 ns $end $var wire 1 ! d $end $enddefinitions $end\n"
            + b"".join(b"#%d\n%d!\n" % (i * 400, i % 2) for i in range(400000)),
            "big.json": b'{"schema": [' + b"0," * 400000 + b"0]}",
        }
        for name, content in files.items():
            with self.subTest(name=name):
                (self.folder / name).write_bytes(content)
                words = ("compare", name, name) if name.endswith(".json") else ("diagnose", name)
                run = self.run_program(*words, "--memory-limit", "2MB")
                self.refused(run, EX_DATAERR)
                self.assertIn(b"memory limit", run.stderr)

    def test_without_the_option_the_memory_of_the_machine_is_the_ceiling(self):
        # RF64 (EBU Tech 3306) so that the header can announce more than 4 GiB; the file itself is a hole.
        machine = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
        samples = machine // 2
        header = b"RF64\xff\xff\xff\xffWAVEds64" + struct.pack("<IQQQI", 28, samples + 72, samples, samples, 0)
        header += b"fmt " + struct.pack("<IHHIIHH", 16, 1, 1, 8000000, 8000000, 1, 8) + b"data\xff\xff\xff\xff"
        with open(self.folder / "huge.wav", "wb") as file:
            file.write(header)
            file.truncate(len(header) + samples)
        started = time.monotonic()
        run = self.run_program("diagnose", "huge.wav")
        self.refused(run, EX_DATAERR)
        limit = machine // os.sysconf("SC_PAGE_SIZE") // 4 * 3 * os.sysconf("SC_PAGE_SIZE")
        self.assertIn(f"samples within the memory limit of {limit} bytes".encode(), run.stderr)
        self.assertLess(time.monotonic() - started, 30)

    def test_under_a_generous_ceiling_nothing_changes(self):
        plain = self.run_program("diagnose", "c.csv")
        self.assertEqual(self.run_program("diagnose", "c.csv", "--memory-limit", "1GiB").stdout, plain.stdout)

    def test_a_ceiling_at_any_height_ends_in_a_verdict_or_one_line(self):
        (self.folder / "m.csv").write_bytes(capture(300000))
        plain = self.run_program("diagnose", "m.csv")
        ended = set()
        for kilobytes in (1, 30, 100, 300, 700, 1000, 2000, 4000, 20000):
            run = self.run_program("diagnose", "m.csv", "--html", "o.html", "--memory-limit", f"{kilobytes}kB")
            if run.returncode == EX_DATAERR:
                self.refused(run, EX_DATAERR)
                self.assertFalse((self.folder / "o.html").exists())
            else:
                self.assertEqual(run.returncode, plain.returncode, run.stderr)
                os.remove(self.folder / "o.html")
            ended.add(run.returncode)
        self.assertIn(EX_DATAERR, ended)


    # ---- locale

    def test_a_locale_with_decimal_commas_changes_nothing(self):
        # Made here, so that it does not depend on which locales the machine has.
        subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", str(self.folder / "de_DE.UTF-8")], check=True, timeout=120)
        german = {**os.environ, "LOCPATH": str(self.folder), "LC_ALL": "de_DE.UTF-8"}
        said = subprocess.run(["locale", "decimal_point"], env=german, capture_output=True, check=True)
        self.assertEqual(said.stdout, b",\n")
        plain = {**os.environ, "LC_ALL": "C"}
        words = ("diagnose", "c.csv", "--supply", "5.0", "--length", "1.5m", "--html", "o.html", "--json", "o.json", "--forum", "o.md",
                 "--png", "o.png")
        found = []
        for environment in (plain, german):
            run = self.run_program(*words, env=environment)
            self.judged(run)
            found.append([run.stdout] + [(self.folder / name).read_bytes() for name in ("o.html", "o.json", "o.md", "o.png")])
        self.assertEqual(*found)


if __name__ == "__main__":
    PROGRAM = os.path.abspath(sys.argv.pop(1))
    unittest.main()
