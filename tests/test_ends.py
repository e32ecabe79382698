"""Check how commands end: failures of the system, signals, streams, encodings and wrong commands, each by one line and a status."""

import codecs
import errno
import io
import json
import logging
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
import warnings
from importlib import import_module
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from samples import DEMO, demo

from deckcalc import cli, ends
from deckcalc.core.sources import folder
from deckcalc.ends import plain
from deckcalc.job.settings import ROWS

ROOT = folder("notebooks").parent
HOSTILE = "\x1b[2J\x1b]0;owned\x07\r\x9b1m\u202e\n"
SAW = ["run", "patch.saw_cut", "c_min=2 in", "m_saw=1/4 in"]
POSIX = pytest.mark.skipif(os.name != "posix", reason="signals and devices of POSIX")


class Takes(io.RawIOBase):
    """A stream that takes nothing but an error."""

    def __init__(self, number):
        self.number = number

    def writable(self):
        return True

    def write(self, data):
        if self.number:
            raise OSError(self.number, os.strerror(self.number))
        return len(data)


def memory(encoding="utf-8"):
    return io.TextIOWrapper(io.BytesIO(), encoding, errors="strict", newline="\n")


def text_of(stream):
    if stream is None or not isinstance(stream.buffer, io.BytesIO):
        return ""
    stream.flush()
    return stream.buffer.getvalue().decode(stream.encoding)


@pytest.fixture
def end(monkeypatch):
    """Run a command to its end in this process; return status, output and errors."""
    kept = {number: signal.getsignal(number) for number in ends.STOPS}
    monkeypatch.setattr(sys, "unraisablehook", sys.unraisablehook)
    monkeypatch.setattr(logging, "lastResort", logging.StreamHandler())
    monkeypatch.delenv(ends.DETAILS, raising=False)

    def go(*command, out=None, err=None, **streams):
        out = streams.get("stdout", out or memory())
        err = streams.get("stderr", err or memory())
        with monkeypatch.context() as patched, warnings.catch_warnings():
            patched.setattr(sys, "stdout", out)
            patched.setattr(sys, "stderr", err)
            status = ends.ended(lambda: cli.main([str(word) for word in command]))
        said, complaint = text_of(out), text_of(err)
        assert "Traceback" not in said + complaint or os.environ.get(ends.DETAILS)
        assert all(one.isprintable() or one in "\n\xa0" for one in said + complaint)
        for stream in (out, err):
            if stream is not None and isinstance(getattr(stream.buffer, "raw", None), Takes):
                stream.buffer.raw.number = 0  # else it fails again when it is closed
        return status, said, complaint

    yield go
    for number, handler in kept.items():
        signal.signal(number, handler)


@pytest.fixture
def failing(monkeypatch, end):
    """Run the command check with something else in its place."""

    def go(instead, **streams):
        monkeypatch.setattr(cli, "check", lambda options: instead())
        return end("check", "anywhere", **streams)

    return go


def raising(error):
    def go():
        raise error

    return go


def started(*command, before="", **options):
    """Start the command line in a process of its own, after a line of Python."""
    code = f"import os, signal, sys; sys.argv[0] = 'deckcalc'\n{before}\nfrom deckcalc.ends import entry\nentry()"
    environment = {**os.environ, "PYTHONPATH": str(ROOT), **options.pop("env", {})}
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, command)], env=environment, text=True, errors="surrogateescape",
        **{"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **options},
    )  # fmt: skip


def finished(*command, **options):
    process = started(*command, **options)
    out, err = process.communicate(timeout=120)
    assert "Traceback" not in (err or "") and "ignored" not in (err or ""), err
    return process.returncode, out or "", err or ""


# --- whatever a command raises


def deep():
    return deep()


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (PermissionError(errno.EACCES, "Permission denied", "/j/job.toml"), "/j/job.toml: Permission denied."),
        (PermissionError(errno.EPERM, "Operation not permitted", b"/j/pits.csv"), "/j/pits.csv: Operation not permitted."),
        (OSError(errno.EROFS, "Read-only file system", "/j/package"), "/j/package: Read-only file system."),
        (OSError(errno.ENOSPC, "No space left on device"), "No space left on device."),
        (OSError(errno.EDQUOT, "Disk quota exceeded", "/j/x"), "/j/x: Disk quota exceeded."),
        (OSError(errno.ENAMETOOLONG, "File name too long", "x" * 300), "x: File name too long."),
        (OSError(errno.ELOOP, "Too many levels of symbolic links", "/j"), "/j: Too many levels of symbolic links."),
        (OSError(errno.EMFILE, "Too many open files", "/j/a.csv"), "/j/a.csv: Too many open files."),
        (OSError(errno.EIO, "Input/output error", f"/j/{HOSTILE}"), r"/j/\x1b[2J\x1b]0;owned\x07\r\x9b1m\u202e\n: Input/output error."),
        (OSError("the device went away"), "the device went away."), (OSError(), "OSError."),
        (OSError(errno.ENETUNREACH, "Network is unreachable"), "Network is unreachable."),
        (ConnectionRefusedError(errno.ECONNREFUSED, "Connection refused"), "Connection refused."),
        (BrokenPipeError(errno.EPIPE, "Broken pipe"), "Broken pipe."),  # of a program that was started, not of the output
        (FileNotFoundError(errno.ENOENT, "No usable temporary directory found in ['/tmp']"), "No usable temporary directory found in ['/tmp']."),
        (MemoryError(), "there is not enough memory."), (RecursionError("maximum recursion depth"), "something is nested too deeply."),
        (ValueError(f"a{HOSTILE}b\nc"), r"unexpected ValueError: a\x1b[2J\x1b]0;owned\x07\r\x9b1m\u202e."),
        (KeyError("F1"), "unexpected KeyError: 'F1'."), (ZeroDivisionError("division by zero"), "unexpected ZeroDivisionError: division by zero."),
        (AssertionError(), "unexpected AssertionError."), (GeneratorExit(), "unexpected GeneratorExit."),
        (UnicodeDecodeError("utf-8", b"\xff", 0, 1, "invalid start byte"), "unexpected UnicodeDecodeError: "),
        (ModuleNotFoundError("No module named 'typst'"), "unexpected ModuleNotFoundError: No module named 'typst'."),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, BaseException) else "",
)  # fmt: skip
def test_every_failure_is_one_line_and_status_1(failing, error, words):
    status, out, err = failing(raising(error))
    assert (status, out) == (1, "") and err.startswith("deckcalc: ") and words in err
    assert err.endswith(f" No file was written. For the details set {ends.DETAILS}=1.\n") and err.count("\n") == 1


def test_endless_nesting_is_one_line(failing):
    assert failing(deep)[0] == 1


def test_a_folder_that_is_gone_is_named_as_the_reason(failing, monkeypatch):
    monkeypatch.setattr(os, "getcwd", raising(FileNotFoundError(errno.ENOENT, "No such file or directory")))
    _, _, err = failing(raising(FileNotFoundError(errno.ENOENT, "No such file or directory", "x")))
    assert "the working folder no longer exists" in err


def test_the_details_are_there_for_who_asks(failing, monkeypatch):
    monkeypatch.setenv(ends.DETAILS, "1")
    status, _, err = failing(raising(ValueError(f"odd {HOSTILE}")))
    assert status == 1 and err.startswith("Traceback (most recent call last):\n") and "in go" in err
    assert err.splitlines()[-1].startswith("deckcalc: unexpected ValueError: odd ")


def test_the_help_names_the_endings(end):
    for command in (["--help"], ["check", "--help"]):
        status, out, err = end(*command)
        assert (status, err) == (0, "") and "2 for a wrong command" in " ".join(out.split()) and ends.DETAILS in out


@pytest.mark.parametrize(("code", "status"), [(None, 0), (0, 0), (3, 3), ("words", 1)])
def test_a_command_that_ends_itself_keeps_its_status(failing, code, status):
    assert failing(raising(SystemExit(code))) == (status, "", "")


def test_libraries_do_not_speak_to_the_user(failing):
    def loud():
        warnings.warn("a table of constants is deprecated", stacklevel=1)
        logging.getLogger("matplotlib").warning("a cache folder cannot be written")

    assert failing(loud) == (0, "", "")


# --- what was left


def test_a_build_that_fails_says_that_no_part_is_in_place(end, monkeypatch):
    monkeypatch.setattr(
        "deckcalc.package.build.build", lambda *a, **k: raising(OSError(errno.ENOSPC, "No space left on device"))()
    )
    status, _, err = end("package", "anywhere")
    assert status == 1 and "whole or not at all, and a former one stays until then." in err


def test_a_build_that_only_cannot_be_told_says_that_it_is_complete(end, monkeypatch, tmp_path):
    (tmp_path / "package.pdf").touch()
    monkeypatch.setattr("deckcalc.package.build.build", lambda *a, **k: tmp_path)
    full = io.TextIOWrapper(io.BufferedWriter(Takes(errno.ENOSPC)))
    status, _, err = end("package", "anywhere", out=full)
    assert (status, err) == (
        1,
        f"deckcalc: not everything could be printed: No space left on device. The package is complete: {tmp_path}.\n",
    )


# --- signals


@pytest.mark.parametrize(("number", "status", "words"), [
    (signal.SIGINT, 130, "interrupted."), (signal.SIGTERM, 143, "stopped by SIGTERM."), (getattr(signal, "SIGHUP", 15), 129, "stopped by SIGHUP."),
])  # fmt: skip
@POSIX
def test_a_signal_clears_temporary_folders_and_is_one_line(failing, number, status, words):
    made = []

    def stopped():
        with tempfile.TemporaryDirectory() as name:
            made.append(Path(name))
            signal.raise_signal(number)

    assert failing(stopped) == (status, "", f"deckcalc: {words} No file was written.\n")
    assert made and not made[0].exists()


def test_a_plain_interruption_ends_with_130(failing):
    assert failing(raising(KeyboardInterrupt()))[::2] == (130, "deckcalc: interrupted. No file was written.\n")


@POSIX
@pytest.mark.parametrize("then", [None, ImportError("half read"), SystemExit(0), ValueError("x")], ids=str)
def test_a_signal_that_a_library_swallows_still_ends_the_command(failing, then):
    def stopped():
        try:
            signal.raise_signal(signal.SIGTERM)
        except BaseException:
            if then:
                raise then from None

    status, _, err = failing(stopped)
    assert status == 143 and err.startswith("deckcalc: stopped by SIGTERM.") and err.count("\n") == 1


@POSIX
def test_a_signal_in_a_destructor_comes_again(failing):
    class Last:
        def __del__(self):
            signal.raise_signal(signal.SIGINT)

    def stopped():
        last = Last()
        del last
        for _ in range(1000):  # until the signal comes again
            time.sleep(0.01)
        lost.append(True)

    lost = []
    status, _, err = failing(stopped)
    assert status == 130 and err.count("\n") == 1 and not lost


@POSIX
def test_a_second_signal_while_tidying_up_changes_nothing(failing):
    def stopped():
        try:
            signal.raise_signal(signal.SIGINT)
        finally:
            signal.raise_signal(signal.SIGTERM)

    assert failing(stopped)[0] == 130


@POSIX
def test_a_signal_that_was_switched_off_stays_off(failing):
    signal.signal(signal.SIGHUP, signal.SIG_IGN)  # as under nohup
    assert failing(lambda: signal.raise_signal(signal.SIGHUP)) == (0, "", "")


#: Sends a signal to itself when something is read: the moments at which Ctrl-C finds the program.
HOOK = """
def hook(event, words):
    if event == {event!r} and {name!r} in str(words[0]) and not hook.done:
        hook.done = True
        os.kill(os.getpid(), {number})
hook.done = False
sys.addaudithook(hook)
"""


@POSIX
@pytest.mark.parametrize(
    ("event", "name", "number"),
    [
        ("import", "deckcalc.cli", signal.SIGTERM), ("import", "argparse", signal.SIGINT), ("import", "numpy", signal.SIGINT), ("import", "pint", signal.SIGTERM),
        ("import", "pydantic", signal.SIGINT), ("import", "shapely", signal.SIGHUP), ("open", "limits.csv", signal.SIGINT), ("open", "job.toml", signal.SIGTERM),
        ("open", "bars.csv", signal.SIGINT),
    ],
)  # fmt: skip
def test_a_real_signal_at_any_moment_ends_the_command(event, name, number):
    status, out, err = finished("check", DEMO["SI"], before=HOOK.format(event=event, name=name, number=int(number)))
    assert (status, out) == (128 + number, "") and err.startswith("deckcalc: ") and err.count("\n") == 1


@POSIX
@pytest.mark.skipif(sys.platform != "linux", reason="the size of a pipe is set on Linux")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_while_the_output_waits_for_its_reader(number):
    process = started("list", pipesize=4096)
    assert process.stdout.read(10)  # it prints, and the pipe is smaller than the list
    process.send_signal(number)
    process.stdout.read()
    _, err = process.communicate(timeout=120)
    assert process.returncode == 128 + number and err.count("\n") == 1 and err.startswith("deckcalc: "), err


# --- streams


@pytest.mark.skipif(sys.platform != "linux", reason="the size of a pipe is set on Linux")
@pytest.mark.parametrize("buffered", ["", "1"])
def test_a_reader_that_closes_the_pipe(buffered):
    process = started("list", pipesize=4096, env={"PYTHONUNBUFFERED": buffered})
    assert process.stdout.readline()
    process.stdout.close()
    err = process.stderr.read()
    process.stderr.close()
    assert (process.wait(timeout=120), err) == (
        ends.CLOSED,
        "",
    )  # as of a tool that a broken pipe ends: nothing is wrong


@POSIX
@pytest.mark.parametrize(
    ("command", "lines"),
    [(f"check {DEMO['metric']}", 2), (f"check {DEMO['metric']} --json", 1), ("list", 1), ("list sources", 1), ("run --help", 1), ("list", 0)],
)  # fmt: skip
def test_the_head_of_what_is_printed_can_be_taken(command, lines):
    # the errors go into the pipe as well: a complaint would stand among the lines, or make the shell say so
    line = f"{{ {sys.executable} -m deckcalc {command}; echo $? >&3; }} 3>&2 2>&1 | head -{lines}"
    environment = {**os.environ, "PYTHONPATH": str(ROOT), ends.DETAILS: "1"}
    done = subprocess.run(["sh", "-c", line], env=environment, capture_output=True, text=True, check=False, timeout=120)
    assert done.stdout.count("\n") == lines and "deckcalc:" not in done.stdout and "Traceback" not in done.stdout
    assert done.stderr in (f"{ends.CLOSED}\n", "0\n")  # 0 where all of it was written before the reader went


@pytest.mark.parametrize(
    "command", [["list"], ["list", "exposures"], SAW, ["--version"], ["--help"], ["run", "--help"]], ids=" ".join
)
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EPIPE, errno.EIO])
def test_output_that_is_not_taken_is_a_failure(end, command, number):
    status, _, err = end(*command, out=io.TextIOWrapper(io.BufferedWriter(Takes(number)), "utf-8"))
    if number == errno.EPIPE:
        assert (status, err) == (ends.CLOSED, "")
        return
    assert status == 1 and err.startswith("deckcalc: not everything could be printed: ") and err.count("\n") == 1


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no /dev/full")
@pytest.mark.parametrize(("command", "buffered"), [("list", ""), ("list", "1"), ("--version", ""), ("--version", "1")])
def test_a_full_disk_takes_no_output(command, buffered):
    with open("/dev/full", "w") as full:
        status, _, err = finished(command, stdout=full, env={"PYTHONUNBUFFERED": buffered})
    assert status == 1 and "No space left on device" in err and err.count("\n") == 1


@POSIX
@pytest.mark.parametrize(("closed", "status"), [("<&-", 0), (">&-", 1), ("2>&-", 0), ("<&- >&- 2>&-", 1)])
def test_streams_that_are_closed_from_the_start(tmp_path, closed, status):
    line = f"exec {sys.executable} -m deckcalc list exposures {closed}"
    done = subprocess.run(
        ["sh", "-c", line],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == status, done.stderr
    assert "Traceback" not in done.stderr and done.stderr.count("\n") == (closed == ">&-")
    assert list(tmp_path.iterdir()) == []


@POSIX
def test_no_file_is_opened_in_the_place_of_a_closed_stream():
    before = "for n in (0, 1, 2): os.close(n)\nfrom deckcalc import cli\n"
    before += "cli.check = lambda options: sys.exit(open(os.devnull).fileno())"
    assert finished("check", "anywhere", before=before, stdin=subprocess.DEVNULL)[0] > 2


@pytest.mark.parametrize(
    "stream", [None, io.TextIOWrapper(io.BufferedWriter(Takes(errno.ENOSPC)))], ids=["none", "full"]
)
def test_a_complaint_that_nobody_takes_keeps_the_status(end, stream):
    assert end("list", "exposures", stderr=stream)[0] == 0
    assert end("run", "magic", stderr=stream)[0] == 1
    assert end("magic", stderr=stream)[0] == 2


def test_no_output_stream_is_a_failure(end):
    assert end("list", "exposures", stdout=None)[::2] == (
        1,
        "deckcalc: not everything could be printed: standard output is closed. No file was written.\n",
    )


@pytest.mark.parametrize(
    ("terminal", "kind", "bar"), [(True, "xterm", True), (True, "dumb", False), (False, "xterm", False)]
)
@pytest.mark.parametrize("quiet", [[], ["--quiet"]])
def test_a_progress_bar_goes_to_a_terminal_alone(end, monkeypatch, terminal, kind, bar, quiet, tmp_path):
    asked = []
    monkeypatch.setattr("deckcalc.package.build.build", lambda *given, **named: asked.append(given[2]) or tmp_path)
    monkeypatch.setenv("TERM", kind)
    err = memory()
    err.isatty = lambda: terminal
    end("package", "anywhere", *quiet, err=err)
    assert asked == [not bar or bool(quiet)]


def test_a_programme_into_a_file_has_no_progress_bar(end, tmp_path):
    _, _, err = end("programme", tmp_path / "nowhere", "--out", tmp_path / "p.csv")
    assert "nowhere" in err and "jobs:" not in err and "%" not in err


@pytest.mark.parametrize("setting", ["NO_COLOR", "FORCE_COLOR", "CLICOLOR_FORCE", "PYTHON_COLORS"])
def test_nothing_is_coloured(end, monkeypatch, setting):
    monkeypatch.setenv(setting, "1")
    for command in (["--help"], ["chek"], ["run", "magic"], ["list", "exposures"]):
        assert not re.search(r"\x1b|\\x1b", "".join(end(*command)[1:]))


# --- encodings


def letters():
    """Return every character beyond ASCII that the code, the tables and the references can print."""
    paths = [
        path
        for place in ("deckcalc", "references")
        for path in (ROOT / place).rglob("*")
        if path.suffix in {".py", ".csv", ".toml"}
    ]
    found = {one for path in paths for one in path.read_text(encoding="utf-8") if not one.isascii()}
    assert len(found) > 30
    return sorted(found - {"□", "\ufeff"})  # a box to tick, only on sheets; the mark that a file may begin with


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "cp437", "latin-1", "cp932"])
def test_every_character_of_the_project_is_spelt_in_any_encoding(encoding):
    stream = memory(encoding)
    for one in letters():
        shown = plain(one, stream)
        assert shown and "\\" not in shown and "?" not in shown, (one, shown)
        codecs.encode(shown, encoding)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("3 m²·10⁻³", "3 m^2*10^-3"), ("−5 °C ± 2", "-5 degC +/- 2"), ("“τ” ≤ 2½ µm", '"tau" <= 2 1/2 um'), ("Φ × Δ", "Phi x Delta"),
        ("Café – naïve", "Cafe - naive"), ("6′ 2⅜″, Ø16, ⌀8, d‑b", "6' 2 3/8\", O16, dia. 8, d-b"), ("√2 Ω", "sqrt2 ohm"), ("§1926.62 ← B → A", "section 1926.62 <- B -> A"), ("日", r"\u65e5"), ("b\u00fcro", "buro"), ("🚧", r"\U0001f6a7"),
    ],
)  # fmt: skip
def test_what_stands_for_symbols_in_plain_text(text, shown):
    assert plain(text, memory("ascii")) == shown and plain(text, memory()) == text


def test_bytes_of_a_file_name_that_are_no_text_are_shown_as_bytes():
    assert plain("b\udcc3\udcbcro \ud800") == r"b\xc3\xbcro \ud800"


@given(st.text(), st.sampled_from(["ascii", "cp1252", "cp437", "utf-8", "utf-16", "koi8-r"]))
def test_any_text_becomes_one_that_any_terminal_may_be_given(text, encoding):
    stream = io.TextIOWrapper(io.BytesIO(), encoding)
    shown = plain(text, stream)
    shown.encode(encoding)
    assert all(
        one.isprintable() or one in "\xa0\u1680\u202f\u205f\u3000" or "\u2000" <= one <= "\u200a" for one in shown
    )
    assert plain(shown, stream) == shown


@given(st.text(st.characters(min_codepoint=32, max_codepoint=126)))
def test_plain_text_stays_as_it_is(text):
    assert plain(text, memory("ascii")) == text


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "latin-1", "cp437", "utf-16"])
@pytest.mark.parametrize(
    "command",
    [
        ["list"],
        ["list", "limits"],
        ["list", "thresholds"],
        ["list", "sources"],
        SAW,
        ["run", "magic"],
        ["list", "--units", "“SI”"],
    ],
    ids=" ".join,
)
def test_every_list_is_printed_in_any_encoding(end, encoding, command):
    status, out, err = end(*command, out=memory(encoding), err=memory(encoding))
    assert status in (0, 1, 2) and "unexpected" not in err and (out or err)
    heads = out.splitlines()[:2]
    if heads and heads[1:]:
        assert len(heads[1].split("  ")[-1]) > 0 and "\\" not in out


def test_checks_are_printed_in_columns_in_plain_text(end):
    demo("SI")
    status, out, _ = end("check", DEMO["SI"], "--all", out=memory("ascii"))
    rows = 0
    for part in out.split("Checks ")[1:]:  # one table for each verdict
        _, head, rule, *lines = part.split("\n\n")[0].splitlines()
        assert head.startswith("  item") and set(rule) == {" ", "-"}
        starts = [match.start() for match in re.finditer(r"(?<= )-", rule)]
        assert all(line.startswith("  ") and line[at - 1] == " " for line in lines for at in starts)
        rows += len(lines)
    assert status == 0 and rows == len(demo("SI").checks)


def test_results_as_json_are_json_in_any_encoding(end):
    status, out, _ = end(*SAW, "--json", out=memory("ascii"))
    assert status == 0 and all({"value", "unit"} == set(one) for one in json.loads(out).values())


# --- texts that a terminal would obey


@pytest.mark.parametrize(
    "command",
    [
        [HOSTILE], ["check", HOSTILE], ["check", "x", HOSTILE], ["check", f"--{HOSTILE}"], ["list", HOSTILE], ["list", "--units", HOSTILE], ["run", HOSTILE],
        ["run", "patch.saw_cut", HOSTILE], ["run", "patch.saw_cut", f"c_min={HOSTILE}"], ["run", "patch.saw_cut", f"{HOSTILE}=2 in"],
        ["rerun", "nowhere", "--set", HOSTILE], ["check", "\udcff\udc80"], ["package", "x\0y"], ["programme", HOSTILE, "--out", "/dev/null/x"],
    ],
    ids=ascii,
)  # fmt: skip
def test_arguments_are_only_shown(end, command):
    status, out, err = end(*command)  # holds everything printed to printable characters
    assert status in (1, 2) and out == "" and err and "unexpected" not in err


def test_a_job_and_its_folder_are_only_shown(end, tmp_path):
    job = tmp_path / "job\x1b[31m"
    shutil.copytree(DEMO["SI"], job)
    for name, row in ROWS.items():
        path = job / f"{name}.csv"
        head, _, rest = (path.read_text(encoding="utf-8") if path.exists() else ",".join(row.model_fields)).partition(
            "\n"
        )
        path.write_text(f"{head}\n{HOSTILE.replace(chr(13), '')[:-1]}{rest}", encoding="utf-8", newline="")
    status, _, err = end("check", job)
    assert status == 1 and "control character U+001B" in err and "\x1b" not in err
    assert all(f"{name}.csv" in err for name in ROWS)


def test_a_changed_text_is_only_shown(end):
    _, out, err = end("rerun", DEMO["SI"], "--set", f"people.checker=Q. {HOSTILE}Reed")
    assert (
        not out and "people.checker" in err and "U+001B" in err
    )  # refused with the field and the sign, which is not printed
    assert "\x1b" not in err


def test_all_that_is_printed_goes_through_one_place():
    for path in (ROOT / "deckcalc" / "ends.py", *(ROOT / "deckcalc" / "cli").glob("*.py")):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"(?<![.\w>])print\(", text.replace(">>> print(", "")), path


# --- wrong commands


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (["chek", "x"], "there is no command “chek” (did you mean check?); there are package, check, new,"), ([""], "there is no command “”"),
        (["CHECK", "x"], "did you mean check?"), (["check"], "deckcalc check: the following arguments are required: job"),
        (["check", "a", "b"], "deckcalc check: takes no 'b'"), (["check", "x", "--units", "SI"], "deckcalc check: takes no '--units' 'SI'"),
        (["list", "--units", "Si"], "argument --units: found “Si” (did you mean SI?); wanted SI or US"),
        (["list", "--units", ""], "found “”; wanted SI or US"), (["list", "limts"], "did you mean limits?"),
        (["check", ""], "argument job: found “”, wanted the path"), (["check", "  "], "wanted the path"), (["new", ""], "argument folder: found “”"),
        (["package", "x", "--out", ""], "argument --out: found “”"), (["programme", "x", ""], "argument job: found “”"),
        (["programme"], "required: job"), (["programme", "x", "--out", ""], "argument --out"), (["package", "x", "--out"], "expected one argument"),
        (["new", "a", "b", "c"], "takes no 'b' 'c'"), (["run", "--json"], "required: name"), (["list", "limits", "SI"], "takes no 'SI'"),
    ],
    ids=str,
)  # fmt: skip
def test_a_wrong_command_says_in_one_line_what_would_be_right(end, command, words):
    status, out, err = end(*command)
    wrong, usage = err.splitlines()
    assert (
        status == 2
        and out == ""
        and words in wrong
        and wrong.startswith("deckcalc")
        and usage.startswith("usage: deckcalc")
    )


def test_every_fault_of_the_arguments_comes_at_once(end):
    status, _, err = end("run", "patch.saw_cut", "c_min=2", "depth=3 in", "c_min=3 in", "deep")
    assert status == 1 and [line.partition(":")[0] for line in err.splitlines()] == [
        "c_min", "depth", "c_min", "found “deep”, wanted key=value", "m_saw",
    ]  # fmt: skip
    assert "given twice" in err and re.search(r"m_saw: missing, \w.*; wanted a length from .* to ", err)


@pytest.mark.parametrize(
    ("name", "close"),
    [
        ("saw_cut", ["patch.saw_cut"]), ("patch.saw_cutt", ["patch.saw_cut"]), ("PATCH.SAW_CUT", ["patch.saw_cut"]), ("mix.saw_cut", ["patch.saw_cut"]),
        ("section_loss", ["steel.section_loss", "steel.section_loss_square"]), ("steel.crak", ["steel.crack_spacing"]), ("magic", []), ("", []),
        ("steel.", []),
    ],
)  # fmt: skip
def test_a_calculation_that_is_not_there_names_those_near_it(end, name, close):
    status, _, err = end("run", name)
    first, *lines = err.splitlines()
    assert (
        status == 1
        and first.startswith(f"there is no calculation “{name}”")
        and len(lines) <= 6
        and "“deckcalc list" in err
    )
    assert [line.partition(":")[0].strip() for line in lines[: len(close)]] == close


def test_a_word_that_many_calculations_have_names_the_nearest_and_where_the_others_are(end):
    status, _, err = end("run", "crack")
    first, *near, last = err.splitlines()
    found = re.fullmatch("“deckcalc list crack” names all (\\d+)", last)
    assert status == 1 and first == "there is no calculation “crack”; near it:" and len(near) == 5 and int(found[1]) > 5
    assert "  steel.crack_spacing: Maximum spacing of bars for crack control, ACI 318" in near


@pytest.mark.parametrize("command", ["check", "package", "rerun"])
def test_what_is_no_job_folder_is_named_as_what_it_is(end, tmp_path, command):
    tail = ["--set", "deck.overlay=50 mm"] if command == "rerun" else []
    (tmp_path / "package.PDF").write_bytes(b"%PDF-1.7")
    (tmp_path / "manifest.json").write_text("{}", encoding="utf-8")
    assert "name the folder that holds job.toml" in end(command, DEMO["SI"] / "job.toml", *tail)[2]
    words = "is damaged" if command == "rerun" else "is a document; take the job out of it with “deckcalc unpack”"
    assert f"package.PDF {words}" in end(command, tmp_path / "package.PDF", *tail)[2]
    assert "is a package, not a job" in end(command, tmp_path, *tail)[2]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["manifest.json", "package.PDF"]


@pytest.mark.parametrize("command", ["check", "package", "new", "programme"])
def test_a_name_that_no_file_may_have_is_one_line(end, command, tmp_path):
    status, _, err = end(command, tmp_path / ("x" * 300))
    lines = 2 if command == "programme" else 1  # it says as well that no table was written
    assert status == 1 and err.count("\n") == lines and "unexpected" not in err


def test_a_job_is_not_its_own_package(end, tmp_path):
    job = tmp_path / "job"
    shutil.copytree(DEMO["SI"], job)
    before = {path.name: path.read_bytes() for path in job.iterdir()}
    status, out, err = end("package", job, "--out", job)
    assert status == 1 and out == "" and str(job) in err
    assert {path.name: path.read_bytes() for path in job.iterdir()} == before


# --- surroundings


@POSIX
@pytest.mark.parametrize(
    "surroundings",
    [
        {}, {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}, {"PYTHONIOENCODING": "cp1252"}, {"PYTHONIOENCODING": "ascii:strict"},
        {"TERM": "dumb", "HOME": "/proc/none", "TMPDIR": "/proc/none"}, {"PYTHONUNBUFFERED": "1", "PYTHONWARNINGS": "default", "NO_COLOR": "1"},
        {"PYTHONDEVMODE": "1"},
    ],
    ids=str,
)  # fmt: skip
def test_odd_surroundings_change_nothing(tmp_path, surroundings):
    """No home, no paths, no terminal; the output is plain text and nothing is left or complained about."""
    done = subprocess.run(
        [sys.executable, "-m", "deckcalc", "list", "limits"],
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT), **surroundings},
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"") and done.stdout.count(b"\n") > 20
    assert list(tmp_path.iterdir()) == []


@POSIX
def test_checking_a_job_needs_no_network_and_writes_nothing(tmp_path):
    before = """
def hook(event, words):
    if event.startswith("socket.") or event in ("os.mkdir", "os.rename", "os.remove", "tempfile.mkstemp"):
        os.write(2, f"{event} {words}".encode())
        os._exit(9)
sys.addaudithook(hook)
"""
    status, out, err = finished("check", DEMO["SI"], before=before, cwd=tmp_path)
    assert (status, err) == (0, "") and " checks: " in out


@POSIX
@pytest.mark.parametrize("home", [None, "/proc/none"])
def test_drawings_need_no_home(home):
    """Where its folder cannot be made the plotting library takes a temporary one, without a word, and removes it."""
    before = "for name in [*os.environ]:\n    if name.startswith(('XDG', 'MPL', 'HOME')): del os.environ[name]\n"
    before += f"os.environ['HOME'] = {home!r}\n" if home else ""
    before += "from deckcalc import cli\ndef check(options):\n    import matplotlib\n    cli.say(matplotlib.get_cachedir())\ncli.check = check"
    status, out, err = finished("check", "anywhere", before=before)
    assert (status, err) == (0, "")
    if home:
        assert not Path(out.strip()).exists()


@POSIX
def test_a_working_folder_that_is_gone_is_one_line(tmp_path):
    before = f"import tempfile; gone = tempfile.mkdtemp(dir={str(tmp_path)!r}); os.chdir(gone); os.rmdir(gone)"
    for command in (["check", "x"], ["new", "x"]):
        status, _, err = finished(*command, before=before)
        assert status == 1 and err.count("\n") == 1, err
    done = subprocess.run(
        ["sh", "-c", f"mkdir gone; cd gone; rmdir ../gone; exec {sys.executable} -m deckcalc list exposures"],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")


def test_the_command_starts_where_it_can_be_interrupted():
    """The script enters by the module that keeps the ends, and nothing heavy is read before."""
    script = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["scripts"]["deckcalc"]
    module, _, name = script.partition(":")
    assert getattr(import_module(module), name) is ends.entry
    code = "import sys, deckcalc.ends, deckcalc; assert 'numpy' not in sys.modules; deckcalc.show, deckcalc.Q(1, 'mm'); assert 'read' in dir(deckcalc)"
    subprocess.run([sys.executable, "-c", code], env={**os.environ, "PYTHONPATH": str(ROOT)}, check=True)
