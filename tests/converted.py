"""A job written in the other unit system by program: every quantity in the other unit of its kind, with all its digits.

The converted job states the same facts under the same rules: which printed form of a table is read stays as it was
(``mix.tables`` and its like), and every limit that is rounded apart in the two systems is written out with the value that
it had. What remains different are the rules that a standard prints apart for hard metric work and that go by the unit
system of the job; the test of the conversion names them.
"""

import csv
import io
import re
from pathlib import Path

import tomlkit
from pydantic import BaseModel

from deckcalc.base.fields import InRange
from deckcalc.closure.inputs import PRICED
from deckcalc.core import tables, units
from deckcalc.core.units import InputError, Kind, Stress
from deckcalc.job.file import read_job
from deckcalc.job.rows import with_unit
from deckcalc.job.settings import ROWS, JobSettings

OTHER = {"SI": "US", "US": "SI"}
#: Sizes that the trade calls by their names in either system, and directions: they stay as they are.
DESIGNATIONS = {"passing", "nominal_size", "size", "type", "grade", "bearing", "skew", "time_zone"}
#: Texts of several quantities, and the kind of those that have a unit of either system.
SERIES = {"strengths": Stress}
SOURCE = "as in the job that this one was converted from"
QUANTITY = re.compile(r"[-+]?[\d./ -]*\d\.?(?:[eE][-+]?\d+)?\s+(?=[^\d\s])(.+)")
KINDS = [units.kind_of(one) for one in vars(units).values() if hasattr(one, "__metadata__")]


def classes(annotation):
    """Return every class that an annotation names, and the fields' readers beside them."""
    found, left = [], [annotation]
    while left:
        one = left.pop()
        left += [*getattr(one, "__args__", ()), *getattr(one, "__metadata__", ())]
        found.append(one)
    return found


def section(field, part=None):
    """Return the section that a field holds, None if it holds values; of several, the one that the kind of a part names."""
    models = [one for one in classes(field.annotation) if isinstance(one, type) and issubclass(one, BaseModel)]
    kind = part.get("kind") if hasattr(part, "get") else None
    named = [
        one for one in models if kind and kind in classes(getattr(one.model_fields.get("kind"), "annotation", None))
    ]
    return next(iter(named + models), None)


def declared(field):
    """Return the kind of the quantity that a field is declared to hold, None for any other field."""
    readers = [one for one in [*field.metadata, *classes(field.annotation)] if isinstance(one, InRange)]
    if not readers:
        return None
    kind = readers[0].kind
    return kind if isinstance(kind, Kind) else units.kind_of(kind)


def guessed(unit, source):
    """Return the kind that a written unit belongs to, None where it is no unit or needs no other."""
    try:
        found = units.unit(unit)
    except InputError:
        return None
    fitting = []
    for kind in KINDS:
        try:
            kind.scale(found)
        except InputError:
            continue
        if not kind.dimensionless and kind.si != kind.us:
            fitting.append(kind)
    same = [kind for kind in fitting if kind.unit(source) == found]
    return next(iter(same + fitting), None)


def number(value):
    """Write a number with all its digits but the last, in which the noise of a conversion stands."""
    return f"{float(value):.14g}"


def quantity(text, kind, system):
    """Write a quantity in the unit of the other system."""
    if kind.si == kind.us:
        return text
    return f"{number(units.magnitude(units.read(text, kind), kind, system))} {kind.symbol(system)}"


def value(text, field, name, source):
    """Write the value of a field in the unit of the other system."""
    if name in DESIGNATIONS or isinstance(text, bool) or not str(text).strip():
        return text
    if name in SERIES and isinstance(text, str):
        return re.sub(
            r"[\d.]+ (?:psi|ksi|MPa)", lambda one: quantity(one[0], units.kind_of(SERIES[name]), OTHER[source]), text
        )
    if field is not None and (kind := declared(field)):
        return quantity(text, kind, OTHER[source])
    match = QUANTITY.fullmatch(text.strip()) if isinstance(text, str) else None
    kind = guessed(match[1], source) if match else None
    return quantity(text, kind, OTHER[source]) if kind else text


def rewrite(model, data, source):
    """Write a section of job.toml, and all below it, in the other system; comments stay."""
    for name in list(data):
        field, one = model.model_fields.get(name), data[name]
        inner = section(field) if field else None
        if inner and hasattr(one, "items"):
            many = "dict" in str(field.annotation)
            for part in one.values() if many else [one]:
                rewrite(section(field, part), part, source)
        elif inner and isinstance(one, list):
            for part in one:
                rewrite(inner, part, source)
        elif isinstance(one, list):
            for place, cell in enumerate(one):
                if (new := value(cell, field, name, source)) != cell:
                    one[place] = new
        elif not hasattr(one, "items") and (new := value(one, field, name, source)) != one:
            put(data, name, new)


def put(data, name, new):
    """Put a value in the place of another, its comment kept."""
    trivia = data.item(name).trivia if hasattr(data, "item") else None
    data[name] = new
    if trivia is not None:
        item = data.item(name)
        item.trivia.comment, item.trivia.comment_ws = trivia.comment, trivia.comment_ws


def head(file):
    """Return job.toml in the other system."""
    source, target = file.system, OTHER[file.system]
    data = tomlkit.parse(file.verbatim["job.toml"].decode("utf-8-sig"))
    own = data.pop("limits", None)
    rewrite(JobSettings, data, source)
    put(data, "units", target)
    limits = tomlkit.table(is_super_table=True)
    for key, limit in file.limits.items():
        there = own[key] if own and key in own else None
        if there is None and same_in_both(key):
            continue
        one = tomlkit.table()
        one["value"] = written(limit.value, limit.kind, target)
        one["source"] = str(there["source"]) if there is not None else SOURCE
        limits[key] = one
    data["limits"] = limits
    return tomlkit.dumps(data)


def written(found, kind, system):
    """Write a quantity that was read."""
    return f"{number(units.magnitude(found, kind, system))} {kind.symbol(system)}".strip()


def same_in_both(key):
    """Whether a built-in limit is one value in both systems."""
    row = next(row for row in tables.load("limits").rows if row["key"] == key)
    if not (row["SI"] and row["US"]):
        return False
    kind = units.kind_of(getattr(units, row["kind"]))
    one, other = (float(units.read(row[system], kind).m_as(kind.base)) for system in OTHER)
    return abs(one - other) <= 1e-12 * abs(one)


def table(name, text, source):
    """Return a CSV table in the other system."""
    model, target = ROWS[name], OTHER[source]
    top, *rows = csv.reader(io.StringIO(text))
    heads = []
    for place, cell in enumerate(top):
        plain, _, unit = cell.strip().removesuffix("]").partition("[")
        column = plain.strip().lower().replace(" ", "_").replace("-", "_")
        column = {"from": "upper", "to": "lower"}.get(column, column)
        field = model.model_fields[column]
        kind = None if column in DESIGNATIONS else declared(field) or guessed(unit, source)
        if unit and kind and kind.si != kind.us:
            for row in rows:
                parts = [units.read(part, kind) for part in with_unit(row[place].strip(), unit).split(";") if part]
                row[place] = "; ".join(number(units.magnitude(part, kind, target)) for part in parts)
            cell = f"{plain.strip()} [{kind.symbol(target)}]"
        elif not unit:
            for row in rows:
                row[place] = value(row[place].strip(), field, column, source)
        heads.append(cell)
    if name == "prices":
        for row in rows:
            price(row, heads, source)
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([heads, *rows])
    return out.getvalue()


def price(row, heads, source):
    """Write a price for the unit that the other system counts in."""
    place = heads.index("per")
    counts, unit = PRICED[row[place]]
    others = [per for per, (what, other) in PRICED.items() if what == counts and other != unit]
    if not unit or not others or units.unit(unit) == units.unit(PRICED[others[0]][1]):
        return
    times = float(units.quantity(1.0, units.unit(PRICED[others[0]][1])).m_as(units.unit(unit)))
    row[place] = others[0]
    for column in ("least", "likely", "most"):
        row[heads.index(column)] = number(float(row[heads.index(column)]) * times)


def convert(folder, out):
    """Write a job folder in the other unit system; the folder is read as a job first, so that it is known to be whole."""
    file = read_job(folder)
    out = Path(out)
    out.mkdir(parents=True, exist_ok=True)
    for name, data in file.verbatim.items():
        text = data.decode("utf-8-sig")
        made = head(file) if name == "job.toml" else table(name.removesuffix(".csv"), text, file.system)
        (out / name).write_text(made, encoding="utf-8")
    return out
