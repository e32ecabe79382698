"""The stock: design values of its panels, lumber and hangers, as the search for a form takes them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, get_args

import numpy as np

from deckcalc import formwork
from deckcalc.core import tables
from deckcalc.core.units import Quantity, quantity
from deckcalc.formwork.design.forms import Forms, si
from deckcalc.formwork.formulas import layout, lumber, panels, regional
from deckcalc.formwork.inputs import Formwork, HangerRow, LumberRow, PanelRow

LUMBER_DENSITY = 650.0  # kg/m³, wet softwood: common practice


@dataclass(frozen=True)
class Yard:
    """What is in stock, as rows, as design values, and as the arrays of the search."""

    panel_rows: list[PanelRow]
    lumber_rows: list[LumberRow]
    hanger_rows: list[HangerRow]
    panel_values: list[dict[str, Any]]
    lumber_values: list[dict[str, Any]]
    panels: layout.Panels
    members: layout.Members
    hangers: layout.Hangers


def yard_of(forms: Forms) -> Yard:
    """Work the design values of everything in stock out."""
    want, inputs = forms.choices, forms.inputs
    C_D = forms.limit("form_duration").value
    panel_values, lumber_values = [], []
    for board in inputs.panels:
        made = panel_of(forms, board)
        made["C_s"] = quantity(120.0 if board.grain == "across" else 60.0)
        panel_values.append(made)
    for piece in inputs.lumber:
        item = f"lumber {piece.lumber}"
        found: tuple[Quantity, ...]
        if (own := want.own_lumber.get(piece.grade)) is not None:
            found = forms.run(
                formwork.own_lumber, item, F_b0=own.F_b, F_v0=own.F_v, F_cp0=own.F_cp, F_c0=own.F_c, E_0=own.E, E_min0=own.E_min,
                K_b=own.K_b, K_v=own.K_v, K_p=own.K_p, K_c=own.K_c, K_E=own.K_E,
            )  # fmt: skip
        elif piece.grade in get_args(lumber.StrengthClass):
            found = forms.run(
                formwork.class_values, item, strength_class=piece.grade, k_mod=want.k_mod, gamma_M=want.gamma_M,
                gamma_F=want.gamma_F,
            )  # fmt: skip
        else:
            one = quantity(1.0)
            found = forms.run(
                formwork.lumber_values, item, grade=piece.grade, b=piece.breadth, d=piece.depth, C_D=C_D,
                service=want.service, C_r=one, C_fu=one,
            )  # fmt: skip
        lumber_values.append({key: getattr(found, key) for key in ("F_b", "F_v", "F_cp", "F_c", "E", "E_min")})
    column = lambda values, key, unit: np.array([si(v[key], unit) for v in values])  # noqa: E731
    field_of = lambda rows, key, unit: np.array([si(getattr(row, key), unit) for row in rows])  # noqa: E731
    across = np.array([row.grain == "across" for row in inputs.panels])
    long, wide = field_of(inputs.panels, "length", "m"), field_of(inputs.panels, "width", "m")
    boards = layout.Panels(
        column(panel_values, "t", "m"), column(panel_values, "m", "kg/m**2"), column(panel_values, "F_b", "Pa"),
        column(panel_values, "F_s", "Pa"), column(panel_values, "E", "Pa"), column(panel_values, "E_s", "Pa"),
        column(panel_values, "S", "m**2"), column(panel_values, "I", "m**3"), column(panel_values, "Q", "m"),
        column(panel_values, "C_s", ""),
        np.where(across, long, wide), np.where(across, wide, long), field_of(inputs.panels, "pieces", ""),
    )  # fmt: skip
    b, d = field_of(inputs.lumber, "breadth", "m"), field_of(inputs.lumber, "depth", "m")
    members = layout.Members(
        b, d, column(lumber_values, "F_b", "Pa"), column(lumber_values, "F_v", "Pa"), column(lumber_values, "F_cp", "Pa"),
        column(lumber_values, "F_c", "Pa"), column(lumber_values, "E", "Pa"), column(lumber_values, "E_min", "Pa"), LUMBER_DENSITY * b * d,
        field_of(inputs.lumber, "length", "m"), field_of(inputs.lumber, "pieces", ""),
    )  # fmt: skip
    allowed = [
        si(row.strength * formwork.steel_area(row.kind, row.size), "N") * si(row.strands, "") * si(twist_of(row, want), "")
        / si(forms.limit("hanger_safety").value, "") for row in inputs.hangers
    ]  # fmt: skip
    hangers = layout.Hangers(np.array(allowed), field_of(inputs.hangers, "plate", "m"))
    return Yard(inputs.panels, inputs.lumber, inputs.hangers, panel_values, lumber_values, boards, members, hangers)


def panel_of(forms: Forms, board: PanelRow) -> dict[str, Any]:
    """Return the design values of a panel: the engineer's own, those of a metric thickness, or those of the US tables."""
    want, item = forms.choices, f"panel {board.panel}"
    if (own := want.own_panels.get(board.type)) is not None:
        stress = forms.run(formwork.own_panel, item, F_b0=own.F_b, F_s0=own.F_s, K_b=own.K_b, K_s=own.K_s)
        section = {key: getattr(own, key) for key in ("E", "S", "I", "Q")}
        return {"F_b": stress.F_b, "F_s": stress.F_s, "E_s": own.E, "t": own.thickness, "m": own.mass, **section}
    if board.type in get_args(regional.MetricPanel):
        metric = forms.run(
            formwork.plywood_values, item, panel=board.type, grain=board.grain, k_mod=want.k_mod, gamma_M=want.gamma_M,
            gamma_F=want.gamma_F,
        )  # fmt: skip
        mass = quantity(float(tables.load("plywood_mm").row("panel", board.type)["mass [kg/m²]"]), "kg/m²")
        return {key: getattr(metric, key) for key in ("F_b", "F_s", "E", "S", "I", "Q", "t")} | {
            "E_s": metric.E,
            "m": mass,
        }
    row = panels.panel_row(board.type)
    made = forms.run(formwork.panel_values, item, stresses=row["stresses"], C_D=forms.limit("form_duration").value)
    section = {key: panels.panel_property(board.type, key, board.grain) for key in ("S", "I", "Q")}
    sizes = {"t": quantity(float(row["t [in]"]), "in"), "m": quantity(float(row["mass [lb/ft²]"]) * 4.882428, "kg/m²")}
    return {"F_b": made.F_b, "F_s": made.F_s, "E": made.E, "E_s": made.E_s, **sizes, **section}


def twist_of(row: HangerRow, want: Formwork) -> Quantity:
    """Return the share of strength that a hanger keeps: only wire is twisted."""
    return want.twist if row.kind == "wire" else quantity(1.0)
