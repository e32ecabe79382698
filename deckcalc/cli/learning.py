"""What teachers ask for: a folder of notebooks marked."""

from __future__ import annotations

import argparse

from deckcalc import ends
from deckcalc.cli.printing import print_table
from deckcalc.ends import say


def mark(options: argparse.Namespace) -> None:
    """Print the marks of a folder of notebooks, and write them if asked to; no notebook is run."""
    from deckcalc.live import marking

    rows = marking.mark_folder(options.folder)
    print_table(marking.HEADS, [tuple(vars(row).values()) for row in rows])
    whole = [row for row in rows if row.mark]
    say(
        "",
        f"{sum(row.mark == '1' for row in whole)} of {len(whole)} answers right, in {len({row.notebook for row in rows})} notebooks.",
    )
    if options.out:
        options.left = f"The marks are complete: {options.out}."
        say(f"The marks are here: {marking.write(rows, options.out)}")
    for row in rows:
        if not row.mark:
            ends.complain(f"{row.notebook}: {row.said}")
