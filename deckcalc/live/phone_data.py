"""What the page of a night knows: its patches with their tables and calculations, its placings, its hold points, whom to call; plain data.

Everything here was worked out by the job. What depends on readings is either a calculation, which the page runs in translation, or
a row of a decision table, which the page looks up.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from deckcalc import mix, patch
from deckcalc.base.fields import FULL, InRange, Strict
from deckcalc.base.work import Closure, PlacementRow
from deckcalc.closure.design.results import NOT_IN_TIME
from deckcalc.core import units
from deckcalc.core.bars import bar_diameter, is_square
from deckcalc.core.calculation import Calculation
from deckcalc.core.javascript.reading import kind as kind_read
from deckcalc.core.ranges import Range, speaking
from deckcalc.core.units import SYSTEMS, Distance, Length, OrderVolume, Quantity, Temperature
from deckcalc.job import Job
from deckcalc.job.field_opening import opening_table
from deckcalc.job.field_tables import CaliperTable, patch_tables
from deckcalc.job.holds import hold_points
from deckcalc.job.record_rows import AsBuiltRow, AsFoundBarRow, AsFoundRow
from deckcalc.mix.design import BagDesign, MixDesign
from deckcalc.mix.design.bags import NOTHING_ADDED
from deckcalc.package import crew, front
from deckcalc.package.decisions import stopped
from deckcalc.patch.design import PatchDesign, none_is_zero
from deckcalc.steel import section_loss, section_loss_square

#: A step of the calculations of a page: the name it is known by, the calculation, and its arguments: quantities, or results before it.
Step = tuple[str, Calculation, dict[str, Quantity | str]]
#: What a page can work out, by the key of the calculation.
CALCULATIONS = (
    patch.patch_depth, patch.patch_cover, patch.saw_cut, patch.removal_depth, patch.remaining_slab, patch.undercut_volume,
    patch.patch_volume, mix.mixer_loads, mix.batch_for_volume, mix.bags_opened, mix.extended_mortar, mix.bags_in_load,
    section_loss, section_loss_square,
)  # fmt: skip
#: Bars that can be entered at a patch of which none was measured before.
NEW_BARS = 12


def night(job: Job, closure: Closure) -> dict[str, Any]:
    """Return what the page of a closure knows."""
    head, work = job.settings, job.file.work
    found = {
        "package": head.package.number, "revision": job.file.revision.revision, "inputs": crew.inputs_hash(job), "closure": closure.name,
        "system": job.system, "subject": head.package.subject, "bridge": head.bridge.name, "scenario": head.package.scenario,
        "closing": work.in_words(closure.closing), "opening": work.in_words(closure.opening), "clock": work.style, "from": iso(closure.closing), "to": iso(closure.opening),
        "stops": front.not_for_work(job), "call": telephones(job),
        "reads": head.reinforcement.readings if head.reinforcement else 2,
        "fields": fields(),
        "patches": [of_patch(job, name) for name in closure.patches],
        "placings": {row.placement: placing(job, row, closure) for row in closure.placings},
    }  # fmt: skip
    return found


def telephones(job: Job) -> list[list[str]]:
    """Return who is called, the engineer first: what they are, their name, their number; empty where the job does not say."""
    people, bridge = job.settings.people, job.settings.bridge
    emergency = job.settings.safety.emergency if job.settings.safety else None
    found = [
        ["Engineer in charge", people.engineer, people.engineer_telephone],
        ["Owner’s desk", bridge.owner, bridge.owner_telephone],
    ]
    if emergency is None:
        return [*found, ["Ambulance", "", ""]]
    return [*found, *([key, "", number] for key, number in emergency.numbers.items()), ["Nearest emergency care", emergency.care, ""]]  # fmt: skip


def field(meaning: str, within: InRange) -> dict[str, Any]:
    """Return what a field may hold, as the reader of a page takes it; its range is that of the record."""
    one = within.kind if isinstance(within.kind, units.Kind) else units.kind_of(within.kind)
    reach = Range(within.low, within.high)
    low, high = (
        float(value.m_as(one.unit("SI"))) * scale + zero
        for value in (units.read(within.low, one), units.read(within.high, one))
        for scale, zero in [one.scale(one.unit("SI"))]
    )
    wanted = {}
    for system in SYSTEMS:
        with speaking(system):
            wanted[system] = f"{one.a_name} {reach.spoken(one)}"
    return {
        "name": "it", "meaning": meaning, "required": True, "wanted": wanted, "kind": kind_read(one), "several": 0, "low": low, "high": high,
        "slack": 1e-9 * abs(low), "above": False, "whole": one.whole, "target": [1.0, 0.0], "printed": {}, "unit": {system: one.symbol(system) for system in SYSTEMS},
    }  # fmt: skip


def fields() -> dict[str, dict[str, Any]]:
    """Return the fields of a page by name, with the ranges of the tables of the record that they go into."""
    columns: dict[str, tuple[str, type[Strict], str]] = {
        "depth": ("the depth", AsFoundRow, "depths"), "cover": ("the cover", AsFoundRow, "covers"), "loss": ("the length of the loss", AsFoundBarRow, "loss_length"),
        "bags": ("the number of bags", AsBuiltRow, "bags"), "warm": ("the fresh concrete", AsBuiltRow, "concrete_temperature"),
        "air": ("the air", AsBuiltRow, "air_temperature"), "slab": ("the existing concrete", AsBuiltRow, "slab_temperature"),
    }  # fmt: skip
    within = lambda model, column: next(one for one in model.model_fields[column].metadata if isinstance(one, InRange))  # noqa: E731
    return {name: field(meaning, within(model, column)) for name, (meaning, model, column) in columns.items()}


def constants(step: Step) -> list[Any]:
    """Return a step as plain data: quantities in coherent SI, references as they are."""
    name, calculation, given = step
    assert not calculation.empirical, calculation.key
    plain = {
        key: value if isinstance(value, str) else calculation.params[key].plain(value, calculation.key)
        for key, value in given.items()
    }
    return [name, calculation.key, plain]


def of_patch(job: Job, name: str) -> dict[str, Any]:
    """Return what the page knows of a patch."""
    one, tables, deck = job.patch[name], patch_tables(job, name), job.patch.deck
    metres = lambda value: None if value is None else float(value.m_as("m"))  # noqa: E731
    row = job.file.work.placing_of(name)
    assert row is not None  # only patches of the plan are on a page
    holds = [dict(zip(("when", "what", "rule", "who"), hold, strict=False)) for hold in hold_points(job, name)]
    return {
        "name": name, "planned": planned(job, one), "sketch": sketch(job, name), "placing": row.placement, "stops": stopped(job.open_at(name)),
        "full": one.removal is None, "part": one.through is not None, "floor": panel(job), "through": metres(job.patch.through_from), "slab": metres(deck.slab_thickness),
        "covers_planned": [metres(one.cover.least), metres(one.cover.greatest)],
        "depths": [
            {"depth": metres(r.depth), "class": r.depth_class, "full": r.depth_class == FULL, "out": metres(r.out), "concrete": r.concrete}
            for r in tables.depths
        ],
        "covers": [metres(r.cover) for r in tables.covers],
        "calipers": {f"{table.size} {'main' if table.main else 'distribution'}": caliper(table) for table in tables.calipers},
        "bars": bars(job, one, tables.calipers),
        "steps": {key: [constants(step) for step in steps] for key, steps in steps_of(job, one).items()},
        "loads": {"partial": loads_of(job, one, False), "full": loads_of(job, one, True)},
        "holds": holds, "rules": list(crew.stops(job, name)), "by": last_start(job, name),
    }  # fmt: skip


def panel(job: Job) -> float:
    """Return the depth to which a reading counts at least: that of the panel where the slab has one, in metres."""
    deck = job.patch.deck
    return 0.0 if deck.panel is None else float(patch.panel_depth(t=deck.slab_thickness, t_p=deck.panel).m_as("m"))


def planned(job: Job, one: PatchDesign) -> list[list[str]]:
    """Return what is planned for a patch: what, and how much."""
    show, bags, loads = job.show, job.mix.bag_loads.get(one.name), job.mix.loads.get(one.name)
    depth = show(job.patch.deck.slab_thickness, Length) if one.left is None else show(one.left.h_d, Length)
    low, high = show(one.cover.least, Length), show(one.cover.greatest, Length)
    added = [bar for bar in job.steel.bars_in(one.name) if bar.added is not None and bar.cut is not None] if job.of("steel") is not None else []  # fmt: skip
    mixed = "by ticket"
    if bags:
        mixed = f"{bags.count} of {' + '.join(map(str, dict.fromkeys(bags.bags)))} bags"
    elif loads:
        mixed = f"{loads.count} of {show(loads.volume, units.BatchVolume)}"
    return [
        ["class", one.depth_class + (" in part" if one.through is not None else "")],
        ["along × across", f"{show(one.limits.L, Distance)} × {show(one.limits.B, Distance)}"],
        ["break out to", depth], ["cover", low if low == high else f"{low} to {high}"],
        ["bars to add", "; ".join(bar.added_words(job.system) for bar in added) or "none planned"],
        ["concrete to mix", f"{show(one.volume.V_order, OrderVolume)} of {job.mix.for_patch(one.name).name}"], ["batches", mixed],
        ["form below", "as drawn, before placing" if one.depth_class == FULL else "none"],
    ]  # fmt: skip


def steps_of(job: Job, one: PatchDesign) -> dict[str, list[Step]]:
    """Return the calculations of a patch with readings in the place of what the survey gave: of partial depth, and gone through."""
    deck, removal, sides = job.patch.deck, job.patch.inputs.removal, one.limits
    shares: dict[str, Quantity | str] = {
        "q_grow": none_is_zero(None if one.marked.broken_out else removal.growth),
        "q_over": none_is_zero(None if one.marked.broken_out else removal.overbreak), "q_waste": job.limit("waste").value,
    }  # fmt: skip
    none = units.quantity(0.0, "m^3")
    depth: Step = ("depth", patch.patch_depth, {"h": "read.depths", "t": deck.slab_thickness})
    cover: Step = ("cover", patch.patch_cover, {"c": "read.covers"})
    through: Step = ("volume", patch.patch_volume, {"A": sides.A, "h": deck.slab_thickness, "V_u": none, **shares})
    found = {"cover": [cover], "full": [depth, through], "partial": [depth, through]}
    if one.removal is None:
        return found
    d_1, d_2 = bar_diameter(deck.top_bar_outer), bar_diameter(deck.top_bar_inner)
    least = {"c_min": "cover.c_min", "c_max": "cover.c_max"}
    partial: list[Step] = [
        depth,
        ("saw", patch.saw_cut, {"c_min": "cover.c_min", "m_saw": job.limit("saw_margin").value}),
        ("removal", patch.removal_depth, {"h_i": "read.deep", **least, "d_1": d_1, "d_2": d_2, "s_c": one.clear}),
        ("left", patch.remaining_slab, {"h_max": "removal.h_max", "h_r": "removal.h_r", "t": deck.slab_thickness}),
    ]
    under: Quantity | str = none
    if removal.undercut is not None:
        partial.append(
            ("under", patch.undercut_volume, {"P_e": sides.P_cut, "h": "removal.h", "d_saw": job.limit("saw_depth").value, "u": removal.undercut})
        )  # fmt: skip
        under = "under.V_u"
    partial.append(("volume", patch.patch_volume, {"A": sides.A, "h": "removal.h", "V_u": under, **shares}))
    return found | {"partial": partial}


def loads_of(job: Job, one: PatchDesign, full: bool) -> list[dict[str, Any]]:
    """Return the calculations of batches and bags for a class, by the depth from which they hold; none where it is delivered."""
    specified = job.concrete.specified
    if not specified.each or job.of("mix") is None:
        return []
    name = specified.name_of(one.name, FULL if full else "partial depth")
    design, want = job.mix.each.get(name), job.mix.inputs.mix
    if isinstance(design, BagDesign):
        product = design.concrete
        dense = NOTHING_ADDED
        if product.aggregate:
            row = job.mix.inputs.aggregate[product.aggregate]
            dense = mix.relative_densities(RD=row.relative_density, A=row.absorption, basis=row.density_basis).RD_s
        found = []
        for start, share in ((0.0, 0 * product.extension), (float(product.extend_from.m_as("m")), product.extension)):
            mortar: Step = ("mortar", mix.extended_mortar, {
                "V": "volume.V_order", "m_bag": product.bag, "V_neat": product.neat_yield, "q_ext": share, "RD_ag": dense, "m_w": product.water,
                "rho_w": want.water_density,
            })  # fmt: skip
            each: Step = ("each", mix.bags_in_load, {"n": "mortar.n", "V_bag": "mortar.V_bag", "V_mixer": want.load})
            found.append({"from": start, "concrete": name, "steps": [constants(mortar), constants(each)], "bags": "mortar.n", "most": "each.n_each"})  # fmt: skip
        return found
    if isinstance(design, MixDesign):
        whole = want.batch_by == "whole bags"
        load = mix.whole_bag_load(V_mixer=want.load, C=design.masses["cement"], m_bag=want.bag).V_b if whole else want.load  # fmt: skip
        batch: dict[str, Quantity | str] = {
            "V": load if whole else "loads.V_load", "C": design.masses["cement"], "B_ca": design.moist["coarse"], "B_fa": design.moist["fine"], "W_add": design.moist["water"],
        }  # fmt: skip
        steps: list[Step] = [
            ("loads", mix.mixer_loads, {"V": "volume.V_order", "V_mixer": load}), ("batch", mix.batch_for_volume, batch),
            ("bags", mix.bags_opened, {"m_c": "batch.m_c", "m_bag": want.bag, "n": "loads.n"}),
        ]  # fmt: skip
        return [{"from": 0.0, "concrete": name, "steps": [constants(s) for s in steps], "bags": "bags.n_all", "batches": "loads.n"}]  # fmt: skip
    return []


def caliper(table: CaliperTable) -> dict[str, Any]:
    """Return the table of a size of bar in metres."""
    metres = lambda value: float(value.m_as("m"))  # noqa: E731
    return {
        "leave": metres(table.leave), "pair": metres(table.leave_pair), "call": metres(table.call), "added": table.added,
        "lap": None if table.lap is None else metres(table.lap), "cuts": [[metres(a), metres(b)] for a, b in table.cuts],
    }  # fmt: skip


def bars(job: Job, one: PatchDesign, tables: list[CaliperTable]) -> list[dict[str, Any]]:
    """Return the bars that may be read at a patch, in the order in which they lie: those that were measured before, or places for new ones."""
    if not tables:
        return []
    over = 1 + float(job.limit("bar_oversize").value.m_as(""))
    known: list[tuple[str, str, str, bool]] = [
        (bar.name, bar.row.size, bar.row.layer, False) for bar in job.steel.bars_in(one.name)
    ]
    for table in tables:
        layer = "top main" if table.main else "top distribution"
        if not any((size, place) == (table.size, layer) for _, size, place, _ in known):
            taken = {bar.name for bar in job.steel}
            names = (f"{one.name}-{table.size.strip('#')}-{count}" for count in range(1, 1000))
            known += [(name, table.size, layer, True) for name in [n for n in names if n not in taken][:NEW_BARS]]
    found = []
    for name, size, layer, new in known:
        calculation = section_loss_square if is_square(size) else section_loss
        whole = float(bar_diameter(size).m_as("mm"))
        found.append({
            "name": name, "size": size, "layer": layer, "new": new, "table": f"{size} {layer.removeprefix('top ')}",
            "key": calculation.key, "area": float(job.steel.sound_area(size).m_as("m^2")),
            "field": field(f"diameter of {name}", InRange(units.Diameter, "1 mm", f"{over * whole:.6g} mm")),
        })  # fmt: skip
    return found


def last_start(job: Job, name: str) -> str:
    """Return the last hour of the timetable at which placing of a patch may begin; empty where there is no timetable."""
    made = job.closure.closure_of(name) if job.of("closure") is not None else None
    if made is None:
        return ""
    last = [
        made.last_start[i]
        for i, step in enumerate(made.network.steps)
        if step.group == name and job.closure.rates[step.activity].per == "mixer"
    ]
    if not last:
        return ""
    return NOT_IN_TIME if min(last) < -1e-6 else iso(made.moment(min(last)))


def iso(moment: datetime.datetime) -> str:
    """Return a local moment as a field of a page writes it, to the minute below."""
    return f"{moment:%Y-%m-%dT%H:%M}"


def placing(job: Job, row: PlacementRow, closure: Closure) -> dict[str, Any]:
    """Return the hours and the limits of a placing, and its table of opening."""
    table, work = opening_table(job, row), job.file.work
    kelvin = lambda value: float(value.m_as("K"))  # noqa: E731
    found: dict[str, Any] = {
        "first": row.names[0], "start": iso(row.start), "end": iso(row.end), "opening": iso(closure.opening), "rows": [], "slab": None, "curve": "",
        "words": f"{crew.short(work.in_words(row.start))} to {work.hour(row.end)}",
        "least": {"air": kelvin(job.limit("air_least").value), "slab": kelvin(job.limit("contact_least").value)},
        "within": None, "said": {key: job.show(job.limit(limit).value, Temperature) for key, limit in (("air", "air_least"), ("slab", "contact_least"))},
    }  # fmt: skip
    if job.of("mix") is not None and row.names:
        cold, hot = job.mix.placing_limits(job.mix.for_patch(row.names[0]))
        found["within"] = [kelvin(cold.value), kelvin(hot.value)]
        found["said"]["warm"] = f"{job.show(cold.value, Temperature)} to {job.show(hot.value, Temperature)}"
    if table is None or not table.rows:
        return found
    return found | {
        "slab": kelvin(table.slab), "curve": f"{table.concrete}, {table.curve}", "slab_said": job.show(table.slab, Temperature),
        "rows": [
            {"concrete": kelvin(r.concrete), "air": kelvin(r.air), "opens": r.opens and iso(r.opens), "by": r.start_by and iso(r.start_by)}
            for r in table.rows
        ],
    }  # fmt: skip


def sketch(job: Job, name: str) -> Mapping[str, Any]:
    """Return the corners of a patch as its sheet gives them, and what is drawn of it: places as shares of its longer side."""
    found = crew.hole_of(job, name)
    (x_1, y_1), (x_2, y_2) = found.corners.min(axis=0), found.corners.max(axis=0)
    k = max(x_2 - x_1, y_2 - y_1)
    at = lambda x, y: [round(float((x - x_1) / k), 4), round(float((y - y_1) / k), 4)]  # noqa: E731
    return {
        "wide": at(x_2, y_2)[0], "tall": at(x_2, y_2)[1], "outline": [at(x, y) for x, y in found.corners],
        "corners": [list(one) for one in found.places()], "diagonals": list(found.diagonals() or ()), "joint": found.joint_number, "kerb": found.kerb,
        "sides": [found.length(float(x_2 - x_1)), found.length(float(y_2 - y_1))],
        "depths": [[*at(*place), found.length(r.depth or 0.0)] for place, r in zip(found.one.marked.places, found.one.marked.deep, strict=True)],
        "bars": [[*at(bar.station, bar.offset), bar.label, bool(bar.along)] for bar in found.bars],
    }  # fmt: skip
