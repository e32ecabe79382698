"""Every limit of a look-up from both sides, and at it: the branch that is taken is the one that its sentence says.

A `Limit` states place and answers of one limit, as the rule stands in print. Which side the limit itself belongs to is
read from the words of the sentence (`region`); the sentence, the place and the code are three statements that must agree.
"""

import ast
import inspect
import math
import re
import textwrap
from dataclasses import dataclass, field
from types import FunctionType

import numpy as np
import pytest
from samples import REGISTER, cases_of
from scipy.optimize import minimize_scalar, nnls
from scipy.special import erfc

from deckcalc import InputError, Q, published
from deckcalc.chloride.formulas.survey import potential_classes, resistivity_class
from deckcalc.core import boundary, tables, units
from deckcalc.core.bars import bar_diameter
from deckcalc.core.check import SATISFIED, Check
from deckcalc.core.check import Limit as CheckLimit
from deckcalc.core.sources import Cite
from deckcalc.steel.formulas.laps_aci import simple_case

HELPERS = {
    f"{line.helper.function.__module__.split('.')[1]}.{line.helper.name}": line.helper
    for one in REGISTER.values() for line in one.lines if line.helper
}  # fmt: skip
REFUSED = "refused"


# --- the words


#: Words before a limit: which values they name, and whether the limit itself is one of them.
BEFORE = {
    "more than": (">", False), "above": (">", False), "over": (">", False), "deeper than": (">", False), "past": (">", False),
    "not below": (">", True), "at least": (">", True), "from": (">", True),
    "up to": ("<", True), "at most": ("<", True), "not above": ("<", True), "within": ("<", True), "no deeper than": ("<", True),
    "to": ("<", True), "below": ("<", False), "less than": ("<", False),
}  # fmt: skip
AFTER = {"and smaller": ("<", True), "or less": ("<", True), "or more": (">", True), "and more": (">", True)}


def region(clause, limit):
    """Return which values a clause names by a limit (“<” or “>”), and whether the limit is one of them."""
    before, found, after = clause.partition(limit)
    assert found, f"“{clause}” does not print {limit}"
    for words, answer in AFTER.items():
        if re.match(rf"( \(\w+\))? {words}\b", after):
            return answer
    marks = [(match.end(), -match.start(), words) for words in BEFORE for match in re.finditer(rf"\b{words}\b", before)]
    assert marks, f"“{clause}” has no word of comparison before {limit}"
    return BEFORE[max(marks)[2]]


@pytest.mark.parametrize(
    ("clause", "limit", "answer"),
    [("1.3 where more than 12 in (US) or 300 mm (SI) lie below", "300 mm", (">", False)), ("from 45 mph up", "45 mph", (">", True)),
     ("#6 (M19) and smaller", "#6", ("<", True)), ("at most 5", "5", ("<", True)), ("not above 7", "7", ("<", True)),
     ("is not below 3", "3", (">", True)), ("cover below 3 or spacing below 6 diameters", "6 diameters", ("<", False))],
)  # fmt: skip
def test_the_words_are_read(clause, limit, answer):
    assert region(clause, limit) == answer


# --- the limits, each as its rule stands in print


@dataclass
class Limit:
    """One limit of a look-up: what is moved across what, and the answers on either side."""

    helper: str
    clause: str  # part of the sentence as it is printed, arguments in ⟨⟩; or heads of the columns of `table`
    limit: str  # in the words of the clause
    moved: str
    at: str  # value of the moved argument at the limit, as people write it
    low: object  # answer below: a number in the coherent unit, or REFUSED
    high: object
    step: float = 1e-6  # how far from the limit; wide where the answer bends and does not jump
    table: str = ""
    fixed: dict = field(default_factory=dict)
    wide: float = 0.0  # absolute step, where the limit is nothing

    def __str__(self):
        return f"{self.helper} {self.moved} at {self.at}" + "".join(f" {one}" for one in self.fixed.values())


def L(helper, clause, limit, moved, at, low, high, step=1e-6, table="", wide=0.0, **fixed):
    return Limit(helper, clause, limit, moved, at, low, high, step, table, fixed, wide)


TOP = "1.3 where more than 12 in (US) or 300 mm (SI) of fresh concrete lie below, else 1.0"
COAT = "1.0 for an uncoated bar; 1.5 for epoxy with cover below 3 or clear spacing below 6 diameters, else 1.2"
SMALL = "0.8 for #6 (M19) and smaller, 1.0 for larger bars"
DIVISOR = "25, 20, 50/3 and 40/3 (US) or, from memory, 2.1, 1.7, 1.4 and 1.1 (SI), the first of each pair up to #6 (M19), the second pair for other cases"
LAPPED = "1.0 for class A, 1.3 for class B; here class ⟨lap_class⟩. Bars above #11 (M36) may not be lapped"
BLOCK = "0.85 up to 4000 psi (28 MPa), less 0.05 for each further 1000 psi (7 MPa), at least 0.65"
PHI = "0.90 from a strain of 0.005 up; at the yield strain ⟨epsilon_y⟩ or less 0.65 (ACI 318) or 0.75 (AASHTO); in proportion between"
ROOT = "the square root of ⟨f_c⟩ in the unit of the form ⟨form⟩ (US: psi, SI: MPa), not above 100 psi or 25/3 MPa"
PIT = "up to 0.7071 of the diameter ⟨d⟩ the two segments together, deeper than that the bar less one segment with the other, and the whole bar where the pit is as deep as the bar"
COLD = "1.5 below 10 °C (50 °F), else 1.0; does not count below 4.4 °C (40 °F)"
MUCH_BELOW = "1.4 by the oldest of the editions (from memory) or 1.3 by the later ones where more than 12 in of fresh concrete lie below"
STRONG = "by the later ones also for any bar in concrete above 10 ksi; else one"
TESTED = "the tests reach from 1 to 7"
WIDE = "1/4 in up to 2 in nominal, 5/8 in for wider ones"
FALL = "⟨a⟩ divided by ⟨d⟩, from 0 at the upper reading to 1 at the lower"
LOW = "below ⟨V_0⟩ counts as low"
OFTEN = "in the column up to 1, 2 or 8 h"
FAIR = "fair is 0.95 below ⟨V_0⟩"
TAPER = "the first up to ⟨S_1⟩, the second from ⟨S_2⟩"
DUST = "in its column up to 4 h or over"
THICK = "the column for thick members above 3 in"
PASSED = "1 if it goes past the minimum cover, 0 if not"
PLATE = "the row of the first ratio of the table that is not less than ⟨r⟩, beyond the last that of an endless strip"
BAGS = "the most whole bags of ⟨V_bag⟩ each that a batch of ⟨V_mixer⟩ takes"
COLUMN = "in the column of the smallest w/c that is not less than ⟨w_cm⟩"
BANDS = "two bands from 45 mph up, the lower one up to 50 mph"
SLUMP = "that holds a slump of ⟨slump⟩, or of the next wetter range if it lies between two (read to 3 mm)"
PSI = 6894.757293168361
EPOXY = {"coating": "epoxy"}
PITS = {"A_d": "200 mm²", "A_1": "30 mm²", "A_2": "20 mm²", "d": "16 mm"}
SPEEDS = {"US": ("40 mph", "45 mph"), "SI": ("60 km/h", "70 km/h")}
BREAKER = {"tool": "breaker or chipping hammer", "place": "outdoors"}
LIFTS = {"F": "1 1/min", "V": "75 cm", "V_0": "75 cm"}
TAPERS = {"L_1": "100 ft", "L_2": "200 ft"}

LIMITS = [
    L("steel.top_factor", TOP, "12 in", "h_below", "12 in", 1.0, 1.3, form="US"),
    L("steel.top_factor", TOP, "300 mm", "h_below", "300 mm", 1.0, 1.3, form="SI 9/10"),
    L("steel.top_factor", TOP, "300 mm", "h_below", "300 mm", 1.0, 1.3, form="SI 1/1.1"),
    *(
        one for size in ("#3", "#4", "#5", "#6", "#7", "10", "16", "25", "M13", "15M", "20M") for one in (
            L("steel.coating_factor", COAT, "3", "c_c", 3 * bar_diameter(size), 1.5, 1.2, c_s="1 m", d_b=bar_diameter(size), **EPOXY),
            L("steel.coating_factor", COAT, "6 diameters", "c_s", 6 * bar_diameter(size), 1.5, 1.2, c_c="1 m", d_b=bar_diameter(size), **EPOXY),
            L("steel.coating_factor", COAT, "3", "c_c", 3 * bar_diameter(size), 1.0, 1.0, c_s="1 m", d_b=bar_diameter(size), coating="uncoated"),
        )
    ),
    L("steel.size_factor", SMALL, "#6", "d_b", "19.1 mm", 0.8, 1.0),
    L("steel.simple_divisor", DIVISOR, "#6", "d_b", "19.1 mm", 25.0, 20.0, case="cover and spacing met", form="US"),
    L("steel.simple_divisor", DIVISOR, "#6", "d_b", "19.1 mm", 50 / 3, 40 / 3, case="other", form="US"),
    L("steel.simple_divisor", DIVISOR, "#6", "d_b", "19.1 mm", 2.1, 1.7, case="cover and spacing met", form="SI"),
    L("steel.simple_divisor", DIVISOR, "#6", "d_b", "19.1 mm", 1.4, 1.1, case="other", form="SI"),
    L("steel.lap_factor", LAPPED, "#11", "d_b", "1.41 in", 1.3, REFUSED, lap_class="B"),
    L("steel.lap_factor", LAPPED, "#11", "d_b", "1.41 in", 1.0, REFUSED, lap_class="A"),
    L("steel.stress_block", BLOCK, "4000 psi", "f_c", "4000 psi", 0.85, 0.83, step=0.1, form="US"),
    L("steel.stress_block", BLOCK, "28 MPa", "f_c", "28 MPa", 0.85, 0.83, step=0.1, form="SI 9/10"),
    L("steel.stress_block", BLOCK, "0.65", "f_c", "8000 psi", 0.69, 0.65, step=0.1, form="US"),
    L("steel.stress_block", BLOCK, "0.65", "f_c", "56 MPa", 0.69, 0.65, step=0.1, form="SI 1/1.1"),
    L("steel.resistance_factor", PHI, "0.005", "epsilon_t", "0.005", 0.65 + 0.25 * 2 / 3, 0.9, step=0.2, epsilon_y="0.002", code="ACI 318-11"),
    L("steel.resistance_factor", PHI, "0.005", "epsilon_t", "0.005", 0.75 + 0.15 * 2 / 3, 0.9, step=0.2, epsilon_y="0.002", code="AASHTO LRFD"),
    L("steel.resistance_factor", PHI, "⟨epsilon_y⟩", "epsilon_t", "0.002", 0.65, 0.65 + 0.25 / 3, step=0.5, epsilon_y="0.002", code="ACI 318-11"),
    L("steel.resistance_factor", PHI, "⟨epsilon_y⟩", "epsilon_t", "0.002", 0.75, 0.75 + 0.15 / 3, step=0.5, epsilon_y="0.002", code="AASHTO LRFD"),
    *(
        one for edition, factor in {"7th": 1.4, "8th and 9th": 1.3, "10th": 1.3}.items() for one in (
            L("steel.top_factor_lrfd", MUCH_BELOW, "12 in", "h_below", "12 in", 1.0, factor, f_c="4 ksi", edition=edition),
            L("steel.top_factor_lrfd", STRONG, "10 ksi", "f_c", "10 ksi", 1.0, 1.0 if edition == "7th" else factor, h_below="3 in", edition=edition),
        )
    ),
    L("steel.grade_factor", "0.67 for bars of up to 60 ksi, 0.75 for stronger ones", "60 ksi", "f_y", "60 ksi", 0.67, 0.75),
    L("steel.excess_factor", "⟨A_req⟩ over ⟨A_prov⟩, not above one", "one", "A_req", "200 mm²", 0.9, 1.0, step=0.1, A_prov="200 mm²", purpose="anchorage"),
    L("steel.root_term", "where nothing is left, no steel makes the section strong enough", "", "q_m", "1", 1e-3, REFUSED, step=1e-3),
    L("steel.tension_controlled", "the strain ⟨epsilon_t⟩ is not below 0.005", "0.005", "epsilon_t", "0.005", REFUSED, 0.005),
    L("steel.yielding", "as the strain ⟨epsilon_t⟩ is not below the yield strain ⟨epsilon_y⟩", "⟨epsilon_y⟩", "epsilon_t", "0.002", REFUSED, 420e6,
      epsilon_y="0.002", f_y="420 MPa"),
    L("steel.root_of_strength", ROOT, "100 psi", "f_c", "10000 psi", 90 * PSI, 100 * PSI, step=0.19, form="US"),
    L("steel.root_of_strength", ROOT, "25/3 MPa", "f_c", f"{625 / 9:.17g} MPa", 7.5e6, 25e6 / 3, step=0.19, form="SI 9/10"),
    L("steel.thick_bar_factor", "one up to 32 mm, above it less by the hundredth part of each further mm", "32 mm", "d_b", "32 mm", 1.0, 0.92, step=0.25),
    L("steel.pit_ratio", "the depth ⟨p⟩ over the diameter ⟨d⟩, at most 1", "1", "p", "16 mm", 1.0, REFUSED, step=2e-9, d="16 mm"),
    L("steel.pit_branch", PIT, "0.7071", "p", f"{16 / math.sqrt(2):.17g} mm", 50e-6, 190e-6, **PITS),
    L("steel.pit_branch", "the whole bar where the pit is as deep as the bar", "", "p", "16 mm", 190e-6, 200e-6, **PITS),
    L("steel.inside", "⟨h⟩ less ⟨d_c⟩, which must be less than the slab", "the slab", "d_c", "200 mm", 0.0, REFUSED, h="200 mm"),
    L("steel.balance", "they balance within 0.1 %", "0.1 %", "C_c", "100.1 kN", 1.001, REFUSED, T="100 kN"),
    L("curing.cold_factor", COLD, "10 °C", "T", "10 °C", 1.5, 1.0),
    L("curing.cold_factor", COLD, "50 °F", "T", "50 °F", 1.5, 1.0),
    L("curing.cold_factor", COLD, "40 °F", "T", "40 °F", REFUSED, 1.5),
    L("curing.cold_factor", COLD, "4.4 °C", "T", "4.4444444444444444 °C", REFUSED, 1.5),
    L("chloride.cover_over_bar", TESTED, "1", "c", "10 mm", REFUSED, 1.0, d_b="10 mm"),
    L("chloride.cover_over_bar", TESTED, "7", "c", "70 mm", 7.0, REFUSED, d_b="10 mm"),
    L("formwork.deflection_addition", WIDE, "2 in", "b_s", "2 in", 0.25 * 0.0254, 0.625 * 0.0254),
    L("formwork.size_factor", THICK, "3 in", "b", "3 in", 1.2, 1.3, d="7.25 in"),
    L("formwork.wet_bending", "one where ⟨F_b0⟩ times ⟨C_F⟩ is at most 1150 psi (7.929 MPa)", "1150 psi", "F_b0", "1150 psi", 1.0, 0.85, service="wet", C_F="1"),
    L("formwork.wet_bending", "one where ⟨F_b0⟩ times ⟨C_F⟩ is at most 1150 psi (7.929 MPa)", "1150 psi", "F_b0", "920 psi", 1.0, 0.85, service="wet", C_F="1.25"),
    L("formwork.wet_compression", "one where ⟨F_c0⟩ times ⟨C_Fc⟩ is at most 750 psi (5.171 MPa)", "750 psi", "F_c0", "750 psi", 1.0, 0.8, service="wet", C_Fc="1"),
    L("formwork.wet_compression", "one where ⟨F_c0⟩ times ⟨C_Fc⟩ is at most 750 psi (5.171 MPa)", "750 psi", "F_c0", "600 psi", 1.0, 0.8, service="wet", C_Fc="1.25"),
    *(
        L(f"formwork.{name}", PLATE, "", "r", at, low, high) for name, steps in {
            "stress_coefficient": (("1.2", 0.650, 0.789), ("1.8", 0.927, 0.958), ("2.0", 0.958, 1.000)),
            "deflection_constant": (("1.0", 0.1267, 0.1478), ("1.6", 0.1715, 0.1770), ("2.0", 0.1805, 0.1851)),
        }.items() for at, low, high in steps
    ),
    L("safety.by_tool", DUST, "4 h", "t", "4 h", 0.0, 10.0, **BREAKER),
    L("safety.by_frequency", OFTEN, "1", "t", "1 h", 0.94, 0.88, **LIFTS),
    L("safety.by_frequency", OFTEN, "2", "t", "2 h", 0.88, 0.75, **LIFTS),
    L("safety.by_frequency", OFTEN, "8 h", "t", "8 h", 0.75, REFUSED, **LIFTS),
    L("safety.by_frequency", "lifts in a minute", "", "F", "1 1/min", 0.94, 0.91, table="lift_frequency", **{**LIFTS, "t": "1 h"}),
    L("safety.by_frequency", "lifts in a minute", "", "F", "12 1/min", 0.37, REFUSED, table="lift_frequency", **{**LIFTS, "t": "1 h", "V": "50 cm"}),
    L("safety.by_frequency", LOW, "⟨V_0⟩", "V", "75 cm", REFUSED, 0.15, **{**LIFTS, "F": "9 1/min", "t": "8 h"}),
    L("safety.by_frequency", LOW, "⟨V_0⟩", "V", "30 in", REFUSED, 0.15, **{**LIFTS, "F": "9 1/min", "t": "8 h", "V_0": "30 in"}),
    L("safety.by_grip", FAIR, "⟨V_0⟩", "V", "75 cm", 0.95, 1.0, grip="fair", V_0="75 cm"),
    L("safety.by_grip", FAIR, "⟨V_0⟩", "V", "30 in", 0.95, 1.0, grip="fair", V_0="30 in"),
    *(
        one for first, second in SPEEDS.values() for one in (
            L("traffic.taper_by_speed", TAPER, "⟨S_1⟩", "S", first, 100 * 0.3048, REFUSED, S_1=first, S_2=second, **TAPERS),
            L("traffic.taper_by_speed", TAPER, "⟨S_2⟩", "S", second, REFUSED, 200 * 0.3048, S_1=first, S_2=second, **TAPERS),
        )
    ),
    L("traffic.least_roll_ahead", BANDS, "50 mph", "S", "50 mph", 80 * 0.3048, 120 * 0.3048),
    L("traffic.greatest_roll_ahead", BANDS, "50 mph", "S", "50 mph", 160 * 0.3048, 200 * 0.3048),
    L("traffic.least_roll_ahead", BANDS, "45 mph", "S", "45 mph", REFUSED, 80 * 0.3048),
    L("traffic.greatest_roll_ahead", BANDS, "45 mph", "S", "45 mph", REFUSED, 160 * 0.3048),
    L("mix.nominal_size", "the size of the tables within 0.6 mm of ⟨D⟩", "0.6 mm", "D", "19.65 mm", 0.01905, REFUSED),
    L("mix.slump_range", SLUMP, "3 mm", "slump", "53 mm", 0.05, 0.1, form="SI"),
    L("chloride.place_between", FALL.replace("d⟩", "s⟩"), "0", "a", "0 mm", REFUSED, 0.0, wide=1e-8, s="13 mm"),
    L("chloride.place_between", FALL.replace("d⟩", "s⟩"), "1", "a", "13 mm", 1.0, REFUSED, s="13 mm"),
    L("chloride.part_of_fall", FALL, "0", "a", "0 kg/m³", REFUSED, 0.0, wide=1e-6, d="2 kg/m³"),
    L("chloride.part_of_fall", FALL, "1", "a", "2 kg/m³", 1.0, REFUSED, d="2 kg/m³"),
    L("closure.others_of", "the others of ⟨n⟩, ⟨k⟩ being on time", "", "k", "100", 50.0, REFUSED, step=0.5, n="100"),
    L("chloride.ages_apart", "the later age over the earlier one", "", "t_2", "10 yr", REFUSED, 1.0, t_1="10 yr"),
    L("chloride.z_on_a_face", "the z for which erfc(z) = ⟨part⟩ / ⟨whole⟩", "", "part", "2 kg/m³", 0.4769363, REFUSED, step=0.5, whole="2 kg/m³"),
    L("chloride.z_in_a_corner", "the z for which 1 − erf²(z) = ⟨part⟩ / ⟨whole⟩", "", "part", "2 kg/m³", 0.7437, REFUSED, step=0.5, whole="2 kg/m³"),
    L("mix.most_bags", "the most whole bags that a batch of ⟨V_mixer⟩ takes", "", "m_bag", "42.5 kg", 2.0, 1.0, V_mixer="0.25 m³", C="340 kg/m³"),
    L("mix.whole_bags", BAGS, "", "V_bag", "0.05 m³", 5.0, 4.0, V_mixer="0.25 m³"),
    L("mix.whole_bags", BAGS, "", "V_bag", "0.25 m³", 1.0, REFUSED, V_mixer="0.25 m³"),
    # in mm²/yr: the value of the table in 1e-12 m²/s times the seconds of a year of 365.25 days
    L("chloride.tabulated_migration", COLUMN, "⟨w_cm⟩", "w_cm", "0.40", 8.9 * 31.5576, 10.0 * 31.5576, binder="CEM I"),
    L("chloride.tabulated_migration", COLUMN, "⟨w_cm⟩", "w_cm", "0.55", 10.9 * 31.5576, 14.9 * 31.5576, binder="CEM I with fly ash"),
    L("chloride.tabulated_migration", COLUMN, "⟨w_cm⟩", "w_cm", "0.60", 3.4 * 31.5576, REFUSED, binder="CEM III/B"),
    L("patch.bars_reached", PASSED, "the minimum cover", "h_max", "2 in", 0.0, 1.0, c_min="2 in", c_max="60 mm"),
    L("patch.bars_reached", "which is not more than the maximum, ⟨c_max⟩", "the maximum", "c_min", "2 in", 1.0, REFUSED, h_max="3 in", c_max="2 in"),
    L("patch.mean_removal", "each taken as ⟨h_r⟩ where it is less", "", "h_r", "2 in", 0.0508, 0.0762, step=0.5, h_i=["2 in"]),
    L("patch.deepest", "in a slab of ⟨t⟩", "", "t", "200 mm", REFUSED, 0.2, h=["200 mm"]),
    L("mix.water_at_mixer", "which is not negative", "", "W_left", "0 kg/m³", REFUSED, 1e-6, wide=1e-6),
    L("mix.cement_share", "all that is left, ⟨q_left⟩, which is more than zero", "zero", "q_left", "0", REFUSED, 1e-6, wide=1e-6),
    L("mix.room_for_sand", "all that is left, ⟨V_left⟩, which is more than zero", "zero", "V_left", "0", REFUSED, 1e-6, wide=1e-6),
    # tables: the heads of their columns are the words
    L("curing.least_by_thickness", "below [mm]", "[mm]", "h", "300 mm", 286.15, 283.15, table="placing_temperature", form="SI"),
    L("curing.least_by_thickness", "below [in]", "[in]", "h", "12 in", 514.67 / 1.8, 509.67 / 1.8, table="placing_temperature", form="US"),
    L("curing.least_by_thickness", "below [mm]", "[mm]", "h", "900 mm", 283.15, 280.15, table="placing_temperature", form="SI"),
    L("curing.drop_by_thickness", "below [in]", "[in]", "h", "36 in", 40 / 1.8, 30 / 1.8, table="placing_temperature", form="US"),
    L("curing.drop_by_thickness", "below [mm]", "[mm]", "h", "1800 mm", 17.0, 11.0, table="placing_temperature", form="SI"),
    L("formwork.size_factor", "dressed up to [in]", "[in]", "d", "3.5 in", 1.5, 1.4, table="lumber_size_factor", b="1.5 in"),
    L("formwork.size_factor_compression", "dressed up to [in]", "[in]", "d", "7.25 in", 1.05, 1.0, table="lumber_size_factor"),
    L("formwork.size_factor_compression", "dressed up to [in]", "[in]", "d", "11.25 in", 1.0, 0.9, table="lumber_size_factor"),
    L("mix.constant_margin", "f_c from", "", "f_c", "3000 psi", 1000 * PSI, 1200 * PSI, table="margin_no_record", form="US", rule="ACI 318-05"),
    L("mix.constant_margin", "f_c to", "", "f_c", "5000 psi", 1200 * PSI, 700 * PSI, table="margin_no_record", form="US", rule="ACI 318-05"),
    L("mix.constant_margin", "f_c from", "", "f_c", "21 MPa", 7e6, 8.3e6, table="margin_no_record", form="SI", rule="ACI 318-05"),
    L("mix.constant_margin", "f_c to", "", "f_c", "35 MPa", 8.3e6, 5e6, table="margin_no_record", form="SI", rule="ACI 318-05"),
    L("mix.share_margin", "f_c to", "", "f_c", "35 MPa", 0.0, 0.1, table="margin_no_record", form="SI", rule="ACI 318-05"),
]  # fmt: skip
#: Limits whose clause says in other words to which side the limit belongs: True where it goes with the values above.
SAID = {
    "the whole bar where the pit is as deep as the bar": True, "in a slab of ⟨t⟩": True, "which is not negative": True,
    "lifts in a minute": False, "the others of ⟨n⟩, ⟨k⟩ being on time": False,
    "the later age over the earlier one": False, PLATE: False,
    "where nothing is left, no steel makes the section strong enough": True, "the z for which erfc(z) = ⟨part⟩ / ⟨whole⟩": True,
    "the z for which 1 − erf²(z) = ⟨part⟩ / ⟨whole⟩": True, "the most whole bags that a batch of ⟨V_mixer⟩ takes": False,
    "each taken as ⟨h_r⟩ where it is less": False, "f_c from": True, "f_c to": False,
    BAGS: False, COLUMN: False,
}  # fmt: skip


def printed(helper):
    """Return the sentence of a look-up, arguments in ⟨⟩."""
    return helper.sentence({name: f"⟨{name}⟩" for name in helper.params})


def answered(limit, value):
    """Return what a look-up answers in the coherent unit, or that it refuses."""
    helper, given = HELPERS[limit.helper], {}
    for name, raw in {**limit.fixed, limit.moved: value}.items():
        one = helper.params[name]
        text = one.kind and not isinstance(raw, units.Quantity)
        quantity = units.read(raw[0], one.kind) if isinstance(raw, list) else units.read(raw, one.kind) if text else raw
        if isinstance(raw, list):
            quantity = units.registry().Quantity([float(quantity.magnitude)], quantity.units)
        given[name] = float(quantity.m_as(helper.unit_of[name])) if helper.empirical and one.kind else quantity
    try:
        found = helper(**given)
    except (InputError, tables.TableError):
        return REFUSED
    kind = helper.kinds[""]
    if not isinstance(found, units.Quantity):
        found = Q(float(found), helper.unit_of.get("", "") if helper.empirical else "")
    return float(found.m_as(kind.base))


def writings(at, kind):
    """Return a limit as it is written and in every unit in use: each conversion brings its own noise."""
    return [at, *(at.to(unit) for unit in (kind.unit("SI"), kind.unit("US"), kind.base))]


def same(found, wanted):
    return found == wanted if REFUSED in (found, wanted) else found == pytest.approx(wanted, rel=2e-4, abs=1e-5)


@pytest.mark.parametrize("one", LIMITS, ids=str)
def test_each_limit_is_where_its_sentence_says_and_belongs_to_the_side_that_it_says(one):
    helper = HELPERS[one.helper]
    print_of = ", ".join(tables.load(one.table).rows[0]) if one.table else printed(helper)
    assert one.clause in print_of
    kind = helper.params[one.moved].kind
    at = units.read(one.at, kind) if isinstance(one.at, str) else one.at
    plain = at.to(kind.base)
    step = units.registry().Quantity(one.wide, kind.base) if one.wide else plain * one.step
    assert same(answered(one, plain - step), one.low)
    assert same(answered(one, plain + step), one.high)
    if one.clause in SAID:
        above = SAID[one.clause]
    else:
        side, member = region(one.clause, one.limit)
        above = (side == ">") == member
    near = one.high if above else one.low
    for value in writings(at, kind):
        if one.wide or one.step < 1e-3:
            assert same(answered(one, value), near), value
        else:  # the answer bends here: it goes over without a jump
            tiny = [answered(one, value * (1 + move)) for move in (-1e-7, 0, 1e-7)]
            assert REFUSED in tiny or tiny[1] == pytest.approx(tiny[0], rel=1e-5) == pytest.approx(tiny[2], rel=1e-5)


# --- tables that end: their first and last value are in them, what lies beyond is refused


ENDS = [
    ("mix.w_cm_of_table", "f_cr", "wcm_strength_us", "f_cr [psi]", "psi", {"air_entrained": "not air-entrained", "form": "US", "edition": "PCA"}),
    ("mix.type_iii_share", "t", "type_iii_ratio", "age [d]", "d", {}),
    ("mix.bulk_volume", "FM", "coarse_volume", ("FM 2.40", "FM 3.00"), "", {"D_n": "19.05 mm"}),
    ("steel.gumbel_location", "d", "pit_factors", "d [mm]", "mm", {}),
    ("steel.gumbel_scale", "d", "pit_factors", "d [mm]", "mm", {}),
    ("steel.table_moment", "S", "deck_moments", "S [ft]", "ft", {"x": "3 in", "sign": "negative"}),
    ("mix.k_tests", "n", "k_tests", "n", "", {}),
]  # fmt: skip


@pytest.mark.parametrize("end", ENDS, ids=lambda end: end[0])
def test_a_table_holds_its_first_and_last_value_and_nothing_beyond(end):
    name, moved, table, column, unit, fixed = end
    head = column if isinstance(column, tuple) else ()
    values = [float(text.split()[1]) for text in head] or tables.load(table).column(column)
    first, last = min(values), max(values)
    one = Limit(name, "", "", moved, "", 0, 0, fixed=fixed)
    quantity = units.registry().Quantity
    for value, way in ((first, -1), (last, 1)):
        for writing in writings(quantity(value, unit), HELPERS[name].params[moved].kind):
            assert answered(one, writing) != REFUSED, writing
        beyond = answered(one, quantity(value + way * (1 if name == "mix.k_tests" else 1e-6 * value), unit))
        assert beyond == (1.0 if (name, way) == ("mix.k_tests", 1) else REFUSED)  # the last factor holds for more tests


# --- none is left out


#: Look-ups whose code compares, and why no limit is moved across.
WITHOUT = {
    "formwork.live_load": "the load less the form, at least nothing: a larger of two values",
    "formwork.moment_coefficient": "whole numbers of spans, the last row for more",
    "formwork.shear_coefficient": "the same", "formwork.reaction_coefficient": "the same", "formwork.deflection_coefficient": "the same",
    "formwork.inner_arms": "whole numbers of loads", "formwork.inner_share": "whole numbers of spans",
    "patch.least_cover": "the minimum of readings", "patch.greatest_cover": "the maximum of readings",
    "chloride.fitted_background": "has a test of its own at nil", "chloride.fitted_surface": "least squares, without a limit",
    "chloride.fitted_length": "the same", "chloride.length_of_coefficient": "the same",
    "mix.water_of_table": "takes the upper end of the range that `slump_range` gave",
    "mix.air_of_table": "takes the size that `nominal_size` gave", "mix.mass_of_table": "the same",
    "patch.deepest_reading": "the maximum of readings", "steel.least_reading": "the minimum of readings",
    "steel.chord_angle": "the sine of a pit that `pit_ratio` has let through",
}  # fmt: skip
COMPARE = {"above", "below", "min", "max", "minimum", "maximum", "clip", "larger", "smaller", "floor", "ceil", "interpolate", "along", "searchsorted", "greater", "less"}  # fmt: skip


def compares(function, seen=()):
    """Whether a function compares sizes, itself or in what it calls."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(function)))
    names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    called = {
        node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        for node in ast.walk(tree) if isinstance(node, ast.Call)
    }  # fmt: skip
    sizes = any(
        isinstance(op, ast.Lt | ast.Gt | ast.LtE | ast.GtE)
        for node in ast.walk(tree)
        if isinstance(node, ast.Compare)
        for op in node.ops
    )
    if sizes or called & COMPARE:
        return True
    inner = [function.__globals__.get(name) for name in names]
    return any(
        compares(one, (*seen, one)) for one in inner
        if isinstance(one, FunctionType) and one.__module__.startswith("deckcalc") and one not in (*seen, function)
        and one.__module__ not in (boundary.__name__, units.__name__)
    )  # fmt: skip


def test_every_look_up_that_compares_is_moved_across_its_limits():
    held = {one.helper for one in LIMITS} | {name for name, *_ in ENDS}
    found = {name for name, helper in HELPERS.items() if compares(helper.function)}
    assert found - held - set(WITHOUT) == set()
    assert set(WITHOUT) - found == set() and set(WITHOUT) & held == set()
    assert set(SAID) <= {one.clause for one in LIMITS}


def test_every_sentence_with_words_of_comparison_is_moved_across_its_limits():
    words = re.compile(rf"\b({'|'.join([*BEFORE, *AFTER])}) (?=[\d⟨#])")
    free = {
        "mix.water_of_table": "the upper end of a range", "chloride.fitted_length": "a curve above its background",
        "chloride.fitted_surface": "the same", "chloride.length_of_coefficient": "down to its background",
    }  # fmt: skip
    held = {one.helper for one in LIMITS}
    for name, helper in HELPERS.items():
        sentence = re.sub(r"from (the )?⟨(form|edition)⟩|from table|closest to", "", printed(helper))
        assert not words.search(sentence) or name in held or name in free, name


# --- the other sentences: each is read a second time, and worked out from what it says


def cell(table, where, value, wanted):
    """Return a number of a table."""
    return float(tables.load(table).row(where, value)[wanted])


def graded(wanted):
    return "of ⟨grade⟩", lambda grade: cell("lumber_values", "grade", grade, wanted) * PSI


def classed(wanted):
    return (
        "of class ⟨strength_class⟩",
        lambda strength_class: cell("timber_classes", "class", strength_class, wanted) * 1e6,
    )


def panelled(wanted):
    return "of ⟨stresses⟩ panels", lambda stresses: cell("form_panel_stresses", "stresses", stresses, wanted) * PSI


def spans(wanted):
    def read(coefficients, n):
        rows = [row for row in tables.load("beam_coefficients").rows if row["set"] == coefficients]
        return float(rows[min(int(n), len(rows)) - 1][wanted])

    return "set “⟨coefficients⟩”, number of spans ⟨n⟩, by the table of coefficients", read


def signs(which, words):
    def read(road, form):
        unit, scale = ("m", 1.0) if form == "SI" else ("ft", 0.3048)
        return cell("sign_spacing", "road", road, f"{which} [{unit}]") * scale

    return f"{words} sign, ⟨road⟩, ⟨form⟩ values", read


def wet(factor):
    return "⟨service⟩ service", lambda service: factor if service == "wet" else 1.0


def load(wanted):
    def read(load_set, placing, form, g_f=0.0):
        rows = [row for row in tables.load("form_loads").rows if row["load_set"] == load_set]
        row = next(
            row
            for row in rows
            if row["placing"] in ("any", placing) or (row["placing"].startswith("no") and placing[:2] != "mo")
        )
        si, us = row[f"{wanted} [kPa]"], row[f"{wanted} [psf]"]
        found = float(si) * 1000 if (form == "SI" and si) or not us else float(us) * PSI / 144
        return max(found - g_f, 0.0) if row["form counted in"] == "yes" and wanted == "live" else found

    return read


def sized(row, D_n):
    """Return what a row of a table by size of aggregate has for a size."""
    heads = [head for head in row if head[0].isdigit()]
    sizes = tables.load("coarse_volume").column("D [mm]")
    return float(row[heads[int(np.argmin(np.abs(np.array(sizes) - D_n * 1000)))]])


def water(D_n, slump_to, exposure, form):
    unit, content = ("mm", 1.0) if form == "SI" else ("in", 0.45359237 / 0.9144**3)
    entrained = "not air-entrained" if exposure == "not air-entrained" else "air-entrained"
    end = slump_to * 1000 / (1 if form == "SI" else 25.4)
    rows = tables.load(f"mixing_water_{form.lower()}").rows
    return (
        sized(
            next(r for r in rows if r["concrete"] == entrained and abs(float(r[f"slump to [{unit}]"]) - end) < 0.01),
            D_n,
        )
        * content
    )


def first_mass(D_n, entrained, form):
    unit, content = ("kg/m³", 1.0) if form == "SI" else ("lb/yd³", 0.45359237 / 0.9144**3)
    rows = tables.load("first_estimate").rows
    row = min(rows, key=lambda one: abs(float(one["D [mm]"]) - D_n * 1000))
    return float(row[f"{entrained} [{unit}]"]) * content


def saved(W_t, shape, form):
    scale = 1.0 if form == "SI" else 0.45359237 / 0.9144**3
    return cell("shape_water", "shape", shape, "kg/m³" if form == "SI" else "lb/yd³") * scale


def perimeter(w_1, w_2, d, edge):
    a, b, half = w_1 + d, w_2 + d, d / 2
    return {
        "no hole near": 2 * a + 2 * b,
        "hole at one side": 2 * (a - half) + b,
        "hole at a corner": a - half + b - half,
    }[edge]


def birch(wanted, scale):
    return lambda panel, **grain: cell("plywood_mm", "panel", panel, wanted.format(**grain)) * scale


def closest(x_from, x_to, C, C_0=None, C_s=None):
    """Return background, surface content and length of the curve closest to readings, by a search in the length alone."""
    place, weight = np.polynomial.legendre.leggauss(40)
    depth = np.add.outer((1 + place) / 2, np.zeros(np.shape(C))) * (x_to - x_from) + x_from

    def least(u):
        part = np.tensordot(weight / 2, erfc(depth / math.exp(u)), 1)
        if C_0 is None:
            (base, rise), error = nnls(np.stack([np.ones_like(part), part], 1), C)
            return error**2, base, base + rise
        rise = part @ (C - C_0) / (part @ part) if C_s is None else C_s - C_0
        return ((C_0 + rise * part - C) ** 2).sum(), C_0, C_0 + rise

    scan = np.linspace(math.log(0.2 * np.max(x_to)), math.log(5 * np.max(x_to)), 60)
    best = scan[int(np.argmin([least(u)[0] for u in scan]))]
    step = scan[1] - scan[0]
    u = minimize_scalar(
        lambda u: least(u)[0], bounds=(best - step, best + step), method="bounded", options={"xatol": 1e-12}
    ).x
    return (*least(u)[1:], math.exp(u))


def surface_of(x_from, x_to, C, C_0, s):
    assert np.array_equal(x_from, x_to)  # readings at points
    part = erfc(x_from / s)
    return C_0 + np.linalg.lstsq(part[:, None], C - C_0, rcond=None)[0][0]


def ratio_of(basis, A):
    return 1 + A if basis == "saturated surface-dry" else 1.0


FACE = "of ⟨panel⟩, face grain ⟨grain⟩ the supports"
LENGTH = "closest to ⟨C⟩ by least squares; twice the root of coefficient and exposure"
READ = {
    "chloride.fitted_background": (
        "that of the curve closest to ⟨C⟩ by least squares, held at zero if it would be negative", lambda **given: closest(**given)[0]),
    "chloride.fitted_length": (f"that of the curve above ⟨C_0⟩ {LENGTH}", lambda **given: closest(**given)[2]),
    "chloride.length_of_coefficient": (f"that of the curve from ⟨C_s⟩ down to ⟨C_0⟩ {LENGTH}", lambda **given: closest(**given)[2]),
    "chloride.fitted_surface": (
        "that of the curve of the length ⟨s⟩ above ⟨C_0⟩ closest to ⟨C⟩ by linear least squares", surface_of),
    "chloride.tabulated_migration": (
        "from the table of migration coefficients for ⟨binder⟩, in the column of the smallest w/c that is not less than ⟨w_cm⟩",
        lambda binder, w_cm: next(
            cell("migration_coefficients", "binder", binder, column) * 31.5576
            for column in ("0.40", "0.45", "0.50", "0.55", "0.60") if float(w_cm) <= float(column) + 1e-12)),
    "mix.whole_bags": ("the most whole bags of ⟨V_bag⟩ each that a batch of ⟨V_mixer⟩ takes", lambda V_mixer, V_bag: float(V_mixer / V_bag // 1)),
    "closure.embodied": ("each mass times its factor, added up", lambda m, f: sum(a * b for a, b in zip(m, f, strict=True))),
    "closure.summed": ("the amounts times their prices, added up", lambda q, p: sum(a * b for a, b in zip(q, p, strict=True))),
    "formwork.deflection_coefficient": spans("c_D"), "formwork.moment_coefficient": spans("c_M"),
    "formwork.reaction_coefficient": spans("c_R"), "formwork.shear_coefficient": spans("c_V"),
    "formwork.combined_load": ("load set ⟨load_set⟩, ⟨placing⟩, ⟨form⟩ values", load("combined")),
    "formwork.live_load": ("load set ⟨load_set⟩, ⟨placing⟩, ⟨form⟩ values, the form itself being ⟨g_f⟩", load("live")),
    "formwork.bending_value": graded("F_b [psi]"), "formwork.compression_value": graded("F_c [psi]"),
    "formwork.elasticity_value": graded("E [psi]"), "formwork.least_elasticity_value": graded("E_min [psi]"),
    "formwork.shear_value": graded("F_v [psi]"), "formwork.side_value": graded("F_cp [psi]"),
    "formwork.class_bending": classed("f_m [MPa]"), "formwork.class_compression": classed("f_c0 [MPa]"),
    "formwork.class_elasticity": classed("E [MPa]"), "formwork.class_least_elasticity": classed("E_05 [MPa]"),
    "formwork.class_shear": classed("f_v [MPa]"), "formwork.class_side": classed("f_c90 [MPa]"),
    "formwork.wet_elasticity": wet(0.9), "formwork.wet_shear": wet(0.97), "formwork.wet_side": wet(0.67),
    "formwork.panel_bending": panelled("F_b [psi]"), "formwork.panel_rolling": panelled("F_s [psi]"),
    "formwork.panel_elasticity": panelled("E [psi]"), "formwork.panel_elasticity_shear": panelled("E_s [psi]"),
    "formwork.panel_duration": (
        "⟨C_D⟩ where the tabulated stresses of ⟨stresses⟩ panels do not count duration in, else one",
        lambda stresses, C_D: 1.0 if tables.load("form_panel_stresses").row("stresses", stresses)["duration counted in"] == "yes" else C_D),
    "formwork.plywood_bending": (FACE, birch("f_m {grain} [MPa]", 1e6)),
    "formwork.plywood_elasticity": (FACE, birch("E {grain} [MPa]", 1e6)),
    "formwork.plywood_stiffness": (FACE, birch("EI {grain} [kN·m²/m]", 1e3)),
    "formwork.plywood_shear": ("of ⟨panel⟩", birch("f_r [MPa]", 1e6)),
    "formwork.plywood_thickness": ("of ⟨panel⟩", birch("t [mm]", 1e-3)),
    "formwork.inner_share": ("number of spans ⟨n⟩: 1 where a support has a span on either side, else 1/2",
                             lambda n: 1.0 if any(0 < support < n for support in range(int(n) + 1)) else 0.5),
    "formwork.inner_arms": ("for ⟨n_P⟩ equal loads, evenly spaced about the middle",
                            lambda n_P: sum(max((n_P - 1) / 2 - i, 0.0) for i in range(int(n_P)))),
    "mix.air_of_table": ("from the table of air content for ⟨D_n⟩ aggregate, ⟨exposure⟩",
                         lambda D_n, exposure: sized(tables.load("air_content").row("exposure", exposure), D_n) / 100),
    "mix.water_of_table": ("from the ⟨form⟩ table for ⟨D_n⟩ aggregate, the slump range up to ⟨slump_to⟩, ⟨exposure⟩", water),
    "mix.mass_of_table": ("from the ⟨form⟩ table of first estimates for ⟨D_n⟩ aggregate, ⟨entrained⟩", first_mass),
    "mix.water_for_shape": ("from the ⟨form⟩ column for ⟨shape⟩ coarse aggregate", saved),
    "mix.half_age": ("from the table, cement of type ⟨cement⟩, moist cured",
                     lambda t, cement: cell("strength_age", "cement", cement, "a [d]") * 86400),
    "mix.slope": ("from the same row, cement of type ⟨cement⟩", lambda t, cement: cell("strength_age", "cement", cement, "b")),
    "mix.retained": ("the sum of what is retained on each sieve, as ratios, where ⟨P⟩ pass", lambda P: sum(1 - one for one in P)),
    "mix.density_factor": ("as the density is stated for ⟨basis⟩ aggregate that absorbs ⟨A⟩", ratio_of),
    "mix.mass_of_basis": ("as the surface moisture is stated on ⟨basis⟩ aggregate that absorbs ⟨A⟩", ratio_of),
    "patch.deepest_reading": ("the deepest of the readings ⟨h_i⟩", lambda h_i: sorted(h_i)[-1]),
    "patch.least_cover": ("the minimum of the readings ⟨c⟩", lambda c: sorted(c)[0]),
    "patch.greatest_cover": ("the maximum of the readings ⟨c⟩", lambda c: sorted(c)[-1]),
    "patch.mean_cover": ("the mean of the readings ⟨c⟩", lambda c: math.fsum(c) / len(c)),
    "patch.mean_depth": ("the mean of the readings ⟨h⟩", lambda h: sum(h) / len(h)),
    "patch.sum_of": ("the sum of ⟨V⟩", lambda V: math.fsum(V)),
    "safety.root_of_squares": ("root of the sum of the squares", lambda A: math.sqrt(sum(a * a for a in A))),
    "safety.added": ("each time over the hours that its level may last, added up", lambda t, T: sum(a / b for a, b in zip(t, T, strict=True))),
    "safety.criterion": ("by the rule “⟨rule⟩”", lambda rule: float(re.search(r"from (\d+) dBA", rule)[1])),
    "safety.exchange_rate": (
        "by the rule “⟨rule⟩”; its three are ten times the decimal logarithm of two, which halve the energy",
        lambda rule: 10 * math.log10(2) if rule.startswith("3 dB") else 5.0),
    "steel.bond_factor": ("1.0 in good bond conditions, 0.7 in others; here ⟨bond⟩", lambda bond: 1.0 if bond == "good" else 0.7),
    "steel.least_lap_ec2": ("200 mm for any bar, here of ⟨d_b⟩", lambda d_b: 0.2),
    "steel.least_reading": ("the minimum of the readings ⟨d⟩", lambda d: sorted(d)[0]),
    "steel.mean_reading": ("the mean of the readings ⟨d⟩", lambda d: sum(d) / len(d)),
    "steel.bundle_factor": (
        "1 for one bar and for two, 1.2 for a bundle of three, 1.33 for one of four; here ⟨n⟩",
        lambda n: {1: 1.0, 2: 1.0, 3: 1.2, 4: 1.33}[int(n)]),
    "steel.least_strain": (
        "0.004 for members in bending (ACI 318), 0 for none by AASHTO LRFD; here ⟨code⟩", lambda code: 0.004 if code.startswith("ACI") else 0.0),
    "steel.position_factor": (
        "40 where the critical section has four sides, 30 with three, 20 with two; here: ⟨edge⟩",
        lambda edge: 10 * perimeter(1.0, 1.0, 0.0, edge)),
    "steel.sum_areas": ("the sum of the areas ⟨A_0⟩", lambda A_0: math.fsum(A_0)),
    "steel.sum_lost": ("the sum of the areas ⟨A_lost⟩", lambda A_lost: math.fsum(A_lost)),
    "steel.chord_angle": ("twice the angle whose sine is ⟨sine⟩, in radians", lambda sine: 2 * math.asin(sine)),
    "traffic.sign_a": signs("A", "first"), "traffic.sign_b": signs("B", "first to second"), "traffic.sign_c": signs("C", "second to third"),
    "steel.tested_length": ("100 mm, to which the parameters belong", lambda: 0.1),
    "steel.weight_of": ("the weight of ⟨rho⟩ under standard gravity over the thickness ⟨h⟩", lambda rho, h: rho * 9.80665 * h),
    "steel.punching_perimeter": (
        "round the wheel ⟨w_1⟩ × ⟨w_2⟩ at half the depth ⟨d⟩ from it: four sides; three with a hole at one side; two with a hole at a corner. "
        "Here: ⟨edge⟩", perimeter),
}  # fmt: skip
#: What tables say at one place between their rows, worked out here from the rows on either side.
BETWEEN = {
    "mix.bulk_volume": ("from the table for ⟨D_n⟩ aggregate, between its columns in proportion to a fineness modulus of ⟨FM⟩",
                        {"D_n": "19.05 mm", "FM": "2.70"}, 0.63),
    "mix.type_iii_share": ("from the table at an age of ⟨t⟩, in proportion between its rows", {"t": "2 d"}, None),
    "mix.w_cm_of_table": ("from the ⟨edition⟩ table (⟨form⟩) for an average of ⟨f_cr⟩, ⟨air_entrained⟩, in proportion between its rows",
                          {"f_cr": "4500 psi", "air_entrained": "not air-entrained", "form": "US", "edition": "ACI 211.1-91"}, 0.525),
    "mix.k_tests": ("from the table for ⟨n⟩ tests, linear between its rows", {"n": "18"}, 1.16 - 0.08 * 3 / 5),
    "steel.gumbel_location": ("from the table of pits for a bar of ⟨d⟩, in proportion between its rows", {"d": "12 mm"}, None),
    "steel.gumbel_scale": ("from the same table for a bar of ⟨d⟩", {"d": "12 mm"}, None),
    "steel.table_moment": (
        "from table A4-1, ⟨sign⟩ moment, girders ⟨S⟩ apart, design section ⟨x⟩ from the girder centre line (no matter for positive moment), "
        "linear between rows and columns", {"S": "8 ft", "x": "3 in", "sign": "negative"}, None),
    "mix.constant_margin": ("from the ⟨form⟩ row of the rule ⟨rule⟩ for f'c = ⟨f_c⟩",
                            {"f_c": "28 MPa", "form": "SI", "rule": "ACI 318-05"}, 8.3e6),
    "mix.share_margin": ("from the same row of the ⟨form⟩ rows, for f'c = ⟨f_c⟩", {"f_c": "42 MPa", "form": "SI", "rule": "ACI 318-05"}, 0.1),
    "curing.drop_by_thickness": ("from the table of maximum temperature drops in a day (⟨form⟩ values) for a section of ⟨h⟩", {"h": "8 in", "form": "US"}, 50 / 1.8),
    "curing.least_by_thickness": ("from the table of placing temperatures (⟨form⟩ values) for a section of ⟨h⟩", {"h": "8 in", "form": "US"}, 514.67 / 1.8),
    "formwork.size_factor_compression": ("for a depth of ⟨d⟩", {"d": "5.5 in"}, 1.1),
}  # fmt: skip


#: Arguments of look-ups beside those with which check cases call them.
SLICES = {
    "x_from": np.array([0, 13, 25, 38]) / 1000,
    "x_to": np.array([13, 25, 38, 51]) / 1000,
    "C": np.array([4.1, 2.2, 1.0, 0.5]),
}
OWN = {
    "closure.summed": {"q": [2.0, 3.0], "p": [5.0, 7.0]},
    "closure.embodied": {"m": [2.0, 3.0], "f": [5.0, 7.0]},
    "chloride.fitted_background": SLICES,
    "chloride.fitted_length": {**SLICES, "C_0": 0.1},
    "chloride.length_of_coefficient": {**SLICES, "C_0": 0.1, "C_s": 5.0},
}
#: How near two answers come where the second reading is a search.
NEAR = {"chloride.fitted_background": 1e-5, "chloride.fitted_length": 1e-6, "chloride.length_of_coefficient": 1e-6}


def calls():
    """Return the arguments with which each look-up is called when check cases are worked out."""
    found = {name: [values] for name, values in OWN.items()}

    def watched(name, function):
        def spy(**values):
            found.setdefault(name, []).append(values)
            return function(**values)

        return spy

    own = {name: helper.function for name, helper in HELPERS.items()}
    for name, helper in HELPERS.items():
        helper.function = watched(name, own[name])
    try:
        for calculation in REGISTER.values():
            if any(line.helper for line in calculation.lines):
                for case in cases_of(calculation, 5):
                    calculation(
                        **{name: published.read_argument(calculation, name, text) for name, text in case.given.items()}
                    )
    finally:
        for name, helper in HELPERS.items():
            helper.function = own[name]
    return found


@pytest.fixture(scope="module")
def given():
    return calls()


@pytest.mark.parametrize("name", READ)
def test_a_sentence_comes_to_what_the_look_up_gives(name, given):
    sentence, work = READ[name]
    assert printed(HELPERS[name]) == sentence
    assert given[name]
    helper = HELPERS[name]
    single = [
        values
        for values in given[name]
        if all(np.ndim(one) == 0 or helper.params[key].several for key, one in values.items())
    ]
    assert single
    for values in single:
        found, again = (float(one(**values)) for one in (helper.function, work))
        assert found == pytest.approx(again, rel=NEAR.get(name, 1e-9))


@pytest.mark.parametrize("base", [-0.2, -1e-3, -1e-6, 0.0, 1e-6, 1e-3, 0.2])
def test_a_fitted_background_is_nil_where_the_readings_lead_below_nil_and_as_it_is_above(base):
    x = np.array([6, 19, 32, 45]) / 1000
    found = HELPERS["chloride.fitted_background"].function(x_from=x, x_to=x, C=base + 5 * erfc(x / 0.04))
    assert float(found) == pytest.approx(max(base, 0.0), abs=1e-9)


@pytest.mark.parametrize("name", BETWEEN)
def test_a_table_is_read_as_its_sentence_says(name):
    sentence, values, wanted = BETWEEN[name]
    assert printed(HELPERS[name]) == sentence
    found = answered(Limit(name, "", "", next(iter(values)), "", 0, 0, fixed=values), next(iter(values.values())))
    assert found != REFUSED
    assert wanted is None or found == pytest.approx(wanted, rel=1e-9)


def test_every_sentence_is_read_a_second_time():
    clauses = {}
    for one in LIMITS:
        if not one.table:
            clauses.setdefault(one.helper, set()).add(one.clause)
    unread = {name for name in set(HELPERS) - set(READ) - set(BETWEEN) if name not in clauses}
    assert unread == set()


# --- other limits: ranges of arguments, classes, verdicts


RANGED = [(key, name) for key, one in REGISTER.items() for name, param in one.params.items() if param.range]


def test_each_range_holds_its_ends_in_both_systems_and_refuses_what_lies_beyond():
    assert len(RANGED) > 400
    for key, name in RANGED:
        param = REGISTER[key].params[name]
        kind, bounds = param.kind, param.range
        assert str(bounds).startswith("more than" if bounds.above else "from")
        assert region(str(bounds), bounds.low) == (">", not bounds.above) and region(
            str(bounds).partition(bounds.low)[2], bounds.high
        ) == ("<", True)
        low, high = (units.read(text, kind).to(kind.base) for text in (bounds.low, bounds.high))
        width = (abs(high - low) if low != high else abs(high)) * 1e-4
        if kind.whole:  # the next count; what lies between is refused by name
            width = units.registry().Quantity(1.0, kind.base)
            with pytest.raises(InputError, match=f"whole number.*{re.escape(str(bounds))}"):
                param.plain(low + width / 2, key)
        inside = [low] * (not bounds.above) + [low + width, high - width] * (low != high) + [high]
        for value in (one for at in inside for one in writings(at, kind)):
            param.plain(value, key)
        for value in (low - width, high + width, *([low] if bounds.above else [])):
            with pytest.raises(InputError, match=re.escape(str(bounds))):
                param.plain(value, key)


@pytest.mark.parametrize(
    ("at", "classes"), [(-200, ("uncertain", "uncertain", "unlikely")), (-350, ("likely", "uncertain", "uncertain"))]
)
def test_potentials_at_their_limits_are_uncertain(at, classes):
    assert "Both limits are strict" in tables.load("potential_classes").facts["notes"]
    for value in (at, float(Q(at / 1000, "V").m_as("mV"))):
        assert tuple(potential_classes([value - 0.01, value, value + 0.01])) == classes


@pytest.mark.parametrize(
    ("scale", "at", "classes"),
    [("likelihood", 100, ("low", "negligible", "negligible")), ("likelihood", 50, ("moderate", "low", "low")),
     ("likelihood", 10, ("high", "high", "moderate")), ("rate", 20, ("low to moderate", "low to moderate", "low")),
     ("rate", 10, ("high", "low to moderate", "low to moderate")), ("rate", 5, ("very high", "high", "high"))],
)  # fmt: skip
def test_a_resistivity_at_a_limit_has_the_class_that_the_table_says(scale, at, classes):
    for value in (at, float(Q(at * 10, "ohm*m").m_as("kohm*cm")), at * (1 + 2e-16), at * (1 - 2e-16)):
        assert tuple(resistivity_class(one, scale) for one in (value * 0.999, value, value * 1.001)) == classes


@pytest.mark.parametrize("size", ["#3", "#5", "#6", "10", "16", "25", "M13", "20M"])
def test_the_case_of_the_simple_equations_is_met_at_one_and_two_diameters(size):
    d = bar_diameter(size)
    for unit in ("mm", "in"):
        cover, space = d.to(unit), (2 * d).to(unit)
        assert simple_case(cover, space, d) == simple_case(d, 2 * d.to("in"), d.to("mm")) == "cover and spacing met"
        assert simple_case(cover * 0.999, space, d) == simple_case(cover, space * 0.999, d) == "other"


@pytest.mark.parametrize("count", ["2.9", "1.0001"])
def test_a_part_of_a_span_or_of_a_load_is_refused(count):
    for name, moved, fixed in (
        ("formwork.moment_coefficient", "n", {"coefficients": "even"}),
        ("formwork.inner_arms", "n_P", {}),
    ):
        assert answered(Limit(name, "", "", moved, "", 0, 0, fixed=fixed), count) == REFUSED


@pytest.mark.parametrize(
    ("sense", "side", "member"), [("at most", "<", True), ("at least", ">", True), ("less than", "<", False)]
)
@pytest.mark.parametrize("unit", ["mm", "in", "ft", "m"])
def test_a_verdict_goes_by_its_words(sense, side, member, unit):
    limit = CheckLimit("x", "a limit", Q(304.8, "mm"), units.kind_of(units.Length), Cite(""))
    assert region(f"{sense} 304.8 mm", "304.8 mm") == (side, member)
    found = [
        Check("", "", Q(304.8 * k, "mm").to(unit), limit, sense).verdict == SATISFIED for k in (1 - 1e-6, 1, 1 + 1e-6)
    ]
    assert found == [side == "<", member, side == ">"]
