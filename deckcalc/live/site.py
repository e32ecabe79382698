"""A folder of pages that needs no server and no network: each calculation as a live form, its hand calculation beside it."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from html import escape
from importlib.resources import files
from pathlib import Path

from deckcalc import __version__, published
from deckcalc.base.errors import PackageError
from deckcalc.base.replacing import MANIFEST, hashes, holding, named, put, sealed, strangers
from deckcalc.core import javascript
from deckcalc.core.boundary import Param
from deckcalc.core.calculation import Calculation
from deckcalc.core.javascript import Rules, TranslationError
from deckcalc.core.javascript.reading import spelled
from deckcalc.core.javascript.rules import literal
from deckcalc.core.sources import bibliography
from deckcalc.core.units import InputError
from deckcalc.core.words import worded
from deckcalc.live.declared import formulas, inline, script, start, wanted
from deckcalc.show.typeset import symbol

#: Subjects of the index, in the order of the work.
SUBJECTS = {
    "patch": "Patches", "steel": "Reinforcement", "chloride": "Chlorides and service life", "mix": "Concrete mixes",
    "formwork": "Formwork", "curing": "Curing and opening", "traffic": "Traffic control", "closure": "Closure and cost",
    "safety": "Safety of the crew",
}  # fmt: skip
CAUTIONS = (
    "Work on a bridge deck can hurt and kill: traffic beside the closure, falls through full-depth holes and over edges, silica dust, "
    "fresh concrete on skin and in eyes, loads on a slab that is thinner than it was.",
    "This page is for learning and for checking by hand. It is no design and no permission: it defers to local codes, to the owner’s "
    "standards and to the licensed engineer in charge, whose judgement nothing here replaces.",
)
#: Nothing is loaded but the files beside the page; nothing is sent anywhere.
POLICY = (
    "default-src 'none'; style-src 'self' file:; script-src 'self' file: {hashes}; base-uri 'none'; form-action 'none'"
)


def site(out: Path) -> tuple[Path, int, dict[str, str]]:
    """Write the site.

    Parameters
    ----------
    out : Path
        A folder that is free, empty, or holds a site that nobody changed.

    Returns
    -------
    tuple of Path, int and dict
        The folder, how many calculations have a page, and those that have none, each with the reason.

    Raises
    ------
    PackageError
        If the folder holds what may not be replaced, or cannot be written.
    InputError
        If a library that sets formulas is not installed.
    """
    if found := strangers(out.resolve()):
        raise PackageError(
            f"{out} is not a site that may be replaced: {named(found)}; nothing was touched; name another folder"
        )
    try:
        made, left = pages()
    except ImportError as error:
        raise InputError(f"a site wants the library {error.name}; install deckcalc[notebooks]") from None
    with holding(out) as holder:
        work = holder / "new"
        work.mkdir()
        for name, text in made.items():
            (work / name).write_text(text, encoding="utf-8", newline="")
        contents = {"made by": f"deckcalc {__version__}", "without a page": left, "files": hashes(work)}
        (work / MANIFEST).write_bytes(sealed(contents))
        put(work, out, beside=False)
    return out, sum(name.count(".") > 1 for name in made), left


def pages() -> tuple[dict[str, str], dict[str, str]]:
    """Return every file of the site by its name, and the calculations without a page with the reason."""
    made = {"style.css": own("page.css"), "deckcalc.js": engine()}
    left: dict[str, str] = {}
    shown: list[Calculation] = []
    declared = published.register()
    for one in declared.values():
        try:
            text = page(one, [other for other in declared.values() if base(other) == base(one)])
        except TranslationError as error:
            left[one.key] = str(error)
            continue
        made[file_name(one)] = text
        shown.append(one)
    from deckcalc.live import lessons  # which takes pages apart that this module makes

    taught = lessons.pages({file_name(one) for one in shown})
    made |= {name: text for name, (_, text) in taught.items()}
    made["index.html"] = index(shown, left, {name: title for name, (title, _) in taught.items()})
    return made, left


def own(name: str) -> str:
    """Return a file that travels with this package."""
    return (files(__package__) / name).read_text(encoding="utf-8")


def engine() -> str:
    """Return the script that all pages share: arithmetic, reading, digits, the calculation by hand, the form."""
    scripts = [
        javascript.runtime("runtime", "digits", "reading"),
        own("hand.js"),
        own("page.js"),
        own("mark.js"),
        own("index.js"),
    ]
    return "\n".join([*scripts, f"reading.use({json.dumps(spelled(), ensure_ascii=False, separators=(',', ':'))});\n"])


def base(one: Calculation) -> str:
    """Return the key of a calculation without its form."""
    return one.key.partition(" (")[0]


def file_name(one: Calculation) -> str:
    """Return the name of a page.

    Examples
    --------
    >>> from deckcalc.curing import modulus
    >>> file_name(modulus.form("US"))
    'curing.modulus-US.html'
    """
    return re.sub(r"[^A-Za-z0-9._]+", "-", one.key).strip("-") + ".html"


def said(text: str) -> str:
    """Return a text for a page, with its US wording where that differs."""
    american = worded(text, "US")
    return escape(text) if american == text else f'<span data-us="{escape(american)}">{escape(text)}</span>'


def document(title: str, body: str, work: str) -> str:
    """Return a page that loads the shared files and runs one script of its own, and may do nothing else."""
    digest = base64.b64encode(hashlib.sha256(work.encode()).digest()).decode()
    policy = POLICY.format(hashes=f"'sha256-{digest}'")
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="referrer" content="no-referrer">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(title)}</title>
<link rel="stylesheet" href="style.css">
</head>
<body>
{body}
<script src="deckcalc.js"></script>
<script>{work}</script>
</body>
</html>
"""


def page(one: Calculation, forms: list[Calculation]) -> str:
    """Return the page of a calculation.

    Raises
    ------
    TranslationError
        If it has no translation.
    """
    rules = Rules()
    declaration = script(one, rules)
    begin, first = start(one), "US" if one.form_name == "US" else "SI"
    work = f"{javascript.functions(rules)}page({declaration}, {literal(begin)}, {literal(first)});".replace(
        "</", "<\\/"
    )
    title = f"{one.title} ({one.form_name})" if one.form_name else one.title
    fields = "\n".join(field(one, param) for param in one.params.values())
    lines = "\n".join(line(one, place) for place in range(len(one.lines)))
    units = ""
    if one.empirical:
        shown = [
            f"{inline(symbol(name))} {'in ' + escape(u) if u else 'without unit'}" for name, u in one.unit_of.items()
        ]
        units = f'<p class="hint">Empirical: the formula takes plain numbers, where {", ".join(shown)}.</p>'
    body = f"""<nav aria-label="Site"><a href="index.html">All calculations</a>{others(one, forms)}</nav>
<main>
<h1>{said(title)}</h1>
<p>{said(about(one))}</p>
<noscript><p><strong>This page calculates in the browser: allow it to run the scripts beside it.</strong></p></noscript>
<div class="columns">
<form autocomplete="off" aria-label="Values">
<fieldset><legend>Units of the calculation</legend>
<label><input type="radio" name="system" value="SI" checked> SI</label>
<label><input type="radio" name="system" value="US"> US customary</label>
<button type="button" id="example">Example values</button></fieldset>
<div class="fields">
{fields}
</div>
</form>
<section id="sheet" aria-labelledby="by-hand" tabindex="0">
<h2 id="by-hand">Calculation by hand</h2>
<p id="status" role="status"></p>
{units}
<ol class="lines">
{lines}
</ol>
</section>
</div>
{remarks(one)}
{cautions()}
</main>"""
    return document(f"{title} – deckcalc", body, work)


def about(one: Calculation) -> str:
    """Return the first paragraph of what a calculation says of itself."""
    return " ".join((one.__doc__ or "").strip().partition("\n\n")[0].replace("`", "").split())


def others(one: Calculation, forms: list[Calculation]) -> str:
    """Return links to the other forms of a calculation."""
    found = [f'<a href="{file_name(form)}">{escape(form.form_name)}</a>' for form in forms if form is not one]
    return f" · other forms: {', '.join(found)}" if found else ""


def field(owner: Calculation, param: Param) -> str:
    """Return one field: its meaning, symbol and range, the entry, and a place for what is wrong with it."""
    name = param.name
    described = f'id="f-{name}" name="{name}" aria-describedby="h-{name} e-{name}" aria-invalid="false"'
    if param.choices:
        options = "".join(f"<option>{escape(choice)}</option>" for choice in param.choices)
        entry, sign, hint = f"<select {described}>{options}</select>", "", ""
    else:
        entry = f'<input type="text" inputmode="text" spellcheck="false" {described}>'
        sign = f" {inline(symbol(name))}"
        hint = f'<span data-us="{escape(wanted(param, "US"))}">{escape(wanted(param, "SI"))}</span>'
        if param.several:
            hint = f"readings with “,” or “;” between them, each {hint}"
    settled = param.range and param.range.low == param.range.high and not param.required  # can be nothing else
    return f"""<div class="field"{" hidden" * bool(settled)}><label for="f-{name}">{said(param.meaning or name)}{sign}</label>
{entry}
<p class="hint" id="h-{name}">{hint}</p>
<p class="error" id="e-{name}"></p></div>"""


def line(owner: Calculation, place: int, prefix: str = "l") -> str:
    """Return the place of one line of the calculation by hand, its formula set."""
    one = owner.lines[place]
    constant = ""
    if one.helper:
        shown, numbers = inline(symbol(one.name)), ""
    elif one.constant:
        shown, numbers = inline(symbol(one.name)), ""
        constant = f", {escape(str(owner.written_constants[one.constant]))} by the form {escape(owner.form_name)}"
    else:
        shown, numbers = formulas(one.name, one.expression, one.operands)[0], '<span class="numbers"></span>'
    cites = "; ".join(str(cite) for cite in one.helper.source) if one.helper else ""
    cited = f' <span class="hint">{escape(cites)}</span>' if cites else ""
    return (
        f'<li id="{prefix}-{one.name}"><p><span class="comment">{said(one.comment)}</span><span class="says"></span>{constant}{cited}</p>'
        f'<div class="equation">{shown}{numbers}<span class="result"></span></div></li>'
    )


def remarks(one: Calculation) -> str:
    """Return sources and limits of validity."""
    works = bibliography()
    cites = [str(cite) + (f": {works[cite.key]}" if cite.key in works else "") for cite in one.source]
    parts = ["<section><h2>Sources</h2><ul>", *(f"<li>{escape(text)}</li>" for text in cites), "</ul></section>"]
    if one.notes:
        parts += [
            "<section><h2>Simplifications and limits</h2><ul>",
            *(f"<li>{said(text)}</li>" for text in one.notes),
            "</ul></section>",
        ]
    return "".join(parts)


def cautions() -> str:
    """Return what stands on every page."""
    return (
        f'<section class="cautions"><h2>Cautions</h2>{"".join(f"<p>{escape(text)}</p>" for text in CAUTIONS)}</section>'
    )


def index(shown: list[Calculation], left: Mapping[str, str], taught: Mapping[str, str]) -> str:
    """Return the list of all calculations by subject, and of the lessons."""
    parts = []
    for subject, title in SUBJECTS.items():
        items = [
            f'<li data-words="{escape(f"{one.title} {one.key} {title}".lower())}"><a href="{file_name(one)}">{said(one.title)}'
            f"{f' ({escape(one.form_name)})' if one.form_name else ''}</a></li>"
            for one in sorted(shown, key=lambda one: (one.title, one.key)) if one.subject == subject
        ]  # fmt: skip
        parts.append(f'<section data-subject="{subject}"><h2>{escape(title)}</h2><ul>{"".join(items)}</ul></section>')
    without = "".join(f"<li>{escape(key)}: {escape(why)}</li>" for key, why in left.items())
    body = f"""<main>
<h1>Calculations for patch repairs of bridge decks</h1>
<p>Each opens as a form with the calculation by hand beside it, in SI or US customary units. Nothing is sent anywhere.</p>
<p><label for="words">Words that the title holds</label><input type="search" id="words"></p>
<p id="status" role="status"></p>
<section><h2>Lessons with exercises</h2><ul>{"".join(f'<li><a href="{name}">{escape(title)}</a></li>' for name, title in taught.items())}</ul></section>
<div class="subjects">
{chr(10).join(parts)}
</div>
{f"<section><h2>Without a page</h2><p>These run in Python alone:</p><ul>{without}</ul></section>" if without else ""}
{cautions()}
</main>"""
    return document("Calculations – deckcalc", body, "index();")
