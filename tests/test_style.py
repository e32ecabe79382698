"""Check that the code is clean: lint, layout and types."""

import importlib.util
import re
import subprocess
import sys

import pytest
from samples import REGISTER

from deckcalc.core.sources import folder

ROOT = folder("notebooks").parent


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "check", "--no-cache", "."],
        ["ruff", "format", "--no-cache", "--check", "."],
        ["mypy", "--no-error-summary"],
    ],
    ids=["lint", "layout", "types"],
)
def test_the_code_is_clean(command):
    if not importlib.util.find_spec(command[0]):
        pytest.skip(f"{command[0]} is not installed")
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_trades_do_not_know_one_another_and_no_calculation_knows_rendering():
    trades = sorted({one.subject for one in REGISTER.values()})
    assert len(trades) >= 4
    others = (
        "job",
        "jobfile",
        "inputs",
        "course",
        "sheet",
        "sheets",
        "sections",
        "figures",
        "package",
        "binder",
        "review",
        "workbook",
        "cli",
    )
    foreign = (
        "matplotlib",
        "pandas",
        "handcalcs",
        "IPython",
        "ipywidgets",
        "pydantic",
        "nbclient",
        "typst",
        "pypandoc",
    )
    for trade in trades:
        for path in (ROOT / "deckcalc" / trade).rglob("*.py"):
            text = path.read_text(encoding="utf-8")
            imported = re.findall(
                r"^\s*from deckcalc(?:\.([\w.]+))? import (.+)$|^\s*import (\w+)|^\s*from (\w+)", text, re.M
            )
            for inside, names, plain, other in imported:
                roots = {inside.partition(".")[0]} if inside else {name.strip() for name in names.split(",")}
                roots |= {plain, other}
                assert not roots & (set(trades) - {trade}), (path.name, roots)
                assert not roots & {*others, *foreign}, (path.name, roots)
