"""A review that is handed out: its sheet written into a folder, printed as JSON, or its changes written into the job."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from deckcalc.cli.printing import say_data
from deckcalc.ends import say

if TYPE_CHECKING:
    from deckcalc.job.changes import Changes
    from deckcalc.job.folder import Contents
    from deckcalc.job.review import Review
    from deckcalc.job.write_back import Proposal


def require_place(options: argparse.Namespace) -> None:
    """Refuse a folder for the sheet that holds anything, before anything is computed."""
    if options.out is not None:
        from deckcalc.package import review_sheet

        review_sheet.require_free(options.out)


def handed_out(outcome: Review, filed: Path | Contents, options: argparse.Namespace) -> bool:
    """Write the review sheet where one is asked for, and print JSON where that is; return whether it was printed."""
    if options.out is None and not options.json:
        return False
    from deckcalc.job import compute
    from deckcalc.package import review_sheet

    job = compute(filed)
    if options.out is not None:
        review_sheet.write(outcome, job, options.out)
        options.left = f"The review sheet is complete: {options.out}."
    if options.json:
        say_data(review_sheet.as_data(outcome, job))
    elif options.out is not None:
        say("The review sheet is here:", *(f"  {path}" for path in sorted(options.out.iterdir())), "")
    return bool(options.json)


def proposed(place: Contents, changes: Changes) -> Proposal:
    """Return the files of a job folder as they would be written."""
    from deckcalc.job.write_back import propose

    return propose(place, changes)


def written(proposal: Proposal, write: bool) -> None:
    """Print the difference, and write it where that is asked for."""
    say("", "Difference", *(f"  {line}" for line in proposal.difference.splitlines()), "")
    if not proposal.files:
        say("The files hold these values already.")
    elif write:
        say("Written:", *(f"  {path}" for path in proposal.write()))
    else:
        say("Nothing was written; --write writes it.")
