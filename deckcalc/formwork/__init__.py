"""Formwork of a full-depth hole: loads, panel, joists, strongbacks or stringers, hangers or shores, and their layout."""

from __future__ import annotations

from deckcalc.formwork.formulas.beams import beam_check, beam_spans
from deckcalc.formwork.formulas.coefficients import coefficient, joist_load, support_force
from deckcalc.formwork.formulas.fresh import concrete_weight
from deckcalc.formwork.formulas.hangers import bar_support, form_oil, hanger_check, steel_area, wire_diameter
from deckcalc.formwork.formulas.loads import form_load, form_weight, lateral_force, net_uplift
from deckcalc.formwork.formulas.lumber import class_values, lumber_values
from deckcalc.formwork.formulas.panels import panel_property, panel_row, panel_values
from deckcalc.formwork.formulas.plates import plate_bearing, plate_bending, plate_bolts, plate_size
from deckcalc.formwork.formulas.plywood import panel_check, panel_spans
from deckcalc.formwork.formulas.regional import own_lumber, own_panel, plywood_values
from deckcalc.formwork.formulas.shores import bearing_check, shore_check
from deckcalc.formwork.formulas.site import passage, shore_length, wheel_on_form
from deckcalc.formwork.formulas.strongbacks import stringer_check, strongback_check

__all__ = [
    "bar_support", "beam_check", "beam_spans", "bearing_check", "class_values", "coefficient", "concrete_weight", "form_load", "form_oil", "form_weight",
    "hanger_check", "joist_load", "lateral_force", "lumber_values", "net_uplift", "own_lumber", "own_panel", "panel_check", "panel_property", "panel_row", "panel_spans",
    "panel_values", "passage", "plate_bearing", "plate_bending", "plate_bolts", "plate_size", "plywood_values", "shore_check", "shore_length", "steel_area", "stringer_check", "strongback_check", "support_force", "wheel_on_form", "wire_diameter",
]  # fmt: skip
