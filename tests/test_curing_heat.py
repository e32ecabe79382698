"""Check the heat model of patch and slab: analytic solutions, balance of heat, order in temperature."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import erf, erfc

from deckcalc.curing.formulas import heat
from deckcalc.curing.formulas.hydration import HeatSource

CAPACITY, CONDUCTIVITY = 2.2e6, 2.0
DIFFUSIVITY = CONDUCTIVITY / CAPACITY
SOURCE = HeatSource(1.0e8, 12 * 3600.0, 0.7)
ARRHENIUS = heat.arrhenius(40_000.0, 20.0)


def still(steps, T, h=1e9, h_bottom=None, sun=0.0):
    """Return air that does not change; by default faces held at its temperature."""
    full = lambda x: np.full(steps + 1, float(x))  # noqa: E731
    return heat.Air(full(T), full(h), full(h if h_bottom is None else h_bottom), full(sun))


def run(build, air, step, start, cells=heat.CELLS, source=None, slab=None, rate=ARRHENIUS, **more):
    return heat.temperatures(
        build, air, step, start, start if slab is None else slab, source, rate, cells=cells, keep_field=True, **more
    )


def test_half_space_whose_face_is_held():
    # Carslaw and Jaeger, conduction of heat in solids: T = T_s + (T_0 - T_s) erf(x / (2 sqrt(a t)))
    depth, cells, steps, step = 2.0, 400, 2000, 7.2
    made = run(heat.Build(depth, depth, CONDUCTIVITY, CAPACITY), still(steps, 0.0, h_bottom=1e-9), step, 20.0, cells)
    x = (np.arange(cells) + 0.5) * depth / cells
    exact = 20.0 * erf(x / (2 * np.sqrt(DIFFUSIVITY * steps * step)))
    assert np.abs(made.cells[:, 0] - exact).max() < 0.01


def test_half_space_with_surface_exchange():
    # Carslaw and Jaeger: the half space that cools through a film
    depth, cells, steps, step, h = 2.0, 400, 2000, 7.2, 25.0
    made = run(heat.Build(depth, depth, CONDUCTIVITY, CAPACITY), still(steps, 0.0, h, 1e-9), step, 20.0, cells)
    x, t = (np.arange(cells) + 0.5) * depth / cells, steps * step
    root = np.sqrt(DIFFUSIVITY * t)
    film = h / CONDUCTIVITY
    share = erfc(x / (2 * root)) - np.exp(film * x + film**2 * DIFFUSIVITY * t) * erfc(x / (2 * root) + film * root)
    assert np.abs(made.cells[:, 0] - 20.0 * (1 - share)).max() < 0.01


def test_slab_whose_faces_are_held():
    # series of the slab with both faces at zero
    depth, cells, steps, step = 0.2, 100, 4000, 3.6
    made = run(heat.Build(depth, depth, CONDUCTIVITY, CAPACITY), still(steps, 0.0), step, 20.0, cells)
    x = (np.arange(cells) + 0.5) * depth / cells
    n = np.arange(1, 400, 2)[:, None]
    series = (
        80.0
        / np.pi
        * (np.sin(n * np.pi * x / depth) / n * np.exp(-DIFFUSIVITY * (n * np.pi / depth) ** 2 * steps * step)).sum(
            axis=0
        )
    )
    assert np.abs(made.cells[:, 0] - series).max() < 0.01


def test_error_falls_with_step_and_cell():
    depth, total = 0.2, 14_400.0
    n, errors = np.arange(1, 400, 2)[:, None], []
    for cells, steps in ((20, 250), (40, 1000), (80, 4000)):
        made = run(heat.Build(depth, depth, CONDUCTIVITY, CAPACITY), still(steps, 0.0), total / steps, 20.0, cells)
        x = (np.arange(cells) + 0.5) * depth / cells
        series = (
            80.0
            / np.pi
            * (np.sin(n * np.pi * x / depth) / n * np.exp(-DIFFUSIVITY * (n * np.pi / depth) ** 2 * total)).sum(axis=0)
        )
        errors.append(np.abs(made.cells[:, 0] - series).max())
    assert errors[0] / errors[1] == pytest.approx(4, rel=0.15) and errors[1] / errors[2] == pytest.approx(4, rel=0.15)


def test_steady_state_with_resistances_in_series():
    # heat flow between two airs through film, cover, slab, form and film; sun warms the surface by sun/h
    build = heat.Build(0.1, 0.2, CONDUCTIVITY, CAPACITY, cover=0.2, soffit=0.15)
    made = run(build, still(400, 5.0, 20.0, 10.0, 100.0), 36_000.0, 5.0)
    resistance = 1 / 20 + 0.2 + 0.2 / CONDUCTIVITY + 0.15 + 1 / 10
    flow = 5.0 / resistance  # sun of 100 W/m² over 20 W/(m² K) is 5 K
    top = 10.0 - flow * (1 / 20 + 0.2 + 0.1 / 24 / CONDUCTIVITY)
    assert made.cells[0, 0] == pytest.approx(top, abs=1e-6)


def test_adiabatic_rise_is_the_heat_given_off():
    made = run(heat.Build(0.2, 0.2, CONDUCTIVITY, CAPACITY), still(2000, 20.0, 1e-9), 900.0, 20.0, source=SOURCE)
    age = made.ages[:, 0]
    assert made.mean[-1, 0] == pytest.approx(20.0 + float(SOURCE.released(age).mean()) / CAPACITY, rel=2e-3)
    assert made.mean[-1, 0] < 20.0 + SOURCE.per_volume / CAPACITY


air_of_days = st.lists(st.floats(-5.0, 35.0), min_size=25, max_size=60)


@settings(max_examples=15, deadline=None)
@given(air_of_days, st.floats(5.0, 32.0), st.floats(0.03, 0.2), st.floats(0.0, 1.0), st.floats(0.0, 10.0))
def test_heat_is_balanced(hourly, start, patch, cover, wind):
    air = heat.between_hours(hourly, 4)
    h = heat.exchange(np.full(len(air), wind))
    made = run(
        heat.Build(patch, 0.2, CONDUCTIVITY, CAPACITY, cover),
        heat.Air(air, h, h, 0 * air),
        900.0,
        start,
        source=SOURCE,
        slab=8.0,
    )
    assert made.imbalance < 1e-6


@settings(max_examples=15, deadline=None)
@given(air_of_days, st.floats(5.0, 30.0), st.floats(0.2, 8.0), st.sampled_from(["air", "concrete", "slab"]))
def test_warmer_is_never_later(hourly, start, more, what):
    age = []
    for extra in (0.0, more):
        air = heat.between_hours(np.array(hourly) + (extra if what == "air" else 0), 4)
        h = np.full(len(air), 15.0)
        made = run(heat.Build(0.08, 0.2, CONDUCTIVITY, CAPACITY, 0.1), heat.Air(air, h, h, 0 * air), 900.0,
                   start + (extra if what == "concrete" else 0), source=SOURCE, slab=10.0 + (extra if what == "slab" else 0))  # fmt: skip
        age.append(made.age[:, 0])
    assert (age[1] >= age[0] - 1e-6).all()


@settings(max_examples=10, deadline=None)
@given(st.lists(st.floats(0.03, 0.2), min_size=2, max_size=5))
def test_many_histories_at_once_are_the_same_as_one_by_one(depths):
    air = heat.between_hours(15 + 8 * np.sin(np.arange(30) / 4), 2)
    h = np.full(len(air), 15.0)
    outside = heat.Air(air, h, h, 0 * air)
    whole = run(
        heat.Build(np.array(depths), 0.2, CONDUCTIVITY, CAPACITY), outside, 1800.0, 20.0, source=SOURCE, slab=12.0
    )
    for i, depth in enumerate(depths):
        alone = run(heat.Build(depth, 0.2, CONDUCTIVITY, CAPACITY), outside, 1800.0, 20.0, source=SOURCE, slab=12.0)
        assert whole.age[:, i] == pytest.approx(alone.age[:, 0], rel=1e-12)


def test_a_second_rate_drives_strength_alone():
    air = np.full(97, 20.0)
    h = np.full(97, 1e9)
    made = run(heat.Build(0.1, 0.1, CONDUCTIVITY, CAPACITY), heat.Air(air, h, h, 0 * air), 900.0, 20.0,
               strength_rate=heat.nurse_saul_rate(-10.0, 20.0))  # fmt: skip
    assert made.age[-1, 0] == pytest.approx(24 * 3600.0, rel=1e-9)
