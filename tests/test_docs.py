"""Check what is said about the project: the two commands, the sources, and words that have no place in it."""

import inspect
import re
import shlex
import subprocess
import sys
import tomllib

import pytest

from deckcalc.core import sources, tables
from deckcalc.core.sources import folder
from deckcalc.package import build, schedule

ROOT = folder("notebooks").parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
TEXT = {
    ".py",
    ".md",
    ".toml",
    ".csv",
    ".ipynb",
    ".lua",
    ".typ",
    ".html",
    ".xml",
    ".openxml",
    ".yml",
    ".yaml",
    ".cfg",
    ".txt",
    "",
}
SKIPPED = {".git", ".venv", ".hypothesis", ".pytest_cache", ".mypy_cache", ".ruff_cache", ".benchmarks", "__pycache__", "package", "build", "dist",
           ".ipynb_checkpoints"}  # fmt: skip


def tree():
    """Return every text file of the project."""
    found = [
        path for path in sorted(ROOT.rglob("*"))
        if path.is_file() and path.suffix in TEXT and not SKIPPED & set(path.relative_to(ROOT).parts) and not path.name.endswith(".egg-info")
    ]  # fmt: skip
    return [path for path in found if path.name != ".gitignore" and "egg-info" not in str(path)]


def command(name):
    """Return the command that stands in the README below a mark."""
    block = README.partition(f"<!-- {name} -->")[2].partition("```")[2].partition("```")[0].strip()
    assert block and "\n" not in block, f"the README has one command below <!-- {name} -->"
    return block


def test_the_readme_has_its_two_commands_and_the_first_builds_the_demo_package():
    assert command("package").split(" && ")[-1].startswith(".venv/bin/deckcalc package notebooks/demo_")
    assert command("tests").split(" && ")[-1] == ".venv/bin/python -m pytest"
    for text in (command("package"), command("tests")):
        assert text.startswith("python3 -m venv .venv && .venv/bin/python -m pip install ")
    assert (ROOT / re.search(r"package (notebooks/\S+)", command("package"))[1] / "job.toml").is_file()


def test_continuous_integration_runs_exactly_the_test_command_of_the_readme(tmp_path):
    """The script is run with a stand-in for bash that prints what it would execute."""
    (tmp_path / ".ci").mkdir()
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    (tmp_path / "README.md").write_text(README, encoding="utf-8")
    (tmp_path / ".ci" / "run").write_text(script, encoding="utf-8")
    stand_in = tmp_path / "bin"
    stand_in.mkdir()
    (stand_in / "bash").write_text(
        '#!/bin/sh\nfor last; do :; done\nprintf "%s" "$last" > executed\n', encoding="utf-8"
    )
    (stand_in / "bash").chmod(0o755)
    shell = subprocess.run(
        ["/bin/bash", ".ci/run"],
        cwd=tmp_path,
        env={"PATH": f"{stand_in}:/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert shell.returncode == 0, shell.stderr
    assert (tmp_path / "executed").read_text(encoding="utf-8") == command("tests")


def test_commands_of_the_readme_are_commands_of_the_program():
    from deckcalc import cli

    parser = cli.parser()
    lines = [line.split("  #")[0].strip() for line in README.splitlines() if line.startswith("deckcalc ")]
    assert len(lines) >= 5
    for line in lines:
        parser.parse_args(shlex.split(line)[1:])  # ends the test if it is no command


def test_examples_of_the_readme_give_what_is_written_beside_them():
    from deckcalc import Q
    from deckcalc.steel import section_loss

    line = next(line for line in README.splitlines() if line.startswith("section_loss("))
    code, _, said = line.partition("#")
    value = eval(code, {"Q": Q, "section_loss": section_loss})
    assert f"{value:.1f~P}" == said.strip()


def test_pictures_of_the_readme_are_there():
    for place in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README):
        assert (ROOT / place).is_file(), place


def test_modules_named_in_the_documents_exist():
    for name in ("README.md", "DEVELOPERS.md"):
        path = ROOT / name
        assert path.is_file(), name
        for place in re.findall(
            r"`((?:deckcalc|references|notebooks|tests)/[\w./]+)`", path.read_text(encoding="utf-8")
        ):
            assert (ROOT / place).exists(), f"{name}: {place}"


#: Written in two halves, so that this file does not hold them.
FORBIDDEN = [
    "/" + "work/", "/" + "home/", "/" + "root/", "/" + "Users/", "/" + "tmp/", "C:" + "\\\\", "file" + "://", "py" + "pi.", "reg" + "istry.npm",
    "conda" + ".anaconda", "git" + "hub.com", "git" + "lab.com", "local" + "host", "share" + "d/checks", "TO" + "DO", "FIX" + "ME",
]  # fmt: skip


@pytest.mark.parametrize("word", FORBIDDEN)
def test_no_path_of_a_machine_and_no_host_stands_in_the_tree(word):
    files = tree()
    assert len(files) > 60
    found = [str(path.relative_to(ROOT)) for path in files if word in path.read_text(encoding="utf-8")]
    assert found == []


def test_addresses_stand_only_where_a_file_format_asks_for_them():
    """Name spaces of XML and the like; nothing is fetched."""
    names = re.compile(r"https?://(?:schemas\.|www\.w3\.org/|purl\.org/|127\.0\.0\.1)")
    mark = "http"
    for path in tree():
        for line in path.read_text(encoding="utf-8").splitlines():
            for address in re.findall(rf"{mark}s?://[\w.]*\w/?", line):
                assert names.match(address + "/") or path.name == "test_docs.py", f"{path.relative_to(ROOT)}: {address}"


def test_a_link_to_a_sheet_leads_to_its_heading():
    """The link of each subject stays in a document that holds the headings of the notebooks."""
    import nbformat

    notebooks = [nbformat.read(path, as_version=4) for path in (ROOT / "notebooks").glob("0*.ipynb")]
    heads = [cell.source for notebook in notebooks for cell in notebook.cells if cell.cell_type == "markdown"]
    for key in schedule.SHEETS:
        link = schedule.sheet(key)
        assert build.kept_links("\n\n".join([link, *heads])).startswith(link), link


def test_notebooks_are_filed_without_outputs_of_a_machine():
    import nbformat

    for path in sorted((ROOT / "notebooks").glob("*.ipynb")):
        notebook = nbformat.read(path, as_version=4)
        assert all(cell.source.strip() for cell in notebook.cells), path.name
        assert all(
            not cell.get("outputs") or cell.execution_count is not None
            for cell in notebook.cells
            if cell.cell_type == "code"
        )
        assert not any(out.output_type == "error" for cell in notebook.cells for out in cell.get("outputs", [])), (
            path.name
        )


# --- tables and bibliography


@pytest.mark.parametrize("name", tables.names())
def test_every_table_says_what_it_is_and_how_it_is_known(name):
    table = tables.load(name)
    for fact in ("title", "source", "where", "provenance"):
        assert table.facts.get(fact), fact
    assert table.facts["source"] in sources.bibliography()
    assert table.facts["provenance"] in sources.PROVENANCES
    assert table.rows
    for row in table.rows:
        assert None not in row and None not in row.values(), row  # as many cells as the header
        for column in row:
            if column.startswith("provenance"):
                assert row[column] in sources.PROVENANCES
        if row.get("source"):
            assert row["source"] in sources.bibliography()


@pytest.mark.parametrize("name", tables.names())
def test_every_table_is_used(name):
    code = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "deckcalc").rglob("*.py"))
    assert re.search(rf"[\"']{name}[\"']", code) or re.search(rf"[\"']{name.rpartition('_')[0]}_?[\"'{{]", code)


def test_a_limit_has_a_value_in_both_systems_or_in_none():
    for row in tables.load("limits").rows:
        assert bool(row["SI"]) == bool(row["US"]), row["key"]
        assert row["source"] or row["provenance"] == "common practice", row["key"]


@pytest.mark.parametrize("key", sources.bibliography())
def test_every_work_of_the_bibliography_has_a_title(key):
    work = sources.bibliography()[key]
    assert work.short and work.title and len(str(work)) > len(work.short)
    assert work.year == "" or re.search(r"(19|20)\d\d|undated", work.year)
    assert "http" not in str(work)


def test_short_names_of_works_are_not_given_twice():
    names = [work.short for work in sources.bibliography().values()]
    assert len(set(names)) == len(names) > 15


def test_the_version_is_stated_once():
    import deckcalc

    with (ROOT / "pyproject.toml").open("rb") as file:
        project = tomllib.load(file)
    assert "version" in project["project"]["dynamic"]
    assert f'__version__ = "{deckcalc.__version__}"' in inspect.getsource(deckcalc)
    assert sys.version_info >= tuple(int(x) for x in project["project"]["requires-python"].lstrip(">=").split("."))
