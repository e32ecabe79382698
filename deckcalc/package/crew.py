"""Crew pages: one page for each patch, the steps in the order of the work with the numbers of this job, and boxes to tick.

Every number is one that another sheet of the package worked out, printed as it stands there.
"""

from __future__ import annotations

import re

from deckcalc.base.fields import FULL
from deckcalc.closure.design import ClosurePlan
from deckcalc.closure.design.loads import shown
from deckcalc.closure.design.results import NOT_IN_TIME
from deckcalc.core import units
from deckcalc.core.units import Area, Distance, Length, Mass, OrderVolume, Stress, Temperature
from deckcalc.curing.sheet import evaporation
from deckcalc.formwork.design.access import coming_off, steps
from deckcalc.job import Job
from deckcalc.job.instructions import deeper
from deckcalc.job.settings import WORDS
from deckcalc.mix.design import BagLoads, MixerLoads
from deckcalc.mix.sheet.cards import places, scale
from deckcalc.package.decisions import stopped
from deckcalc.patch.design import part_words
from deckcalc.patch.sheet import chalked, corners_of
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, plain

BOX = "□"
BLANK = "\u00a0" * 14  # room for a time and initials
FOREMAN = "\\_" * 14  # to sign on
Step = tuple[str, str]


def pages(job: Job) -> Text:
    """Return the page of every patch of the plan, in the order of the work; a patch without a place in it has none."""
    missing = [WORDS[key] for key in ("patch", "mix") if key not in job.file.ready]
    if missing:
        return Text(f"No page for the crew: the job has no {', no '.join(missing)}.\n")
    if not job.file.work.adopted:
        return Text("No plan of the work is adopted: there is no page for the crew.\n")
    return block([page(job, name) for name in names(job)])


def left_out(job: Job) -> list[str]:
    """Return the patches of the job that have no place in the adopted plan."""
    work = job.file.work
    return work.unplanned([one.name for one in job.patch]) if work.adopted and "patch" in job.file.ready else []


def names(job: Job) -> list[str]:
    """Return the patches of the plan in the order of the work."""
    return [name for closure in job.file.work for name in closure.patches]


def page(job: Job, name: str) -> Text:
    """Return the page of one patch; its heading begins a new page."""
    steps = [
        mark(job, name), saw(job, name), remove(job, name), expose(job, name), add_bars(job, name), form(job, name),
        inspect(job, name), wet(job, name), batch(job, name), place(job, name), cure(job, name), strip(job, name), reopen(job, name),
    ]  # fmt: skip
    rows = [
        [BOX, f"**{number}. {step[0]}**", bound(step[1]), BLANK]
        for number, step in enumerate((s for s in steps if s), 1)
    ]
    times = hours(job.closure, name)
    return block(
        [
            f"# Crew page: patch {name}",
            f'<div class="{"crew" if times else "roomy"}">',
            bound(facts(job, name)),
            not_before(job, name),
            pipe_table(["", "step", "numbers of this patch", "time, initials"], rows, "llll"),
            times,
            "</div>",
        ]
    )


def bound(text: str) -> str:
    """Return text in which a number and its unit stay on one line, and no full stop stands twice."""
    text = text.replace(".m..", ".m.")
    return re.sub(r"(?<=\d) (?=[A-Za-z%°µ²³])", "\u00a0", text)


def facts(job: Job, name: str) -> str:
    """Which patch it is, where it stands, and its place in the plan."""
    patches, work = job.patch, job.file.work
    one, mine, placing = patches[name], work.closure_of(name), work.placing_of(name)
    assert mine and placing  # only patches of the plan have a page
    show, sides = patches.show, one.limits
    planned = (
        f"number {mine.patches.index(name) + 1} of {len(mine.patches)} in closure {plain(mine.name)}: lane closed {work.in_words(mine.closing)}, "
        f"concrete from {work.in_words(placing.start)} to {work.hour(placing.end)}, lane open {work.in_words(mine.opening)}"
    )
    word = one.depth_class + (" in part" if one.through is not None else "")
    return (
        f"**{word[0].upper()}{word[1:]}**, span {one.marked.span}, {show(sides.L, Distance)} along by {show(sides.B, Distance)} across "
        f"traffic, {show(sides.A, Area)}; {plain(one.location.kind)}; concrete to mix {show(one.volume.V_order, OrderVolume)}. {planned[0].upper()}{planned[1:]}. "
        f"**Anything that does not fit these numbers: stop, ask the engineer.** Foreman\u00a0{FOREMAN}"
    )


def not_before(job: Job, name: str) -> str:
    """What the open items of this patch stop, by their numbers; empty where none is undecided."""
    said = stopped(job.open_at(name))
    return (
        f"**Open, and not before the engineer has decided** (numbers of the list of open items) — {said}."
        if said
        else ""
    )


def mark(job: Job, name: str) -> Step:
    """Repair limits: corners, diagonals, growth for laps."""
    one = job.patch[name].marked
    corners = corners_of(one)
    unit = units.head(units.kind_of(Distance), job.system) or "feet and inches"
    said = "; ".join(
        f"{letter} {chalked(job.patch, x)}, {chalked(job.patch, y)}"
        for letter, (x, y) in zip("abcdefgh", corners, strict=False)
    )
    text = f"Corners, station and offset in {unit}: {said}."
    if len(corners) == 4:
        across = [float(((corners[i] - corners[j]) ** 2).sum() ** 0.5) for i, j in ((0, 2), (1, 3))]
        text += f" Diagonals {chalked(job.patch, across[0])} and {chalked(job.patch, across[1], True)}."
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


def expose(job: Job, name: str) -> Step | None:
    """Bars to free."""
    removal = job.patch[name].removal
    if removal is None:
        return None
    deck = job.settings.deck
    if not float(removal.n_r.magnitude):
        return (
            "Bars",
            f"The unsound concrete does not reach the bars ({deck.top_bar_outer}): leave their concrete unless the bars are loose.",
        )
    clear = job.patch[name].clear
    under = (
        f" Undercut the edges by {job.show(undercut, Length)} below the cut."
        if (undercut := job.patch.inputs.removal.undercut) is not None
        else ""
    )
    return "Free the bars", (
        f"Both layers of the top mat ({deck.top_bar_outer}, {deck.top_bar_inner}): down to {job.show(removal.h_bars, Length)}, "
        f"{job.show(clear, Length)} clear all round below the lower layer.{under}"
    )


def add_bars(job: Job, name: str) -> Step:
    """Bars that are added, with their lengths and laps."""
    bars = job.steel.bars_in(name)
    if not bars:
        return (
            "Add bars, tie",
            "No bar of this patch was measured: clean, measure where steel is lost, and ask before tying. Caps on ends.",
        )
    said = []
    for bar in bars:
        if bar.supplement is None:
            continue
        text = f"beside {bar.name} ({bar.row.layer}): {int(bar.supplement.n.magnitude)} × {bar.size}"
        if bar.cut is not None:
            text += f", cut {job.show(bar.cut, Length)}, lap {job.show(bar.lap, Length)} each end"
        said.append(text)
    add = "; ".join(said)
    return (
        "Add bars, tie",
        f"Blast bars to bright steel. {f'Add {add}.' if add else 'No bar to add by the readings.'} Tie; caps on ends.",
    )


def form(job: Job, name: str) -> Step | None:
    """Form of a full-depth hole: what it is, the steps until concrete is placed, and how far wheels keep off; or that there is none."""
    forms = job.formwork
    text = forms.outcome.get(name)
    if text is None:
        return ("Form", "By its own drawing: this package has none.") if job.patch.depth_class[name] == FULL else None
    text = plain(text[0].upper() + text[1:])
    if name not in forms:
        return "Form", f"**{text}. Do not break through before the engineer has given a form.**"
    one = forms[name]
    before = steps(forms, one)[: -len(one.take_off)]
    order = " ".join(f"({number}) {plain(step)}" for number, step in enumerate(before, 1))
    off = plain((one.keep_off[0].upper() + one.keep_off[1:]).partition("; ")[0])
    return (
        "Form",
        f"{text.partition('; ')[0]}. Pieces as on the form drawing. {order} {off}. Clear the space below before placing.",
    )


def inspect(job: Job, name: str) -> Step:
    """Hold point."""
    return (
        "HOLD: inspect",
        "Hole sound all over, dust blown out, bars tied, form tight and inspected. No concrete before the inspector has signed here.",
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


def batch(job: Job, name: str) -> Step:
    """Batches, what goes in, water."""
    loads, bags = job.mix.loads.get(name), job.mix.bag_loads.get(name)
    if bags:
        return "Batch", bag_load(job, bags)
    made = job.mix.for_patch(name)
    order = job.show(job.patch[name].volume.V_order, units.OrderVolume)
    return "Batch", load(
        job, loads
    ) if loads else f"{plain(made.item)}, {made.kind}: {order}, by its ticket; no batch is worked out here."


def bag_load(job: Job, one: BagLoads) -> str:
    """Say what one batch of a prepackaged concrete takes."""
    product, made = one.design.concrete, one.found
    most = max(one.bags)
    unit, mass = units.kind_of(Mass).symbol(job.system), lambda q: f"{scale(q, job.system)}"
    last = f", the last of {one.bags[-1]}" if one.bags[-1] != most else ""
    aggregate = (
        f", {plain(product.aggregate)} {job.show(made.m_ag, Mass, 1).partition(' ')[0]} {unit} to each bag"
        if one.extended
        else ", neat"
    )
    return (
        f"**{one.count} batch{'es' if one.count > 1 else ''}** of {most} bag{'s' if most > 1 else ''}{last} ({plain(one.design.item)}: {plain(product.product)}, "
        f"bags of {job.show(product.bag, Mass)}){aggregate}. **Water {mass(product.water)} {unit} to each bag and never more.** Whole bags only."
    )


def load(job: Job, one: MixerLoads) -> str:
    """Say what one batch takes."""
    unit, kind = units.kind_of(Mass).symbol(job.system), units.kind_of(Length)
    solid = ", ".join(
        f"{plain(w.material)} {job.show(w.mass, Mass, places(w, job.system)).partition(' ')[0]}"
        for w in one.weights
        if w.mass is not None
    )
    decimals = 1 if float(units.magnitude(one.water.m_most, units.kind_of(Mass), job.system)) >= 5 else 2
    water = [
        scale(value, job.system, decimals=decimals) for value in (one.water.m_first, one.water.m_held, one.water.m_most)
    ]
    bags = int(one.whole.n_bags.magnitude)
    wanted = f"slump {units.magnitude(one.mix.slump, kind, job.system):g} {kind.symbol(job.system)}"
    if job.mix.inputs.mix.entrained == "air-entrained":
        wanted += f", air {one.mix.air.m_as('percent'):.1f} %"
    return (
        f"**{one.count} batch{'es' if one.count > 1 else ''}** of {job.show(one.volume, units.BatchVolume)} ({one.mix.item}), in {unit} each: {solid} "
        f"(open {bags} bag{'s' if bags > 1 else ''} of cement for each batch, {one.opened} in all). **Water {water[0]} first, {water[1]} held back, never more than "
        f"{water[2]} {unit}.** {wanted[0].upper()}{wanted[1:]}. Admixtures and limits of the scale: batch card."
    )


def place(job: Job, name: str) -> Step:
    """Temperatures, evaporation, placing."""
    show = lambda value: job.show(value, Temperature)  # noqa: E731
    cold, hot = (limit.value for limit in job.mix.placing_limits(job.mix.for_patch(name)))
    text = f"Concrete {show(cold)} to {show(hot)}; air {show(job.limit('air_least').value)} or more; existing concrete {show(job.limit('contact_least').value)} or more."
    one = job.curing.of_patch(name)
    if one is not None:
        drying, limit = one.drying, job.curing.evaporation_limit(one.design).value
        text += (
            f" Evaporation at the worst hour {evaporation(job.curing, drying.rate)} of at most {evaporation(job.curing, limit)}: "
            f"{plain(drying.words)}."
        )
    return (
        "Place, finish",
        text + " Work into edges and round bars, vibrate, screed level, texture; no water on the surface.",
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
    """What comes off the form of a full-depth hole, and at which strength."""
    wanted = job.mix.stripping.get(name)
    if wanted is None:
        return None
    said = ""
    if name in job.formwork:
        said += " ".join(plain(step) for step in coming_off(job.formwork, job.formwork[name]).values()) + " "
    return (
        "Strip the form",
        f"{said}Nothing before the concrete has **{job.show(wanted, Stress)}**, shown as below. Nobody under it.",
    )


def reopen(job: Job, name: str) -> Step:
    """Strength and hour of opening."""
    limit, work, one = job.limit("opening_strength"), job.file.work, job.curing.of_patch(name)
    mine = work.closure_of(name)
    assert mine  # only patches of the plan have a page
    text = (
        f"Planned: **{work.in_words(mine.opening)}**, and only when **{job.show(limit.value, Stress)}** is shown by cylinders cured "
        "beside the patch, or by its measured temperature."
    )
    if one is None:
        text += " No strength is computed: there is no weather record for its placing."
    elif not one.computed:
        text += " No curve of this concrete: the wait is an estimate until a test shows the strength."
    elif one.opens.sure is None:
        text += " By the curve of its concrete the strength is not reached within the record of the weather."
    else:
        text += (
            f" By the curve of its concrete, placed as planned: not before {work.in_words(one.moment(one.opens.sure))}."
        )
    return "Open", text + " Not shown: the lane stays closed."


def hours(plan: ClosurePlan, name: str) -> str:
    """By when each step of this patch must have begun, and what is done if it has not."""
    one = plan.closure_of(name)
    if one is None:
        return ""
    fallback = {start.step.name: start.fallback for start in one.latest_starts}
    steps = [(one.last_start[i], step) for i, step in enumerate(one.network.steps) if step.group == name]
    rows = [
        [
            plain(plan.rates[step.activity].work),
            f"**{one.begin_by(last)}**",
            BLANK[:9],
            plain(fallback.get(step.name, "")),
        ]
        for last, step in sorted(steps, key=lambda pair: (pair[0], pair[1].rank))
    ]
    share = plan.show(plan.limit("open_in_time").value, units.Probability, 0)
    return "\n\n".join(
        [
            bound(
                f"**Latest start times, {plain(one.name)}.** Begun later, the probability of opening as planned is less "
                f"than {share}; “{NOT_IN_TIME}”: the closure does not open as planned, ask the engineer before it begins."
            ),
            pipe_table(["step", "begin by", "began", "if it has not begun by then"], rows, "llll"),
        ]
    )
