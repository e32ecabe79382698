"""A page for the phone: one file a night that works with no connection and no server, its rules those of the crew's set."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Sequence
from functools import cache
from html import escape
from pathlib import Path

from deckcalc import __version__
from deckcalc.base.errors import PackageError
from deckcalc.base.replacing import MANIFEST, hashes, holding, named, put, sealed, strangers
from deckcalc.base.work import Closure
from deckcalc.core import javascript
from deckcalc.core.calculation import Calculation
from deckcalc.core.javascript import Rules
from deckcalc.core.javascript.reading import spelled
from deckcalc.core.javascript.rules import literal
from deckcalc.core.units import InputError
from deckcalc.job import Job
from deckcalc.live.declared import argument
from deckcalc.live.phone_data import CALCULATIONS, night
from deckcalc.live.site import own
from deckcalc.package import crew, front

#: Nothing is loaded and nothing is sent: the page runs its own script, and has its own style.
POLICY = "default-src 'none'; style-src '{style}'; script-src {scripts}; base-uri 'none'; form-action 'none'"
CAUTIONS = (
    "Work on a bridge deck can hurt and kill: traffic beside the closure, falls through full-depth holes and over edges, silica dust, "
    "fresh concrete on skin and in eyes, loads on a slab that is thinner than it was. Read this page away from traffic and from the edge.",
    "This page does not replace the engineer in charge, the local safety code or the printed set: where they differ, or a value lies outside "
    "what was worked out, stop and call. Anyone may stop the work.",
)


def pages(job: Job, names: Sequence[str] = ()) -> dict[str, str]:
    """Return the page of each night of the adopted plan, or of those that are named, by file name.

    Parameters
    ----------
    job : Job
        With patches, concretes and an adopted plan.
    names : sequence of str
        Closures; all if empty.

    Raises
    ------
    InputError
        If the job has no adopted plan, what a crew works by is missing, or a night is not of the plan.
    """
    if why := str(crew.why_none(job)).strip():
        raise InputError(
            f"{why.rstrip('.')}; a page for the phone is of a night of the adopted plan: see deckcalc adopt"
        )
    known = {closure.name: closure for closure in job.file.work}
    for name in names:
        if name not in known:
            raise InputError(f"found “{name}”, which is no night of the plan; wanted one of {', '.join(known)}")
    return {
        file_name(job, closure): page(job, closure) for name, closure in known.items() if not names or name in names
    }


def file_name(job: Job, closure: Closure) -> str:
    """Return the name of the page of a closure."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", f"{job.settings.package.number}-{closure.name}").strip("-") + ".html"


def page(job: Job, closure: Closure) -> str:
    """Return the page of one closure, whole in one file."""
    data, style = night(job, closure), own("phone.css")
    work = f"phone({json.dumps(data, ensure_ascii=False, separators=(',', ':'))});".replace("</", "<\\/")
    scripts = [engine(), work]
    policy = POLICY.format(style=digest(style), scripts=" ".join(f"'{digest(one)}'" for one in scripts))
    title = f"{data['package']}, {data['closure']}"
    stop = f'<p id="stops" role="note"><strong>{front.NOT_FOR_WORK}</strong>: {escape(data["stops"])}</p>' if data["stops"] else ""  # fmt: skip
    cautions = "".join(f"<p>{escape(text)}</p>" for text in (*CAUTIONS, data["scenario"]) if text)
    rests = (
        f"Worked out beforehand by deckcalc {__version__} from package {data['package']}, revision {data['revision']}, inputs "
        f"{data['inputs'][: crew.MARK]} (whole hash {data['inputs']}): calculations of the filed document in translation, and its tables for "
        "readings, looked up on the safe side and never between rows. The volume goes by the mean of the depths entered. Opening hours are by a "
        "curve: tests decide. The crew page with this mark beside its square code is of the same inputs."
    )
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="referrer" content="no-referrer">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(title)}</title>
<style>{style}</style>
</head>
<body>
<header>{stop}<h1>{escape(title)} <small>revision {escape(str(data["revision"]))}</small></h1>
<p>Lane closed {escape(data["closing"])}; open {escape(data["opening"])}</p>
<nav id="patches" aria-label="Patches"></nav></header>
<main>
<noscript><p><strong>This page calculates on the phone: allow it to run its script.</strong></p></noscript>
<div id="said" role="status"></div>
<section id="verdict" aria-live="polite" aria-label="What to do"></section>
<div id="patch"></div>
<section aria-labelledby="out"><h2 id="out">Give out and clear</h2>
<button type="button" id="give">Give out as a file</button>
<p id="given" role="status"></p>
<button type="button" id="clear">Clear all entries of this night</button>
<div id="others"></div></section>
<section aria-labelledby="whom"><h2 id="whom">Whom to call</h2><div id="call"></div></section>
<section class="cautions" aria-labelledby="care"><h2 id="care">Cautions</h2>{cautions}</section>
<section aria-labelledby="rests"><h2 id="rests">What this rests on</h2><p>{escape(rests)}</p></section>
<button type="button" id="brief" hidden></button>
</main>
<script>{scripts[0]}</script>
<script>{scripts[1]}</script>
</body>
</html>
"""


def digest(text: str) -> str:
    """Return the hash by which a policy allows a script or a style."""
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"


@cache
def engine() -> str:
    """Return the script that all pages share: arithmetic, reading, the calculations in translation, the page."""
    rules = Rules()
    made = ", ".join(f"{json.dumps(one.key)}: {declared(one, rules)}" for one in CALCULATIONS)
    parts = [
        javascript.runtime("runtime", "digits", "reading"), own("hand.js"), javascript.functions(rules), f"const C = {{{made}}};", own("phone_rules.js"), own("phone.js"),
        f"reading.use({json.dumps(spelled(), ensure_ascii=False, separators=(',', ':'))});",
    ]  # fmt: skip
    return "\n".join(parts).replace("</", "<\\/")


def declared(one: Calculation, rules: Rules) -> str:
    """Return a calculation as the page runs it: its arguments with their ranges, its lines as functions."""
    kept = ("name", "meaning", "low", "high", "slack", "above")
    params = [
        {key: value for key, value in argument(one, param).items() if key in kept} for param in one.params.values()
    ]
    lines = ", ".join(
        f"{{name: {json.dumps(name)}, run: {work}}}" for name, work in javascript.lines(one, rules).items()
    )
    return f"{{key: {json.dumps(one.key)}, params: {literal(params)}, lines: [{lines}]}}"


def write(job: Job, out: Path, names: Sequence[str] = ()) -> tuple[list[Path], list[str]]:
    """Write the pages whole or not at all; pages of other nights that stand there for the same inputs stay.

    Parameters
    ----------
    job : Job
    out : Path
        A folder that is free, empty, or holds pages that nobody changed.
    names : sequence of str
        Closures; all if empty.

    Returns
    -------
    tuple of list of Path and list of str
        The pages written, and the names of former ones that went because they were of other inputs.

    Raises
    ------
    InputError
        If there is nothing to write; see `pages`.
    PackageError
        If the folder holds what may not be replaced, or cannot be written.
    """
    if found := strangers(out.resolve()):
        raise PackageError(f"{out} holds what is no page for the phone: {named(found)}; nothing was touched; name another folder with --out")  # fmt: skip
    made, mark = pages(job, names), crew.inputs_hash(job)
    kept, gone = former(out, mark, made)
    with holding(out) as holder:
        work = holder / "new"
        work.mkdir()
        for name, text in {**kept, **made}.items():
            (work / name).write_text(text, encoding="utf-8", newline="")
        (work / MANIFEST).write_bytes(
            sealed({"made by": f"deckcalc {__version__}", "inputs": mark, "files": hashes(work)})
        )
        put(work, out, beside=False)
    return [out / name for name in made], gone


def former(out: Path, mark: str, made: dict[str, str]) -> tuple[dict[str, str], list[str]]:
    """Return the pages of other nights that stand in a folder: those of the same inputs, and the names of the others."""
    if not (out / MANIFEST).is_file():
        return {}, []
    there = [path for path in sorted(out.glob("*.html")) if path.name not in made]
    if json.loads((out / MANIFEST).read_text(encoding="utf-8")).get("inputs") != mark:
        return {}, [path.name for path in there]
    return {path.name: path.read_text(encoding="utf-8") for path in there}, []
