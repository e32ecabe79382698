"""Pages for the phone, written by command."""

from __future__ import annotations

import argparse

from deckcalc import ends
from deckcalc.ends import say


def field(options: argparse.Namespace) -> None:
    """Write the page of each night of the adopted plan, or of one, and say whether anybody may work by it."""
    from deckcalc.job.order import compute
    from deckcalc.live.phone import write
    from deckcalc.package import front

    job = compute(options.job)
    made, gone = write(job, options.out or options.job / "phone", options.night)
    options.left = f"The pages are complete: {made[0].parent}."
    say("One file a night, to be opened on the phone; it needs no connection:", *(f"  {path}" for path in made))
    for name in gone:
        ends.complain(f"{name} was of other inputs and is gone: write it again")
    if why := front.not_for_work(job):
        say(f"Marked {front.NOT_FOR_WORK}: {why}.")
