"""Blasting, work over water, slurry, and what to know in an emergency."""

from __future__ import annotations

from deckcalc import safety
from deckcalc.base.subject import Material
from deckcalc.core import units
from deckcalc.core.check import SATISFIED, Check, Limit
from deckcalc.core.units import Count, Distance, SlurryVolume, quantity
from deckcalc.core.words import how_many
from deckcalc.safety.design.results import Blast, CrewSafety, Held
from deckcalc.safety.inputs import SlurryRow


def surroundings(crew: CrewSafety) -> None:
    """Work out blasting, ring buoys and slurry where the job has them, and say what is missing."""
    want = crew.inputs.safety
    assert want is not None
    if want.emergency is None:
        crew.missing.append("emergency care, telephone numbers and who is in charge (section [safety.emergency])")
    blasting(crew)
    over_water(crew)
    if not crew.below:
        crew.missing.append("what lies or passes below the patches ([plan], below)")
    if want.over_water is None and "water" in crew.below:
        crew.missing.append("rescue from the water that lies below (section [safety.over_water])")
    for row in want.slurry:
        slurry(crew, row)


def blasting(crew: CrewSafety) -> None:
    """Check the abrasive, and the silica in the air against the limit."""
    want = crew.inputs.safety.blasting if crew.inputs.safety else None
    if want is None:
        return
    hours, made = crew.hours_of(want), None
    crew.checks.append(
        Check("blasting", "crystalline silica in the abrasive", want.silica, crew.limit("blast_silica"), "at most",
              "blast with another abrasive")
    )  # fmt: skip
    limit = crew.limit("silica_level")
    if want.level is not None:
        made = crew.run(safety.blasting_dust, "blasting", C=want.level, t=hours, C_L=limit.value)
    crew.checks.append(
        Check("blasting", "silica in the air over eight hours, outside the hood", made.C_8 if made else None, limit, "at most",
              "wear at least the protection factor that is worked out, wet the blast, take turns; keep others away"
              if made else "the level was not measured: measure it before others come near")
    )  # fmt: skip
    crew.blast = Blast(want, hours, made)


def over_water(crew: CrewSafety) -> None:
    """Count the ring buoys and check their lines."""
    section = crew.inputs.safety
    want = section.over_water if section else None
    if want is None or section is None:
        return
    item = "over water"
    crew.buoys = n = crew.run(safety.ring_buoys, item, L=want.length, s=crew.limit("buoy_spacing").value).n
    line = f"each with {crew.at_least(want.line, Distance)} of line"
    crew.materials.append(Material("Ring buoys", f"{want.buoys}", line, "08 Crew sheets"))
    wanted = Limit("buoys", "ring buoys wanted", n, units.kind_of(Count), "geometry")
    reach = Limit("drop", "drop to the water", section.drop, units.kind_of(Distance), "job")
    crew.checks += [
        Check(item, "ring buoys laid out", quantity(float(want.buoys)), wanted, "at least", "lay out more ring buoys"),
        Check(item, "line on a ring buoy", want.line, crew.limit("buoy_line"), "at least", "longer lines"),
        Check(item, "line reaches the water", want.line, reach, "at least", "longer lines"),
    ]


def slurry(crew: CrewSafety, row: SlurryRow) -> None:
    """Work out the slurry of one kind of wet work, and check tanks and pH."""
    item, hours = f"slurry of {row.work}", crew.hours_of(row)
    made = crew.run(
        safety.slurry,
        item,
        q=row.flow,
        t=hours,
        V_c=row.solids,
        r=row.vacuum,
        f=crew.limit("slurry_spare").value,
        V_1=row.tank,
    )
    crew.slurry.append(Held(row, hours, made))
    room = Limit("tanks", "room in the tanks on site", row.tank * row.tanks, units.kind_of(SlurryVolume), "job")
    held = Check(
        item,
        "slurry to be held, with room kept free",
        made.V_h,
        room,
        "at most",
        "more tanks, or empty them in the shift",
    )
    ph = None if row.ph is None else quantity(row.ph)
    crew.checks += [
        held,
        Check(item, "pH of the slurry", ph, crew.limit("slurry_ph"), "less than",
              "it is hazardous waste: only a carrier and a place licensed for it" if ph is not None
              else "not measured: measure it before it leaves the site"),
    ]  # fmt: skip
    size = f"of {crew.show(row.tank, SlurryVolume)} each, empty before the shift"
    crew.materials.append(Material(f"Tanks for the slurry of {row.work}", f"{row.tanks}", size, "08 Crew sheets"))
    word = "fit the tanks on site" if held.verdict == SATISFIED else "do not fit the tanks on site"
    crew.decisions[item] = (
        f"{crew.at_least(made.V_h, SlurryVolume)} to be held, {how_many(round(float(made.n.magnitude)), 'fill')} of a tank of "
        f"{crew.show(row.tank, SlurryVolume)}: they {word}; taken to {row.goes}"
    )
