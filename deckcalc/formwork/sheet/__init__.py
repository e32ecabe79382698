"""Sheet of formwork: choices, lists, checks and hand calculations. The drawings stand in `deckcalc.formwork.sheet.drawings`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from deckcalc import formwork
from deckcalc.core import tables, units
from deckcalc.core.calculation import Calculation
from deckcalc.core.forms import ByForm
from deckcalc.core.sources import Cite
from deckcalc.core.units import quantity
from deckcalc.formwork.design import FormDesign, Forms
from deckcalc.formwork.design.access import steps
from deckcalc.formwork.design.forms import TAIL, si
from deckcalc.show import sections
from deckcalc.show.hand import pipe_table, table
from deckcalc.show.sections import Text, block, caution, measured, plain
from deckcalc.show.written import HandCalculations

DANGER = (
    "Formwork over traffic or water is designed, inspected and struck under a licensed engineer, by the local safety rules and the "
    "owner's; what stands here is a draft for that engineer. In the United States 29 CFR 1926.703 asks for drawings on site, for "
    "inspection before, during and after placing, and for proof of strength before anything is removed.",
    "A full-depth hole is a fall edge, and the form is no working deck until it is finished and inspected. Nobody stands under it, "
    "and what passes below is stopped or kept clear, while concrete is placed and while the form is struck. No traffic "
    "runs beside an unsupported edge of the hole.",
)


def danger() -> Text:
    """Caution that stands at the top of the sheet."""
    return caution(*DANGER)


def size(forms: Forms, metres: float) -> str:
    """Print a length in the small unit."""
    return forms.show(forms.length(metres), units.Length)


def deflection_rule(forms: Forms) -> tuple[str, str]:
    """Return the rule of deflection in words, and who set it."""
    if forms.choices.deflection == "no limit":
        return "no limit", "job file"
    cap = forms.limit("form_deflection_cap")
    ratio = si(forms.limit("form_deflection_ratio").value, "")
    return f"span/{ratio:.0f}, at most {forms.show(cap.value, units.Deflection)}", plain(cap.source)


def basis(forms: Forms) -> Text:
    """What the engineer chose for the forms."""
    want = forms.inputs.formwork
    if want is None:
        return Text("")
    rows = [
        ["least loads", f"set {want.load_set}, {want.placing}, {want.tables} values", "job file"],
        ["unit weight of fresh concrete with bars, or that by its materials where greater", forms.show(want.unit_weight, units.UnitWeight), "job file"],
        ["weight of the form allowed for", forms.show(want.self_weight, units.Pressure), "job file, checked below"],
        ["impact of placing, suction", f"{forms.show(want.impact, units.Share)}, {forms.show(want.suction, units.Pressure)}", plain(want.loads_source)],
        ["uplift on the empty form", forms.show(want.uplift, units.Pressure), plain(want.loads_source)],
        ["beam coefficients", f"set {want.coefficients}", "table below"],
        ["lumber", f"{want.service} service, load duration factor {forms.show(forms.limit('form_duration').value, units.Ratio)}", plain(forms.limit("form_duration").source)],
        ["strength that twisted wire keeps", forms.show(want.twist, units.Ratio), "job file: none is published"],
        ["safety factor of hangers", forms.show(forms.limit("hanger_safety").value, units.Ratio), plain(forms.limit("hanger_safety").source)],
        ["shear of joists", want.shear, "job file"],
        ["deflection", *deflection_rule(forms)],
    ]  # fmt: skip
    holes = [
        [plain(name), hole.carried, ", ".join(forms.patches[name].location.below), place(forms, name), "yes" if hole.access_below else "no", hole.put_together,
         forms.show(hole.clear_height, units.Distance) if hole.clear_height is not None else ""]
        for name, hole in want.holes.items()
    ]  # fmt: skip
    return block(
        [
            pipe_table(["choice", "value", "from"], rows, "lll"),
            pipe_table(
                ["hole", "carried", "below it", "place", "underside reached", "put together", "from sill to slab"],
                holes,
                "llllllr",
            ),
        ]
    )


def place(forms: Forms, name: str) -> str:
    """Say where a hole lies, and whether a form is laid out there."""
    said = plain(forms.patches[name].location.kind)
    return f"{said}; **not covered: engineer to assess**" if name in forms.uncovered else said


def coefficients() -> Text:
    """Beam coefficients of the set in use beside the others."""
    found = tables.load("beam_coefficients").rows
    last = {row["set"]: row["spans"] for row in found}
    cites = [Cite(row["source"], row["where"], row["provenance"]) for row in found]  # type: ignore[arg-type]
    rows = [
        [row["set"], row["spans"] + (" or more" if row["spans"] == last[row["set"]] else ""),
         *(row[key] for key in ("c_M", "c_V", "c_R", "c_D")), str(cite)] for row, cite in zip(found, cites, strict=True)
    ]  # fmt: skip
    heads = ["set", "spans", "$M/(wl^2)$", "$V/(wl)$", "$R/(wl)$", r"$\delta EI/(wl^4)$", "where"]
    return Text(pipe_table(heads, rows, "lrrrrrl"))


def what_was_chosen(forms: Forms) -> Text:
    """Layout of every hole, in words."""
    rows = [[plain(item), plain(what)] for item, what in forms.decisions.items()]
    return Text(pipe_table(["item", "what follows"], rows, "ll")) if rows else Text("No hole goes through the slab.\n")


def yard(forms: Forms) -> Text:
    """What lies in the yard."""
    if forms.inputs.formwork is None:
        return Text("")
    parts: dict[str, Sequence[Any]] = {
        "Panels": forms.inputs.panels, "Lumber": forms.inputs.lumber, "Hangers": forms.inputs.hangers,
    }  # fmt: skip
    return block(part for name, rows in parts.items() for part in (f"### {name}", measured(rows, forms.system)))


def lists(forms: Forms, form: FormDesign) -> Text:
    """Cutting list and order list of one form."""
    along, across = form.reach
    grain = "across the joists" if form.panel.grain == "across" else "along the joists"
    cuts = [["soffit panel", form.panel.panel, form.panel.type, "1" if form.strips == form.sheets == 1 else f"{form.strips} strips" if form.strips > 1 else "in parts",
             f"{size(forms, across)} × {size(forms, along)}", f"face grain {grain}"]]  # fmt: skip
    for part, row, number, length in form.pieces:
        section = f"{forms.show(row.breadth, units.Length)} × {forms.show(row.depth, units.Length)}"
        remark = "square ends; sill and wedges taken off" if part == "shore" else "on edge"
        cuts.append([part, row.lumber, section, str(number), size(forms, length), remark])
    order = [[f"panel {form.panel.panel}", f"{form.sheets} sheet(s)"]]
    order += [[f"lumber {name}", f"{number} pieces"] for name, number in form.stock.items()]
    if form.hanger is not None:
        kind = f"{form.hanger.kind} {form.hanger.size}, {si(form.hanger.strands, ''):.0f} strand(s)"
        tails = f"tails of {TAIL * 1e3:.0f} mm ({TAIL / 0.0254:.0f} in) counted in"
        cuts.append(["hanger", form.hanger.hanger, kind, str(form.hangers), size(forms, form.hanger_length), tails])
        wire = quantity(form.hangers * form.hanger_length, "m")
        order += [
            [f"hanger {form.hanger.hanger}", units.show_at_least(wire, units.Distance, forms.system)],
            [f"plates {forms.show(form.hanger.plate, units.Length)} square", f"{2 * form.hangers}"],
            [
                f"blocks {size(forms, form.rules.block)} high, {size(forms, form.rules.bearing)} long, as wide as high, cleated",
                str(form.blocks),
            ],
        ]
    else:
        sill = forms.show(form.hole.sill, units.Length) if form.hole.sill is not None else ""
        order += [[f"sills {sill} square", str(form.shores)], ["pairs of wedges", str(form.shores)]]
    order += (
        [[f"form oil, {plain(forms.choices.oil)}", units.show_at_least(form.oil.V, units.Liquid, forms.system)]]
        if form.oil
        else []
    )
    order += [["sealing strip", units.show_at_least(quantity(form.seal, "m"), units.Distance, forms.system)]]  # fmt: skip
    return block([
        f"### Cutting list: {form.item}", pipe_table(["part", "yard name", "section", "number", "cut to", "remark"], cuts, "lllrrl"),
        f"### Order list: {form.item}", pipe_table(["what", "how much"], order, "lr"),
    ])  # fmt: skip


def sequence(forms: Forms) -> Text:
    """From where each form is put together, and the steps from the empty hole to the deck without a form."""
    if not forms.each:
        return Text("")
    parts = []
    for form in forms:
        taken = form.hole.away or "**not said: engineer to assess**"
        parts.append(
            f"### Steps: {form.item}, put together {form.hole.put_together}, taken away by: {plain(taken) if form.hole.away else taken}"
        )
        parts.append("\n".join(f"{number}. {plain(step)}" for number, step in enumerate(steps(forms, form), 1)) + "\n")
    parts.append(f"Traffic: {'; '.join(f'{form.item}: {plain(form.keep_off)}' for form in forms)}.\n")
    return block(parts)


def plates(forms: Forms) -> Text:
    """Plates over open holes: what may be closed with one, or that none may."""
    want = forms.inputs.formwork.plates if forms.inputs.formwork else None
    if want is None:
        return Text("No plate over an open hole is designed in this job: no hole is closed with plates.\n")
    rows = [
        [plain(one.name), "yes" if one.holds else "no", forms.show(one.bending.t_req, units.Diameter),
         " × ".join(forms.show(side, units.Distance) for side in (one.size.L_p, one.size.B_p)),
         forms.show(one.size.m, units.Mass), forms.show(one.size.l_r, units.Distance), forms.show(one.size.V_r, units.Volume)]
        for one in forms.plates.values()
    ]  # fmt: skip
    heads = ["hole", "may be closed", "thickness wanted", "plate", "mass", "ramp", "asphalt of the ramps"]
    load = forms.inputs.plate_load(forms.deck.year_built)
    thick, lap = forms.show(want.thickness, units.Length), forms.show(want.overlap, units.Length)
    words = (
        f"Plates {thick} thick, {lap} beyond every edge ({plain(want.source)}), for a wheel of {forms.show(load.wheel, units.Force)}"
        f"{', its print and the old concrete as in the deck strip of sheet 02' if forms.inputs.deck_strip else ''}. A hole that may not be closed stays closed to traffic until its concrete may be opened.\n"
    )
    return block([Text(words), pipe_table(heads, rows, "llrrrrr")])


def all_lists(forms: Forms) -> Text:
    """Cutting and order lists of every form."""
    return block([lists(forms, form) for form in forms])


#: Calculations in the order of the work: the result by which one item is picked to be written out, and the columns of the others.
BY_HAND: tuple[tuple[Calculation | ByForm, str, tuple[str, ...]], ...] = (
    (formwork.concrete_weight, "w_c", ("rho_c", "w_b", "w_m", "w_s", "w_c")),
    (formwork.form_load, "p", ("h", "w_c", "g_f", "q", "p_min", "p_c", "p_sum", "p")),
    (formwork.panel_values, "F_b", ("F_b0", "F_s0", "k_D", "F_b", "F_s", "E", "E_s")),
    (formwork.lumber_values, "F_b", ("b", "d", "C_F", "C_Mb", "C_Mc", "F_b", "F_v", "F_cp", "F_c", "E", "E_min")),
    (formwork.class_values, "F_b", ("f_m", "F_b", "F_v", "F_cp", "F_c", "E", "E_min")),
    (formwork.own_lumber, "F_b", ("F_b0", "K_b", "F_b", "F_v", "F_cp", "F_c", "E", "E_min")),
    (formwork.plywood_values, "F_b", ("f_m", "F_b", "F_s", "E", "I", "S", "Q")),
    (formwork.own_panel, "F_b", ("F_b0", "F_s0", "F_b", "F_s")),
    (formwork.panel_check, "u_d", ("s", "o", "n", "b_s", "s_c", "s_d", "delta", "delta_a", "p_b", "p_s", "p_d", "u_od")),
    (formwork.panel_spans, "p", ()),
    (formwork.joist_load, "w", ("p", "s", "o", "n", "b_i", "b_e", "w", "b_h", "w_h")),
    (formwork.beam_check, "u_d", ("w", "l", "o", "n", "M", "V", "f_b", "f_v", "delta", "M_a", "V_a", "delta_a", "u_o")),
    (formwork.beam_spans, "w", ()),
    (formwork.support_force, "P", ("w", "l", "o", "n", "l_i", "l_e", "P", "l_h", "P_h")),
    (formwork.hanger_check, "u", ("P", "A_w", "n_w", "f_u", "k_t", "SF", "T_b", "T_a")),
    (formwork.bearing_check, "u_p", ("P", "A_b", "F_cp", "f_p", "P_a")),
    (formwork.strongback_check, "u_b", ("P", "n_P", "s", "l", "M", "R", "f_b", "f_v", "delta", "M_a", "V_a", "delta_a", "u_p")),
    (formwork.bar_support, "u", ("P", "l", "d_b", "M", "M_a", "u")),
    (formwork.stringer_check, "u_b", ("P", "s", "l", "o", "n", "M", "V", "R", "R_h", "f_b", "f_v", "delta", "M_a", "V_a", "delta_a")),
    (formwork.shore_check, "u", ("P", "l_u", "r", "F_cE", "C_P", "P_a", "u_P", "u_r", "u")),
    (formwork.shore_length, "L_s", ("h", "t_s", "t_w", "t_p", "d_j", "d_c", "L_s")),
    (formwork.passage, "u", ("s_b", "d_b", "c_p", "b", "d", "w", "c_b", "n_s", "w_s")),
    (formwork.wheel_on_form, "u", ("P_i", "n_f", "T_f", "P_f", "u", "D")),
    (formwork.lateral_force, "H", ("p_d", "L", "B", "H_e", "H_d", "H")),
    (formwork.form_weight, "g_e", ("m_p", "m_j", "m_s", "A", "m", "g_e")),
    (formwork.net_uplift, "p_net", ("p_up", "g_e", "p_net")),
    (formwork.form_oil, "V", ("A", "n_c", "c_o", "V")),
    (formwork.plate_bending, "t_req", ("L", "B", "r", "beta", "alpha", "c_s", "f", "t_req", "delta", "delta_a")),
    (formwork.plate_bearing, "u", ()),
    (formwork.plate_bolts, "u", ()),
    (formwork.plate_size, "m", ("L", "B", "L_p", "B_p", "m", "l_r", "V_r")),
)  # fmt: skip


def hand(forms: Forms, written: HandCalculations) -> Text:
    """Write every calculation out by hand where it is used most; the other items follow by the same lines in a table."""
    parts = []
    for calculation, key, columns in BY_HAND:
        runs = forms.runs_of(calculation)
        if not runs:
            continue
        run = max(runs, key=lambda one: float({**one.arguments, **one.results()}[key].to_base_units().magnitude))
        parts.append(written.by_run[run].markdown())
        if columns and len(runs) > 1:
            parts.append(f"All items by the same lines:\n\n{table([written.by_run[one] for one in runs], columns)}")
    return block(parts)


def further(forms: Forms) -> list[Text]:
    """Return the tables that stand in the appendix."""
    return [sections.cautions(forms)]
