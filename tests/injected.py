"""A copy of a demo job with a text that means harm in every field of free text."""

import csv
import datetime
import json
import tomllib
import typing

from annotated_types import MaxLen
from injections import INJECTIONS
from pydantic import BaseModel
from samples import DEMO

from deckcalc.job.settings import ROWS, JobSettings

#: Fields of text that must be a row of some table, a quantity or the same in two places: there a stranger's text is a fault.
LOOKED_UP = {
    "mix.durability", "chloride.threshold.value", "chloride.survey.electrode", "chloride.forecast.critical.mean",
    "chloride.forecast.critical.sd", "bridge.time_zone", "hangers.size", "stock.material", "prices.plan",
    "prices.currency", "closure.currency", "panels.type", "lumber.grade",
}  # fmt: skip


def free(info):
    """Whether a field of a model is free text."""
    return info.annotation is str and any(isinstance(mark, MaxLen) and mark.max_length >= 100 for mark in info.metadata)


def inner(info):
    """Return the models that a field may hold."""
    kinds = [info.annotation]
    for _ in range(3):
        kinds += [part for kind in kinds for part in typing.get_args(kind)]
    return {kind for kind in kinds if isinstance(kind, type) and issubclass(kind, BaseModel)}


def replace(model, data, place, put):
    """Put a text into every free field of a section that the job fills."""
    for name, info in model.model_fields.items():
        if name not in data:
            continue
        if free(info):
            data[name] = put(f"{place}{name}", data[name])
        for section in inner(info):
            held = data[name]
            below = held if isinstance(held, list) else [held, *held.values()] if isinstance(held, dict) else []
            for one in below:
                if isinstance(one, dict):
                    replace(section, one, f"{place}{name}.", put)


def as_toml(value):
    """Write a value as TOML on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {as_toml(one)}" for key, one in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    return value.isoformat() if isinstance(value, datetime.date) else json.dumps(value, ensure_ascii=False)


def copy(folder, system, put):
    """Write a demo job into a folder, each free text as `put(place, text)` gives it."""
    folder.mkdir(parents=True, exist_ok=True)
    data = tomllib.loads((DEMO[system] / "job.toml").read_text(encoding="utf-8"))
    replace(JobSettings, data, "", put)
    (folder / "job.toml").write_text(
        "\n".join(f"{key} = {as_toml(value)}" for key, value in data.items()), encoding="utf-8"
    )
    for path in DEMO[system].glob("*.csv"):
        head, *rows = csv.reader(path.read_text(encoding="utf-8").splitlines())
        model = ROWS[path.stem]
        for place, name in enumerate(head):
            if name in model.model_fields and free(model.model_fields[name]):
                for row in rows:
                    row[place] = put(f"{path.stem}.{name}", row[place]) if row[place] else ""
        with (folder / path.name).open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([head, *rows])


def injected(folder, system, canary, turn=0):
    """Write a demo job with an injection in every free field, and return each text by its mark."""
    marks = {}

    def put(place, text):
        if place in LOOKED_UP:
            return text
        mark = f"q{len(marks)}w"
        said = INJECTIONS[(len(marks) + turn) % len(INJECTIONS)].replace("/CANARY", str(canary)).strip()
        marks[mark] = f"{said} {mark}"
        return marks[mark]

    copy(folder, system, put)
    return marks
