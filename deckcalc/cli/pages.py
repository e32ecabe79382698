"""The command that writes the site of live calculations."""

from __future__ import annotations

import argparse

from deckcalc.ends import say


def write_site(options: argparse.Namespace) -> None:
    """Write the site, and say how many calculations it has and which have none."""
    from deckcalc.live.site import site

    out, count, left = site(options.folder)
    say(f"{count} calculations as pages that need no server: open {out / 'index.html'} in a browser")
    for key, why in left.items():
        say(f"{key} has no page: {why}")
