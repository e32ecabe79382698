"""The form of each hole: search the stock, run every calculation on what was found, check it, say what governs."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from deckcalc import formwork, steel
from deckcalc.core import units
from deckcalc.core.calculation import Calculation
from deckcalc.core.check import Check, Limit, Sense
from deckcalc.core.digits import grouped
from deckcalc.core.units import Quantity, quantity
from deckcalc.formwork.design.access import cut_shores, keep_off, reach
from deckcalc.formwork.design.forms import FormDesign, Forms, si
from deckcalc.formwork.design.order import order
from deckcalc.formwork.design.plates import STEEL
from deckcalc.formwork.design.standing import crossing
from deckcalc.formwork.design.yard import Yard, twist_of
from deckcalc.formwork.formulas import layout
from deckcalc.formwork.inputs import SHORED

ALLOWED = "hand calculation on this sheet"
GRAVITY = quantity(9.80665, "N/kg")


def design(forms: Forms, names: list[str], yard: Yard) -> None:
    """Lay the form of every hole out and check it."""
    want, rules = forms.choices, rules_of(forms)
    for name in names:
        forms.loads[name] = forms.run(
            formwork.form_load, f"hole {name}, load", h=forms.deck.slab_thickness, w_c=unit_weight(forms, name),
            g_f=want.self_weight, load_set=want.load_set, placing=want.placing, form=want.tables, i_c=want.impact,
            q_s=want.suction,
        )  # fmt: skip
    sides = [forms.patches[name].limits for name in names]
    heights = [
        si(height, "m") if (height := want.holes[name].shored_height) is not None else math.nan for name in names
    ]
    holes = layout.Holes(
        np.array([si(one.L, "m") for one in sides]), np.array([si(one.B, "m") for one in sides]),
        np.array([si(forms.loads[name].p, "Pa") for name in names]), np.full(len(names), si(want.uplift, "Pa")), np.array(heights),
    )  # fmt: skip
    lightest = layout.search(holes, yard.panels, yard.members, yard.hangers, rules)
    for place, (name, found) in enumerate(zip(names, lightest, strict=True)):
        if found is None:
            one = layout.Holes(*(getattr(holes, key)[place : place + 1] for key in ("L", "B", "p", "p_up", "height")))
            forms.missing[name] = what_would_work(forms, one, yard, rules)
            continue
        form = lay_out(forms, name, found, yard, rules)
        if (why := crossing(forms, form)) is not None:
            forms.uncovered[name] = why
            del forms.loads[name]
            forms.runs = [run for run in forms.runs if not run.item.startswith(f"hole {name},")]
            continue
        forms.each[name] = form
        forms.decide(name, "")  # its place in the list; filled in when all checks are known
        check_form(forms, form, yard)
    for form in forms:
        govern(forms, form)
    if forms.each:
        order(forms)


def unit_weight(forms: Forms, name: str) -> Quantity:
    """Return the unit weight of the fresh concrete of a hole: the one stated, or that by its materials where that is greater."""
    stated, deck = forms.choices.unit_weight, forms.deck
    if not forms.mixes.each:
        return stated
    rho = forms.mixes.for_patch(name).density
    outer, inner = (
        max(steel.bar_diameter(size) for size in sizes if size is not None)
        for sizes in ((deck.top_bar_outer, deck.bottom_bar_outer), (deck.top_bar_inner, deck.bottom_bar_inner))
    )
    return forms.run(
        formwork.concrete_weight, f"hole {name}, concrete", rho_c=rho, d_1=outer, d_2=inner, s_b=deck.bar_spacing,
        n_m=quantity(2.0), h=deck.slab_thickness, rho_s=STEEL, g=GRAVITY, w_s=stated,
    ).w_c  # fmt: skip


def what_would_work(forms: Forms, hole: layout.Holes, yard: Yard, rules: layout.Rules) -> str:
    """Say what the stock lacks: the search is made again with one thing after another in plenty."""
    show = lambda metres: forms.show(quantity(metres, "m"), units.Distance)  # noqa: E731
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
            f"no lumber or panel in stock is long enough, or there is too little of it; it would do with {found.n_b + 1} joists {joist} "
            f"of {show(width[0] + 2 * rules.lap)} and {found.n_a + 1} pieces {carrier} of {show(width[1] + ends)} across them; bring "
            f"those, {other}"
        )
    found = layout.search(hole, plenty, long, strong, rules)[0]
    if found and np.isnan(hole.height[0]):
        worst = forms.show(quantity(float(yard.hangers.T.max()), "N"), units.Force)
        return (
            f"no hanger in stock will do, the allowable load of the strongest being {worst}, or its plate is too small; bring a stronger one "
            f"with a plate of {forms.show(quantity(0.15, 'm'), units.Length)}, {other}"
        )
    return f"no panel and lumber in stock will do at any spacing; bring thicker panels or deeper lumber, {other}"


def lay_out(forms: Forms, name: str, found: layout.Found, yard: Yard, rules: layout.Rules) -> FormDesign:
    """Return the layout with its spacings."""
    want = forms.choices
    limits = forms.patches[name].limits
    L, B = si(limits.L, "m"), si(limits.B, "m")
    a, b = (B, L) if found.turned else (L, B)
    s_b, o_b = layout.bays(b, found.n_b, rules)
    s_a, o_a = layout.bays(a, found.n_a, rules)
    s_p, o_p = layout.bays(b, found.n_p, rules) if found.n_p else (0.0, 0.0)
    shored = want.holes[name].carried == SHORED
    return FormDesign(
        name, want.holes[name], forms.loads[name], a, b, si(forms.deck.slab_thickness, "m"), found, float(s_b), float(o_b), float(s_a),
        float(o_a), float(s_p), float(o_p), yard.panel_rows[found.panel], yard.lumber_rows[found.joist],
        yard.lumber_rows[found.carrier], None if shored else yard.hanger_rows[found.last],
        yard.lumber_rows[found.last] if shored else None, rules, yard.panel_values[found.panel]["t"],
    )  # fmt: skip


def rules_of(forms: Forms) -> layout.Rules:
    """Return the rules of a layout from the limits of the job."""
    length = lambda key: si(forms.limit(key).value, "m")  # noqa: E731
    return layout.Rules(
        forms.choices.coefficients, si(forms.deflection["r_d"], ""), si(forms.deflection["d_max"], "m"),
        length("form_step"), length("hanger_edge"), length("form_lap"), length("strongback_clear"),
        length("strongback_bearing"), si(forms.limit("shore_slenderness").value, ""), forms.shear_depths, length("strongback_block"),
    )  # fmt: skip


class Checker:
    """Adds checks of one form."""

    def __init__(self, forms: Forms, form: FormDesign) -> None:
        self.forms, self.form = forms, form

    def __call__(
        self, title: str, demand: Quantity, allowed: Any, calculation: Calculation, result: str, why: str = "redesign",
        source: Any = ALLOWED, sense: Sense = "at most",
    ) -> None:  # fmt: skip
        """Check a demand against what is allowed; the kind is that of a result of the calculation."""
        self.add(title, demand, Limit("form", title, allowed, calculation.kinds[result], source), sense, why)

    def add(self, title: str, demand: Quantity, limit: Limit, sense: Sense, why: str) -> None:
        """Check a demand against a limit; deflection only where the engineer limits it."""
        if "deflection" in title and self.forms.choices.deflection == "no limit":
            return
        made = Check(self.form.item, title, demand, limit, sense, why)
        self.form.checks.append(made)
        self.forms.checks.append(made)


def check_form(forms: Forms, form: FormDesign, yard: Yard) -> None:
    """Run every calculation of one form and add its checks."""
    want, item, load, found = forms.choices, form.item, form.load, form.found
    check = Checker(forms, form)
    size = forms.length
    common = {"coefficients": want.coefficients, **forms.deflection}
    d_v = forms.shear_depths * form.joist.depth
    values = yard.panel_values[found.panel]
    section = {key: values[key] for key in ("F_b", "F_s", "E", "S", "I", "Q")}
    joist, carrier = yard.lumber_values[found.joist], yard.lumber_values[found.carrier]
    joist_size = {"b": form.joist.breadth, "d": form.joist.depth}
    strength = lambda of, *keys: {key: of[key] for key in keys}  # noqa: E731

    s, o, l, o_a = size(form.s_b), size(form.o_b), size(form.s_a), size(form.o_a)
    forms.run(formwork.panel_spans, f"{item}, panel", p=load.p, n=quantity(float(found.n_b)), **section, **common)
    panel = forms.run(
        formwork.panel_check, f"{item}, panel", p=load.p, s=s, o=o, n=quantity(float(found.n_b)), b_s=form.joist.breadth,
        E_s=values["E_s"], t=values["t"], C_s=values["C_s"], **section, **common,
    )  # fmt: skip
    for name, key in (("bending", "p_b"), ("rolling shear", "p_s"), ("deflection", "p_d")):
        check(
            f"panel, {name}", load.p, getattr(panel, key), formwork.panel_check, key, "closer joists or a thicker panel"
        )
    one = quantity(1.0)
    check("panel overhang, bending", panel.M_o, panel.M_a, formwork.panel_check, "M_o", "joists nearer the edge")
    check(
        "panel overhang, deflection over its limit",
        panel.u_od,
        one,
        formwork.panel_check,
        "u_od",
        "joists nearer the edge",
    )

    line = forms.run(
        formwork.joist_load,
        f"{item}, joists",
        p=load.p,
        s=s,
        o=o,
        n=quantity(float(found.n_b)),
        coefficients=want.coefficients,
    )
    forms.run(
        formwork.beam_spans, f"{item}, joists", w=line.w, n=quantity(float(found.n_a)), d_v=d_v, **joist_size,
        **strength(joist, "F_b", "F_v", "E"), **common,
    )  # fmt: skip
    beam = forms.run(
        formwork.beam_check, f"{item}, joists", w=line.w, l=l, o=o_a, n=quantity(float(found.n_a)), d_v=d_v, **joist_size,
        **strength(joist, "F_b", "F_v", "E"), **common,
    )  # fmt: skip
    member_checks(check, "joists", beam, formwork.beam_check)
    check(
        "joist overhang, deflection over its limit",
        beam.u_o,
        one,
        formwork.beam_check,
        "u_o",
        "carriers nearer the edge",
    )
    force = forms.run(
        formwork.support_force,
        f"{item}, joists",
        w=line.w,
        l=l,
        o=o_a,
        n=quantity(float(found.n_a)),
        coefficients=want.coefficients,
    )
    if form.hanger is not None:
        suspend(forms, form, force.P, joist, carrier, check)
    else:
        shore(forms, form, force.P, (joist, carrier, yard.lumber_values[found.last]), check)
    reach(forms, form)
    lift(forms, form, joist, yard, check)
    A = size(form.a) * size(form.b)
    if want.oil:
        form.oil = forms.run(formwork.form_oil, f"{item}, oil", A=A, n_c=want.oil_coats, c_o=want.oil_coverage)


def member_checks(check: Checker, name: str, made: Any, calculation: Calculation) -> None:
    """Add bending, shear and deflection of a member."""
    check(f"{name}, bending", made.M, made.M_a, calculation, "M", f"deeper {name} or closer supports")
    check(f"{name}, shear", made.V if hasattr(made, "V") else made.R, made.V_a, calculation, "V_a", f"deeper {name}")
    check(f"{name}, deflection", made.delta, made.delta_a, calculation, "delta", f"deeper {name} or closer supports")


def suspend(forms: Forms, form: FormDesign, P: Quantity, joist: Any, carrier: Any, check: Checker) -> None:
    """Hangers and strongbacks."""
    want, item, found, row = forms.choices, form.item, form.found, form.hanger
    assert row
    size = forms.length
    hanger = forms.run(
        formwork.hanger_check, f"{item}, hangers", P=P, A_w=formwork.steel_area(row.kind, row.size), n_w=row.strands,
        f_u=row.strength, k_t=twist_of(row, want), SF=forms.limit("hanger_safety").value,
    )  # fmt: skip
    keep_off(forms, form, hanger.T_a)
    check("hangers, force", P, hanger.T_a, formwork.hanger_check, "T_a", "more or stronger hangers")
    for part, member, values in (("joist", form.joist, joist), ("strongback", form.carrier, carrier)):
        width = min(member.breadth, row.plate)
        bearing = forms.run(
            formwork.bearing_check, f"{item}, plate on the {part}", P=P, A_b=width * row.plate, F_cp=values["F_cp"]
        )
        check(f"plate on the {part}, bearing", P, bearing.P_a, formwork.bearing_check, "P_a", "a larger plate")
    back = forms.run(
        formwork.strongback_check, f"{item}, strongbacks", P=P, n_P=quantity(float(found.n_b + 1)), s=size(form.s_b), l_h=size(form.b),
        e_b=forms.limit("strongback_clear").value, l_b=forms.limit("strongback_bearing").value, b=form.carrier.breadth,
        d=form.carrier.depth, F_b=carrier["F_b"], F_v=carrier["F_v"], F_cp=carrier["F_cp"], E=carrier["E"],
        **forms.deflection,
    )  # fmt: skip
    member_checks(check, "strongbacks", back, formwork.strongback_check)
    check("strongback ends, bearing", back.f_p, carrier["F_cp"], formwork.strongback_check, "f_p", "a longer bearing")
    tied = forms.run(
        formwork.bar_support, f"{item}, bars", P=P, l=size(form.b), d_b=steel.bar_diameter(forms.deck.top_bar_outer),
        f_a=want.bar_stress,
    )  # fmt: skip
    used = float(tied.u.m_as(""))
    forms.decisions[f"{item}, tying to bars"] = (
        f"one sound bar {forms.deck.top_bar_outer} across the hole would be used to {100 * used:.0f} % by one hanger: "
        + (
            "not for tying hangers to"
            if used > 1
            else "only where the engineer allows it, after a look at bond and edges"
        )
    )


def shore(forms: Forms, form: FormDesign, P: Quantity, values: Any, check: Checker) -> None:
    """Stringers, shores, sills and the lateral force."""
    want, item, found = forms.choices, form.item, form.found
    assert form.shore and form.hole.height is not None and form.hole.sill is not None
    joist, carrier, post = values
    size = forms.length
    made = forms.run(
        formwork.stringer_check, f"{item}, stringers", P=P, s=size(form.s_b), l=size(form.s_p), o=size(form.o_p),
        n=quantity(float(found.n_p)), b=form.carrier.breadth, d=form.carrier.depth, F_b=carrier["F_b"], F_v=carrier["F_v"],
        E=carrier["E"], coefficients=want.coefficients, **forms.deflection,
    )  # fmt: skip
    member_checks(check, "stringers", made, formwork.stringer_check)
    lesser = min(form.shore.breadth, form.shore.depth)
    for part, force, area, F_cp in (
        ("joist on stringer", P, form.joist.breadth * form.carrier.breadth, min(joist["F_cp"], carrier["F_cp"])),
        ("stringer on shore", made.R, form.carrier.breadth * lesser, carrier["F_cp"]),
        ("sill on the ground", made.R, form.hole.sill**2, form.hole.ground_pressure),
    ):
        bearing = forms.run(formwork.bearing_check, f"{item}, {part}", P=force, A_b=area, F_cp=F_cp)
        check(f"{part}, bearing", force, bearing.P_a, formwork.bearing_check, "P_a", "a larger bearing")
    post_made = forms.run(
        formwork.shore_check, f"{item}, shores", P=made.R, l_u=form.hole.clear_height, b=form.shore.breadth, d=form.shore.depth,
        F_c=post["F_c"], E_min=post["E_min"], r_max=forms.limit("shore_slenderness").value,
    )  # fmt: skip
    cut_shores(forms, form)
    keep_off(forms, form, post_made.P_a)
    check("shores, load", made.R, post_made.P_a, formwork.shore_check, "P_a", "thicker or more shores")
    check.add("shores, slenderness", post_made.r, forms.limit("shore_slenderness"), "at most", "thicker shores")
    side = forms.run(
        formwork.lateral_force, f"{item}, braces", H_0=forms.limit("form_lateral_edge").value,
        r_H=forms.limit("form_lateral_share").value, p_d=form.load.p_c + want.self_weight, L=size(max(form.a, form.b)),
        B=size(min(form.a, form.b)),
    )  # fmt: skip
    form.braces = forms.decisions[f"{item}, braces"] = (
        f"brace the shores both ways for {forms.show(side.H, units.Force)} at the level of the soffit, or tie the form to the bridge for it"
    )


def masses(form: FormDesign, yard: Yard) -> tuple[float, float, float]:
    """Return masses of panel, joists and carriers of a form in kg."""
    found = form.found
    reach_a, reach_b = form.reach
    return (
        float(yard.panels.m[found.panel]) * reach_a * reach_b,
        (found.n_b + 1) * reach_a * float(yard.members.m[found.joist]),
        (found.n_a + 1) * form.carrier_length * float(yard.members.m[found.carrier]),
    )


def lift(forms: Forms, form: FormDesign, joist: Any, yard: Yard, check: Checker) -> None:
    """Weight of the form, against what was allowed for and against uplift."""
    want, item, found = forms.choices, form.item, form.found
    m_p, m_j, m_s = (quantity(mass, "kg") for mass in masses(form, yard))
    area = forms.length(form.a) * forms.length(form.b)
    weight = forms.run(formwork.form_weight, f"{item}, weight", m_p=m_p, m_j=m_j, m_s=m_s, A=area, g=GRAVITY)
    check("weight of the form, against what the load allows for", weight.g_e, want.self_weight, formwork.form_weight, "g_e",
         "allow for more weight in job.toml", "job file")  # fmt: skip
    if si(want.uplift, "Pa") == 0:
        return
    net = forms.run(formwork.net_uplift, f"{item}, uplift", p_up=want.uplift, g_e=weight.g_e)
    if si(net, "Pa") <= 0:
        forms.decisions[f"{item}, uplift"] = "the weight of the form holds it down"
        return
    line = forms.run(
        formwork.joist_load, f"{item}, uplift", p=net, s=forms.length(form.s_b), o=forms.length(form.o_b), n=quantity(float(found.n_b)),
        coefficients=want.coefficients,
    )  # fmt: skip
    up = forms.run(
        formwork.beam_check, f"{item}, uplift", w=line.w, l=forms.length(form.a), o=forms.length(0.0), n=quantity(1.0),
        b=form.joist.breadth, d=form.joist.depth, F_b=joist["F_b"], F_v=joist["F_v"], E=joist["E"],
        coefficients=want.coefficients, d_v=forms.length(0.0), **forms.deflection,
    )  # fmt: skip
    check("joists under uplift, bending from edge to edge", up.M, up.M_a, formwork.beam_check, "M", "deeper joists")
    force = forms.show(net * area, units.Force)
    forms.decisions[f"{item}, uplift"] = (
        f"the empty form is lifted against the slab by {force}: wedge it tight, and hold "
        + ("strongbacks" if form.hanger is not None else "stringers") + " and shores or hangers against slipping"
    )  # fmt: skip


def govern(forms: Forms, form: FormDesign) -> None:
    """Say what was laid out and what governs it."""
    known = [check for check in form.checks if check.utilisation is not None]
    worst = max(known, key=lambda check: check.utilisation or 0.0)
    found, size = form.found, lambda metres: forms.show(forms.length(metres), units.Length)
    carried = (
        f"hung by {(found.n_a + 1) * (found.n_b + 1)} hangers {form.hanger.hanger} from {found.n_a + 1} strongbacks "
        f"{form.carrier.lumber} at {size(form.s_a)}"
        if form.hanger is not None
        else f"on {found.n_a + 1} stringers {form.carrier.lumber} at {size(form.s_a)}, each on {found.n_p + 1} shores "
        f"{form.shore.lumber if form.shore else ''} at {size(form.s_p)}"
    )
    words = (
        f"panel {form.panel.panel} on {found.n_b + 1} joists {form.joist.lumber} at {size(form.s_b)}, {carried}; the lightest of "
        f"{grouped(found.admissible)} layouts that pass, {forms.show(quantity(found.mass, 'kg'), units.Mass)}; "
        f"{worst.title} governs, {worst.percent} used"
    )
    forms.decide(form.name, words)
