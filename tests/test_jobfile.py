"""Check the job folder: every field and column broken in turn, many kinds of fault, and what both demo jobs agree on."""

import copy
import csv
import io
import re
import shutil
import tomllib
from fractions import Fraction
from functools import cache
from typing import Literal, Union, get_args, get_origin

import pytest
import tomlkit
from pydantic import BaseModel
from samples import DEMO, SYSTEMS, demo

from deckcalc import InputError, cli
from deckcalc.base.fields import FULL, PARTIAL, InRange, JobError, NotComputed
from deckcalc.base.limit_twins import pairs
from deckcalc.chloride.inputs import read_chloride
from deckcalc.core import units
from deckcalc.job import Job, compute
from deckcalc.job.bounded import most_rows
from deckcalc.job.dialect import read_csv
from deckcalc.job.file import read_job
from deckcalc.job.rows import read_rows, validated
from deckcalc.job.settings import ROWS, JobSettings
from deckcalc.job.table import taken
from deckcalc.mix.inputs import Concrete, GivenConcrete, Prepackaged
from deckcalc.package import appendix, basis, front
from deckcalc.show import sections

TABLES = ROWS


class Folder:
    """A copy of a demo job that may be broken."""

    def __init__(self, path, system):
        self.path, self.system = path / "job", system
        shutil.copytree(DEMO[system], self.path, ignore=shutil.ignore_patterns("package", "kernel-*"))

    def head(self, change):
        """Change the data of job.toml."""
        data = tomllib.loads((self.path / "job.toml").read_text(encoding="utf-8"))
        change(data)
        (self.path / "job.toml").write_text(tomlkit.dumps(data), encoding="utf-8")

    def set(self, place, value):
        """Set one value of job.toml, or drop it if the value is `...`."""

        def change(data):
            *path, last = place.split(".")
            for part in path:
                data = data[int(part)] if part.isdigit() else data[part]
            if value is ...:
                del data[last]
            else:
                data[last] = value

        self.head(change)

    def replace(self, name, old, new, count=1):
        """Replace text in a file."""
        text = (self.path / name).read_text(encoding="utf-8")
        assert old in text, (name, old)
        (self.path / name).write_text(text.replace(old, new, count), encoding="utf-8")

    def cell(self, name, column, value, row=0):
        """Set one cell of a table."""
        lines = [line.split(",") for line in (self.path / f"{name}.csv").read_text(encoding="utf-8").splitlines()]
        lines[row + 1][column_of(lines[0], column)] = value
        (self.path / f"{name}.csv").write_text("\n".join(map(",".join, lines)) + "\n", encoding="utf-8")

    def computed(self):
        """Read and compute the folder; a subject that could not be computed is an error."""
        for why in compute(self.path).faults.values():
            raise why

    def faults(self):
        """Read and compute the folder; return every fault, or why a subject could not be computed."""
        with pytest.raises(JobError) as caught:
            self.computed()
        faults = caught.value.faults
        assert str(caught.value) == "\n".join(faults) and faults
        for fault in faults:
            assert "Traceback" not in fault and "pydantic" not in fault and "Annotated" not in fault
        return faults


def column_of(header, column):
    """Return the place of a column in a header with units."""
    plain = [cell.partition("[")[0].strip().replace(" ", "_").replace("-", "_") for cell in header]
    return plain.index({"upper": "from", "lower": "to"}.get(column, column))


@pytest.fixture(params=SYSTEMS)
def folder(request, tmp_path):
    """A copy of each demo job."""
    return Folder(tmp_path, request.param)


@pytest.fixture
def si(tmp_path):
    """A copy of the SI demo job."""
    return Folder(tmp_path, "SI")


def test_a_rewritten_job_file_is_the_same_job(folder):
    folder.head(lambda data: None)
    job, filed = compute(folder.path), demo(folder.system)
    assert [(one.item, one.title, one.verdict) for one in job.checks] == [
        (one.item, one.title, one.verdict) for one in filed.checks
    ]


# --- every field of job.toml


@cache
def filed(system):
    """Return the data of job.toml as the demo job has it, with every optional section and field in it."""
    data = tomllib.loads((DEMO[system] / "job.toml").read_text(encoding="utf-8"))
    data["marking"]["longer"] = {"P1": {"across": "250 mm", "why": "laps"}}
    tests = {"D_1": "280 mm²/yr", "t_1": "28 day", "D_2": "130 mm²/yr", "t_2": "1 yr", "source": "laboratory"}
    data["chloride"]["forecast"]["ageing_tests"] = tests
    data["safety"]["blasting"] = {
        "abrasive": "slag", "silica": "0.4 %", "level": "300 µg/m^3", "hours": "1 h", "respirator": "hood with supplied air",
        "distance": "15 m", "shield": "screen",
    }  # fmt: skip
    data["decisions"] = [{"item": "an item", "decision": "as it is", "by": "the engineer", "date": "2026-03-20"}]
    data["plan"].setdefault(
        "lanes", [{"name": "north", "from_offset": "0 m", "to_offset": "3 m", "direction": "ahead"}]
    )
    for name in ("C3", "C5", "ready-mix"):
        data["mix"]["concretes"][name].setdefault("supplementary", {})
    data["mix"]["concretes"]["ready-mix"]["latex"] = {"dose": "300 g/kg", "density": "1010 kg/m^3", "solids": "48 %"}
    return data


def faults_of(system, place, value):
    """Change one place of job.toml and validate it by itself, without the rest of the folder; `...` drops it."""
    data = copy.deepcopy(filed(system))
    *path, last = place.split(".")
    inner = data
    for part in path:
        inner = inner[int(part)] if part.isdigit() else inner.setdefault(part, {})
    if value is ...:
        del inner[last]
    else:
        inner[int(last) if last.isdigit() else last] = value
    faults = []
    validated(JobSettings, data, "job.toml", faults)
    return faults


def marks(info):
    """Return the quantity that a field of a model holds, if it holds one."""
    held = [*info.metadata, *(item for kind in get_args(info.annotation) for item in getattr(kind, "__metadata__", ()))]
    return next((item for item in held if isinstance(item, InRange)), None)


def beyond(mark, factor):
    """Return a quantity outside the range of a field, as written."""
    kind = mark.kind if isinstance(mark.kind, units.Kind) else units.kind_of(mark.kind)
    low, high = (float(units.read(text, kind).m_as(kind.unit("SI"))) for text in (mark.low, mark.high))
    step = 0.5 * (high - low)
    return f"{high + step if factor > 1 else low - step:.12g} {kind.si}".strip()


def ways(info, optional):
    """Return the ways in which a field may be wrong: a name, the value, and words of the message."""
    mark, kind = marks(info), info.annotation
    found = [] if optional else [("missing", ..., "missing")]
    if mark:
        bare = mark.kind if isinstance(mark.kind, units.Kind) else units.kind_of(mark.kind)
        wrong = [
            ("of another kind", "3 lx", "wanted"), ("too large", beyond(mark, 1.5), f"to {mark.high}"),
            ("too small", beyond(mark, 0.5), f"from {mark.low}"), ("empty", "", "wanted"),
            ("nonsense", "plenty", "wanted"), ("true", True, "wanted"), ("a list", ["3 mm", "4 mm"], "wanted"),
            ("not a number", f"nan {bare.si}", "wanted"), ("with a comma", f"3,500 {bare.si}".strip(), "which may be 3.5"),
            ("endless", f"1e999 {bare.si}".strip(), "finite"),
        ]  # fmt: skip
        if not bare.dimensionless:
            wrong += [("without a unit", 3, "without a unit"), ("text without a unit", "3", "without a unit")]
        if get_origin(kind) is list:
            inner = [
                (f"one {way}", [value, value], words) for way, value, words in wrong if way not in ("empty", "a list")
            ]
            return [*found, ("text", "plenty", ""), *inner]
        return found + wrong
    optional_size = "size_of_bar" in str(kind) or any("size_of_bar" in str(item) for item in info.metadata)
    if optional and "Literal" not in str(kind) and get_origin(kind) is Union and not optional_size:
        found += [("a number", 3, "")]
    elif not optional_size and get_origin(kind) in (Literal, Union):
        found += [("unknown", "nearly", "wanted"), ("a number", 3, "wanted")]
        found += (
            []
            if "" in [*get_args(kind), *(value for one in get_args(kind) for value in get_args(one))]
            else [("empty", "", "wanted")]
        )
    elif optional_size:
        found += [("unknown", "#99", "has no size “#99”; it has #2")]
    elif kind is str and not optional and not optional_size:
        size = next((item.func.__name__ for item in info.metadata if hasattr(item, "func")), "")
        bounded = size or any(hasattr(item, "pattern") or hasattr(item, "min_length") for item in info.metadata)
        found += [("a number", 3, "" if size else "wanted text")] + ([("empty", "", "")] if bounded else [])
        found += [("unknown", "#99", "has no size “#99”; it has #2")] if size == "size_of_bar" else []
    elif kind is str:
        read = any(hasattr(item, "func") for item in info.metadata)  # a reader of its own says what it wants
        found += [("a number", 3, "wanted" if read else "wanted text")]
    else:
        found += [("text", "soon", ""), ("a list", [3.5], "")]
    return found


CONCRETES = {"C3": Concrete, "ready-mix": GivenConcrete, "R1": Prepackaged}


def fields(model, place=""):
    """Return every field of a model, nested ones too: its place, and a way in which it may be wrong."""
    for name, info in model.model_fields.items():
        where = f"{place}.{name}".lstrip(".")
        optional, kind = not info.is_required(), info.annotation
        held = [*get_args(kind), *(one for part in get_args(kind) for one in get_args(part)), kind]
        inner = [one for one in held if isinstance(one, type) and issubclass(one, BaseModel)]
        if name in ("limits", "threshold"):  # below
            continue
        if where == "mix.concretes":  # a model for each kind
            yield where, "missing", ..., "missing"
            yield where, "text", "none", ""
            for key, one in CONCRETES.items():
                yield from fields(one, f"{where}.{key}")
            continue
        if inner and get_origin(kind) is list:
            yield from [] if optional else [(where, "missing", ..., "missing"), (where, "empty", [], "")]
            yield from fields(inner[0], f"{where}.0")
        elif inner and get_origin(kind) is dict:
            key = next(iter(at(filed("SI"), where)))
            yield where, "text", "none", ""
            yield from fields(inner[0], f"{where}.{key}")
        elif inner:
            yield from [] if optional else [(where, "missing", ..., "missing")]
            yield where, "text", "none", ""
            yield from fields(inner[0], where)
        else:
            for way, value, words in ways(info, optional):
                yield where, way, value, words


def at(data, place):
    """Return what stands at a place of nested data."""
    for part in place.split("."):
        data = data[part]
    return data


BROKEN = list(fields(JobSettings))


def test_the_models_give_many_ways_to_break_a_job():
    assert len(BROKEN) > 1000
    assert {place.partition(".")[0] for place, *_ in BROKEN} == set(JobSettings.model_fields) - {"limits"}
    assert all(faults_of(system, "package.number", "7") == [] for system in SYSTEMS)  # nothing else is wrong in it


#: Every field, tried in one of the two jobs by turns.
TURNS = [(SYSTEMS[turn % 2], place) for turn, place in enumerate(sorted({place for place, *_ in BROKEN}))]


@pytest.mark.parametrize(("system", "place"), TURNS)
def test_every_field_of_the_job_file_that_is_wrong_is_named(system, place):
    for where, way, value, words in BROKEN:
        if where == place:
            faults = faults_of(system, place, value)
            named = [fault for fault in faults if fault.startswith((f"job.toml: {place}: ", f"job.toml: {place}."))]
            assert any(words in fault for fault in named), (way, value, faults)
            assert len(named) == len(faults), (way, faults)
            assert not any("Traceback" in fault or "pydantic" in fault or "Annotated" in fault for fault in faults)


SECTIONS = ["", *sorted({place.rpartition(".")[0] for place, *_ in BROKEN} - {""})]


@pytest.mark.parametrize("place", SECTIONS)
def test_a_misspelt_name_is_refused_in_every_section(place):
    assert faults_of("SI", f"{place}.slab_thicknes".lstrip("."), "200 mm") == [
        f"job.toml: {place}.slab_thicknes: unknown; is it misspelt?".replace(": .", ": ")
    ]


# --- every column of every table


#: Tables that no demo job has: lows and highs in place of hourly weather, and the authority's own lengths.
LEFT_OUT = {
    "days": """date,low [°C],high [°C],morning humidity [%],afternoon humidity [%],wind [km/h],noon sun [W/m^2]
2026-04-10,6,16,80,45,12,600
2026-04-11,7,17,80,45,12,600
""",
    "road_rules": """item,value [m],source
merging taper,150,road authority (invented)
buffer space,60,road authority (invented)
""",
    "patches": """patch,from joint [m],from kerb [m],length [m],width [m],depth [mm],cover [mm],joint,kerb
P1,3.8,1.0,0.75,0.5,75,50,1,left
P2,9.5,6.2,1.2,0.6,90,50,1,left
""",
    "comments": """number,revision,at,by,date,comment,answer,answered by,answered on,status
1,A,02 Reinforcement,B. Checker,2027-05-10,Which drawing gives the cover?,Sheet 12,O. Author,2027-05-11,answered
2,A,Conclusions,B. Checker,2027-05-10,Which lane?,Lane 2,O. Author,2027-05-11,open
""",
    "as_found": """patch,depths [mm],length [m],width [m],covers [mm],station [m],offset [m],time,by
P1,93; 90,0.9,0.6,51; 49,26.5,1.2,2027-05-07 22:40,inspector
P2,95; 92,1.2,0.7,50; 52,28.1,2.2,2027-05-07 22:55,inspector
""",
    "as_found_bars": """bar,readings [mm],patch,size,layer,station [m],offset [m],loss length [mm]
B12,12.4; 12.4,P3,16,top main,27.1,1.5,60
B30,15.2; 15.0,P3,16,top main,27.3,1.5,60
""",
    "as_built": """load,patches,time,volume [L],bags,slump [mm],air [%],concrete temperature [°C],air temperature [°C],slab temperature [°C],ticket,by
1,P1,2027-05-08 00:50,108,4,50,7.5,15,12,11,T-1,foreman
2,P1; P2,2027-05-08 01:20,108,4,50,7.5,15,12,11,T-2,foreman
""",
    "as_built_cylinders": """test,patches,time,strengths [MPa],cured
C1,P1,2027-05-08 05:00,17.5; 18.1,beside the patch
C2,P1; P2,2027-05-08 06:00,20.5; 21.1,standard
""",
    "logger": """reading,patch,time,temperature [°C]
P1-1,P1,2027-05-08 01:00,15.5
P1-2,P1,2027-05-08 01:15,16.0
""",
    "photographs": f"""file,patch,hold,sha256
P1-after-removal.jpg,P1,after removal,{"0" * 64}
P1-after-tying.jpg,P1,after tying,{"1" * 64}
""",
    "pay_items": """item,description,measure,unit,price,decimals,overrun [%],overrun price
1,Remove concrete,area of removal,m²,120.50,2,125,110
2,Saw the edges,saw cut,m,9.50,1,125,9
""",
}


@cache
def table(system, name):
    """Return the first rows of a table of a demo job, as cells."""
    text = LEFT_OUT[name] if name in LEFT_OUT else (DEMO[system] / f"{name}.csv").read_text(encoding="utf-8")
    return tuple(map(tuple, csv.reader(text.splitlines()[:4])))


def faults_in(name, lines):
    """Read one table by itself; return every fault."""
    faults = []
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(lines)
    table = read_csv(name, text.getvalue().encode(), TABLES[name], most_rows(name))
    read_rows(taken(table, TABLES[name]), TABLES[name], faults)
    return faults


def edited(lines, row, place, cell):
    """Return the table with one cell replaced."""
    lines = [list(cells) for cells in lines]
    lines[row][place] = cell
    return lines


COLUMNS = [(name, column) for name, model in TABLES.items() for column in model.model_fields]
HEADS = {"upper": "from", "lower": "to"}


def both(name, column):
    """Yield the table in each demo job that has the column, and the place of the column."""
    found = 0
    for system in SYSTEMS:
        lines = table(system, name)
        if TABLES[name].model_fields[column].is_required() or column in [head(cell) for cell in lines[0]]:
            found += 1
            yield lines, column_of(lines[0], column)
    assert found


def head(cell):
    return cell.partition("[")[0].strip().replace(" ", "_").replace("-", "_")


@pytest.mark.parametrize(("name", "column"), COLUMNS)
def test_a_table_as_filed_has_no_fault(name, column):
    for lines, place in both(name, column):
        assert faults_in(name, lines) == [] and head(lines[0][place]) == HEADS.get(column, column)


@pytest.mark.parametrize(("name", "column"), [(n, c) for n, c in COLUMNS if TABLES[n].model_fields[c].is_required()])
def test_a_missing_column_is_named(name, column):
    for lines, gone in both(name, column):
        left = [[cell for i, cell in enumerate(line) if i != gone] for line in lines]
        assert f"{name}.csv, row 1: column {column.replace('_', ' ')} is missing" in faults_in(name, left)


@pytest.mark.parametrize(("name", "column"), COLUMNS)
def test_a_column_that_stands_twice_or_is_misspelt_is_named(name, column):
    for lines, place in both(name, column):
        faults = faults_in(name, [[*line, line[place]] for line in lines])
        assert any(fault.startswith(f"{name}.csv, row 1: column “") and "appears twice" in fault for fault in faults)
        faults = faults_in(name, edited(lines, 0, place, "colour"))
        assert any(fault.startswith(f"{name}.csv, row 1: unknown column “colour”; wanted ") for fault in faults)


QUANTITIES = [(name, column) for name, column in COLUMNS if marks(TABLES[name].model_fields[column])]


def may_be_empty(info):
    return not info.is_required() or getattr(marks(info), "empty", False)


@pytest.mark.parametrize(("name", "column"), QUANTITIES)
def test_a_cell_that_is_no_such_quantity_is_named(name, column):
    info = TABLES[name].model_fields[column]
    for lines, place in both(name, column):
        for value in ["plenty", "3 lx", "nan", "inf", "-1e7", "1e9", "1e999", ""]:
            if value or not may_be_empty(info):
                faults = faults_in(name, edited(lines, -1, place, "; ".join([value] * max(marks(info).least, 1))))
                start = f"{name}.csv, row {len(lines)}, column {lines[0][place]}: "
                assert faults and all(fault.startswith(start) and "wanted" in fault for fault in faults), (
                    value,
                    faults,
                )


@pytest.mark.parametrize(("name", "column"), QUANTITIES)
def test_a_wrong_unit_in_a_header_is_named(name, column):
    for lines, place in both(name, column):
        rows = [number for number, line in enumerate(lines) if number and line[place].strip()]
        for unit in ("lx", "grumps", "m²/A"):
            cell = f"{lines[0][place].partition('[')[0].strip()} [{unit}]"
            if "[" not in lines[0][place] and any(re.search(r"[A-Za-z%#°]", lines[row][place]) for row in rows):
                continue  # every cell has a unit of its own
            faults = faults_in(name, edited(lines, 0, place, cell))
            named = {
                row
                for row in rows
                for fault in faults
                if fault.startswith(f"{name}.csv, row {row + 1}, column {cell}: ")
            }
            assert named == set(rows), faults


@pytest.mark.parametrize(("name", "column"), QUANTITIES)
def test_a_header_without_its_unit_is_named(name, column):
    kind = marks(TABLES[name].model_fields[column]).kind
    for lines, place in both(name, column):
        plain = lines[0][place].partition("[")[0].strip()
        if "[" in lines[0][place] and not (kind if isinstance(kind, units.Kind) else units.kind_of(kind)).dimensionless:
            faults = faults_in(name, edited(lines, 0, place, plain))
            assert any(f"column {plain}: found" in fault and "without a unit" in fault for fault in faults), faults


def judged_alone(info):
    """Return whether the model alone tells what a text means; a rate is judged with what it is counted by."""
    if any(getattr(getattr(item, "func", None), "__name__", "") == "read_rate" for item in info.metadata):
        return False
    return (
        any(hasattr(item, "pattern") or hasattr(item, "func") for item in info.metadata)
        or get_origin(info.annotation) is Literal
    )


TEXTS = [(n, c) for n, c in sorted(set(COLUMNS) - set(QUANTITIES)) if judged_alone(TABLES[n].model_fields[c])]


@pytest.mark.parametrize(("name", "column"), TEXTS)
@pytest.mark.parametrize("value", ["", "??", "x" * 40])
def test_a_cell_of_text_that_means_nothing_is_named(name, column, value):
    for lines, place in both(name, column):
        if value or TABLES[name].model_fields[column].is_required():
            faults = faults_in(name, edited(lines, -1, place, value))
            assert any(
                fault.startswith(f"{name}.csv, row {len(lines)}, column {lines[0][place]}: ") for fault in faults
            ), faults


# --- many kinds of fault, one by one


def files(f):
    """Return the names of every input file of a folder."""
    return sorted(path.name for path in f.path.iterdir() if path.suffix in (".toml", ".csv"))


def text_of(path, name):
    return (path / name).read_text(encoding="utf-8")


def drop(name):
    return lambda f: (f.path / name).unlink()


def whole(name, text):
    return lambda f: (f.path / name).write_bytes(text if isinstance(text, bytes) else text.encode())


def swap(name, old, new):
    return lambda f: f.replace(name, old, new)


def put(place, value):
    return lambda f: f.set(place, value)


def limit(key, value, source="the engineer"):
    return lambda f: f.head(lambda data: data["limits"].__setitem__(key, {"value": value, "source": source}))


def cell(name, column, value, row=0):
    return lambda f: f.cell(name, column, value, row)


def latin(f):
    text = text_of(f.path, "job.toml").replace("Over the Sallow Brook", "Über dem Bach")
    (f.path / "job.toml").write_bytes(text.encode("latin-1", "replace"))


def no_survey(f):
    for name in ("soundings", "radii", "traces", "rectangles"):
        drop(f"{name}.csv")(f)


B3 = "13.97; 13.335; 14.605"
FAULTS = {
    "no job.toml": (drop("job.toml"), "job.toml: missing"),
    "no depths.csv": (drop("depths.csv"), "not computed: patch: depths.csv or patches.csv missing: no limits, depth class"),
    "no survey": (no_survey, "soundings.csv or radii.csv or traces.csv or rectangles.csv or patches.csv missing: no limits"),
    "no aggregates.csv": (drop("aggregates.csv"), "is no coarse aggregate of aggregates.csv, which has none"),
    "empty job.toml": (whole("job.toml", ""), "job.toml: the file is empty"),
    "empty table": (whole("bars.csv", " \n"), "bars.csv: the file is empty"),
    "header only": (whole("bars.csv", "bar,patch,size,readings [mm]\n"), "bars.csv: has a header but no rows"),
    "header and blank lines": (whole("bars.csv", "bar,patch,size,readings [mm]\n,,,\n\n"), "bars.csv: has a header but no rows"),
    "job.toml in another encoding": (latin, "job.toml, row 41: not UTF-8 text"),
    "table in another encoding": (whole("bars.csv", b"bar,patch,size,readings [mm]\nB1,P1,#5,15 \x81m; 15\n"), "bars.csv, row 2: not cp1252 text"),
    "micrometres in cp1252": (whole("bars.csv", b"bar,patch,size,readings [mm]\nB1,P1,#5,15 \xb5m; 15\n"), "bars.csv, row 2, column .*found “15 µm”"),
    "header only in UTF-16": (whole("bars.csv", "bar,patch,size,readings [mm]\n".encode("utf-16")), "bars.csv: has a header but no rows"),
    "header only parted by tabs": (whole("bars.csv", "bar\tpatch\tsize\treadings [mm]\n"), "bars.csv: has a header but no rows"),
    "TOML without quotes": (swap("job.toml", '"203.2 mm"', "203.2 mm"), "job.toml: Expected newline"),
    "TOML with a key twice": (swap("job.toml", "bars = \"bare\"", "bars = \"bare\"\nbars = \"bare\""), "job.toml: Cannot overwrite"),
    "TOML cut off": (swap("job.toml", '"Tern Hollow Bridge"', '"Tern Hollow'), "job.toml: Illegal character"),
    "unknown section": (put("painting", {"coats": "2"}), "job.toml: painting: unknown; is it misspelt?"),
    "unknown bar size": (swap("bars.csv", "B3,P1,#5", "B3,P1,#12"), "bars.csv, row 4, column size: .*no size “#12”"),
    "bar named twice": (swap("bars.csv", "B2,", "B1,"), "bars.csv, row 3: bar “B1” is already in row 2"),
    "reading named twice": (swap("depths.csv", "D2,", "D1,"), "depths.csv, row 3: reading “D1” is already in row 2"),
    "short row": (swap("bars.csv", "B3,P1,#5,", "B3,P1,"), "bars.csv, row 4: 7 cells, the header has 8"),
    "long row": (swap("bars.csv", "B3,P1,", "B3,P1,,"), "bars.csv, row 4: 9 cells, the header has 8"),
    "comma of two meanings": (swap("bars.csv", B3, '"13,335; 14,605; 14,605"'), "bars.csv, row 4, column readings .*found “13,335 mm”, which may be 13.335 mm or 13335 mm; write one of them"),
    "comma and point in one table": (swap("bars.csv", B3, '"13,97; 13,335; 14,605"'), "bars.csv: numbers with a decimal comma in row 4 .“13,97”. and with a point in rows 2, "),
    "one reading of a bar": (swap("bars.csv", B3, "13.97"), "bars.csv, bar B3: 1 reading.*wants at least 3"),
    "negative reading": (swap("bars.csv", B3, "13.97; -14.6"), "bars.csv, row 4, .*wanted a diameter from 1 mm to 85 mm"),
    "reading in the wrong unit": (swap("bars.csv", B3, "13.97 kg; 14 kg"), "bars.csv, row 4, .*no diameter"),
    "mil": (swap("bars.csv", B3, "550 mil; 550 mil"), "bars.csv, row 4, .*“mil”.*thou"),
    "own threshold without a source": (put("chloride.threshold", {"value": "0.4 % of cement", "extraction": "acid-soluble"}), r"job.toml: chloride.threshold\.\w+\.source: missing"),
    "limit unknown": (limit("bar_los", "20 %"), "job.toml: limits.bar_los: unknown; known are margin"),
    "limit of another kind": (limit("margin", "60 kg"), "job.toml: limits.margin.value: .*no length"),
    "limit without a unit": (limit("margin", 60), "job.toml: limits.margin.value: .*without a unit"),
    "negative limit": (limit("margin", "-60 mm"), "job.toml: limits.margin.value: .*not negative"),
    "endless limit": (limit("bar_loss_single", "1e999 %"), "job.toml: limits.bar_loss_single.value: .*finite"),
    "limit without a source": (put("limits.margin", {"value": "60 mm"}), "job.toml: limits.margin.source: missing"),
    "limit as a bare value": (put("limits.margin", "60 mm"), "job.toml: limits.margin: "),
    "no date": (put("revisions.0.date", "03/04/2026"), "job.toml: revisions.0.date: found “03/04/2026”, which may be 3 April 2026 or 4 March 2026; write 2026-04-03 or 2026-03-04"),
    # faults that show between files
    "unknown patch of a bar": (swap("bars.csv", "B3,P1", "B3,P9"), "bars.csv, bar B3: the survey gives no patch “P9”"),
    "bar far thicker than its size": (swap("bars.csv", B3, "19.9; 19.8; 19.8"), "bars.csv, bar B3: a reading of 19.9 mm is above the nominal"),
    "hole deeper than the slab": (swap("depths.csv", "177.8,53.975", "210,53.975"), "depths.csv, .*D17.*210"),
    "slices that overlap": (swap("chlorides.csv", "C1-2,C1,6.35,", "C1-2,C1,6,"), "chlorides.csv, slice C1-2: overlaps slice C1-1"),
    "slice upside down": (swap("chlorides.csv", "C1-2,C1,6.35,19.05", "C1-2,C1,19.05,6.35"), "chlorides.csv, slice C1-2: the slice ends at 6.35 mm, not below"),
    "core without slices": (swap("cores.csv", "C3,", "C19,"), "cores.csv, core C19: 0 slices in chlorides.csv, wanted at least two"),
    "slice of no core": (swap("cores.csv", "C3,", "C19,"), "chlorides.csv, slice C3-1: there is no core “C3” in cores.csv"),
    "bases mixed": (cell("chlorides", "chloride", "0.12 % of cement", 7), "chlorides.csv, column chloride: bases are mixed"),
    "no basis": (cell("chlorides", "chloride", "0.12 %", 7), "chlorides.csv, slice C2-2, column chloride: .*with its basis"),
    "background without a basis": (put("chloride.background", "0.02 %"), "job.toml: chloride.background: .*with its basis"),
    "threshold unknown": (put("chloride.threshold", "gut-feeling"), "job.toml: chloride.threshold: .*gut-feeling"),
    "threshold of another extraction": (put("chloride.extraction", "water-soluble"), "job.toml: chloride.threshold: .*not comparable"),
    "own threshold without a basis": (put("chloride.threshold", {"value": "0.4 %", "extraction": "acid-soluble", "source": "us"}), "job.toml: chloride.threshold: .*with its basis"),
    "limit far from the usual": (limit("margin", "3 m"), "job.toml: limits.margin.value: found “3 m”, which is .* times the usual"),
    "limit in another unit than meant": (limit("saw_depth", "1 mm"), "limits.saw_depth.value: found “1 mm”, which is 0.0.* times the usual"),
    "margin that leaves patches without a reading": (limit("margin", "1 m"), "depths.csv: the patch at station .* has no depth reading"),
    "stone without a size": (swap("aggregates.csv", "stone-10,coarse,3/8 in", "stone-10,coarse,"), "aggregates.csv, aggregate stone-10, column nominal size"),
    "sand without a fineness modulus": (swap("aggregates.csv", ",2.75,", ",,"), "aggregates.csv, aggregate river-sand, column fineness modulus"),
    "density of stone per cubic foot as metric": (swap("aggregates.csv", "1560.1983", "97.4"), "aggregates.csv, aggregate stone-10, column dry rodded density"),
    "size of stone that no table has": (swap("aggregates.csv", "stone-10,coarse,3/8 in", "stone-10,coarse,16 mm"), "Mix and batch, .*16"),
    "exposure row unknown": (put("mix.durability", "seaside"), "job.toml: mix.durability: .*seaside"),
    "strength beyond the table": (put("mix.concretes.C3.strength", "60 MPa"), "Mix and batch, .*"),
    "sounding mark unknown": (swap("soundings.csv", ".............", "......?......"), "soundings.csv, line L111: found marks .*wanted h for delaminated"),
    "placing of no patch": (swap("placements.csv", "P1; P2", "P1; P99"), "placements.csv, .*P99"),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_named_by_file_row_and_field(si, fault):
    spoil, words = FAULTS[fault]
    spoil(si)
    faults = si.faults()
    assert any(re.search(words, line) for line in faults), faults


def test_several_faults_at_once_are_all_listed(si):
    si.set("deck.slab_thickness", "203")
    si.set("people.originator", "")
    si.replace("bars.csv", "B3,P1,#5", "B3,P1,#12")
    si.replace("depths.csv", "D2,", "D1,")
    faults = "\n".join(si.faults())
    for place in (
        "job.toml: deck.slab_thickness",
        "job.toml: people.originator",
        "bars.csv, row 4",
        "depths.csv, row 3",
    ):
        assert place in faults


def test_faults_that_show_only_between_files_are_all_listed(si):
    si.replace("bars.csv", "B3,P1", "B3,P9")
    si.replace("cores.csv", "C3,", "C19,")
    si.set("chloride.threshold", "gut-feeling")
    si.set("mix.durability", "seaside")
    faults = "\n".join(si.faults())
    for place in (
        "bars.csv, bar B3",
        "cores.csv, core C19",
        "chlorides.csv, slice C3-1",
        "chloride.threshold",
        "mix.durability",
    ):
        assert place in faults


def test_there_is_no_such_folder(tmp_path):
    with pytest.raises(JobError, match="there is no such folder; start one with “deckcalc new"):
        compute(tmp_path / "nowhere")


@pytest.mark.parametrize("command", ["check", "package"])
@pytest.mark.parametrize(
    "fault",
    [
        "no job.toml",
        "job.toml in another encoding",
        "TOML cut off",
        "unknown bar size",
        "margin that leaves patches without a reading",
    ],
)
def test_a_faulty_job_ends_with_1_and_writes_nothing(si, capfd, command, fault):
    FAULTS[fault][0](si)
    before = {path.name: path.read_bytes() for path in si.path.iterdir()}
    options = [command, str(si.path)] + (
        ["--out", str(si.path.parent / "out"), "--quiet"] if command == "package" else []
    )
    assert cli.main(options) == 1
    out, err = capfd.readouterr()
    assert out == "" and err.strip() and "Traceback" not in err
    assert {path.name: path.read_bytes() for path in si.path.iterdir()} == before
    assert [path.name for path in si.path.parent.iterdir()] == ["job"]


# --- what is right, in other ways of writing


def test_a_byte_order_mark_and_windows_line_ends_are_read(si):
    for name in files(si):
        text = text_of(si.path, name)
        (si.path / name).write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert len(compute(si.path).checks) == len(demo("SI").checks)


def test_units_may_stand_in_the_cell_and_headers_in_any_order(si):
    lines = [line.split(",") for line in text_of(si.path, "bars.csv").splitlines()]
    place = column_of(lines[0], "readings")
    lines[0][place] = "readings"
    for line in lines[1:]:
        line[place] = "; ".join(part + " mm" for part in line[place].split("; "))
    (si.path / "bars.csv").write_text("\n".join(",".join(reversed(line)) for line in lines), encoding="utf-8")
    for mine, theirs in zip(compute(si.path).steel.runs, demo("SI").steel.runs, strict=True):
        for name, value in mine.results().items():
            assert value.magnitude == pytest.approx(theirs.results()[name].magnitude)


@pytest.mark.parametrize(
    ("text", "basis", "value", "unit"),
    [
        ("0.05 % of concrete", "concrete", 0.05, "%"), ("320 ppm of concrete", "concrete", 0.032, "%"),
        ("0.4 % of cement", "cement", 0.4, "%"), ("1.2 kg/m3", "volume", 1.2, "kg/m^3"), ("2 lb/yd³", "volume", 2, "lb/yd^3"),
    ],
)  # fmt: skip
def test_chloride_is_read_with_its_basis(text, basis, value, unit):
    found = read_chloride(text)
    assert found.basis == basis
    assert float(found.value.m_as(units.unit(unit))) == pytest.approx(value)


@pytest.mark.parametrize(
    "text", ["0.05 %", "0.05", "", "0.05 % of sand", "2 kg of concrete", "-1 kg/m3", "nan % of cement"]
)
def test_chloride_without_a_basis_is_refused(text):
    with pytest.raises(InputError, match="wanted"):
        read_chloride(text)


# --- what the two demo jobs agree on, and how results scale (each subject is held closer in its own tests)


def test_both_demo_jobs_come_to_the_same_verdicts_and_decisions():
    si, us = demo("SI"), demo("US")
    hard = "cold weather"  # 5 °C and 40 °F are two limits, so that only one of the jobs may reach it
    mine, theirs = (
        [(one.item, one.title.partition(",")[0], one.verdict) for one in job.checks if not one.title.startswith(hard)]
        for job in (si, us)
    )
    assert mine == theirs and len(mine) > 200
    assert si.patch.depth_class == us.patch.depth_class and set(si.patch.depth_class.values()) == {PARTIAL, FULL}
    first = [{bar: said.partition(" ")[0] for bar, said in job.steel.decisions.items()} for job in (si, us)]
    assert first[0] == first[1] and len(set(first[0].values())) > 2
    bars = [[one.material.partition(",")[0] for one in job.steel.materials] for job in (si, us)]
    assert bars[0] == bars[1] != []
    assert {"satisfied", "not satisfied"} <= {one.verdict for one in si.checks}  # a demonstration shows both


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_yield_of_each_mix_is_one(system):
    made = [run.result for run in demo(system).mix.runs if run.calculation.name == "proportions"]
    assert len(made) == 2
    for one in made:
        parts = [float(getattr(one, name).m_as("")) for name in ("V_w", "V_c", "V_a", "V_ca", "V_fa")]
        assert sum(parts) == pytest.approx(1, rel=1e-12)


def test_the_order_is_the_sum_over_the_patches_and_the_mixes():
    job = demo("SI")
    orders = [run.result.V_order for run in job.patch.runs if run.calculation.name == "patch_volume"]
    assert len(orders) == len(job.patch.depth_class)
    total = sum(float(one.m_as("m³")) for one in orders)
    assert float(job.patch.order_volume.m_as("m³")) == pytest.approx(total, rel=1e-12)
    taken = [one for one in job.mix if one.patches]
    assert {one.name for one in taken} == {"R1", "C5"}
    assert sum(float(one.order_volume.m_as("m³")) for one in taken) == pytest.approx(total, rel=1e-12)
    assert all(one.order_volume is None for one in job.mix if not one.patches)
    assert job.materials[0].quantity == job.show(job.patch.order_volume, units.OrderVolume)


def test_a_core_that_ends_above_the_bars_is_outside_the_method(si):
    si.replace("cores.csv", "C1,37.4904,2.1336,50.8", "C1,37.4904,2.1336,90")
    job = compute(si.path)
    check = next(one for one in job.checks if one.item == "core C1")
    assert check.verdict == "not covered" and check.utilisation is None
    assert "**not covered**" in sections.checks(job.chloride)


def test_nothing_in_a_job_folder_is_touched_by_reading(si):
    before = {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in si.path.iterdir()}
    compute(si.path)
    assert {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in si.path.iterdir()} == before


def test_inputs_are_kept_as_they_stood(si):
    file = read_job(si.path)
    assert file.verbatim == {name: (si.path / name).read_bytes() for name in files(si)}


# --- what is asked about, and subjects that cannot be computed


def test_a_confirmation_that_confirms_nothing_is_a_fault():
    with pytest.raises(JobError, match="confirmed: nothing is asked about “aggregates.sand.moisture”; take it out"):
        read_job(DEMO["SI"], {"confirmed": "aggregates.sand.moisture"})
    with pytest.raises(JobError, match="job.toml: confirmed"):
        read_job(DEMO["SI"], {"confirmed": "deck.bar_spacing; deck.bottom_cover"})


def test_what_is_confirmed_stands_on_the_basis_sheet(si):
    si.head(lambda data: data.update(confirmed=["deck.bar_spacing"]))
    si.set("deck.bar_spacing", "470 mm")
    job = Job(read_job(si.path))
    assert "Unusual inputs, confirmed by the job" in basis.exclusions(job)
    assert "deck.bar\\_spacing | found 470 mm, usual is 75 mm to 460 mm" in re.sub(
        r" +", " ", str(basis.exclusions(job))
    )
    assert "confirmed by the job" not in str(basis.exclusions(demo("SI")))


@pytest.fixture(scope="module")
def incomplete():
    """The demo job with a strength that no table of ratios reaches: the mix and what needs it cannot be computed."""
    job = Job(read_job(DEMO["SI"], {"mix.concretes.C3.strength": "55 MPa"}))
    job.compute_all()
    return job


def test_a_fault_of_one_subject_leaves_the_others_as_they_are(incomplete):
    kept, whole = {one.key: one for one in incomplete.subjects}, {one.key: one for one in demo("SI").subjects}
    assert set(whole) - set(kept) == {"mix", "formwork", "curing", "closure", "safety"} == set(incomplete.faults)
    for key in ("patch", "chloride", "traffic"):
        found, wanted = ([(c.item, c.title, c.verdict) for c in one[key].checks] for one in (kept, whole))
        if key == "chloride":  # what it says of the patches rests on their concretes
            own = [one for one in found if one[0].startswith("patches")]
            assert own == [("patches", "time until protection is lost", "not covered")]
            found, wanted = ([one for one in these if not one[0].startswith("patches")] for these in (found, wanted))
        assert found == wanted and found


def test_a_subject_that_needs_a_faulty_one_says_so(incomplete):
    with pytest.raises(NotComputed) as caught:
        incomplete.curing  # noqa: B018
    first, *root = caught.value.faults
    assert first == "not computed: curing: needs mix, which could not be computed"
    assert root == incomplete.faults["mix"].faults and root[0].startswith("not computed: mix: Mix and batch, ")
    assert "Caution" in caught.value.markdown and "mix" in caught.value.markdown
    assert incomplete.faults["safety"].why == ["needs mix, which could not be computed"]
    said = [line.split(": ")[1] for line in incomplete.not_computed]
    assert said == ["mix", "formwork", "curing", "closure", "safety"]


def test_title_summary_and_materials_say_that_the_package_is_incomplete(incomplete):
    whole = demo("SI")
    for page in (front.cover, front.summary, front.materials):
        assert "This package is incomplete" in page(incomplete) and "not computed: mix: " in page(incomplete)
        assert "incomplete" not in page(whole)
    said = front.summary(incomplete)
    assert "concrete C3" in said.split("checks:")[0] and "concrete C3" not in said.split("checks:")[1]
    assert "Cement type" in front.materials(whole) and "Cement type" not in front.materials(incomplete)


# --- limits of the two unit systems


def test_the_basis_names_each_limit_that_is_rounded_apart():
    for system in SYSTEMS:
        job = demo(system)
        rested = job.rests_on
        text = front.rounded_apart(job)
        for one in pairs():
            built_in = job.file.limits[one.key].origin == "default"
            if one.key not in rested:
                continue
            assert (f"{one.meaning} ({one.si}, {one.us}: {one.difference})" in text) == (built_in and not one.twin)
        assert text in appendix.limits(job)


@pytest.mark.parametrize(
    ("key", "twin", "difference"),
    [
        ("margin", False, "+5.8 %"), ("bag_lift", False, "-9.3 %"), ("fall_height", False, "+1.6 %"), ("concrete_hot", False, "+0.2 °C"),
        ("removal_difference", False, "-7.4 %"), ("barrier_vehicle", True, "+0.0 %"), ("concrete_most", True, "+0.0 °C"),
        ("opening_strength", True, "-0.1 %"), ("waste", True, "+0.0 %"), ("peak_temperature", True, "+0.0 °C"),
    ],
)  # fmt: skip
def test_twins_are_told_from_two_roundings(key, twin, difference):
    one = next(one for one in pairs() if one.key == key)
    assert (one.twin, one.difference.replace("-0.0", "+0.0")) == (twin, difference)


def test_limits_apart_are_those_whose_conversion_prints_otherwise():
    """Held against the exact inch, pound and degree Fahrenheit of the international agreement of 1959."""
    lengths = [one for one in pairs() if one.si.endswith(" mm") and one.us.endswith(" in")]
    assert len(lengths) > 10
    for one in lengths:
        number = sum(float(Fraction(part)) for part in one.us.removesuffix(" in").split()) * 25.4
        assert one.apart == pytest.approx(number / float(one.si.removesuffix(" mm")) - 1, abs=1e-9)
