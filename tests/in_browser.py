"""JavaScript run by a browser, or by Node where there is none; a machine that has neither skips the tests."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest

#: Names under which systems install the browser.
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


def path_of_browser() -> str | None:
    """Return the program of a browser, if this machine has one."""
    return next(filter(None, map(shutil.which, BROWSERS)), None)


@contextmanager
def browser() -> Iterator[Any]:
    """Start a browser without a window; skip where there is none."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed: no page was opened")
    found = path_of_browser()
    if found is None:
        pytest.skip(f"no browser ({', '.join(BROWSERS)}): no page was opened")
    with playwright.sync_playwright() as started:
        opened = started.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield opened
        opened.close()


@contextmanager
def engine(code: str) -> Iterator[Callable[[str, Any], Any]]:
    """Give a function that calls JavaScript on data, after some code; in the browser if there is one, else in Node."""
    if path_of_browser() is None and (node := shutil.which("node")):

        def call(function: str, data: Any) -> Any:
            whole = f"{code}\nconsole.log(JSON.stringify(({function})({json.dumps(data)})));"
            done = subprocess.run([node, "-"], input=whole, capture_output=True, text=True, check=False)
            assert done.returncode == 0, done.stderr
            return json.loads(done.stdout)

        yield call
        return
    with browser() as opened:
        page = opened.new_page()
        page.add_script_tag(content=code)
        yield lambda function, data: json.loads(
            page.evaluate(f"(data) => JSON.stringify(({function})(JSON.parse(data)))", json.dumps(data))
        )
