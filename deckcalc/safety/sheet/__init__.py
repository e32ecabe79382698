"""Safety sheet: one page in plain words for the tool-box talk, each danger with its number and the rule behind it."""

from __future__ import annotations

from deckcalc import safety
from deckcalc.core import units
from deckcalc.core.sources import short
from deckcalc.core.units import Distance, HandVibration, Mass, Minutes, RoadLength, registry
from deckcalc.formwork.inputs import Hole
from deckcalc.job import Job
from deckcalc.safety.design import RULES, mask
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, by_hand, caution, checks, plain

Row = tuple[str, str, str, str]
LINE = "\\_" * 40  # to write on


def first_line(job: Job) -> Text:
    """Say who decides, before anything else."""
    decides = job.safety.choice.plan if job.safety.choice else "the employer's safety plan"
    return caution(
        f"The local safety code, {plain(decides)} and the competent person on site decide. This page reminds; it replaces no licensed practice "
        "and no training. Anyone may stop the work."
    )


def talk(job: Job) -> Text:
    """One page: what can hurt, its number on this job, what we do, the rule."""
    rows = [
        traffic(job),
        dust(job),
        noise(job),
        hands(job),
        edges(job),
        below(job),
        lifting(job),
        wet_concrete(job),
        forms(job),
        slab(job),
    ]
    return block(
        [
            first_line(job),
            pipe_table(["danger", "number of this job", "what we do, and the rule behind it"], [[a, b, f"{c} {d}"] for a, b, c, d in rows], "lll"),
            f"Talked through on {LINE[:24]} by {LINE[:32]}. Present, initials: {LINE[:60]}",
        ]
    )  # fmt: skip


def rule(*keys: str) -> str:
    """Return the rules cited, by the keys of the bibliography."""
    recalled = {cite.key for cite in RULES if cite.provenance == "memory"}
    return "; ".join(f"[{short(key)}]{' (in part from memory)' if key in recalled else ''}" for key in keys)


def minutes(job: Job, time: units.Quantity) -> str:
    """Print a time in minutes."""
    return job.show(time.to("min"), Minutes)


def traffic(job: Job) -> Row:
    """Traffic past the work."""
    do = "Stay behind the devices and face the traffic. Nobody in the buffer or the roll-ahead. Vest and light on, step out on the far side only."
    want = job.head.traffic
    if want is None:
        return "**Traffic**", "by the authority's plan", do, "(authority's plan)"
    length = {name: job.show(registry().Quantity(b - a, "m"), RoadLength) for name, (a, b) in job.traffic.parts.items()}
    number = (
        f"Empty buffer {length['buffer, empty']}, protection vehicle of {job.show(want.vehicle_mass, Mass, 0)}, empty roll-ahead "
        f"{length['roll-ahead, empty']}; traffic at {job.show(want.speed, units.RoadSpeed)}"
    )
    return "**Traffic**", number, do, f"({plain(want.authority)})"


def dust(job: Job) -> Row:
    """Silica dust."""
    said = [
        f"{one.tool.tool}, {minutes(job, one.hours)}: {mask(one.factor)}" + (" (row from memory)" if one.seen == "memory" else "")
        for one in job.safety.dust
    ]  # fmt: skip
    how = dict.fromkeys(f"{one.tool.tool}: {one.method}" for one in job.safety.dust)
    do = "; ".join(how) if how else "Water at the blade and at the point of the breaker, or extraction"
    return (
        "**Silica dust**", "; ".join(said) or "no tool is listed in the job", f"{do}. Never dry; no dry sweeping or blowing at people.",
        rule("osha-1926-1153"),
    )  # fmt: skip


def noise(job: Job) -> Row:
    """Noise dose of the shift."""
    dose = [run.result.D for run in job.closure.runs_of(safety.noise_dose)]
    number = (
        f"Dose without protection {job.show(dose[0], units.Share, 0)} of what is permitted in a shift" if dose else "not worked out: no levels in the job"
    )  # fmt: skip
    if dose and job.closure.choice:
        levels = [f"{one.step} {one.level.magnitude:.0f} dBA" for one in job.closure.choice.noise]
        number += f" ({', '.join(levels)})"
    do = "Ear protection on before the tool starts, for all near it. Take turns."
    return "**Noise**", number, do, rule("osha-1926-52")


def hands(job: Job) -> Row:
    """Vibration of the hands."""
    do = "Take turns before the first of the two times, keep hands warm and dry, let the tool do the work. Numb or white fingers: report it."
    tools = [(one, one.vibration) for one in job.safety.dust if one.vibration is not None]
    if not tools or job.safety.shift is None:
        return "**Shaking hands**", "not worked out: no vibration of a tool in the job", do, rule("eu-2002-44")
    said = "; ".join(
        f"{one.tool.tool}: trigger time {minutes(job, made.t_a)} to the action value, {minutes(job, made.t_l)} to the limit value"
        for one, made in tools
    )
    number = f"One worker all night: {job.show(job.safety.shift, HandVibration)} over 8 h. {said}"
    return "**Shaking hands**", number, do, rule("eu-2002-44")


def edges(job: Job) -> Row:
    """Full-depth holes and deck edges."""
    holes = job.safety.holes
    through = f"Holes through the slab: {', '.join(holes)}" if holes else "No hole goes through the slab as planned"
    limit = job.show(job.limit("fall_height").value, Distance)
    want = job.safety.choice
    number = f"{through}. " + (
        f"Drop {job.show(want.drop, Distance)}; guarded from {limit} on" if want else f"Guarded from {limit} on"
    )
    do = (
        "Rail (top at 1.1 m, 42 in) round the hole or a cover fixed down and marked HOLE, good for twice what may stand on it (twice the axle where "
        "traffic crosses). Tie off where there is neither. Deck edges the same."
    )
    return "**Falls**", number, do, rule("osha-1926-501", "osha-1926-502")


def below(job: Job) -> Row:
    """What may fall on people below."""
    want = job.safety.choice
    number = f"Below: {plain(want.below)}" if want else "See what lies below"
    do = (
        "Nobody under the work while it is broken out or placed. Where debris can fall: barricade 1.07 m (42 in) high, 1.8 m (6 ft) or more back "
        "from the edge above. A breaker through the slab counts."
    )
    return "**Underneath**", number, do, rule("osha-1926-252")


def lifting(job: Job) -> Row:
    """Bags by hand."""
    do = "Bags on a pallet at hip height beside the mixer; no twist. Index above 1: hoist or slide, or open the bag where it lies and carry less."
    found = job.safety
    if not found.bags or found.limit is None or found.choice is None or found.choice.lifting is None:
        return "**Bags**", f"Cement bags of {job.show(job.head.mix.bag, Mass)}", do, "[NIOSH 94-110]"
    by = found.choice.lifting.people
    said = "; ".join(
        f"{plain(name)} {job.show(mass, Mass)}, by {by}: {job.show(made.m_1, Mass)} each, index {job.show(made.LI, units.Ratio, 2)}"
        for name, (mass, made) in found.bags.items()
    )
    return "**Bags**", f"One person: {job.show(found.limit, Mass)}. {said[0].upper()}{said[1:]}", do, "[NIOSH 94-110]"


def wet_concrete(job: Job) -> Row:
    """Burns by wet concrete."""
    want = job.safety.choice
    number = "pH 12 to 13; a burn is felt hours later. " + (f"Water: {plain(want.water)}" if want else "")
    do = "Waterproof gloves, boots and goggles. Wash skin at once with clean water; change soaked clothes. Eye: rinse 15 min, doctor. Bags: open low, upwind."
    return "**Wet concrete**", number, do, rule("cement-skin") + " (rinsing: common practice)"


def forms(job: Job) -> Row:
    """Forms and what they carry."""
    loads = job.formwork.loads
    said = "; ".join(f"hole {name}: {job.show(load.p, units.LoadPerArea)}" for name, load in loads.items())
    names = ", ".join(f"{one.item}, {_carried(one.hole)}" for one in job.formwork)
    number = f"{names}. Carries {said}" if loads else "no form in this job"
    do = "Built as drawn on sheet 05. Looked at before, during and after placing. Nobody on or under it that need not be. Not struck before the strength is shown."
    return "**Forms**", number, do, rule("osha-1926-703")


def _carried(hole: Hole) -> str:
    """Say how a form is held."""
    return "hung from the deck" if hole.carried == "suspended" else "shored from below"


def slab(job: Job) -> Row:
    """Open slab under wheels."""
    open_ = [check.item for check in job.steel.checks if "open" in check.title and check.verdict != "satisfied"]
    names = ", ".join(dict.fromkeys(item.removeprefix("patch ") for item in open_))
    number = f"Too weak for a wheel while open: {names}" if names else "see sheet 02"
    do = "No truck, mixer or saw cart on an open hole or beside its edge. Breaker not heavier than on the crew page. Bars: caps on ends, eye protection."
    return "**Open slab**", number, do, "(sheet 02; the engineer in charge)"


def worked(job: Job) -> Text:
    """Checks and hand calculations behind the page."""
    if job.safety.choice is None:
        return Text("This job has no section [safety]: dust, vibration and lifting are not worked out.\n")
    return block(
        [
            caution(*map(plain, job.safety.notes)),
            checks(job.safety) if job.safety.checks else "",
            by_hand(job, job.safety) if job.safety.runs else "",
        ]
    )
