"""The steps at one patch with the numbers of this job, each as its name and what is done; every number as another sheet has it."""

from __future__ import annotations

from deckcalc.base.fields import FULL
from deckcalc.closure.design.loads import shown
from deckcalc.closure.inputs import RateRow
from deckcalc.core import units
from deckcalc.core.units import Area, Distance, Length, Mass, Stress
from deckcalc.formwork.design.access import coming_off
from deckcalc.job import Job
from deckcalc.job.instructions import deeper
from deckcalc.patch.design import part_words
from deckcalc.patch.sheet.hole import Hole
from deckcalc.show.sections import plain
from deckcalc.steel.design.results import BarDesign

Step = tuple[str, str]


def mark(job: Job, name: str) -> Step:
    """Repair limits: sounding, growth for laps."""
    text = "Sound again. Mark corners and sides by the sketch, check the diagonals."
    if growth := job.steel.growth.get(name):
        text += f" **Its laps need {growth.words(job.system)} more than the repair limits give:** cut no bar before the engineer has decided."
    return "Sound, mark", text + " Delaminated beyond the line: move the line, measure what is added."


def saw(job: Job, name: str) -> Step:
    """Saw cut: depth, limit, length."""
    sides, deepest = job.patch[name].limits, job.patch[name].saw
    cover = job.show(job.patch[name].marked.least_cover, Length)
    how = "by the drawings, locate the bars first," if name in job.patch.cover_by_drawings else "measured"
    return "Saw the edges", (
        f"{job.show(job.limit('saw_depth').value, Length)} deep, {job.show(sides.P_cut, Distance)} of cut. Never deeper than "
        f"{units.show_at_most(deepest, Length, job.system)}: minimum cover {how} {cover}. Wet."
    )


def remove(job: Job, name: str) -> Step:
    """Breaking out: breakers, depth."""
    hammers = [job.show(job.limit(key).value, Mass, 0) for key in ("hammer", "hammer_near_bars")]
    tools = f"Breaker not above {hammers[0]}, not above {hammers[1]} near and below bars."
    volume = job.patch[name].volume
    carry = f"About {job.show(volume.V_placed * job.settings.deck.unit_weight, Mass, 0)} to haul away."
    if job.patch.depth_class[name] == FULL:
        return (
            "Break out",
            f"Through the slab, {job.show(job.settings.deck.slab_thickness, Length)}. {tools} Nobody below; edge guarded. {carry}",
        )
    removal, left = job.patch[name].removal, job.patch[name].left
    text = (
        f"{job.show(removal.h, Length)} deep on average, all unsound concrete out (deepest reading {job.show(removal.h_max, Length)}). "
        f"Slab left below the deepest: {job.show(left.t_r, Length)}; more gone, or daylight seen: stop. {tools} {carry}"
    )
    if more := deeper(job, job.patch[name]):
        text += f" **Chlorides: out to {' and '.join(more)} at least.**"
    if job.patch[name].through is not None:
        text += f" Through the slab: {part_words(job.patch, job.patch[name].through)}."
    return "Break out", text


def reaches_bars(job: Job, name: str) -> bool:
    """Whether the removal of a patch exposes bars."""
    removal = job.patch[name].removal
    return removal is None or bool(float(removal.n_r.magnitude))


def expose(job: Job, name: str) -> Step:
    """Bars to free and to clean, where the removal reaches them; else the hole alone."""
    if not reaches_bars(job, name):
        return "Clean the hole", "Blast the faces, blow dust out. It does not reach the bars; a bar seen: stop, call."
    removal, clean = job.patch[name].removal, "Blast bars to bright steel and the faces clean, blow dust out."
    if removal is None:
        return "Clean bars and hole", clean
    deck, clear, undercut = job.settings.deck, job.patch[name].clear, job.patch.inputs.removal.undercut
    under = f" Undercut the edges by {job.show(undercut, Length)} below the cut." if undercut is not None else ""
    return "Free the bars", (
        f"Both layers of the top mat ({deck.top_bar_outer}, {deck.top_bar_inner}): down to {job.show(removal.h_bars, Length)}, "
        f"{job.show(clear, Length)} clear all round below the lower layer.{under} {clean}"
    )


def add_bars(job: Job, name: str, hole: Hole) -> Step | None:
    """Bars that are added, with their places, lengths and laps; nothing where the removal reaches no bar."""
    if not reaches_bars(job, name):
        return None
    bars = job.steel.bars_in(name)
    if not bars:
        return (
            "Add bars, tie",
            "No bar of this patch was measured: read them all, use the table of readings. Tie; caps on ends.",
        )
    add = "; ".join(bar_to_add(job, bar, hole) for bar in bars if bar.supplement is not None)
    return "Add bars, tie", f"{f'Add {add}.' if add else 'No bar to add by the readings.'} Tie; caps on ends."


def bar_to_add(job: Job, bar: BarDesign, hole: Hole) -> str:
    """Say what is added beside a bar, and where that bar lies."""
    assert bar.supplement is not None
    where, row = "", bar.row
    if row.station is not None and row.offset is not None:
        unit = " mm" if job.system == "SI" else ""
        where = (
            f", {hole.length(hole.from_joint(row.station, row.offset))}{unit} from joint {hole.joint_number}"
            if bar.main
            else f", {hole.length(hole.from_kerb(row.offset))}{unit} from the {hole.kerb}"
        )
    text = f"beside {bar.name} ({row.layer}{where}): {int(bar.supplement.n.magnitude)} × {bar.size}"
    if bar.cut is not None:
        text += f", cut {job.show(bar.cut, Length)}, lap {job.show(bar.lap, Length)} each end"
    return text


def form(job: Job, name: str) -> Step | None:
    """Form of a full-depth hole: what it is, the steps until concrete is placed, and how far wheels keep off; or that there is none."""
    forms = job.formwork
    text = forms.outcome.get(name)
    if text is None:
        return ("Form", "By its own drawing: this package has none.") if job.patch.depth_class[name] == FULL else None
    text = plain(text[0].upper() + text[1:])
    if name not in forms:
        return "Form", f"**{text}. Do not break through before the engineer has given a form.**"
    off = plain((forms[name].keep_off[0].upper() + forms[name].keep_off[1:]).partition("; ")[0])
    return (
        "Form",
        f"{text.partition('; ')[0]}. Pieces and steps as on the form drawing. {off}. Clear the space below before placing.",
    )


def wet(job: Job, name: str) -> Step:
    """Wetting or grout."""
    bond, grout = job.patch[name].bond, job.patch[name].grout
    if grout is None:
        return "Wet the hole", f"{job.show(bond.A_b, Area)} of face: saturated surface-dry, no standing water."
    return "Wet, grout", (
        f"{job.show(bond.A_b, Area)} of face saturated surface-dry, no standing water; {job.show(grout, units.Liquid)} of grout, "
        "brushed in just ahead of the concrete. Grout that has dried: remove it."
    )


def place(job: Job, name: str) -> Step:
    """Placing; its limits are those of the hold point before it."""
    one = job.curing.of_patch(name) if job.of("curing") is not None else None
    drying = f" Drying: {plain(one.drying.words)}." if one is not None else ""
    return "Place, finish", (
        f"By the batch table.{drying} Work into edges and round bars, vibrate, screed level, texture; no water on the surface."
    )


def cure(job: Job, name: str) -> Step:
    """Cover or compound by the plan, and its end."""
    row, one, cover = job.file.work.placing_of(name), job.curing.of_patch(name), job.patch[name].wet_cover
    assert row  # only patches of the plan have a page
    if not row.wet:
        return "Spray, cure", f"{compound(job, name)} at once, {row.curing}: no sheet by the plan."
    text = f"Wet fabric and sheet {job.show(cover.L_c, Distance)} by {job.show(cover.B_c, Distance)}, at once. "
    if one is None or one.moist is None:
        text += f"Keep wet {job.show(job.limit('curing_time').value, units.Hours, 0)}, longer in the cold."
    else:
        end, work = one.moment(float(one.moist.m_as("h"))), job.file.work
        if end <= row.opening:
            text += f"Keep wet {job.show(one.moist, units.Days)}: until {work.in_words(end)} if placed as planned."
        else:  # the plan opens the lane before: an open item, which the check of sheet 06 is
            text += f"Keep wet until the lane opens, {work.in_words(row.opening)}; {job.show(one.moist, units.Days)} are required."
    return "Cover, cure", text + (f" When it comes off: {compound(job, name)}." if row.sprayed else "")


def compound(job: Job, name: str) -> str:
    """Say how much curing compound a patch takes."""
    found = job.closure.loads.get(name, {}).get("curing compound") if job.settings.closure else None
    return f"curing compound, {shown(job.closure, *found)}" if found else "curing compound"


def strip(job: Job, name: str) -> Step | None:
    """What comes off the form of a full-depth hole, and at which strength; with a timetable what its last step takes off."""
    wanted = job.mix.stripping.get(name)
    if wanted is None:
        return None
    off = (
        [plain(text) for text in coming_off(job.formwork, job.formwork[name]).values()] if name in job.formwork else []
    )
    if job.of("closure") is not None and job.closure.closure_of(name) is not None:
        off = off[-1:]  # the others are steps of their own
    return (
        "Strip the form",
        f"{' '.join(off)} Nothing before the concrete has **{job.show(wanted, Stress)}**, shown as below. Nobody under it.",
    )


def own_step(job: Job, name: str, row: RateRow) -> Step:
    """Return a step of rates.csv that is no step of every patch: what is done, and what it takes off the form."""
    off = coming_off(job.formwork, job.formwork[name]) if row.takes_off and name in job.formwork else {}
    return plain(row.work), plain(off.get(row.takes_off, ""))


def reopen(job: Job, name: str) -> Step:
    """Strength and hour of opening."""
    limit, work, one = job.limit("opening_strength"), job.file.work, job.curing.of_patch(name)
    mine = work.closure_of(name)
    assert mine  # only patches of the plan have a page
    text = f"Planned **{work.in_words(mine.opening)}**, and only when **{job.show(limit.value, Stress)}** is shown as above."
    if one is None:
        text += " No strength is computed: there is no weather record for its placing."
    elif not one.computed:
        text += " No curve of this concrete: the wait is an estimate until a test shows the strength."
    elif one.opens.sure is None:
        text += " By the curve of its concrete the strength is not reached within the record of the weather."
    else:
        text += f" By its curve, placed as planned: not before {work.in_words(one.moment(one.opens.sure))}."
    return "Open", text + " Not shown: the lane stays closed."
