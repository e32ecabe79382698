"""Run the command line with ``python -m deckcalc``."""

from deckcalc.cli import entry

entry()
