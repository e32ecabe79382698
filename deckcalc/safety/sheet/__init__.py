"""The sheet for the tool-box talk: one page in plain words for the tool-box talk, each danger with its number and the rule behind it."""

from __future__ import annotations

from collections.abc import Callable, Collection

from deckcalc.closure.design import ClosurePlan
from deckcalc.core import tables, units
from deckcalc.core.sources import short
from deckcalc.core.units import (
    Count,
    Distance,
    HandVibration,
    Mass,
    Minutes,
    Ratio,
    RoadLength,
    Share,
    SlurryVolume,
    quantity,
)
from deckcalc.formwork.design import Forms
from deckcalc.safety.design import RULES, CrewSafety, respirator
from deckcalc.safety.design.talk import too_weak_open
from deckcalc.safety.formulas.noise import noise_dose, noise_hours
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, caution, plain
from deckcalc.steel.design import Steel
from deckcalc.traffic.design import Layout

Row = tuple[str, str, str, str]
#: Whether a patch is among those that a sheet is for.
Mine = Callable[[str], bool]
NOISE = (noise_hours, noise_dose)
LINE = "\\_" * 40  # to write on


def first_line(crew: CrewSafety) -> Text:
    """Say who decides, before anything else."""
    want = crew.inputs.safety
    decides = want.plan if want else "the employer's safety plan"
    return caution(
        f"The local safety code, {plain(decides)} and the competent person on site decide. This page reminds; it replaces no licensed practice "
        "and no training. Anyone may stop the work."
    )


def talk(
    crew: CrewSafety, steel: Steel, formwork: Forms, layout: Layout, closure: ClosurePlan, patches: Collection[str] | None = None
) -> Text:  # fmt: skip
    """One sheet: what can hurt, its number at some patches or at all of the job, what we do, the rule."""
    mine = (lambda name: True) if patches is None else patches.__contains__
    rows = [
        traffic(layout),
        dust(crew),
        noise(closure),
        hands(crew),
        edges(crew, mine),
        below(crew, mine),
        lifting(crew),
        wet_concrete(crew),
        *forms(crew, formwork, mine),
        slab(steel, mine),
        *around(crew),
    ]
    return block(
        [
            first_line(crew),
            emergency(crew),
            f"Talked through on {LINE[:24]} by {LINE[:32]}. Present, initials: {LINE[:60]}",
            pipe_table(["hazard", "on this job", "what we do, and the rule behind it"], [[a, b, f"{c} {d}"] for a, b, c, d in rows], "lll"),
        ]
    )  # fmt: skip


def emergency(crew: CrewSafety) -> str:
    """Whom to call, where to go, who is in charge; lines to write on where the job does not say."""
    want = crew.inputs.safety.emergency if crew.inputs.safety else None
    if want is None:
        return (
            f"**In an emergency** (not in the job: write it in before work begins): ambulance {LINE[:20]}, nearest emergency care "
            f"{LINE}, first aid {LINE[:20]}, in charge {LINE[:20]}, an ambulance gets here by {LINE[:20]}"
        )
    numbers = ", ".join(f"{plain(who)} **{plain(number)}**" for who, number in want.numbers.items())
    return (
        f"**In an emergency** call {numbers}. Nearest emergency care: {plain(want.care)}, {crew.at_least(want.travel, Minutes)} by road. "
        f"First aid: {plain(want.first_aid)}. An ambulance gets here by {plain(want.access)}. In charge: {plain(want.charge)}. "
        f"{rule('osha-1926-50')}"
    )


def rule(*keys: str) -> str:
    """Return the rules cited, by the keys of the bibliography."""
    recalled = {cite.key for cite in RULES if cite.provenance == "memory"}
    return "; ".join(f"[{short(key)}]{' (in part from memory)' if key in recalled else ''}" for key in keys)


def minutes(crew: CrewSafety, time: units.Quantity) -> str:
    """Print a time that is worked, in minutes."""
    return crew.at_least(time.to("min"), Minutes)


def allowed(crew: CrewSafety, time: units.Quantity) -> str:
    """Print a time that is allowed, in minutes."""
    return crew.at_most(time.to("min"), Minutes)


def traffic(layout: Layout) -> Row:
    """Traffic past the work."""
    do = "Stay behind the devices and face the traffic. Nobody in the buffer or the roll-ahead. Vest and light on, step out on the far side only."
    want = layout.inputs.traffic
    if want is None or not layout.parts:
        return "**Traffic**", "by the authority's plan", do, "(authority's plan)"
    length = {name: layout.show(quantity(b - a, "m"), RoadLength) for name, (a, b) in layout.parts.items()}
    number = (
        f"Empty buffer {length['buffer, empty']}, shadow vehicle of {layout.show(want.vehicle_mass, Mass, 0)}, empty roll-ahead "
        f"{length['roll-ahead, empty']}; traffic at {layout.show(want.speed, units.RoadSpeed)}"
    )
    return "**Traffic**", number, do, f"({plain(want.authority)})"


def dust(crew: CrewSafety) -> Row:
    """Silica dust."""
    said = [
        f"{one.tool.tool}, {minutes(crew, one.hours)}: {respirator(one.factor)}" + (" (row from memory)" if one.seen == "memory" else "")
        for one in crew.tools
    ]  # fmt: skip
    how = dict.fromkeys(f"{one.tool.tool}: {one.method}" for one in crew.tools)
    do = "; ".join(how) if how else "Water at the blade and at the point of the breaker, or extraction"
    return (
        "**Silica dust**", "; ".join(said) or "no tool is listed in the job", f"{do}. Never dry; no dry sweeping or blowing at people.",
        rule("osha-1926-1153"),
    )  # fmt: skip


def noise(closure: ClosurePlan) -> Row:
    """Noise dose of the shift."""
    dose, want = closure.noise_dose, closure.inputs.closure
    number = (
        f"Dose without protection {units.show_at_least(dose, Share, closure.system, 0)} of what is permitted in a shift" if dose is not None else "Not worked out: sound levels of the tools not measured"
    )  # fmt: skip
    if dose is not None and want:
        levels = [f"{one.step} {one.level.magnitude:.0f} dBA" for one in want.noise]
        number += f" ({', '.join(levels)})"
    do = "Hearing protection on before the tool starts, for all near it. Take turns."
    used = [cite.key for run in closure.runs if run.calculation in NOISE for cite in run.calculation.source if cite.key]
    return "**Noise**", number, do, rule(*dict.fromkeys(["osha-1926-52", *used]))


def hands(crew: CrewSafety) -> Row:
    """Hand-arm vibration."""
    do = "Take turns before the first of the two times, keep hands warm and dry, let the tool do the work. Numb or white fingers: report it."
    want = crew.inputs.safety
    row = tables.load("vibration_rules").row("rule", want.vibration_rule) if want else None
    cited = rule(row["source"]) + (" (action value from memory)" if row["seen"] == "memory" else "") if row else ""
    tools = [(one, one.vibration) for one in crew.tools if one.vibration is not None]
    if not tools or crew.shift_vibration is None:
        return "**Hand-arm vibration**", "Not worked out: vibration of the tools not known", do, cited
    said = "; ".join(
        f"{one.tool.tool}: trigger time {allowed(crew, made.t_a)} to the action value, {allowed(crew, made.t_l)} to the limit value"
        for one, made in tools
    )
    number = f"One worker all night: {crew.at_least(crew.shift_vibration, HandVibration)} over 8 h. {said}"
    return "**Hand-arm vibration**", number, do, cited


def edges(crew: CrewSafety, mine: Mine) -> Row:
    """Full-depth holes and deck edges."""
    holes, want = [name for name in crew.holes if mine(name)], crew.inputs.safety
    through = f"Holes through the slab: {', '.join(holes)}" if holes else "No hole goes through the slab as planned"
    height = crew.limit("fall_height").value if crew.guarded_from is None else crew.guarded_from
    limit = crew.show(height, Distance)
    number = f"{through}. " + (
        f"Drop {crew.show(want.drop, Distance)}; guarded from {limit} on" if want else f"Guarded from {limit} on"
    )
    do = (
        "Rail (top at 1.1 m, 42 in) round the hole or a cover fixed down and marked HOLE, good for twice what may stand on it (twice the axle where "
        "traffic crosses). Tie off where there is neither. Deck edges the same."
    )
    return "**Falls**", number, do, rule("osha-1926-501", "osha-1926-502")


def below(crew: CrewSafety, mine: Mine) -> Row:
    """What may fall on people below."""
    under = {what: [name for name in names if mine(name)] for what, names in crew.below.items()}
    said = "; ".join(f"{what} under {', '.join(names)}" for what, names in under.items() if names)
    number = (
        f"{said[0].upper()}{said[1:]}" if said else "**What lies below is not in the job: look before work begins**"
    )
    number += "".join(f". **Not in the job: {plain(gap)}**" for gap in crew.missing if gap.startswith("rescue"))
    do = (
        "Nobody under the work while it is broken out or placed. Where debris can fall: barricade 1.07 m (42 in) high, 1.8 m (6 ft) or more back "
        "from the edge above. A breaker through the slab counts."
    )
    return "**Underneath**", number, do, rule("osha-1926-252")


def lifting(crew: CrewSafety) -> Row:
    """Bags by hand."""
    do = "Bags on a pallet at hip height beside the mixer; no twist. Index above 1: hoist or slide, or open the bag where it lies and carry less."
    want = crew.inputs.safety
    if want is None or want.lifting is None or crew.weight_limit is None:
        bag = crew.inputs.mix.bag if crew.inputs.mix else None
        number = "Not worked out" if bag is None else f"Cement bags of {crew.show(bag, Mass)}"
        return "**Bags**", number, do, "[NIOSH 94-110]"
    by = want.lifting.people
    said = "; ".join(
        f"{plain(name)} {crew.show(mass, Mass)}, by {by}: {crew.at_least(made.m_1, Mass)} each, index {crew.at_least(made.LI, Ratio, 2)}"
        for name, (mass, made) in crew.bags.items()
    )
    return (
        "**Bags**",
        f"One person: {crew.at_most(crew.weight_limit, Mass)}. {said[:1].upper()}{said[1:]}".rstrip(),
        do,
        "[NIOSH 94-110]",
    )


def wet_concrete(crew: CrewSafety) -> Row:
    """Burns by wet concrete."""
    want = crew.inputs.safety
    number = "pH 12 to 13; a burn is felt hours later. " + (f"Water: {plain(want.water)}" if want else "")
    do = "Waterproof gloves, boots and goggles. Wash skin at once with clean water; change soaked clothes. Eye: rinse 15 min, doctor. Bags: open low, upwind."
    return "**Wet concrete**", number, do, rule("cement-skin") + " (rinsing: common practice)"


def forms(crew: CrewSafety, formwork: Forms, mine: Mine) -> list[Row]:
    """Forms and the loads on them; nothing where no hole goes through."""
    made = [one for one in formwork if mine(one.name)]
    if not any(map(mine, crew.holes)) and not made:
        return []
    loads, without = formwork.loads, [name for name in (*formwork.missing, *formwork.uncovered) if mine(name)]
    said = "; ".join(
        f"hole {name}: {formwork.show(load.p, units.LoadPerArea)}"
        for name, load in loads.items()
        if name in formwork and mine(name)
    )
    support = {"suspended": "hung from the deck", "shored": "shored from below"}
    names = ", ".join(f"{one.item}, {support[one.hole.carried]}" for one in made)
    number = f"{names}. Carries {said}" if made else "No form designed in this package"
    if without:
        number += f". **No form for {', '.join(without)}: not broken through before the engineer has given one**"
    do = "Built as drawn. Inspected before, during and after placing. Nobody on or under it that need not be. Not stripped before the strength is shown."
    return [("**Forms**", number, do, rule("osha-1926-703"))]


def slab(steel: Steel, mine: Mine) -> Row:
    """Open slab under wheels."""
    names = ", ".join(filter(mine, too_weak_open(steel)))
    checked = any("open" in check.title for check in steel.checks)
    number = f"Too weak for a wheel while open: {names}" if names else (
        "No open slab is too weak for a wheel by its check" if checked else "Not worked out: bars not measured"
    )  # fmt: skip
    do = "No truck, mixer or saw cart on an open hole or beside its edge. Breaker not heavier than on the crew page. Bars: caps on ends, eye protection."
    return "**Open slab**", number, do, "(sheet of reinforcement; the engineer in charge)"


def around(crew: CrewSafety) -> list[Row]:
    """Blasting, water below and slurry, where the job has them."""
    return [*blasting(crew), *over_water(crew), *slurry(crew)]


def blasting(crew: CrewSafety) -> list[Row]:
    """Abrasive blasting: the abrasive, the dust, the distance, the shield."""
    made = crew.blast
    if made is None:
        return []
    want, silica = made.want, crew.at_least(made.want.silica, Share)
    level = "Silica in the air was not measured: nobody without supplied air comes near"
    if made.dust is not None:
        level = f"Silica in the air over 8 h: {crew.at_least(made.dust.F, Ratio, 1)} times the limit, the minimum protection factor there"
    number = (
        f"{plain(want.abrasive)}, {silica} crystalline silica, {minutes(crew, made.hours)}. {level}. Others "
        f"{crew.at_least(want.distance, Distance)} away or more, by the employer's plan: no distance in print was found"
    )
    do = (
        f"Blaster: {plain(want.respirator)}; gloves, apron, hearing protection. Never sand. Shield: {plain(want.shield)}. The nozzle stops "
        "when it is let go. Nobody near it without eye protection and a respirator."
    )
    return [("**Blasting**", number, do, rule("niosh-silica-advice", "wac-296-818") + " (nozzle: common practice)")]


def over_water(crew: CrewSafety) -> list[Row]:
    """Rescue from the water."""
    want = crew.inputs.safety.over_water if crew.inputs.safety else None
    if want is None or crew.buoys is None:
        return []
    number = (
        f"{crew.show(want.length, Distance)} of edge: {crew.show(crew.buoys, Count)} ring buoys wanted, {want.buoys} laid out, "
        f"{crew.at_most(want.line, Distance)} of line on each. Boat: {plain(want.boat)}"
    )
    do = "Life jacket on, unless a rail or harness holds you all the time; buoys and boat in any case. Nobody alone."
    return [("**Water below**", number, do, rule("osha-1926-106", "osha-over-water-1999"))]


def slurry(crew: CrewSafety) -> list[Row]:
    """Slurry of wet work."""
    if not crew.slurry:
        return []
    said = "; ".join(
        f"{plain(one.want.work)}, {minutes(crew, one.hours)}: {crew.at_least(one.made.V, SlurryVolume)}, of which "
        f"{crew.at_least(one.made.V_e, SlurryVolume)} past the vacuum; tanks: {one.want.tanks} of {crew.at_most(one.want.tank, SlurryVolume)}; pH "
        + (f"{one.want.ph:g}" if one.want.ph is not None else "not measured, commonly 11 to 12.5")
        + f"; to {plain(one.want.goes)}"
        for one in crew.slurry
    )
    hazardous = f"{float(crew.limit('slurry_ph').value.m):g}"
    do = (
        f"Plug drains and joints, dam the low side; none into water. It burns skin. pH {hazardous} or "
        "more: hazardous waste."
    )
    return [("**Slurry**", said, do, rule("epa-40-261-22"))]


def further(crew: CrewSafety) -> list[Text]:
    """Return what stands in the appendix beside every line: nothing."""
    return []
