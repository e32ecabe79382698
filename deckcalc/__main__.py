"""Run the command line with ``python -m deckcalc``."""

from deckcalc.ends import entry

entry()
