"""Check what opens workbooks: copies beside a job that name it, this machine alone, plain words where something is missing."""

import importlib.util
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import suppress

import pytest
from browser import axe
from in_browser import browser as browsing
from samples import folder

from deckcalc import InputError, cli
from deckcalc.cli import opening
from deckcalc.job import compute

HERE = re.escape("127.0.0.1")
SMALL = folder("notebooks") / "small_bars"


@pytest.fixture
def job(tmp_path):
    return shutil.copytree(SMALL, tmp_path / "my_job", ignore=shutil.ignore_patterns("package*"))


def sources(path):
    """Return the code of a notebook, and its outputs."""
    cells = [cell for cell in json.loads(path.read_text("utf-8"))["cells"] if cell["cell_type"] == "code"]
    return "\n".join("".join(cell["source"]) for cell in cells), [out for cell in cells for out in cell["outputs"]]


def test_workbooks_are_copied_beside_the_job_and_find_it(job, monkeypatch):
    place, copied = opening.books(job)
    assert place == job.with_name("my_job_workbooks") and sorted(path.name for path in place.iterdir()) == sorted(
        copied
    )
    assert "02_reinforcement.ipynb" in copied and "04_mix_and_batch.ipynb" not in copied  # what the job has
    for kind, count in (("explore_", 8), ("learn_", 9)):
        assert len([name for name in copied if name.startswith(kind)]) == count
    assert len([name for name in copied if name.startswith("explore_")]) == 8
    assert 'JOB = "../my_job"' in sources(place / opening.REVIEW)[0]
    code, outputs = sources(place / "02_reinforcement.ipynb")
    named = re.search(r'JOB = "(.+)"', code)[1]
    monkeypatch.chdir(place)
    assert compute(named).steel and outputs == []
    assert {path.name for path in job.iterdir()} == {
        path.name for path in SMALL.iterdir() if path.name[:7] != "package"
    }


def test_a_workbook_that_was_changed_stays(job):
    place, copied = opening.books(job)
    changed = place / copied[0]
    changed.write_text("mine", encoding="utf-8")
    (place / copied[1]).unlink()
    assert opening.books(job) == (place, [copied[1]])
    assert changed.read_text("utf-8") == "mine"


def test_without_a_job_the_copies_go_into_a_folder_of_their_own(tmp_path):
    place, copied = opening.books(None, tmp_path)
    assert place == tmp_path / "workbooks" and all(name.startswith(("explore_", "learn_")) for name in copied)


def test_a_job_that_cannot_be_read_has_the_workbooks_alone(job):
    (job / "job.toml").write_text("units = 'feet'", encoding="utf-8")
    assert all(name.startswith(("explore_", "learn_", "review_")) for name in opening.books(job)[1])


@pytest.mark.parametrize("what", ["open", "serve"])
def test_what_is_missing_is_named_with_the_extra(what, monkeypatch, capsys, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    assert cli.main([what]) == 1
    said = capsys.readouterr().err
    assert (
        opening.PROGRAMS[what] in said
        and "“workbooks”" in said.replace('"workbooks"', "“workbooks”")
        and "Traceback" not in said
    )
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_no_job_is_refused(tmp_path, capsys):
    assert cli.main(["open", str(tmp_path)]) == 1
    assert "there is no job.toml in it" in capsys.readouterr().err


@pytest.mark.parametrize("what", ["open", "serve"])
def test_only_this_machine_is_listened_to_and_strangers_are_kept_out(what, tmp_path):
    words = " ".join(opening.command(what, tmp_path, browser=False))
    assert "ip=127.0.0.1" in words and "--no-browser" in words
    assert not re.search(r"token=(''|\"\"|\s|$)|0\.0\.0\.0|allow_remote|disable_check", words)


def test_a_notebook_that_names_no_job_says_what_to_write(job, monkeypatch):
    monkeypatch.chdir(job)
    with pytest.raises(InputError, match=r"there is no such folder; .*is a job: write “\.” to name it"):
        compute("demo_si")


def test_a_fault_in_a_notebook_is_its_message_alone():
    assert InputError("d: found “x”")._render_traceback_() == ["InputError: d: found “x”"]


def answers(port):
    """Say whether anybody listens at a port of this machine."""
    with socket.socket() as one:
        return one.connect_ex(("127.0.0.1", port)) == 0


@pytest.fixture
def running(tmp_path, job):
    """Return a function that starts a command and gives the address that it prints."""
    started = []

    def start(what):
        env = {**os.environ, "PYTHONUNBUFFERED": "1", "PYTHONPATH": os.pathsep.join(sys.path)}
        words = [sys.executable, "-m", "deckcalc", what, str(job), "--no-browser"]
        with (tmp_path / "log").open("w") as log:
            started.append(
                subprocess.Popen(words, stdout=log, stderr=log, env=env, cwd=tmp_path, start_new_session=True)
            )
        for _ in range(600):
            said = (tmp_path / "log").read_text("utf-8")
            found = re.search(rf"http://{HERE}:(\d+)/\S*token=\w+", said)
            if found and answers(int(found[1])):
                return found[0]
            assert started[-1].poll() is None, said
            time.sleep(0.1)
        raise AssertionError(f"no address in {said}")

    yield start
    for process in started:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGTERM)
        process.wait(20)


def test_plain_pages_hold_forms_and_nothing_from_elsewhere(running):
    address = running("serve")
    base, token = address.split("?")
    with browsing() as browser:
        page = browser.new_page(viewport={"width": 1400, "height": 800})
        page.set_default_timeout(60_000)
        asked, refused = [], set()
        page.on("request", lambda request: asked.append(request.url))
        page.on("requestfailed", lambda request: refused.add(request.url) if request.failure == "csp" else None)
        page.goto(address)
        page.goto(f"{base.rstrip('/')}/voila/render/explore_safety.ipynb?{token}")
        page.wait_for_selector(".deckcalc .lines li")
        page.get_by_role("textbox").first.fill("3 m/s²")
        page.wait_for_function("() => document.querySelector('.deckcalc').dataset.answered >= 1")
        assert "workbook(" not in page.content() and axe(page, "serious", "critical") == []
        assert refused == {url for url in asked if not url.startswith((base.rsplit(":", 1)[0], "data:", "blob:"))}


def test_the_laboratory_asks_for_its_token(running):
    address = running("open")
    base = re.match(rf"http://{HERE}:\d+", address)[0]
    token = re.search(r"token=(\w+)", address)[1]
    with pytest.raises(urllib.error.HTTPError, match="403"):
        urllib.request.urlopen(f"{base}/api/contents")
    with urllib.request.urlopen(f"{base}/api/contents?token={token}") as answer:
        names = [one["name"] for one in json.load(answer)["content"]]
    assert "explore_mix.ipynb" in names
