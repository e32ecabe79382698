"""The form of each hole: search the yard, run every calculation on what was found, hold it against limits, list the order."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from deckcalc import formwork, steel
from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.check import Check, Limit, Sense
from deckcalc.core.units import Quantity
from deckcalc.formwork.design import SHORED, Forms, Layout, Yard, patch_sides, rules_of, si, twist_of
from deckcalc.formwork.design.order import Q, carrier_length, order
from deckcalc.formwork.formulas import layout

if TYPE_CHECKING:
    from deckcalc.job import Job

ALLOWED = "hand calculation on this sheet"


def design(job: Job, subject: Forms, names: list[str], yard: Yard) -> None:
    """Lay the form of every hole out and check it."""
    want, rules = job.head.formwork, rules_of(job)
    assert want
    loads = {}
    for name in names:
        loads[name] = subject.run(
            formwork.form_load, f"hole {name}, load", h=job.head.deck.slab_thickness, w_c=want.unit_weight,
            g_f=want.self_weight, load_set=want.load_set, placing=want.placing, form=want.tables, i_c=want.impact,
            q_s=want.suction,
        )  # fmt: skip
    sides = [patch_sides(job, name) for name in names]
    heights = [si(want.holes[n].height, "m") if want.holes[n].carried == SHORED else math.nan for n in names]
    holes = layout.Holes(
        np.array([si(L, "m") for L, _ in sides]), np.array([si(B, "m") for _, B in sides]),
        np.array([si(loads[name].p, "Pa") for name in names]), np.full(len(names), si(want.uplift, "Pa")), np.array(heights),
    )  # fmt: skip
    everything = layout.search(holes, yard.panels, yard.members, yard.hangers, rules)
    for place, (name, found) in enumerate(zip(names, everything, strict=True)):
        if found is None:
            one = layout.Holes(*(getattr(holes, key)[place : place + 1] for key in ("L", "B", "p", "p_up", "height")))
            subject.missing[name] = what_would_work(job, one, yard, rules)
            continue
        form = lay_out(job, subject, name, found, yard, rules)
        subject.decisions[form.item] = ""  # its place in the list; filled in when all checks are known
        run_form(job, subject, form, loads[name], yard)
        subject.layouts.append(form)
    if subject.layouts:
        for form in subject.layouts:
            govern(job, subject, form)
        subject.layouts[:] = [replace(form, governs=subject.decisions[form.item]) for form in subject.layouts]
        order(job, subject)


def what_would_work(job: Job, hole: layout.Holes, yard: Yard, rules: layout.Rules) -> str:
    """Say what the yard lacks: the search is made again with one thing after another in plenty."""
    show = lambda metres: job.show(Q(metres, "m"), units.Distance)  # noqa: E731
    long = replace(yard.members, stock=np.full_like(yard.members.stock, 30.0), pieces=yard.members.pieces * 0 + 1e4)
    plenty = replace(yard.panels, pieces=yard.panels.pieces * 0 + 1e4)
    strong = layout.Hangers(np.array([1e6]), np.array([0.15]))
    other = (
        "or shore it from below, if it can be reached" if np.isnan(hole.height[0]) else "or suspend it from the deck"
    )
    found = layout.search(hole, plenty, long, yard.hangers, rules)[0]
    if found:
        width = float(hole.B[0] if found.turned else hole.L[0]), float(hole.L[0] if found.turned else hole.B[0])
        ends = 2 * (rules.clear + rules.bearing) if found.n_p == 0 else 2 * rules.lap
        joist, carrier = yard.lumber_rows[found.joist].lumber, yard.lumber_rows[found.carrier].lumber
        return (
            f"no lumber or panel of the yard is long enough, or there is too little of it; it would do with {found.n_b + 1} joists {joist} "
            f"of {show(width[0] + 2 * rules.lap)} and {found.n_a + 1} pieces {carrier} of {show(width[1] + ends)} across them; bring "
            f"those, {other}"
        )
    found = layout.search(hole, plenty, long, strong, rules)[0]
    if found and np.isnan(hole.height[0]):
        worst = job.show(Q(float(yard.hangers.T.max()), "N"), units.Force)
        return (
            f"no hanger of the yard will do, the strongest being allowed {worst}, or its plate is too small; bring a stronger one "
            f"with a plate of {job.show(Q(0.15, 'm'), units.Length)}, {other}"
        )
    return f"no panel and lumber of the yard will do at any spacing; bring thicker panels or deeper lumber, {other}"


def lay_out(job: Job, subject: Forms, name: str, found: layout.Found, yard: Yard, rules: layout.Rules) -> Layout:
    """Return the layout with its spacings."""
    want = job.head.formwork
    assert want
    L, B = (si(side, "m") for side in patch_sides(job, name))
    a, b = (B, L) if found.turned else (L, B)
    s_b, o_b = layout.bays(b, found.n_b, rules)
    s_a, o_a = layout.bays(a, found.n_a, rules)
    s_p, o_p = layout.bays(b, found.n_p, rules) if found.n_p else (0.0, 0.0)
    shored = want.holes[name].carried == SHORED
    return Layout(
        name, want.holes[name], a, b, si(job.head.deck.slab_thickness, "m"), found, float(s_b), float(o_b), float(s_a),
        float(o_a), float(s_p), float(o_p), yard.panel_rows[found.panel], yard.lumber_rows[found.joist],
        yard.lumber_rows[found.carrier], None if shored else yard.hanger_rows[found.last],
        yard.lumber_rows[found.last] if shored else None, rules,
    )  # fmt: skip


def length(job: Job, metres: float) -> Quantity:
    """Return a length in the job's small unit, free of the noise of binary numbers."""
    unit = "mm" if job.system == "SI" else "in"
    return Q(round(metres / (0.001 if unit == "mm" else 0.0254), 9), unit)


class Checker:
    """Adds checks of one hole to the subject."""

    def __init__(self, subject: Forms, item: str) -> None:
        self.subject, self.item = subject, item

    def __call__(
        self, title: str, demand: Quantity, allowed: Any, calculation: Calculation, result: str, why: str = "redesign",
        source: Any = ALLOWED, sense: Sense = "at most",
    ) -> None:  # fmt: skip
        """Hold a demand against what is allowed; the kind is that of a result of the calculation."""
        limit = Limit("form", title, allowed, calculation.kinds[result], source)
        self.subject.checks.append(Check(self.item, title, demand, limit, sense, why))


def run_form(job: Job, subject: Forms, form: Layout, load: Any, yard: Yard) -> None:
    """Run every calculation of one form and add its checks."""
    want, item, rules, found = job.head.formwork, form.item, form.rules, form.found
    assert want
    held = Checker(subject, item)
    size = lambda metres: length(job, metres)  # noqa: E731
    common = {
        "coefficients": want.coefficients, "r_d": job.limit("form_deflection_ratio").value,
        "d_max": job.limit("form_deflection_cap").value,
    }  # fmt: skip
    values = yard.panel_values[found.panel]
    section = {key: values[key] for key in ("F_b", "F_s", "E", "S", "I", "Q")}
    joist, carrier = yard.lumber_values[found.joist], yard.lumber_values[found.carrier]
    joist_size = {"b": form.joist.breadth, "d": form.joist.depth}
    strength = lambda of, *keys: {key: of[key] for key in keys}  # noqa: E731

    s, o, l, o_a = size(form.s_b), size(form.o_b), size(form.s_a), size(form.o_a)
    subject.run(formwork.panel_spans, f"{item}, panel", p=load.p, n=Q(found.n_b, ""), **section, **common)
    panel = subject.run(
        formwork.panel_check, f"{item}, panel", p=load.p, s=s, o=o, n=Q(found.n_b, ""), b_s=form.joist.breadth,
        E_s=values["E_s"], t=values["t"], C_s=values["C_s"], **section, **common,
    )  # fmt: skip
    for name, key in (("bending", "p_b"), ("rolling shear", "p_s"), ("deflection", "p_d")):
        held(
            f"panel, {name}", load.p, getattr(panel, key), formwork.panel_check, key, "closer joists or a thicker panel"
        )
    one = Q(1.0, "")
    held("panel overhang, bending", panel.M_o, panel.M_a, formwork.panel_check, "M_o", "joists nearer the edge")
    held(
        "panel overhang, deflection over its limit",
        panel.u_od,
        one,
        formwork.panel_check,
        "u_od",
        "joists nearer the edge",
    )

    line = subject.run(
        formwork.joist_load, f"{item}, joists", p=load.p, s=s, o=o, n=Q(found.n_b, ""), coefficients=want.coefficients
    )
    subject.run(
        formwork.beam_spans, f"{item}, joists", w=line.w, n=Q(found.n_a, ""), d_v=size(0.0), **joist_size,
        **strength(joist, "F_b", "F_v", "E"), **common,
    )  # fmt: skip
    beam = subject.run(
        formwork.beam_check, f"{item}, joists", w=line.w, l=l, o=o_a, n=Q(found.n_a, ""), **joist_size,
        **strength(joist, "F_b", "F_v", "E"), **common,
    )  # fmt: skip
    member_checks(held, "joists", beam, formwork.beam_check)
    held(
        "joist overhang, deflection over its limit",
        beam.u_o,
        one,
        formwork.beam_check,
        "u_o",
        "carriers nearer the edge",
    )
    force = subject.run(
        formwork.support_force,
        f"{item}, joists",
        w=line.w,
        l=l,
        o=o_a,
        n=Q(found.n_a, ""),
        coefficients=want.coefficients,
    )
    if form.hanger is not None:
        suspend(job, subject, form, force.P, joist, carrier, held)
    else:
        shore(job, subject, form, force.P, load, (joist, carrier, yard.lumber_values[found.last]), held)
    lift(job, subject, form, joist, yard, held, rules)
    A = size(form.a) * size(form.b)
    subject.run(formwork.form_oil, f"{item}, oil", A=A, n_c=want.oil_coats, c_o=want.oil_coverage)


def member_checks(held: Checker, name: str, made: Any, calculation: Calculation) -> None:
    """Add bending, shear and deflection of a member."""
    held(f"{name}, bending", made.M, made.M_a, calculation, "M", f"deeper {name} or closer supports")
    held(f"{name}, shear", made.V if hasattr(made, "V") else made.R, made.V_a, calculation, "V_a", f"deeper {name}")
    held(f"{name}, deflection", made.delta, made.delta_a, calculation, "delta", f"deeper {name} or closer supports")


def suspend(job: Job, subject: Forms, form: Layout, P: Quantity, joist: Any, carrier: Any, held: Checker) -> None:
    """Hangers and strongbacks."""
    want, item, found, row = job.head.formwork, form.item, form.found, form.hanger
    assert want and row
    size = lambda metres: length(job, metres)  # noqa: E731
    hanger = subject.run(
        formwork.hanger_check, f"{item}, hangers", P=P, A_w=formwork.steel_area(row.kind, row.size), n_w=row.strands,
        f_u=row.strength, k_t=twist_of(row, want), SF=job.limit("hanger_safety").value,
    )  # fmt: skip
    held("hangers, force", P, hanger.T_a, formwork.hanger_check, "T_a", "more or stronger hangers")
    for part, member, values in (("joist", form.joist, joist), ("strongback", form.carrier, carrier)):
        width = min(member.breadth, row.plate)
        bearing = subject.run(
            formwork.bearing_check, f"{item}, plate on the {part}", P=P, A_b=width * row.plate, F_cp=values["F_cp"]
        )
        held(f"plate on the {part}, bearing", P, bearing.P_a, formwork.bearing_check, "P_a", "a larger plate")
    back = subject.run(
        formwork.strongback_check, f"{item}, strongbacks", P=P, n_P=Q(found.n_b + 1, ""), s=size(form.s_b), l_h=size(form.b),
        e_b=job.limit("strongback_clear").value, l_b=job.limit("strongback_bearing").value, b=form.carrier.breadth,
        d=form.carrier.depth, F_b=carrier["F_b"], F_v=carrier["F_v"], F_cp=carrier["F_cp"], E=carrier["E"],
        r_d=job.limit("form_deflection_ratio").value, d_max=job.limit("form_deflection_cap").value,
    )  # fmt: skip
    member_checks(held, "strongbacks", back, formwork.strongback_check)
    held("strongback ends, bearing", back.f_p, carrier["F_cp"], formwork.strongback_check, "f_p", "a longer bearing")
    tied = subject.run(
        formwork.bar_support, f"{item}, bars", P=P, l=size(form.b), d_b=steel.bar_diameter(job.head.deck.top_bar_outer),
        f_a=want.bar_stress,
    )  # fmt: skip
    used = float(tied.u.m_as(""))
    subject.decisions[f"{item}, tying to bars"] = (
        f"one sound bar {job.head.deck.top_bar_outer} across the hole would be used to {100 * used:.0f} % by one hanger: "
        + (
            "not for tying hangers to"
            if used > 1
            else "only where the engineer allows it, after a look at bond and edges"
        )
    )


def shore(job: Job, subject: Forms, form: Layout, P: Quantity, load: Any, values: Any, held: Checker) -> None:
    """Stringers, shores, sills and the sideways force."""
    want, item, found = job.head.formwork, form.item, form.found
    assert want and form.shore and form.hole.height is not None and form.hole.sill is not None
    joist, carrier, post = values
    size = lambda metres: length(job, metres)  # noqa: E731
    made = subject.run(
        formwork.stringer_check, f"{item}, stringers", P=P, s=size(form.s_b), l=size(form.s_p), o=size(form.o_p),
        n=Q(found.n_p, ""), b=form.carrier.breadth, d=form.carrier.depth, F_b=carrier["F_b"], F_v=carrier["F_v"],
        E=carrier["E"], coefficients=want.coefficients, r_d=job.limit("form_deflection_ratio").value,
        d_max=job.limit("form_deflection_cap").value,
    )  # fmt: skip
    member_checks(held, "stringers", made, formwork.stringer_check)
    lesser = min(form.shore.breadth, form.shore.depth)
    for part, force, area, F_cp in (
        ("joist on stringer", P, form.joist.breadth * form.carrier.breadth, min(joist["F_cp"], carrier["F_cp"])),
        ("stringer on shore", made.R, form.carrier.breadth * lesser, carrier["F_cp"]),
        ("sill on the ground", made.R, form.hole.sill**2, form.hole.ground_pressure),
    ):
        bearing = subject.run(formwork.bearing_check, f"{item}, {part}", P=force, A_b=area, F_cp=F_cp)
        held(f"{part}, bearing", force, bearing.P_a, formwork.bearing_check, "P_a", "a larger bearing")
    post_made = subject.run(
        formwork.shore_check, f"{item}, shores", P=made.R, l_u=form.hole.height, b=form.shore.breadth, d=form.shore.depth,
        F_c=post["F_c"], E_min=post["E_min"],
    )  # fmt: skip
    held("shores, load", made.R, post_made.P_a, formwork.shore_check, "P_a", "thicker or more shores")
    slender = job.limit("shore_slenderness")
    subject.checks.append(Check(item, "shores, slenderness", post_made.r, slender, "at most", "thicker shores"))
    side = subject.run(
        formwork.lateral_force, f"{item}, braces", H_0=job.limit("form_lateral_edge").value,
        r_H=job.limit("form_lateral_share").value, p_d=load.p_c + want.self_weight, L=size(max(form.a, form.b)),
        B=size(min(form.a, form.b)),
    )  # fmt: skip
    subject.decisions[f"{item}, braces"] = (
        f"brace the shores both ways for {job.show(side.H, units.Force)} at the level of the soffit, or tie the form to the bridge for it"
    )


def masses(form: Layout, yard: Yard) -> tuple[float, float, float]:
    """Return masses of panel, joists and carriers of a form in kg."""
    found, rules = form.found, form.rules
    reach_a, reach_b = form.a + 2 * rules.lap, form.b + 2 * rules.lap
    return (
        float(yard.panels.m[found.panel]) * reach_a * reach_b,
        (found.n_b + 1) * reach_a * float(yard.members.m[found.joist]),
        (found.n_a + 1) * carrier_length(form) * float(yard.members.m[found.carrier]),
    )


def lift(job: Job, subject: Forms, form: Layout, joist: Any, yard: Yard, held: Checker, rules: layout.Rules) -> None:
    """Weight of the form, against what was allowed for and against uplift."""
    want, item, found = job.head.formwork, form.item, form.found
    assert want
    m_p, m_j, m_s = (Q(mass, "kg") for mass in masses(form, yard))
    area = length(job, form.a) * length(job, form.b)
    weight = subject.run(
        formwork.form_weight, f"{item}, weight", m_p=m_p, m_j=m_j, m_s=m_s, A=area, g=Q(9.80665, "N/kg")
    )
    held("weight of the form, against what the load allows for", weight.g_e, want.self_weight, formwork.form_weight, "g_e",
         "allow for more weight in job.toml", "job file")  # fmt: skip
    if si(want.uplift, "Pa") == 0:
        return
    net = subject.run(formwork.net_uplift, f"{item}, uplift", p_up=want.uplift, g_e=weight.g_e)
    if si(net, "Pa") <= 0:
        subject.decisions[f"{item}, uplift"] = "the weight of the form holds it down"
        return
    line = subject.run(
        formwork.joist_load, f"{item}, uplift", p=net, s=length(job, form.s_b), o=length(job, form.o_b), n=Q(found.n_b, ""),
        coefficients=want.coefficients,
    )  # fmt: skip
    up = subject.run(
        formwork.beam_check, f"{item}, uplift", w=line.w, l=length(job, form.a), o=length(job, 0.0), n=Q(1, ""),
        b=form.joist.breadth, d=form.joist.depth, F_b=joist["F_b"], F_v=joist["F_v"], E=joist["E"],
        coefficients=want.coefficients, r_d=job.limit("form_deflection_ratio").value,
        d_max=job.limit("form_deflection_cap").value,
    )  # fmt: skip
    held("joists under uplift, bending from edge to edge", up.M, up.M_a, formwork.beam_check, "M", "deeper joists")
    force = job.show(net * area, units.Force)
    subject.decisions[f"{item}, uplift"] = (
        f"the empty form is lifted against the slab by {force}: wedge it tight, and hold "
        + ("strongbacks" if form.hanger is not None else "stringers") + " and shores or hangers against slipping"
    )  # fmt: skip


def govern(job: Job, subject: Forms, form: Layout) -> None:
    """Say what was laid out and what governs it."""
    mine = [check for check in subject.checks if check.item == form.item and check.utilisation is not None]
    worst = max(mine, key=lambda check: check.utilisation or 0.0)
    found, size = form.found, lambda metres: job.show(length(job, metres), units.Length)
    carried = (
        f"hung by {(found.n_a + 1) * (found.n_b + 1)} hangers {form.hanger.hanger} from {found.n_a + 1} strongbacks "
        f"{form.carrier.lumber} at {size(form.s_a)}"
        if form.hanger is not None
        else f"on {found.n_a + 1} stringers {form.carrier.lumber} at {size(form.s_a)}, each on {found.n_p + 1} shores "
        f"{form.shore.lumber if form.shore else ''} at {size(form.s_p)}"
    )
    subject.decisions[form.item] = (
        f"panel {form.panel.panel} on {found.n_b + 1} joists {form.joist.lumber} at {size(form.s_b)}, {carried}; the lightest of "
        f"{found.admissible:,} layouts that pass, {job.show(Q(found.mass, 'kg'), units.Mass)}; "
        f"{worst.title} governs, {100 * (worst.utilisation or 0):.0f} % used"
    )
