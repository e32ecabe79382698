"""Time to initiation: an independent finite-difference solution, scaling, edges, and what bad input gets."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import solve_banded

from deckcalc import InputError, Q
from deckcalc.chloride import (
    apparent_ageing,
    content_linear_surface,
    content_root_surface,
    corner_content,
    face_content,
    growing_time,
    integrated_ageing,
    penetration_to_crack,
    time_to_initiation,
    time_to_initiation_corner,
)

YEAR = 31_557_600.0
covers, coefficients, surfaces = st.floats(20, 100), st.floats(2, 200), st.floats(2, 15)


def by_differences(x, t_end, D, surface, steps=3000, nodes=1201, reach=0.4):
    """Solve Fick's second law in a thick slab by Crank and Nicolson; D and surface are functions of time (years, mm²)."""
    depth = np.linspace(0, 1000 * reach, nodes)
    h = depth[1]
    C = np.zeros(nodes)
    # steps that grow with time: early ones are short
    times = t_end * np.linspace(0, 1, steps + 1) ** 2
    for before, now in itertools.pairwise(times):
        r = D((before + now) / 2) * (now - before) / (2 * h * h)
        C[0] = surface(before)
        right = C.copy()
        right[1:-1] += r * (C[2:] - 2 * C[1:-1] + C[:-2])
        right[0], right[-1] = surface(now), 0.0
        band = np.zeros((3, nodes))
        band[0, 2:], band[1], band[2, :-2] = -r, 1 + 2 * r, -r
        band[1, 0] = band[1, -1] = 1.0
        C = solve_banded((1, 1), band, right)
    return float(np.interp(x, depth, C))


def test_steady_surface_agrees_with_finite_differences():
    made = face_content(Q(40, "mm"), Q(25, "yr"), Q(20, "mm²/yr"), Q(6, "kg/m³"), Q(0, "kg/m³")).C_x.m_as("kg/m**3")
    assert made == pytest.approx(by_differences(40, 25, lambda t: 20.0, lambda t: 6.0), abs=2e-3)


@pytest.mark.parametrize(("calculation", "power"), [(content_linear_surface, 1.0), (content_root_surface, 0.5)])
@pytest.mark.parametrize("x", [25.0, 50.0])
def test_growing_surfaces_agree_with_finite_differences(calculation, power, x):
    made = calculation(Q(x, "mm"), Q(20, "yr"), Q(30, "mm²/yr"), Q(4, "kg/m³"), Q(20, "yr"), Q(0, "kg/m³")).C_x
    independent = by_differences(x, 20, lambda t: 30.0, lambda t: 4.0 * (t / 20) ** power)
    assert made.m_as("kg/m**3") == pytest.approx(independent, abs=2e-4)


@pytest.mark.parametrize(("calculation", "share"), [(integrated_ageing, 1.0), (apparent_ageing, 0.7)])
def test_both_conventions_of_ageing_agree_with_finite_differences(calculation, share):
    """An apparent coefficient that falls by m is one of the moment that is smaller by (1 − m)."""
    m, D_r, t_r = 0.3, 100.0, 1.0
    one = time_to_initiation(Q(50, "mm"), Q(D_r, "mm²/yr"), Q(6, "kg/m³"), Q(0, "kg/m³"), Q(1.5, "kg/m³"))
    t = float(calculation(one.t_1, Q(t_r, "yr"), m).t_i.m_as("yr"))
    content = by_differences(50, t, lambda age: share * D_r * (t_r / age) ** m, lambda age: 6.0)
    assert content == pytest.approx(1.5, abs=3e-3)


@settings(max_examples=40, deadline=None)
@given(covers, coefficients, surfaces, st.floats(0.05, 0.9), st.floats(0, 0.5))
def test_content_at_the_time_to_initiation_is_the_threshold(x, D, C_s, part, C_0):
    C_T = C_0 + part * (C_s - C_0)
    given_ = {"D": Q(D, "mm²/yr"), "C_s": Q(C_s, "kg/m³"), "C_0": Q(C_0, "kg/m³")}
    t = time_to_initiation(Q(x, "mm"), **given_, C_T=Q(C_T, "kg/m³")).t_1
    corner = time_to_initiation_corner(Q(x, "mm"), **given_, C_T=Q(C_T, "kg/m³")).t_1
    if t < Q(400, "yr"):
        assert face_content(Q(x, "mm"), t, **given_).C_x.m_as("kg/m**3") == pytest.approx(C_T, rel=1e-9)
        assert corner_content(Q(x, "mm"), Q(x, "mm"), corner, **given_).C_x.m_as("kg/m**3") == pytest.approx(
            C_T, rel=1e-9
        )
    assert corner < t  # two faces are faster than one


@settings(max_examples=40, deadline=None)
@given(covers, coefficients, st.floats(1.05, 3), st.floats(1.1, 5))
def test_time_scales_with_the_square_of_cover_over_diffusion(x, D, deeper, faster):
    def t(x, D):
        return float(
            time_to_initiation(Q(x, "mm"), Q(D, "mm²/yr"), Q(8, "kg/m³"), Q(0, "kg/m³"), Q(0.7, "kg/m³")).t_1.m_as("yr")
        )

    assert t(deeper * x, D) == pytest.approx(deeper**2 * t(x, D), rel=1e-9)
    assert t(x, faster * D) == pytest.approx(t(x, D) / faster, rel=1e-9)
    # Florida DOT BA502, p. 23: from 3 to 4 in of cover almost 80 % more time
    assert 0.75 < t(4 * 25.4, D) / t(3 * 25.4, D) - 1 < 0.80


@settings(max_examples=30, deadline=None)
@given(st.floats(0.2, 3), covers, coefficients)
def test_factors_and_a_background_under_everything(shift, x, D):
    def t(background, **more):
        contents = (Q(8 + background, "kg/m³"), Q(background, "kg/m³"), Q(0.7 + background, "kg/m³"))
        return float(time_to_initiation(Q(x, "mm"), Q(D, "mm²/yr"), *contents, **more).t_1.m_as("yr"))

    assert t(shift) == pytest.approx(t(0.0), rel=1e-9)
    assert t(0.0, k_cr=2, k_T=1.5) == pytest.approx(t(0.0) / 3, rel=1e-9)
    assert t(0.0, k_b=0.85) == pytest.approx(0.85 * t(0.0), rel=1e-9)


@pytest.mark.parametrize("calculation", [time_to_initiation, time_to_initiation_corner])
def test_threshold_at_or_above_the_surface_is_never_reached(calculation):
    given_ = {"x": Q(50, "mm"), "D": Q(20, "mm²/yr"), "C_s": Q(1.2, "lb/yd³"), "C_0": Q(0, "lb/yd³")}
    for C_T in ("1.2", "2"):
        with pytest.raises(InputError, match="does not exceed the threshold: corrosion is not initiated"):
            calculation(**given_, C_T=Q(float(C_T), "lb/yd³"))
    with pytest.raises(InputError, match="background alone reaches the threshold"):
        calculation(**{**given_, "C_0": Q(0.7, "lb/yd³")}, C_T=Q(0.7, "lb/yd³"))


def test_ageing_conventions_differ_by_their_known_factor_and_agree_without_ageing():
    t_1, t_r = Q(3.0927, "yr"), Q(28, "day")
    for m in (0.0, 0.2, 0.6):
        ratio = (apparent_ageing(t_1, t_r, m).t_i / integrated_ageing(t_1, t_r, m).t_i).m_as("")
        assert ratio == pytest.approx((1 / (1 - m)) ** (1 / (1 - m)), rel=1e-9)
    for calculation in (apparent_ageing, integrated_ageing):
        assert calculation(t_1, t_r, 0.0).t_i.m_as("yr") == pytest.approx(3.0927, rel=1e-12)
        with pytest.raises(InputError, match="m .ageing exponent. is 1"):
            calculation(t_1, t_r, 1.0)


@pytest.mark.parametrize(
    ("surface", "calculation"), [("linear", content_linear_surface), ("root", content_root_surface)]
)
def test_growing_surface_is_found_at_the_threshold(surface, calculation):
    x, D, C_a, t_a, C_0, C_T = 0.05, 1e-12, 6.0, 24 * YEAR, 0.1, 0.7
    t = growing_time(x, D, C_a, t_a, C_0, C_T, surface)
    made = calculation(Q(x, "m"), Q(t, "s"), Q(D, "m²/s"), Q(C_a, "kg/m³"), Q(t_a, "s"), Q(C_0, "kg/m³")).C_x
    assert made.m_as("kg/m**3") == pytest.approx(C_T, rel=1e-9)
    assert growing_time(2 * x, D, C_a, t_a, C_0, C_T, surface) > t
    with pytest.raises(InputError, match="more than the background"):
        growing_time(x, D, C_a, t_a, 1.0, 0.7, surface)


def test_growing_surface_is_slower_than_the_steady_one_that_it_ends_at():
    given_ = (Q(40, "mm"), Q(20, "yr"), Q(30, "mm²/yr"), Q(4, "kg/m³"))
    steady = face_content(*given_, Q(0, "kg/m³")).C_x
    root, linear = (c(*given_, Q(20, "yr"), Q(0, "kg/m³")).C_x for c in (content_root_surface, content_linear_surface))
    assert steady > root > linear


def test_cracking_is_refused_outside_the_tests_it_comes_from():
    with pytest.raises(InputError, match=r"cover over bar diameter is 8.00; the tests reach from 1 to 7"):
        penetration_to_crack(Q(80, "mm"), Q(10, "mm"), 0)
    even, local = (penetration_to_crack(Q(50, "mm"), Q(10, "mm"), r).x_cr.m_as("µm") for r in (0, 3))
    assert local / even == pytest.approx(4**1.8, rel=1e-12)  # Florida DOT BA502: an order of magnitude
    assert math.isclose(even, 55.0, rel_tol=1e-12)


def test_arrays_give_what_single_values_give():
    x = np.array([30.0, 50.0, 80.0])
    many = time_to_initiation(Q(x, "mm"), Q(20, "mm²/yr"), Q(6, "kg/m³"), Q(0.1, "kg/m³"), Q(0.7, "kg/m³")).t_1
    for one, cover in zip(many.m_as("yr"), x, strict=True):
        alone = time_to_initiation(Q(cover, "mm"), Q(20, "mm²/yr"), Q(6, "kg/m³"), Q(0.1, "kg/m³"), Q(0.7, "kg/m³")).t_1
        assert one == pytest.approx(alone.m_as("yr"), rel=1e-12)
