"""Sheet of formwork: loads, layouts, cutting and order lists, drawings."""

from __future__ import annotations

from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from deckcalc import formwork
from deckcalc.core import tables, units
from deckcalc.core.calculation import Calculation
from deckcalc.core.forms import ByForm
from deckcalc.formwork.design import Layout, si
from deckcalc.formwork.design import order as form_order
from deckcalc.formwork.design import search as forming
from deckcalc.job import Job
from deckcalc.show.figures import STYLE, Picture
from deckcalc.show.hand import pipe_table, table
from deckcalc.show.sections import Text, block, caution, hand_calculations, measured, plain, verdicts

DANGER = (
    "Formwork over traffic or water is designed, inspected and struck under a licensed engineer, by the local safety rules and the "
    "owner's; what stands here is a draft for that engineer. In the United States 29 CFR 1926.703 asks for drawings on site, for "
    "inspection before, during and after placing, and for proof of strength before anything is removed.",
    "A full-depth hole is a fall edge, and the form is no working deck until it is finished and inspected. Nobody stands under it, "
    "and what passes below is stopped or kept clear, while concrete is placed and while the form is struck. No traffic "
    "runs beside an unsupported edge of the hole.",
)


def danger(job: Job) -> Text:
    """Caution that stands at the top of the sheet."""
    return caution(*DANGER)


def size(job: Job, metres: float, decimals: int | None = None) -> str:
    """Print a length in the small unit."""
    return job.show(forming.length(job, metres), units.Length, decimals)


def basis(job: Job) -> Text:
    """What the engineer chose for the forms."""
    want = job.head.formwork
    if want is None:
        return Text("The job has no section [formwork]; no form is designed here.\n")
    rows = [
        ["least loads", f"set {want.load_set}, {want.placing}, {want.tables} values", "job file"],
        ["unit weight of fresh concrete with bars", job.show(want.unit_weight, units.UnitWeight), "job file"],
        ["weight of the form allowed for", job.show(want.self_weight, units.Pressure), "job file, checked below"],
        ["impact of placing, suction", f"{job.show(want.impact, units.Share)}, {job.show(want.suction, units.Pressure)}", plain(want.loads_source)],
        ["uplift on the empty form", job.show(want.uplift, units.Pressure), plain(want.loads_source)],
        ["beam coefficients", f"set {want.coefficients}", "table below"],
        ["lumber", f"{want.service} service, load duration factor {job.show(job.limit('form_duration').value, units.Ratio)}", plain(job.limit("form_duration").source)],
        ["strength that twisted wire keeps", job.show(want.twist, units.Ratio), "job file: none is published"],
        ["safety factor of hangers", job.show(job.limit("hanger_safety").value, units.Ratio), plain(job.limit("hanger_safety").source)],
        ["deflection", f"span/{si(job.limit('form_deflection_ratio').value, ''):.0f}, at most {job.show(job.limit('form_deflection_cap').value, units.Deflection)}", plain(job.limit("form_deflection_cap").source)],
    ]  # fmt: skip
    holes = [
        [plain(name), hole.carried, hole.below, "yes" if hole.access_below else "no",
         job.show(hole.height, units.Distance) if hole.height is not None else ""]
        for name, hole in want.holes.items()
    ]  # fmt: skip
    return block(
        [
            pipe_table(["choice", "value", "from"], rows, "lll"),
            pipe_table(["hole", "carried", "below it", "underside reached", "clear height"], holes, "llllr"),
        ]
    )


def coefficients(job: Job) -> Text:
    """Beam coefficients of the set in use beside the others."""
    found = tables.load("beam_coefficients").rows
    last = {row["set"]: row["spans"] for row in found}
    rows = [
        [row["set"], row["spans"] + (" or more" if row["spans"] == last[row["set"]] else ""),
         *(row[key] for key in ("c_M", "c_V", "c_R", "c_D")), row["where"]] for row in found
    ]  # fmt: skip
    heads = ["set", "spans", "$M/(wl^2)$", "$V/(wl)$", "$R/(wl)$", r"$\delta EI/(wl^4)$", "where"]
    return Text(pipe_table(heads, rows, "lrrrrrl"))


def what_was_chosen(job: Job) -> Text:
    """Layout of every hole, in words."""
    rows = [[plain(item), plain(what)] for item, what in job.formwork.decisions.items()]
    return Text(pipe_table(["item", "what follows"], rows, "ll")) if rows else Text("No hole goes through the slab.\n")


def yard(job: Job) -> Text:
    """What lies in the yard."""
    if job.head.formwork is None:
        return Text("")
    return block(
        [
            part
            for name in ("panels", "lumber", "hangers")
            for part in (f"### {name.capitalize()}", measured(job.file.rows[name], job.system))
        ]
    )


def lists(job: Job, form: Layout) -> Text:
    """Cutting list and order list of one form."""
    reach_a, reach_b = form.a + 2 * form.rules.lap, form.b + 2 * form.rules.lap
    across = form.panel.grain == "across"
    cuts = [["soffit panel", form.panel.panel, form.panel.type, "1" if form_order.panel_sheets(form) == 1 else "in parts",
             f"{size(job, reach_b)} × {size(job, reach_a)}", "face grain " + ("across the joists" if across else "along the joists")]]  # fmt: skip
    stock: dict[str, list[float]] = {}
    for part, name, count, length in form_order.pieces(form):
        row = next(row for row in job.file.rows["lumber"] if row.lumber == name)
        section = f"{job.show(row.breadth, units.Length)} × {job.show(row.depth, units.Length)}"
        cuts.append(
            [part, name, section, str(count), size(job, length), "square ends" if part == "shore" else "on edge"]
        )
        stock.setdefault(name, []).append(-(-count // int(si(row.length, "m") / length + 1e-9)))
    order = [[f"lumber {name}", f"{sum(number):.0f} pieces"] for name, number in stock.items()]
    order.insert(0, [f"panel {form.panel.panel}", f"{form_order.panel_sheets(form)} sheet(s)"])
    if form.hanger is not None:
        number = (form.found.n_a + 1) * (form.found.n_b + 1)
        each = form_order.hanger_length(form)
        kind = f"{form.hanger.kind} {form.hanger.size}, {si(form.hanger.strands, ''):.0f} strand(s)"
        cuts.append(
            ["hanger", form.hanger.hanger, kind, str(number), size(job, each), "tails of 150 mm (6 in) counted in"]
        )
        order += [
            [f"hanger {form.hanger.hanger}", job.show(form_order.Q(number * each, "m"), units.Distance)],
            [f"plates {job.show(form.hanger.plate, units.Length)} square", f"{2 * number}"],
        ]
    else:
        shores = (form.found.n_a + 1) * (form.found.n_p + 1)
        order += [["sills " + (job.show(form.hole.sill, units.Length) if form.hole.sill is not None else "") + " square", str(shores)],
                  ["pairs of wedges", str(shores)]]  # fmt: skip
    oil = next(run.result.V for run in job.formwork.runs_of(formwork.form_oil) if run.item == f"{form.item}, oil")
    want = job.head.formwork
    assert want
    order += [[f"form oil, {plain(want.oil)}", job.show(oil, units.Liquid)],
              ["sealing strip", job.show(form_order.Q(2 * (form.a + form.b), "m"), units.Distance)]]  # fmt: skip
    return block([
        f"### Cutting list: {form.item}", pipe_table(["part", "yard name", "section", "number", "cut to", "remark"], cuts, "lllrrl"),
        f"### Order list: {form.item}", pipe_table(["what", "how much"], order, "lr"),
    ])  # fmt: skip


def all_lists(job: Job) -> Text:
    """Cutting and order lists of every form."""
    return block([lists(job, form) for form in job.formwork.layouts])


def checks(job: Job) -> Text:
    """Checks of the forms."""
    return verdicts(job.formwork.checks, job.system) if job.formwork.checks else Text("")


#: Calculations in the order of the work: the result by which one item is picked to be written out, and the columns of the others.
BY_HAND: tuple[tuple[Calculation | ByForm, str, tuple[str, ...]], ...] = (
    (formwork.form_load, "p", ("h", "w_c", "g_f", "q", "p_min", "p_c", "p_sum", "p")),
    (formwork.panel_values, "F_b", ("F_b0", "F_s0", "k_D", "F_b", "F_s", "E", "E_s")),
    (formwork.lumber_values, "F_b", ("b", "d", "C_F", "C_Mb", "C_Mc", "F_b", "F_v", "F_cp", "F_c", "E", "E_min")),
    (formwork.class_values, "F_b", ("f_m", "F_b", "F_v", "F_cp", "F_c", "E", "E_min")),
    (formwork.panel_check, "u_d", ("s", "o", "n", "b_s", "s_c", "s_d", "delta", "delta_a", "p_b", "p_s", "p_d", "u_od")),
    (formwork.panel_spans, "p", ()),
    (formwork.joist_load, "w", ("p", "s", "o", "n", "b_i", "b_e", "w")),
    (formwork.beam_check, "u_d", ("w", "l", "o", "n", "M", "V", "delta", "M_a", "V_a", "delta_a", "u_o")),
    (formwork.beam_spans, "w", ()),
    (formwork.support_force, "P", ("w", "l", "o", "n", "l_i", "l_e", "P")),
    (formwork.hanger_check, "u", ("P", "A_w", "n_w", "f_u", "k_t", "SF", "T_b", "T_a")),
    (formwork.bearing_check, "u_p", ("P", "A_b", "F_cp", "f_p", "P_a")),
    (formwork.strongback_check, "u_b", ("P", "n_P", "s", "l", "M", "R", "delta", "M_a", "V_a", "delta_a", "u_p")),
    (formwork.bar_support, "u", ("P", "l", "d_b", "M", "M_a", "u")),
    (formwork.stringer_check, "u_b", ("P", "s", "l", "o", "n", "M", "V", "R", "delta", "M_a", "V_a", "delta_a")),
    (formwork.shore_check, "u", ("P", "l_u", "r", "F_cE", "C_P", "P_a")),
    (formwork.lateral_force, "H", ("p_d", "L", "B", "H_e", "H_d", "H")),
    (formwork.form_weight, "g_e", ("m_p", "m_j", "m_s", "A", "m", "g_e")),
    (formwork.net_uplift, "p_net", ("p_up", "g_e", "p_net")),
    (formwork.form_oil, "V", ("A", "n_c", "c_o", "V")),
)  # fmt: skip


def hand(job: Job) -> Text:
    """Write every calculation out by hand where it is used most; the other items follow by the same lines in a table."""
    written, parts = hand_calculations(job), []
    for calculation, key, columns in BY_HAND:
        runs = job.formwork.runs_of(calculation)
        if not runs:
            continue
        run = max(runs, key=lambda one: float({**one.arguments, **one.results()}[key].to_base_units().magnitude))
        parts.append(written[run].markdown())
        if columns and len(runs) > 1:
            parts.append(f"All items by the same lines:\n\n{table([written[one] for one in runs], columns)}")
    return block(parts)


class Frame:
    """Scales a drawing of one form to the unit of the job, and draws dimensions."""

    def __init__(self, job: Job, form: Layout, drawing: Axes) -> None:
        self.job, self.form, self.drawing = job, form, drawing
        self.k = 1000.0 if job.system == "SI" else 1 / 0.0254

    def box(self, x: float, y: float, w: float, h: float, **look: Any) -> None:
        """Draw a rectangle, metres."""
        k = self.k
        look = {"facecolor": "none", "edgecolor": "black", **look}
        self.drawing.add_patch(Rectangle((x * k, y * k), w * k, h * k, **look))

    def dimension(
        self, x1: float, y1: float, x2: float, y2: float, text: str, side: tuple[float, float] = (0, 4)
    ) -> None:
        """Draw a dimension line with its text, metres."""
        k = self.k
        self.drawing.update_datalim([(x1 * k, y1 * k), (x2 * k, y2 * k)])
        self.drawing.annotate(
            "",
            (x1 * k, y1 * k),
            (x2 * k, y2 * k),
            arrowprops={"arrowstyle": "<->", "linewidth": 0.6, "shrinkA": 0, "shrinkB": 0},
        )
        upright = abs(x1 - x2) < 1e-9
        self.drawing.annotate(
            text, ((x1 + x2) / 2 * k, (y1 + y2) / 2 * k), xytext=side, textcoords="offset points", fontsize=7,
            ha="right" if upright else "center", va="center" if upright else "bottom",
        )  # fmt: skip

    def note(self, x: float, y: float, text: str, at: tuple[float, float]) -> None:
        """Point at a part with a leader, metres."""
        k = self.k
        self.drawing.update_datalim([((at[0] + 0.012 * len(text)) * k, at[1] * k)])
        self.drawing.annotate(
            text, (x * k, y * k), xytext=(at[0] * k, at[1] * k), fontsize=7, va="center", ha="left",
            arrowprops={"arrowstyle": "-", "linewidth": 0.5},
        )  # fmt: skip

    def finish(self, title: str) -> None:
        """Set scale and title."""
        self.drawing.set_aspect("equal")
        self.drawing.autoscale_view()
        self.drawing.axis("off")
        self.drawing.set_title(title, fontsize=8, loc="left")


def places(s: float, o: float, n: int) -> list[float]:
    """Return positions of supports across a width."""
    return [o + i * s for i in range(n + 1)]


def plan(job: Job, form: Layout, drawing: Axes) -> None:
    """Plan: hole, soffit, joists below (dashed), strongbacks above (full) or stringers, hangers or shores."""
    frame, rules = Frame(job, form, drawing), form.rules
    across, along = places(form.s_b, form.o_b, form.found.n_b), places(form.s_a, form.o_a, form.found.n_a)
    lap, wide, carrier = rules.lap, si(form.joist.breadth, "m"), si(form.carrier.breadth, "m")
    frame.box(-lap, -lap, form.a + 2 * lap, form.b + 2 * lap, linestyle=":", linewidth=0.7)
    frame.box(0, 0, form.a, form.b, linewidth=1.6)
    for y in across:
        frame.box(-lap, y - wide / 2, form.a + 2 * lap, wide, linestyle="--", linewidth=0.7)
    end = rules.clear + rules.bearing if form.hanger is not None else lap
    for x in along:
        look = (
            {"facecolor": "0.85", "linewidth": 0.8}
            if form.hanger is not None
            else {"linestyle": "-.", "linewidth": 0.8}
        )
        frame.box(x - carrier / 2, -end, carrier, form.b + 2 * end, **look)
    k = frame.k
    points = across if form.hanger is not None else places(form.s_p, form.o_p, form.found.n_p)
    mark = "o" if form.hanger is not None else "s"
    for x in along:
        drawing.plot([x * k] * len(points), [y * k for y in points], mark, color="black", markersize=3.5)
    right, top = form.a + end, form.b + end
    gap = 0.1 * max(form.a, form.b)
    frame.dimension(along[0], top + gap / 2, along[1], top + gap / 2, size(job, form.s_a))
    frame.dimension(0, top + 1.6 * gap, form.a, top + 1.6 * gap, f"hole {size(job, form.a)}")
    frame.dimension(-end - gap, across[0], -end - gap, across[1], size(job, form.s_b), (-3, 0))
    frame.dimension(-end - 3.2 * gap, 0, -end - 3.2 * gap, form.b, f"hole {size(job, form.b)}", (-3, 0))
    column = right + gap
    hang = "hangers" if form.hanger is not None else "shores"
    kind = form.hanger.hanger if form.hanger is not None else form.shore.lumber if form.shore else ""
    name = "strongback" if form.hanger is not None else "stringer"
    frame.note(
        along[-1] + carrier / 2,
        form.b + 0.6 * end,
        f"{form.found.n_a + 1} {name}s {form.carrier.lumber}",
        (column, form.b + 0.6 * end),
    )
    frame.note(
        form.a + 0.5 * lap,
        across[-1],
        f"{len(across)} joists {form.joist.lumber} below",
        (column, across[-1] - 0.2 * gap),
    )
    frame.note(
        along[-1],
        points[len(points) // 2],
        f"{len(along) * len(points)} {hang} {kind}",
        (column, form.b / 2 - 0.6 * gap),
    )
    frame.note(form.a + lap, 0.0, f"soffit {form.panel.panel}, lap {size(job, lap)}", (column, -0.4 * gap))
    frame.finish(f"Plan of {form.item}: {form.hole.carried}")


def section(job: Job, form: Layout, drawing: Axes) -> None:
    """Section across the joists, in the plane of a strongback or stringer."""
    frame, rules = Frame(job, form, drawing), form.rules
    t = float(formwork.panel_row(form.panel.type)["t [in]"]) * 0.0254
    d_j, b_j, d_c = (si(x, "m") for x in (form.joist.depth, form.joist.breadth, form.carrier.depth))
    across = places(form.s_b, form.o_b, form.found.n_b)
    lap, gap = rules.lap, 0.1 * max(form.a, form.b)
    reach = max(rules.clear + rules.bearing, lap) + 1.5 * gap
    for x, w in ((-reach, reach), (form.b, reach)):
        frame.box(x, 0, w, form.t, facecolor="0.85", linewidth=0.8)
    frame.box(0, 0, form.b, form.t, hatch="...", linewidth=0.8)
    frame.box(-lap, -t, form.b + 2 * lap, t, facecolor="0.6", linewidth=0.6)
    for y in across:
        frame.box(y - b_j / 2, -t - d_j, b_j, d_j, hatch="xx", linewidth=0.7)
    column, k = form.b + reach + 0.3 * gap, frame.k
    if form.hanger is not None:
        end = rules.clear + rules.bearing
        frame.box(-end, form.t, form.b + 2 * end, d_c, linewidth=0.9)
        for y in across:
            drawing.plot([y * k, y * k], [(-t - d_j) * k, (form.t + d_c) * k], color="black", linewidth=1.1)
            half = si(form.hanger.plate, "m") / 2
            for z in (-t - d_j, form.t + d_c):
                drawing.plot([(y - half) * k, (y + half) * k], [z * k, z * k], color="black", linewidth=2.2)
        frame.dimension(
            -end,
            form.t + d_c + 0.6 * gap,
            -rules.clear,
            form.t + d_c + 0.6 * gap,
            f"bearing {size(job, rules.bearing)}",
        )
        frame.note(form.b + 0.8 * end, form.t + d_c / 2, f"strongback {form.carrier.lumber}", (column, form.t + d_c))
        frame.note(across[-1], form.t * 0.7, f"hanger {form.hanger.hanger}", (column, form.t * 0.6))
    else:
        assert form.shore and form.hole.height is not None
        frame.box(-lap, -t - d_j - d_c, form.b + 2 * lap, d_c, linewidth=0.9)
        b_s = si(form.shore.breadth, "m")
        foot = -t - d_j - d_c - 4 * gap
        for x in places(form.s_p, form.o_p, form.found.n_p):
            frame.box(x - b_s / 2, foot, b_s, 4 * gap, linewidth=0.9)
            drawing.plot(
                [(x - b_s) * k, (x + b_s) * k],
                [(foot + gap * 0.3) * k, (foot + gap * 0.8) * k],
                color="black",
                linewidth=0.8,
            )
        frame.note(form.b + 0.5 * lap, -t - d_j - d_c / 2, f"stringer {form.carrier.lumber}", (column, -t - d_j - d_c))
        frame.note(
            form.b - form.o_p + b_s / 2,
            foot + 2 * gap,
            f"shore {form.shore.lumber} (drawn short)",
            (column, foot + 2 * gap),
        )
    frame.note(across[-1] + b_j / 2, -t - d_j / 2, f"joist {form.joist.lumber}", (column, -t - 0.6 * d_j))
    frame.note(form.b + lap, -t / 2, f"panel {form.panel.panel}", (column, 0.0))
    below = -t - d_j - (0.6 * gap if form.hanger is not None else d_c + 0.0 * gap) - 0.5 * gap
    if form.hanger is not None:
        frame.dimension(across[0], below, across[1], below, size(job, form.s_b), (0, -11))
        frame.dimension(0, below, across[0], below, size(job, form.o_b), (-12, -11))
    frame.dimension(-reach - 0.4 * gap, 0, -reach - 0.4 * gap, form.t, size(job, form.t), (-3, 0))
    frame.finish("Section across the joists")


def drawn(job: Job, form: Layout) -> Picture:
    """Plan and section of one form."""
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.0, 6.6), layout="constrained")
        upper, lower = figure.subplots(2, 1, height_ratios=(1.25, 1.0))
        plan(job, form, upper)
        section(job, form, lower)
    what = "dots: hangers" if form.hanger is not None else "squares: shores"
    return Picture(
        figure,
        f"Form of {form.item}, each drawing to its own scale. Heavy outline: the hole; dotted: edge of the soffit; dashed: joists "
        f"below; {'grey: strongbacks above the deck' if form.hanger is not None else 'dash-dotted: stringers'}; {what}.",
    )


def drawing(job: Job, number: int) -> Picture | Text:
    """Drawing of one form, or a word that there is none."""
    forms = job.formwork.layouts
    return drawn(job, forms[number]) if number < len(forms) else Text("")
