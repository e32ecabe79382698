"""The lessons as pages of the site: their text from the notebooks, their exercises with numbers drawn while the site is made."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Collection
from html import escape
from pathlib import Path
from typing import Any

import pypandoc

from deckcalc.core import javascript, units
from deckcalc.core.javascript import Rules
from deckcalc.core.javascript.reading import kind as kind_read
from deckcalc.core.javascript.rules import literal
from deckcalc.core.sources import folder
from deckcalc.core.units import Kind
from deckcalc.live import exercises, lesson, site
from deckcalc.live.declared import script
from deckcalc.live.exercises import Exercise
from deckcalc.live.questions import EXERCISES
from deckcalc.published import register

#: Sets of numbers of each exercise.
SETS = 40
SYSTEMS: tuple[units.System, ...] = ("SI", "US")
#: How pandoc reads the text of a lesson, and writes its formulas.
READER = "commonmark_x+tex_math_dollars-raw_html"


def pages(known: Collection[str]) -> dict[str, tuple[str, str]]:
    """Return title and text of every lesson's page by its name; links go to those pages of calculations that are `known`."""
    found = {}
    for path in sorted(folder("notebooks").glob("learn_*.ipynb")):
        found[f"lesson-{path.stem.removeprefix('learn_')}.html"] = page(path, known)
    return found


def page(path: Path, known: Collection[str]) -> tuple[str, str]:
    """Return title and text of the page of a lesson."""
    title, parts, asked = "", [], []
    for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
        source = "".join(cell["source"])
        if cell["cell_type"] == "markdown":
            if source.startswith("## Exercises"):
                break
            if source.startswith("# "):
                title = source.partition("\n")[0].removeprefix("# Learn: ")
                title = title[0].upper() + title[1:]
                continue
            parts.append(source)
        else:
            parts += [shown for call in called(source) if (shown := instead(call, known))]
    for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
        asked += re.findall(r'lesson\.ask\("([\w-]+)"\)', "".join(cell["source"]))
    text = pypandoc.convert_text("\n\n".join(parts), "html", READER, extra_args=["--mathml", "--sandbox"])
    rules = Rules()
    made = [declared(EXERCISES[key], rules) for key in asked]
    work = f"{javascript.functions(rules)}lesson([{', '.join(made)}], {literal(marks())});".replace("</", "<\\/")
    sets = "".join(f"<option>{number}</option>" for number in range(1, SETS + 1))
    body = f"""<nav aria-label="Site"><a href="index.html">All calculations</a></nav>
<main>
<h1>{escape(title)}</h1>
{bare(text)}
<h2>Exercises</h2>
<noscript><p><strong>Answers are marked in the browser: allow it to run the scripts beside this page.</strong></p></noscript>
<form id="numbers" autocomplete="off" aria-label="Numbers of the exercises">
<fieldset><legend>Numbers of the exercises</legend>
<label><input type="radio" name="system" value="SI" checked> SI</label>
<label><input type="radio" name="system" value="US"> US customary</label>
<label for="set">Set</label> <select id="set" name="set">{sets}</select></fieldset>
</form>
{"".join(form(EXERCISES[key], number) for number, key in enumerate(asked, 1))}
{site.cautions()}
</main>"""
    return title, site.document(f"{title} – deckcalc", body, work)


def bare(text: str) -> str:
    """Return what pandoc wrote without styles, which a page may not hold, and TeX; what is wide scrolls."""
    made = re.sub(r'\s+style="[^"]*"| xmlns="[^"]*"|<annotation .*?</annotation>', "", text, flags=re.DOTALL)
    scrolled = '<div class="scrolled" tabindex="0" role="group" aria-label="Table"><table>'
    made = made.replace("<table>", scrolled).replace("</table>", "</table></div>")
    formula = r'<span class="scrolled" tabindex="0" role="group" aria-label="Formula">\1</span>'
    return re.sub(r'(<math display="block">.*?</math>)', formula, made, flags=re.DOTALL)


def called(source: str) -> list[ast.Call]:
    """Return the calls that a cell consists of."""
    return [
        one.value for one in ast.parse(source).body if isinstance(one, ast.Expr) and isinstance(one.value, ast.Call)
    ]


def instead(call: ast.Call, known: Collection[str]) -> str:
    """Return what stands on a page in the place of a cell: a link to the calculation of a form, a published example worked."""
    name = ast.unparse(call.func)
    named = {str(one.arg): str(one.value.value) for one in call.keywords if isinstance(one.value, ast.Constant)}
    if name == "worked":
        text = ast.literal_eval(call.args[0])
        return str(lesson.worked(text, named.get("system", "SI")))  # type: ignore[arg-type]
    if name != "workbook":
        return ""
    key = ast.unparse(call.args[0]) + (f" ({named['form']})" if "form" in named else "")
    one = register()[key]
    if site.file_name(one) not in known:
        return f"Form: {one.title}."
    values = "; ".join(f"{arg} = {value}" for arg, value in named.items() if arg in one.params)
    return f"Form to try: [{one.title}]({site.file_name(one)}), with {values}."


def marks() -> dict[str, Any]:
    """Return what an answer is marked by."""
    return {
        "said": exercises.SAID, "rightWithin": exercises.RIGHT, "roundedWithin": exercises.ROUNDED,
        "powers": [list(one) for one in exercises.POWERS.items()], "factors": [list(one) for one in exercises.FACTORS.items()],
    }  # fmt: skip


def declared(exercise: Exercise, rules: Rules) -> str:
    """Return an exercise as a JavaScript object: its tasks as data, its solution as the calculation."""
    tasks = {system: [task(exercise, str(seed), system) for seed in range(1, SETS + 1)] for system in SYSTEMS}
    answer = {system: answered(exercise.task("0", system).kind, system) for system in SYSTEMS}
    made = {
        "key": exercise.key, "question": exercise.question, "hints": list(exercise.hints), "tasks": tasks, "answer": answer,
        "mistakes": [one.words for one in exercise.mistakes],
    }  # fmt: skip
    solutions = ", ".join(
        f"{system}: {{prefix: {literal(prefix(exercise, system))}, declared: {script(exercise.task('0', system).calculation, rules)}}}"
        for system in SYSTEMS
    )
    return f"{{...{literal(made)}, solutions: {{{solutions}}}}}"


def task(exercise: Exercise, seed: str, system: units.System) -> dict[str, Any]:
    """Return a task as data: its values, the right number and those of the mistakes in the unit of the answer."""
    one = exercise.task(seed, system)
    shown = one.number(units.read(one.printed, one.kind))
    return {
        "given": dict(one.given), "right": one.number(one.answer), "printed": one.printed, "shown": shown,
        "wrong": [value for value, _ in one.wrong],
    }  # fmt: skip


def answered(kind: Kind, system: units.System) -> dict[str, Any]:
    """Return how an answer is read, and taken to the unit of the system."""
    wanted = kind.a_name + ("" if kind.dimensionless else f", for instance “{units.example(kind)}”")
    unit = list(kind.scale(kind.unit(system)))
    return {"kind": kind_read(kind), "wanted": wanted, "unit": unit, "dimensionless": kind.dimensionless}


def prefix(exercise: Exercise, system: str) -> str:
    """Return how the names of a solution's places begin."""
    return f"{exercise.key}-{system}"


def form(exercise: Exercise, number: int) -> str:
    """Return the place of an exercise: question, answer, what is said of it, hints, and its solution by hand."""
    key, solutions = exercise.key, []
    for system in SYSTEMS:
        name, one = prefix(exercise, system), exercise.task("0", system).calculation
        shown = "\n".join(site.line(one, place, name) for place in range(len(one.lines)))
        solutions.append(f'<ol class="lines" id="{name}" hidden>{shown}</ol>')
    return f"""<section aria-labelledby="title-{key}"><h3 id="title-{key}">Exercise {number}</h3>
<p id="question-{key}"></p>
<form id="form-{key}" autocomplete="off">
<label for="answer-{key}">Answer of exercise {number}, with its unit</label>
<input type="text" id="answer-{key}" spellcheck="false" aria-describedby="question-{key} said-{key}" aria-invalid="false">
<button>Check</button> <button type="button" id="hint-{key}">Hint</button>
<p id="said-{key}" class="said" role="status"></p>
</form>
<ol id="hints-{key}" aria-live="polite"></ol>
<details id="solution-{key}"><summary>Solution by hand</summary>{"".join(solutions)}</details>
</section>
"""
