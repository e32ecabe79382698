"""Jobs made at random: rectangles on a deck with girders and overhangs, bars, concretes and a plan of the work.

Each is small, so that hundreds of them are carried through patches, reinforcement and mix in a minute. Nothing of them is
measured anywhere: decks, patches and readings are invented as they are drawn.
"""

import copy
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

import tomlkit
from hypothesis import strategies as st
from samples import DEMO

from deckcalc.job.file import read_job
from deckcalc.job.folder import Contents
from deckcalc.job.order import Job

#: What a small job keeps of job.toml.
KEPT = (
    "package", "revisions", "people", "bridge", "deck", "plan", "survey", "marking", "removal", "mix", "chloride",
    "reinforcement", "deck_strip",
)  # fmt: skip
MIX = ("grading", "doubt", "factors", "temperature")
CHLORIDE = ("profile", "survey", "forecast", "patch_concrete", "zone_limits")
#: Size of the cell in which one rectangle lies, in metres: wide enough that no two are joined.
ALONG, ACROSS = 4.0, 2.4
START = 100.0
FOOT = 0.3048


@dataclass(frozen=True)
class Area:
    """An unsound rectangle: its middle and its sides in metres, with the depths that were read in it."""

    station: float
    offset: float
    length: float
    width: float
    depths: tuple[float, ...]
    cover: float


@dataclass(frozen=True)
class Small:
    """A small job, in metres; `system` is that in which it is written.

    Attributes
    ----------
    girders : tuple of float
        Offsets; none in a slab span.
    overhang : float
        From the outer girder to the kerb.
    placings : tuple of tuple of int
        Numbers of the patches of each closure.
    strengths : tuple of int
        Specified strengths of the concretes C3 and C5, in MPa.
    partial : str
        Name of the concrete of patches of partial depth.
    """

    system: str
    girders: tuple[float, ...]
    flange: float
    overhang: float
    spans: int
    slab: float
    areas: tuple[Area, ...]
    placings: tuple[tuple[int, ...], ...]
    strengths: tuple[int, int]
    bars: tuple[tuple[int, float], ...] = ()
    partial: str = "C3"
    changed: dict = field(default_factory=dict)

    @property
    def kerbs(self):
        """Offsets of the kerbs."""
        if not self.girders:
            return -5.0, 5.0
        return self.girders[0] - self.overhang, self.girders[-1] + self.overhang

    def length(self, value):
        """Write a length."""
        return f"{value / FOOT:.10g} ft" if self.system == "US" else f"{value:.10g} m"

    def stress(self, value):
        """Write a strength given in MPa."""
        return f"{145 * value} psi" if self.system == "US" else f"{value} MPa"

    def job(self):
        """Read the job, from memory."""
        return Job(read_job(self.contents()))

    def contents(self):
        """Return what its folder would hold."""
        files = {
            "job.toml": tomlkit.dumps(self.head()), "rectangles.csv": self.rectangles(), "depths.csv": self.depths(),
            "bars.csv": self.bar_table(), "cores.csv": f"core,station,offset,bar depth,crack\nC1,{self.length(START + 1)},"
            f"{self.length(0.5)},2 in,no\n",
            "chlorides.csv": "slice,core,from,to,chloride\nS1,C1,0 in,0.5 in,0.10 % of concrete\n"
            "S2,C1,1 in,1.5 in,0.05 % of concrete\nS3,C1,2 in,2.5 in,0.01 % of concrete\n",
            "aggregates.csv": (DEMO["US"] / "aggregates.csv").read_text(encoding="utf-8"),
            "placements.csv": self.plan(),
        }  # fmt: skip
        made = {name: text.encode() for name, text in files.items() if text}
        folder = Path("generated")
        hashes = tuple((name, str(hash(data))) for name, data in made.items())
        return Contents(folder, folder, hashes, (), (), MappingProxyType(made))

    def head(self):
        """Return job.toml."""
        data = {name: copy.deepcopy(part) for name, part in filed().items() if name in KEPT}
        data["mix"] = {name: part for name, part in data["mix"].items() if name not in MIX}
        data["chloride"] = {name: part for name, part in data["chloride"].items() if name not in CHLORIDE}
        left, right = self.kerbs
        end = START + self.spans * 20.0
        data["plan"] = {
            "left": self.length(left), "right": self.length(right), "girders": [self.length(y) for y in self.girders],
            "joints": [self.length(START + 20.0 * i) for i in range(self.spans + 1)],
        }  # fmt: skip
        if self.girders:
            data["plan"]["flange_width"] = self.length(self.flange)
        else:
            data["deck"]["kind"] = "slab span"
            del data["deck_strip"]
        if not self.bars or len(self.girders) < 3:  # a strip spans over three girders or more
            data.pop("deck_strip", None)
        data["plan"]["below"] = [
            {"what": "water", "from_station": self.length(START), "to_station": self.length(end)},
        ]
        data["survey"] = {"readings_within": self.length(0.15)}
        data["deck"]["slab_thickness"] = self.length(self.slab)
        concretes = data["mix"]["concretes"]
        del concretes["C3"]["trial"]
        for name, strength in zip(("C3", "C5"), self.strengths, strict=True):
            concretes[name]["strength"] = self.stress(strength)
        data["mix"]["partial_depth"] = self.partial
        return {"units": self.system, **data, **self.changed}

    def rectangles(self):
        """Return rectangles.csv."""
        rows = [
            f"F{number},{','.join(self.length(v) for v in (one.station, one.offset, one.length, one.width))}"
            for number, one in enumerate(self.areas, 1)
        ]
        return "\n".join(["area,middle station,middle offset,length,width", *rows]) + "\n"

    def depths(self):
        """Return depths.csv: readings spread over each rectangle."""
        rows = []
        for one in self.areas:
            for i, depth in enumerate(one.depths):
                along = one.station + one.length * ((i + 1) / (len(one.depths) + 1) - 0.5)
                across = one.offset + one.width * (0.25 if i % 2 else -0.25)
                cells = ",".join(self.length(value) for value in (along, across, depth, one.cover))
                rows.append(f"D{len(rows) + 1},{cells}")
        return "\n".join(["reading,station,offset,depth,cover", *rows]) + "\n"

    def bar_table(self):
        """Return bars.csv: each bar in the patch of a number."""
        rows = [
            f"B{number},P{patch},#5,top main,2 in,{left:.3f} in; {left:.3f} in; {left - 0.01:.3f} in"
            for number, (patch, left) in enumerate(self.bars, 1)
        ]
        return "\n".join(["bar,patch,size,layer,loss length,readings", *rows]) + "\n" if rows else NO_BARS

    def plan(self):
        """Return placements.csv: a closure a night, each with one placing."""
        rows = [
            f"N{i},night-{i},{'; '.join(f'P{n}' for n in numbers)},,2026-04-{9 + i:02} 20:00,2026-04-{9 + i:02} 21:00,"
            f"2026-04-{9 + i:02} 23:00,2026-04-{10 + i:02} 05:00,,50 °F,wet fabric"
            for i, numbers in enumerate(self.placings, 1)
        ]
        top = (
            "placement,closure,patches,thickness,closing,start,end,opening,concrete temperature,slab temperature,curing"
        )
        return "\n".join([top, *rows]) + "\n" if rows else ""


NO_BARS = "bar,patch,size,layer,loss length,readings\nB1,P1,#5,top main,2 in,0.620 in; 0.620 in; 0.620 in\n"


def filed():
    """Return job.toml of the US demo job as data, read once."""
    if not FILED:
        FILED.update(tomllib.loads((DEMO["US"] / "job.toml").read_text(encoding="utf-8")))
    return FILED


FILED = {}


def steps(low, high, step):
    """Return values at even steps: sizes as a crew measures them."""
    count = round((high - low) / step)
    return st.integers(0, count).map(lambda i: round(low + i * step, 6))


@st.composite
def small_jobs(draw):
    """Draw a small job."""
    count = draw(st.sampled_from((0, 2, 3, 4, 5)))
    spacing = draw(steps(2.0, 3.4, 0.1))
    girders = tuple(round(spacing * (i - (count - 1) / 2), 6) for i in range(count))
    overhang, spans, slab = draw(steps(0.9, 1.6, 0.1)), draw(st.integers(1, 2)), draw(steps(0.18, 0.26, 0.01))
    left, right = (girders[0] - overhang, girders[-1] + overhang) if girders else (-5.0, 5.0)
    rows = max(int((right - left) / ACROSS), 1)
    columns = int(spans * 20.0 / ALONG)
    cells = draw(
        st.lists(st.tuples(st.integers(0, columns - 1), st.integers(0, rows - 1)), min_size=1, max_size=5, unique=True)
    )
    areas = []
    for column, row in sorted(cells):
        length, width = draw(steps(0.3, 1.2, 0.1)), draw(steps(0.3, 1.0, 0.1))
        station = START + ALONG * (column + 0.5) + draw(steps(-0.5, 0.5, 0.1))
        offset = left + ACROSS * (row + 0.5) + draw(steps(-0.3, 0.3, 0.1)) if rows * ACROSS <= right - left else 0.0
        depths = draw(st.lists(steps(0.04, slab - 0.03, 0.01), min_size=2, max_size=4))
        least = max(depths) / 5.5
        depths = tuple(max(depth, round(least, 3)) for depth in depths)
        areas.append(Area(round(station, 6), round(offset, 6), length, width, depths, draw(steps(0.035, 0.06, 0.005))))
    numbers = draw(st.permutations(range(1, len(areas) + 1)))
    planned = numbers[: draw(st.integers(0, len(areas)))]
    size = draw(st.integers(1, 3))
    return Small(
        draw(st.sampled_from(("SI", "US"))), girders, draw(steps(0.2, 0.5, 0.05)), overhang, spans, slab, tuple(areas),
        tuple(tuple(planned[i : i + size]) for i in range(0, len(planned), size)),
        (draw(st.sampled_from((28, 32, 35))), draw(st.sampled_from((28, 32, 35)))),
        tuple((1 + i % len(areas), draw(steps(0.50, 0.62, 0.01))) for i in range(draw(st.integers(0, 3)))),
        draw(st.sampled_from(("C3", "R1", "ready-mix"))),
    )  # fmt: skip
