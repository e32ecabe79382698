"""Good inputs that several tests start from: the demo jobs, and one set of arguments for every calculation."""

import csv
import json
import re
import shutil
import tempfile
import tomllib
from functools import cache, cached_property
from pathlib import Path

import pytest
from converted import convert

from deckcalc import published
from deckcalc.base.fields import JobError
from deckcalc.core import units
from deckcalc.core.sources import folder
from deckcalc.job import adopt, file
from deckcalc.job.file import read_folder, read_job
from deckcalc.job.folder import Contents
from deckcalc.job.order import ORDER, Job, compute

SYSTEMS = ("SI", "US")


#: Girder lines between which both full-depth holes of the US demo job lie clear.
CLEAR = ["-11 ft", "-2.25 ft", "2.25 ft", "11 ft"]


def clear(folder, place):
    """Copy a job, with girder lines that its full-depth holes lie clear of."""
    shutil.copytree(folder, place)
    lines = re.sub(r"(?m)^girders = \[.*?\]", f"girders = {json.dumps(CLEAR)}", (place / "job.toml").read_text("utf-8"))
    (place / "job.toml").write_text(lines, encoding="utf-8")
    return place


class Demos(dict):
    """The demo jobs by unit system: the US one, the same converted to SI, and the metric one that is a job of its own.

    “clear US” and “clear SI” are the first two with girder lines that both full-depth holes lie clear of.
    """

    def __missing__(self, key):
        makers = {
            "SI": lambda: convert(self["US"], self.place("demo_si")),
            "clear US": lambda: clear(self["US"], self.place("clear_us")),
            "clear SI": lambda: convert(self["clear US"], self.place("clear_si")),
        }
        if key not in makers:
            raise KeyError(key)
        self[key] = makers[key]()
        return self[key]

    @cached_property
    def kept(self):
        """A folder that goes with the process."""
        return tempfile.TemporaryDirectory(prefix="converted-")

    def place(self, name):
        """Return a place for a job that is made."""
        return Path(self.kept.name) / name


DEMO = Demos(US=folder("notebooks") / "demo_us", metric=folder("notebooks") / "demo_si")
REGISTER = published.register()
CASES = published.cases()


@cache
def demo(system):
    """Return the demo job of a unit system, carried through once."""
    return compute(DEMO[system])


@cache
def planned_place():
    """Return the US demo job with a plan for all patches in closures by night, as the program proposes and adopts it."""
    place = shutil.copytree(DEMO["US"], DEMO.place("planned"))
    by_night(place)
    adopt.write(adopt.propose(Job(read_job(place))), read_folder(place))
    return place


def by_night(place):
    """Let a job be done in nights of ten hours: the hours that may be taken, and waits for strength that fit into them."""
    set_toml(
        place,
        "closure",
        closes="20:00",
        opens="06:00",
        first_night="2026-04-10",
        slab_temperature="48 °F",
        samples=2000,
    )
    edit_table(place, "rates", {"per": "wait"}, least="150 min", likely="180 min", most="210 min")


@cache
def planned(system):
    """Return the job of `planned_place`, or the same converted to SI."""
    place = planned_place()
    return Job(read_job(place if system == "US" else convert(place, DEMO.place("planned_si"))))


def set_toml(place, section, **values):
    """Set entries of a section of job.toml, each on a line of its own; None takes an entry out."""
    path = place / "job.toml"
    head, mark, rest = path.read_text(encoding="utf-8").partition(f"\n[{section}]")
    assert mark, section
    body, found, tail = rest.partition("\n[")
    for key, value in values.items():
        body = re.sub(rf"(?m)^{key} = .*\n?", "", body)
        if value is not None:
            bare = re.fullmatch(r"\d{4}-\d\d-\d\d|\d+", str(value))
            body = f"{body.rstrip()}\n{key} = {value if bare else json.dumps(str(value), ensure_ascii=False)}\n"
    path.write_text(f"{head}{mark}{body}{found}{tail}", encoding="utf-8")


def edit_table(place, name, where, **values):
    """Write cells of the rows of a table that match."""
    path = place / f"{name}.csv"
    head, *rows = csv.reader(path.read_text(encoding="utf-8").splitlines())
    plain = [one.partition(" [")[0] for one in head]
    wanted = {key.replace("_", " "): value for key, value in values.items()}
    found = 0
    for row in rows:
        if all(row[plain.index(key)] == value for key, value in where.items()):
            found += 1
            for key, value in wanted.items():
                row[plain.index(key)] = value
    assert found, (name, where)
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([head, *rows])


@cache
def twins():
    """Return the US demo job and the same converted to SI, carried through once.

    Patches that grow for their laps are as long as either edition asks: no step of a saw cut lies between the two.
    """
    place = DEMO.place("twins")
    us = shutil.copytree(DEMO["US"], place / "us")
    text = (us / "job.toml").read_text(encoding="utf-8")
    if not tomllib.loads(text)["marking"].get("longer"):
        grown = {"P1": "20 in", "P3": "6 in"}
        longer = [f'[marking.longer.{name}]\nacross = "{more}"\nwhy = "laps"\n' for name, more in grown.items()]
        text = text.replace("[removal]", "\n".join([*longer, "[removal]"]), 1)
    (us / "job.toml").write_text(text, encoding="utf-8")
    return {"US": Job(read_job(us)), "SI": Job(read_job(convert(us, place / "si")))}


def strict(folder, changes=None):
    """Read a job with changed inputs as if they stood in its files: nothing that no longer fits is left out or taken otherwise."""
    contents = folder if isinstance(folder, Contents) else read_folder(folder)
    return file.read_with(contents, file.tables_of(contents), changes or {}, {})


def refusal(folder, changes=None):
    """Return every fault of a job, one a line: it is refused, or a subject before the closure cannot be computed."""
    try:
        job = Job(strict(folder, changes))
    except JobError as error:
        return str(error)
    for key in ORDER[: ORDER.index("closure")]:
        job.of(key)
    return "\n".join(line for fault in job.faults.values() for line in fault.faults)


def arguments(case):
    """Return the arguments of a check case as quantities."""
    calculation = REGISTER[case.calculation]
    return {name: published.read_argument(calculation, name, value) for name, value in case.given.items()}


def cases_of(calculation, most=None):
    """Return the check cases of a calculation, spread evenly if there are more than `most`."""
    found = [case for case in CASES if case.calculation == calculation.key]
    if most and len(found) > most:
        found = [found[i * len(found) // most] for i in range(most)]
    return found


#: Good inputs of calculations whose cases lie where nothing may be moved, or that no demo job needs.
WRITTEN = {
    "patch.whole_number": {"V": "0.5 m3", "V_1": "0.03 m3"},  # its cases lie where the next whole number begins
    "chloride.content_at_depth": {
        "x": "50 mm",
        "x_1": "44 mm",
        "C_1": "1.32 kg/m^3",
        "x_2": "57 mm",
        "C_2": "0.81 kg/m^3",
    },
    **{  # cases are of readings at points, where the beginning of a slice cannot be moved by itself
        f"chloride.{name}": {
            "x_from": "6 mm, 19 mm, 32 mm, 44 mm",
            "x_to": "18 mm, 30 mm, 43 mm, 56 mm",
            "C": "2.8 kg/m^3, 1.6 kg/m^3, 0.7 kg/m^3, 0.3 kg/m^3",
            "t": "24 yr",
            **more,
        }
        for name, more in {
            "fit_profile": {"C_0": "0.1 kg/m^3"},
            "fit_profile_and_background": {},
            "fit_coefficient": {"C_0": "0.1 kg/m^3", "C_s": "4 kg/m^3"},
        }.items()
    },
    "steel.pit_loss": {"A_0": "200 mm^2", "d": "16 mm", "p": "4 mm"},  # its first case lies where two branches meet
    "mix.mixing_water (SI)": {"D_max": "9.5 mm", "slump": "40 mm", "exposure": "not air-entrained"},
    "steel.development_aci_simple (SI)": {
        "d_b": "16 mm",
        "f_y": "420 MPa",
        "f_c": "28 MPa",
        "case": "other",
        "h_below": "100 mm",
        "coating": "uncoated",
        "c_c": "40 mm",
        "c_s": "50 mm",
        "lamb": "1",
    },
    "patch.removal_depth": {  # its first case has one cover, which the minimum and the maximum may not cross
        "h_i": ["48 mm", "62 mm"],
        "c_min": "45 mm",
        "c_max": "57 mm",
        "d_1": "16 mm",
        "d_2": "12 mm",
        "s_c": "20 mm",
    },
    "steel.punching (SI)": {
        "P": "71 kN",
        "k_P": "2.33",
        "w_1": "510 mm",
        "w_2": "250 mm",
        "d": "80 mm",
        "f_c": "24 MPa",
        "edge": "no hole near",
        "phi": "0.75",
    },
    "patch.panel_depth": {"t": "200 mm", "t_p": "90 mm"},
    "patch.overlay_volume": {"A": "1.2 m^2", "t_o": "50 mm"},
    "patch.through_part": {"V_all": "0.12 m^3", "V_f": "0.03 m^3", "A_f": "0.3 m^2", "t": "200 mm"},
}


def each_argument(pairs):
    """Make one test a calculation of a check of one argument; a failure names the argument.

    Parameters
    ----------
    pairs : iterable of tuple
        Key of the calculation and name of the argument.
    """
    names = {}
    for key, name in pairs:
        names.setdefault(key, []).append(name)

    def made(check):
        @pytest.mark.parametrize("key", names)
        def test(key):
            for name in names[key]:
                try:
                    check(key, name)
                except BaseException as error:
                    error.add_note(f"argument {name} of {key}")
                    raise

        test.__name__, test.__doc__ = check.__name__, check.__doc__
        return test

    return made


@cache
def good(key):
    """Return one good set of arguments for a calculation, defaults filled in."""
    calculation = REGISTER[key]
    written = WRITTEN.get(key)
    if written:
        return {name: published.read_argument(calculation, name, text) for name, text in written.items()}
    known = cases_of(calculation)
    if not known:  # none is published: what the demo job gives it
        jobs = (demo(name) for name in (*SYSTEMS, "metric", "clear US"))
        run = next(run for job in jobs for one in job.subjects for run in one.runs if run.calculation is calculation)
        return calculation.bind((), run.arguments)
    return calculation.bind((), arguments(known[0]))


def results(calculation, answer):
    """Return the results of a call by name."""
    return dict(zip(calculation.kinds, answer if calculation.record else (answer,), strict=True))


def base(quantity, kind):
    """Return the plain number in the coherent SI unit."""
    return units.registry().Quantity(quantity).m_as(kind.base)
