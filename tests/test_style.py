"""Check that the code is clean: lint, layout and types."""

import importlib.util
import subprocess
import sys

import pytest

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


def test_imports_run_one_way():
    """The contracts stand in pyproject.toml: no circle, type imports included."""
    run = "from importlinter.cli import lint_imports_command as run; run(['--no-cache'])"
    done = subprocess.run([sys.executable, "-c", run], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
