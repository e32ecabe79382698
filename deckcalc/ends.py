"""How a command ends: whatever happens, one line that says what, what was left, and an exit status.

Little is imported here, so that this holds from the first moment on, while the rest is still read. What is printed
passes through here as well: a terminal is given nothing that it would obey or cannot show.
"""

from __future__ import annotations

import errno
import os
import re
import signal
import sys
import unicodedata
from collections.abc import Callable
from typing import Any

#: Environment variable that asks for the details of a failure.
DETAILS = "DECKCALC_TRACEBACK"
STOPS = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
#: Status when the reader of the output closes it: as a shell reports a tool that SIGPIPE ends, 128 and its number.
CLOSED = 141
#: What stands for a character that the encoding of the terminal lacks; other ones lose their accents or are spelt out.
SPELT = {
    "“": '"', "”": '"', "‘": "'", "’": "'", "–": "-", "—": "-", "−": "-", "×": "x", "·": "*", "°": "deg", "µ": "u", "Ω": "ohm",
    "√": "sqrt", "±": "+/-", "≤": "<=", "≥": ">=", "≈": "~", "�": "#", "→": "->", "←": "<-", "§": "section ", "…": "...", "⁄": "/", "‐": "-", "‑": "-", "′": "'", "″": '"',
    "Ø": "O", "ø": "o", "⌀": "dia. ",
}  # fmt: skip
RAISED = re.compile("[⁰¹²³⁴-⁹⁺⁻]+")


class Stopped(KeyboardInterrupt):
    """A signal asked the command to stop."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


class PrintingError(Exception):
    """Standard output takes no more."""


class ReaderGoneError(PrintingError):
    """Who read standard output has closed it, as ``head`` does when it has enough: no failure, and nothing to tell."""


class Watch:
    """Turns signals into an exception while a command runs; none is lost, whoever catches the exception."""

    def __init__(self) -> None:
        self.came: list[int] = []
        self.open = True

    def __call__(self, number: int, frame: Any = None) -> None:
        """Take a signal."""
        if self.open:
            self.came.append(number)
            raise Stopped(number)

    def unraisable(self, event: Any) -> None:
        """Take an exception that Python can only print; a signal among them comes again in a moment."""
        if isinstance(event.exc_value, Stopped) and self.open:
            import threading

            threading.Timer(0.01, signal.raise_signal, (event.exc_value.number,)).start()


def entry() -> None:
    """Run the command line and leave with its status."""

    def command() -> int:
        from deckcalc.cli import main

        return main()

    status = ended(command)
    for number in STOPS:  # Python tidies up, and is not to be stopped in that
        signal.signal(number, signal.SIG_IGN)
    sys.exit(status)


def ended(command: Callable[[], int]) -> int:
    """Run a command to its end, whatever that is.

    Parameters
    ----------
    command : callable
        Returns its status, or raises.

    Returns
    -------
    int
        0 done; 1 faults of the input or of the system; 2 a wrong command; 128 and the number of the signal that stopped it
        (130 for Ctrl-C); 141 when the reader of the output closes it, as of any tool that a broken pipe ends. Of a failure one line stands on standard error, and no traceback unless asked for.
    """
    watch, error, status = Watch(), None, 1
    try:
        agree_on_digits(watch)
        status = command_status(command)
        printed()
        watch.open = False
    except BaseException as caught:
        watch.open = False
        error = caught
    if watch.came:  # it may have become another exception on the way, or none
        error = error if isinstance(error, Stopped) else Stopped(watch.came[0])
        status = 128 + watch.came[0]
    elif isinstance(error, ReaderGoneError):
        status, error = CLOSED, None
    elif error:
        status = 130 if isinstance(error, KeyboardInterrupt) else 1
    if error:
        if os.environ.get(DETAILS):
            import traceback

            complain(*"".join(traceback.format_exception(error)).rstrip().split("\n"))
        told = [what(error), *getattr(error, "__notes__", [])]
        if not isinstance(error, KeyboardInterrupt | PrintingError):
            told.append(f"For the details set {DETAILS}=1.")
        complain(f"deckcalc: {' '.join(told)}")
    abandon(sys.stdout)
    abandon(sys.stderr)
    return status


def command_status(command: Callable[[], int]) -> int:
    """Return the status of a command, also of one that ends itself."""
    try:
        return command()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)


def agree_on_digits(watch: Watch) -> None:
    """Prepare what a command runs in: streams, signals, and libraries that would speak to the user."""
    sys.unraisablehook = watch.unraisable
    for stop in STOPS:
        if signal.getsignal(stop) is not signal.SIG_IGN:  # as nohup has it
            signal.signal(stop, watch)
    for number in range(3):  # else a file of the job could be opened in the place of a closed stream
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    if not os.environ.get(DETAILS):
        import logging
        import warnings

        if not sys.warnoptions:
            warnings.simplefilter("ignore")
        if isinstance(logging.lastResort, logging.Handler):
            logging.lastResort.setLevel(logging.CRITICAL)


def what(error: BaseException) -> str:
    """Return what happened, as a sentence."""
    if isinstance(error, Stopped) and error.number != signal.SIGINT:
        return f"stopped by {signal.Signals(error.number).name}."
    if isinstance(error, KeyboardInterrupt):
        return "interrupted."
    if isinstance(error, PrintingError):
        return f"not everything could be printed: {error}."
    if isinstance(error, ModuleNotFoundError) and error.name and not error.name.startswith("deckcalc"):
        return f"{error.name} is not installed; install what this command needs with: python -m pip install 'deckcalc[package]'."
    if isinstance(error, MemoryError):
        return "there is not enough memory."
    if isinstance(error, RecursionError):
        return "something is nested too deeply."
    if isinstance(error, OSError):
        return f"{reason(error)}."
    first = str(error).strip().split("\n")[0].rstrip(".")
    return f"unexpected {type(error).__name__}{': ' if first else ''}{first}."


def reason(error: OSError) -> str:
    """Return what the system said, with the file that it speaks of."""
    if error.errno == errno.ENOENT:
        try:
            os.getcwd()
        except OSError:
            return "the working folder no longer exists"
    text = (error.strerror or str(error) or type(error).__name__).rstrip(".")
    return f"{os.fsdecode(error.filename)}: {text}" if isinstance(error.filename, str | bytes) else text


def say(*lines: str) -> None:
    """Print lines.

    Raises
    ------
    PrintingError
        If standard output takes no more.
    """
    try:
        if sys.stdout is None:
            raise OSError("standard output is closed")
        for line in lines:
            sys.stdout.write(f"{plain(line)}\n")
    except (OSError, ValueError) as error:
        raise lost(error) from error


def printed() -> None:
    """Hand on what was said.

    Raises
    ------
    PrintingError
        If standard output takes no more.
    """
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
    except (OSError, ValueError) as error:
        raise lost(error) from error


def lost(error: Exception) -> PrintingError:
    """Return why standard output takes no more."""
    if isinstance(error, BrokenPipeError):
        return ReaderGoneError("the reader of the output has closed it")
    return PrintingError(reason(error) if isinstance(error, OSError) else "standard output is closed")


def complain(*lines: str) -> None:
    """Print lines on standard error, if it takes them."""
    try:
        if sys.stderr is not None:
            for line in lines:
                sys.stderr.write(f"{plain(line, sys.stderr)}\n")
            sys.stderr.flush()
    except (OSError, ValueError):
        return  # nobody is left to tell


def abandon(stream: Any) -> None:
    """Let go of what a stream did not take, so that Python does not try it again on leaving."""
    try:
        if stream is not None:
            stream.flush()
    except (OSError, ValueError):
        try:
            number = stream.fileno()
            os.dup2(os.open(os.devnull, os.O_WRONLY), number)
        except (OSError, ValueError):
            return


def watched() -> bool:
    """Return whether standard error is a terminal that can show a progress bar."""
    return sys.stderr is not None and sys.stderr.isatty() and os.environ.get("TERM") != "dumb"


def plain(text: str, stream: Any = None) -> str:
    r"""Return a text that a terminal only shows: control characters are written out, and so is what its encoding lacks.

    Parameters
    ----------
    text : str
    stream : file, optional
        Where it is going; by default standard output.

    Examples
    --------
    >>> print(plain("P1\x1b[2J\n"))
    P1\x1b[2J\n
    """
    encoding = getattr(stream or sys.stdout, "encoding", None) or "utf-8"
    shown = (one if one.isprintable() or unicodedata.category(one) == "Zs" else escaped(one) for one in text)
    text = "".join(shown)
    if fits(text, encoding):
        return text
    text = RAISED.sub(lambda run: run[0] if fits(run[0], encoding) else raised(run[0]), text)
    return "".join(one if fits(one, encoding) else spelt(one, encoding) for one in text)


def fits(text: str, encoding: str) -> bool:
    """Return whether an encoding has the characters."""
    try:
        text.encode(encoding)
    except (UnicodeError, LookupError):
        return False
    return True


def escaped(one: str) -> str:
    """Return a character written as Python writes it; a byte of a file name that is no text, as a byte."""
    if "\udc80" <= one <= "\udcff":
        return f"\\x{ord(one) - 0xDC00:02x}"
    return one.encode("unicode_escape", "surrogatepass").decode("ascii")


def raised(text: str) -> str:
    """Return an exponent in plain digits."""
    return "^" + unicodedata.normalize("NFKC", text).replace("−", "-")


def spelt(one: str, encoding: str) -> str:
    """Return what stands for a character that an encoding lacks."""
    if one in SPELT:
        return SPELT[one]
    name = unicodedata.name(one, "")
    if name.startswith("GREEK") and "LETTER" in name:
        word = name.partition("LETTER ")[2].split()[0].lower()
        return word.title() if "CAPITAL" in name else word
    parts = unicodedata.normalize("NFKD", one)
    apart = " " if "⁄" in parts else ""  # a fraction in one character stands behind whole ones
    bare = apart + "".join(SPELT.get(part, part) for part in parts if not unicodedata.combining(part))
    return bare if bare and fits(bare, encoding) else escaped(one)
