"""Questions that take several calculations: which result of one is an argument of the next, as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from deckcalc import published
from deckcalc.core import units
from deckcalc.core.units import InputError
from deckcalc.live.pages import Page, Part, Source
from deckcalc.live.widget import Workbook


@dataclass(frozen=True)
class Step:
    """One calculation of a chain.

    Parameters
    ----------
    calculation : str
        Its key; where it has forms, that of the unit system is taken.
    takes : dict of str
        Arguments that come from earlier steps: ``"neat.V_net"`` is a result, or an argument, of the step `neat`.
    start : dict of str
        What the other fields begin with.
    """

    calculation: str
    takes: Mapping[str, str] = field(default_factory=dict)
    start: Mapping[str, str] = field(default_factory=dict)


CHAINS: Mapping[str, Mapping[str, Step]] = {
    "survey to order volume": {
        "limits": Step(
            "patch.patch_limits",
            start={
                "L_u": "0.91 m", "B_u": "0.61 m", "A_u": "0.55 m²", "m": "60 mm", "e_L": "0 mm", "e_B": "0 mm",
                "A_n": "0 m²", "P_n": "0 m",
            },
        ),
        "depth": Step("patch.patch_depth", start={"h": "64 mm, 83 mm, 71 mm", "t": "200 mm"}),
        "volume": Step(
            "patch.patch_volume",
            {"A": "limits.A", "h": "depth.h_mean"},
            {"V_u": "0 m³", "q_grow": "5 %", "q_over": "8 %", "q_waste": "10 %"},
        ),
    },
    "materials to batch": {
        "water": Step("mix.mixing_water", start={"D_max": "19 mm", "slump": "75 mm"}),
        "coarse": Step("mix.coarse_volume", {"D_max": "water.D_max"}, {"FM": "2.8"}),
        "proportions": Step(
            "mix.proportions",
            {"W": "water.W", "air": "water.air", "b": "coarse.b"},
            {
                "w_cm": "0.40", "rho_dr": "1560 kg/m³", "RD_c": "3.15", "RD_ca": "2.65", "RD_fa": "2.60",
                "rho_w": "1000 kg/m³",
            },
        ),
        "masses": Step(
            "mix.batch_masses",
            {"W": "proportions.W", "M_ca": "proportions.M_ca", "M_fa": "proportions.M_fa"},
            {"A_ca": "0.8 %", "A_fa": "1.1 %", "w_ca": "2 %", "w_fa": "5 %"},
        ),
        "batch": Step(
            "mix.batch_for_volume",
            {"C": "proportions.C", "B_ca": "masses.B_ca", "B_fa": "masses.B_fa", "W_add": "masses.W_add"},
            {"V": "70 L"},
        ),
    },
    "readings to strength": {
        "loss": Step("steel.section_loss", start={"A_0": "200 mm²", "d": "15.2 mm, 14.0 mm"}),
        "strip": Step("steel.strip_area", {"A_b": "loss.A_0"}, {"s": "150 mm", "b": "1 m"}),
        "left": Step("steel.area_left", {"A_s": "strip.A_s", "loss": "loss.loss"}),
        "flexure": Step(
            "steel.flexure",
            {"A_s": "left.A_l", "b": "strip.b"},
            {"f_y": "280 MPa", "f_c": "24 MPa", "d": "145 mm", "E_s": "200 GPa"},
        ),
        "rating": Step(
            "steel.rating",
            {"m_r": "flexure.m_r"},
            {
                "phi_cs": "1", "m_DC": "2.8 kN·m/m", "m_DW": "0.7 kN·m/m", "m_LL": "21.4 kN·m/m", "gamma_DC": "1.25",
                "gamma_DW": "1.5", "gamma_LL": "1.75",
            },
        ),
    },
    "cover and chlorides to years": {
        "cover": Step("patch.patch_cover", start={"c": "44 mm, 51 mm, 48 mm"}),
        "profile": Step(
            "chloride.fit_profile",
            start={
                "x_from": "6 mm, 19 mm, 32 mm, 44 mm", "x_to": "19 mm, 32 mm, 44 mm, 57 mm",
                "C": "2.8 kg/m³, 1.6 kg/m³, 0.7 kg/m³, 0.3 kg/m³", "t": "24 yr", "C_0": "0.1 kg/m³",
            },
        ),
        "years": Step(
            "chloride.time_to_initiation",
            {"x": "cover.c_min", "D": "profile.D", "C_s": "profile.C_s", "C_0": "profile.C_0"},
            {"C_T": "0.7 kg/m³", "k_b": "0.85"},
        ),
    },
    "air and hour to opening": {
        "age": Step(
            "curing.equivalent_age", start={"T": "14 °C", "E_a": "40 kJ/mol", "T_r": "20 °C", "t": "36 h"}
        ),
        "strength": Step(
            "curing.strength_hyperbolic",
            {"t_e": "age.t_e"},
            {"S_u": "39 MPa", "k": "0.033 h⁻¹", "t_0": "5.6 h"},
        ),
    },
}  # fmt: skip


def chain(name: str, system: units.System = "SI", **start: str) -> Workbook:
    """Return a page of calculations in which each takes results of those before it.

    Parameters
    ----------
    name : str
        One of `CHAINS`, for instance ``"survey to order volume"``.
    system : {"SI", "US"}
        Unit system to begin with; it also chooses the form of calculations that have forms.
    **start : str
        Values to begin with in place of those of the chain, by argument.

    Returns
    -------
    Workbook

    Raises
    ------
    InputError
        If there is no such chain, or no such field in it.
    """
    if name not in CHAINS:
        raise InputError(f"there is no chain “{name}”; there are {', '.join(CHAINS)}")
    made, free = [], set()
    for step_name, step in CHAINS[name].items():
        found = published.find(step.calculation) or published.find(step.calculation, system)
        assert found
        free |= set(found.params) - set(step.takes)
        takes = {argument: Source(*place.split(".")) for argument, place in step.takes.items()}
        begins = {key: published.restated(found.params[key], text, system) for key, text in step.start.items()}
        own = {key: text for key, text in start.items() if key in found.params and key not in step.takes}
        made.append(Part(step_name, found, {**begins, **own}, takes))
    if strange := set(start) - free:
        raise InputError(f"“{name}” has no field {', '.join(sorted(strange))}; it has {', '.join(sorted(free))}")
    return Workbook(Page(made, system))
