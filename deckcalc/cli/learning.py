"""What teachers and students ask for: a folder of notebooks marked, pages that calculate without a server."""

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


def write_site(options: argparse.Namespace) -> None:
    """Write the site, and say how many calculations it has and which have none."""
    from deckcalc.live.site import site

    out, count, left = site(options.folder)
    say(f"{count} calculations as pages that need no server: open {out / 'index.html'} in a browser")
    for key, why in left.items():
        say(f"{key} has no page: {why}")
