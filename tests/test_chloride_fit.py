"""Fit of chloride profiles: published cores, a general least-squares library, exact profiles, refusals."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import curve_fit
from scipy.special import erfc

from deckcalc import InputError
from deckcalc.chloride.formulas.curves import repeated_erfc, shape
from deckcalc.chloride.formulas.fit import Profiles, fit_profiles

YEAR, INCH, POUND = 31_557_600.0, 0.0254, 0.5932764212577829
# Florida DOT BA502, Table 5 (readings) and Table 4 (D in in²/yr, C_s and C_0 in lb/yd³); the first slice is left out there
CORES = {
    749: (10.0, [0.19, 0.45, 0.70, 0.95, 1.33, 2.98], [21.76, 11.84, 9.42, 6.36, 1.27, 0.04], (0.027, 25.8, 0.01)),
    784: (10.0, [0.19, 0.45, 0.70, 0.95, 1.33, 3.46], [17.22, 14.96, 13.41, 12.72, 8.89, 2.61], (0.164, 18.6, 1.57)),
    822: (7.0, [0.19, 0.45, 0.70, 0.95, 1.33, 1.93], [24.61, 15.10, 6.33, 1.61, 1.06, 1.02], (0.020, 33.9, 0.37)),
    871: (9.0, [0.19, 0.45, 0.70, 0.95, 1.33, 2.98], [14.97, 8.93, 2.64, 0.96, 0.22, 0.12], (0.014, 21.4, 0.0)),
}


def profiles(x, C, t, used=None, lower=None):
    """Return profiles from depths in metres."""
    x = np.atleast_2d(np.asarray(x, float))
    C = np.atleast_2d(np.asarray(C, float))
    used = np.ones(x.shape, bool) if used is None else np.atleast_2d(used)
    return Profiles(
        x, x if lower is None else np.atleast_2d(lower), C, used, np.broadcast_to(np.asarray(t, float), (len(x),))
    )


@pytest.fixture(scope="module")
def published():
    x, C = (np.array([core[i] for core in CORES.values()]) for i in (1, 2))
    t = np.array([core[0] for core in CORES.values()]) * YEAR
    return fit_profiles(profiles(x * INCH, C * POUND, t))


@pytest.mark.parametrize("place", range(4), ids=[str(name) for name in CORES])
def test_squared_error_is_never_above_the_published_fit(published, place):
    t, x, C, (D, C_s, C_0) = list(CORES.values())[place]
    model = C_s - (C_s - C_0) * (1 - erfc(np.array(x) / (2 * np.sqrt(D * t))))
    theirs = float(np.sum((np.array(C) - model) ** 2))
    assert published.rss[place] / POUND**2 <= theirs
    assert published.D[place] * YEAR / INCH**2 == pytest.approx(D, rel=0.03)  # two digits are printed
    assert published.C_s[place] / POUND == pytest.approx(C_s, rel=0.03)
    assert published.why[place] == ""


def test_a_background_that_would_be_negative_is_held_at_nil(published):
    assert list(published.held) == [False, False, False, True]
    assert published.C_0[3] == 0 and published.freedom[3] == 4


def noisy(seed, count, scatter):
    rng = np.random.default_rng(seed)
    x = np.tile((np.arange(7) * 10 + 5) / 1000, (count, 1))
    D, C_s, C_0 = rng.lognormal(np.log(1e-12), 0.4, count), rng.uniform(4, 10, count), rng.uniform(0.2, 0.5, count)
    t = rng.uniform(8, 40, count) * YEAR
    C = C_0[:, None] + (C_s - C_0)[:, None] * erfc(x / (2 * np.sqrt(D * t)[:, None]))
    return x, np.abs(C * (1 + scatter * rng.standard_normal(C.shape))), t, D, C_s, C_0


@pytest.mark.parametrize("known", [True, False])
def test_answers_and_errors_are_those_of_a_general_library(known):
    x, C, t, D, C_s, C_0 = noisy(3, 40, 0.04)
    fits = fit_profiles(profiles(x, C, t), C_0 if known else None)
    compared = 0
    for i in range(len(x)):
        if fits.why[i] or fits.held[i]:
            continue

        def model(depth, a, log_d, base=None, i=i):
            base = C_0[i] if base is None else base
            return base + a * erfc(depth / (2 * np.sqrt(np.exp(log_d) * t[i])))

        start = [C_s[i] - C_0[i], np.log(D[i])] + ([] if known else [C_0[i]])
        best, cov = curve_fit(
            model, x[i], C[i], start, ftol=1e-15, xtol=1e-15, gtol=1e-15, max_nfev=2000, method="trf", x_scale="jac"
        )
        assert fits.D[i] == pytest.approx(np.exp(best[1]), rel=1e-6)
        assert fits.C_s[i] == pytest.approx(best[0] + (C_0[i] if known else best[2]), rel=1e-6)
        assert fits.se_D[i] / fits.D[i] == pytest.approx(np.sqrt(cov[1, 1]), rel=1e-3)
        compared += 1
    assert compared >= 30


@settings(max_examples=30, deadline=None)
@given(
    st.floats(2e-13, 5e-12), st.floats(2, 12), st.floats(0.0, 1.0), st.floats(5, 50), st.sampled_from(["constant", "linear", "root"]),
    st.booleans(),
)  # fmt: skip
def test_exact_profiles_come_back(D, rise, C_0, years, surface, sliced):
    t, edges = years * YEAR, np.arange(9) * 0.008
    s = 2 * np.sqrt(D * t)
    part, _ = shape(surface, s, edges[:-1], edges[1:], sliced)
    made = profiles(edges[:-1], C_0 + rise * part, t, lower=edges[1:])
    fits = fit_profiles(made, np.array([C_0]), surface, sliced)
    if fits.why[0]:  # so slow that hardly more than one slice has chloride, or so fast that it lies flat
        assert s < 0.012 or s > 0.2 or "scatter" in fits.why[0]
        return
    assert fits.D[0] == pytest.approx(D, rel=1e-6)
    assert fits.C_s[0] == pytest.approx(C_0 + rise, rel=1e-6)


@pytest.mark.parametrize("surface", ["constant", "linear", "root"])
def test_slices_are_integrated_exactly_and_slopes_are_true(surface):
    s, a, b = 0.02, 0.004, 0.015
    fine = np.linspace(a, b, 20001)
    point, _ = shape(surface, s, fine, fine, False)
    mean, slope = shape(surface, s, np.array([a]), np.array([b]), True)
    assert mean[0] == pytest.approx(np.trapezoid(point, fine) / (b - a), rel=1e-8)
    for sliced in (True, False):
        up, down = (shape(surface, s * np.exp(e), np.array([a]), np.array([b]), sliced)[0][0] for e in (1e-5, -1e-5))
        assert shape(surface, s, np.array([a]), np.array([b]), sliced)[1][0] == pytest.approx(
            (up - down) / 2e-5, rel=1e-6
        )
    assert slope.shape == (1,)


def test_repeated_integrals_of_the_error_function():
    for n in (1, 2, 3):
        z = np.linspace(0, 2, 7)
        h = 1e-5
        slope = (repeated_erfc(n, z + h) - repeated_erfc(n, z - h)) / (2 * h)
        assert slope == pytest.approx(-repeated_erfc(n - 1, z), abs=1e-9)
    assert repeated_erfc(2, 0.0) == pytest.approx(0.25) and repeated_erfc(1, 0.0) == pytest.approx(1 / np.sqrt(np.pi))


def test_background_added_to_everything_moves_nothing_else():
    x, C, t, _, _, C_0 = noisy(5, 10, 0.02)
    one, two = fit_profiles(profiles(x, C, t), C_0), fit_profiles(profiles(x, C + 2, t), C_0 + 2)
    good = [i for i in range(10) if not one.why[i] and not two.why[i]]
    assert len(good) >= 5
    assert two.D[good] == pytest.approx(one.D[good], rel=1e-8)
    assert two.C_s[good] - one.C_s[good] == pytest.approx(2.0, rel=1e-8)


def test_scaling_of_time_and_depth():
    x, C, t, _, _, C_0 = noisy(6, 8, 0.03)
    one = fit_profiles(profiles(x, C, t), C_0)
    two = fit_profiles(profiles(2 * x, C, 3 * t), C_0)
    assert pytest.approx(one.D * 4 / 3, rel=1e-9) == two.D
    assert two.C_s == pytest.approx(one.C_s, rel=1e-9)


def test_short_profiles_may_stand_among_long_ones():
    x, C, t, *_ = noisy(7, 3, 0.01)
    used = np.ones(x.shape, bool)
    used[1, 5:] = False
    many = fit_profiles(profiles(x, C, t, used))
    alone = fit_profiles(profiles(x[1, :5], C[1, :5], t[1]))
    assert many.D[1] == pytest.approx(alone.D[0], rel=1e-9)
    assert many.points[1] == 5


@pytest.mark.parametrize(
    ("C", "says"),
    [
        ([5.0, 4.9, 4.8, 4.7, 4.9], "flat: .* 15%"),
        ([0.0, 0.0, 0.0, 0.0, 0.0], "all readings are zero"),
        ([2.0, 5.0, 3.0, 1.0, 0.5], "inside maximum"),
        ([1.0, 2.0, 3.0, 4.0, 5.0], "inside maximum"),
    ],
)
def test_what_is_no_diffusion_profile_is_refused_with_the_reason(C, says):
    fits = fit_profiles(profiles((np.arange(5) * 10 + 5) / 1000, C, 20 * YEAR))
    assert re.search(says, fits.why[0])
    assert np.isnan(fits.D[0]) and np.isnan(fits.C_s[0])


def test_too_few_readings_and_reasons_from_elsewhere():
    x, C, t, *_ = noisy(8, 2, 0.01)
    used = np.ones(x.shape, bool)
    used[0, 2:] = False
    fits = fit_profiles(profiles(x, C, t, used), refused=["", "the core stands on a crack"])
    assert fits.why == ["fewer readings to fit than 4", "the core stands on a crack"]
    assert np.isnan(fits.D).all()


def test_chloride_in_one_slice_alone_does_not_fix_the_coefficient():
    fits = fit_profiles(profiles((np.arange(6) * 5 + 5) / 1000, [5.0, 0.5, 0.5, 0.5, 0.5, 0.5], 20 * YEAR))
    assert "do not fix" in fits.why[0] and np.isnan(fits.D[0])


def test_a_straight_line_runs_to_no_end_and_is_fitted_with_the_background_at_nil():
    fits = fit_profiles(profiles((np.arange(6) * 5 + 5) / 1000, 5 - 0.6 * np.arange(6), 20 * YEAR))
    at_nil = fit_profiles(profiles((np.arange(6) * 5 + 5) / 1000, 5 - 0.6 * np.arange(6), 20 * YEAR), np.zeros(1))
    assert fits.why == [""] and fits.held[0] and fits.C_0[0] == 0
    assert fits.D[0] == at_nil.D[0] > 0


@pytest.mark.parametrize("noise", [0.03, 0.05, 0.08])
def test_profiles_in_which_chloride_moves_fast_are_not_dropped(noise):
    rng, s, t = np.random.default_rng(1), 0.12, 24 * YEAR  # penetration of 120 mm, cores of 70 mm
    x = np.tile((np.arange(7) * 10 + 5) / 1000, (500, 1))
    C = 0.2 + 6 * erfc(x / s)
    fits = fit_profiles(profiles(x, np.abs(C * (1 + noise * rng.standard_normal(C.shape))), t))
    assert sum(bool(text) for text in fits.why) <= 10
    assert all("do not fix" not in text for text in fits.why)
    # low still: a fitted background takes part of the chloride that reaches beyond the core
    mean = np.nanmean(fits.D) / (s**2 / (4 * t))
    assert 0.75 < mean < 1.1


def test_readings_at_points_may_stand_among_slices():
    upper = np.array([[0.0, 0.01, 0.02, 0.035, 0.05]])
    lower = np.array([[0.01, 0.02, 0.03, 0.035, 0.05]])
    part, _ = shape("constant", 0.04, upper, lower, True)
    made = profiles(upper, 0.2 + 5 * part, 20 * YEAR, lower=lower)
    fits = fit_profiles(made, np.array([0.2]), sliced=True)
    assert 2 * np.sqrt(fits.D[0] * 20 * YEAR) == pytest.approx(0.04, rel=1e-6)


def test_a_surface_content_that_is_given_is_held_and_the_coefficient_is_that_of_a_general_library():
    x, C, t, _, C_s, C_0 = noisy(3, 20, 0.04)
    fits = fit_profiles(profiles(x, C, t), C_0, C_s=C_s)
    for i in range(len(x)):
        assert fits.why[i] == "" and fits.C_s[i] == pytest.approx(C_s[i]) and fits.freedom[i] == 6

        def model(depth, log_d, i=i):
            return C_0[i] + (C_s[i] - C_0[i]) * erfc(depth / (2 * np.sqrt(np.exp(log_d) * t[i])))

        best, cov = curve_fit(model, x[i], C[i], [np.log(1e-12)], ftol=1e-15, xtol=1e-15, gtol=1e-15)
        assert fits.D[i] == pytest.approx(np.exp(best[0]), rel=1e-6)
        assert fits.se_D[i] / fits.D[i] == pytest.approx(np.sqrt(cov[0, 0]), rel=1e-3)
    assert np.all(fits.se_C_s == 0)


@pytest.mark.parametrize(("C_0", "C_s"), [(None, 5.0), (1.0, 1.0), (1.0, 0.5)])
def test_a_surface_content_wants_a_background_that_is_less(C_0, C_s):
    x, C, t, *_ = noisy(3, 2, 0.04)
    with pytest.raises(InputError, match="known background"):
        fit_profiles(profiles(x, C, t), C_0, C_s=C_s)


def test_a_surface_content_under_the_readings_is_refused():
    x, C, t, *_ = noisy(3, 1, 0.0)
    assert "higher than the surface content given" in fit_profiles(profiles(x, C, t), 0.0, C_s=C[0, 0] / 2).why[0]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"content": [[5.0, -1.0, 0.5]]}, "negative"),
        ({"content": [[5.0, np.nan, 0.5]]}, "finite"),
        ({"upper": [[-0.01, 0.01, 0.02]]}, "below the surface"),
        ({"age": [0.0]}, "positive"),
    ],
)
def test_bad_arrays_are_refused(change, says):
    good = {
        "upper": [[0.005, 0.015, 0.025]],
        "lower": [[0.005, 0.015, 0.025]],
        "content": [[5.0, 2.0, 0.5]],
        "used": [[True] * 3],
        "age": [1e8],
    }
    with pytest.raises(InputError, match=says):
        Profiles(**{name: np.asarray(value) for name, value in {**good, **change}.items()})


def test_band_is_narrow_where_readings_are_and_holds_the_truth_as_often_as_it_says():
    x, C, t, D, C_s, C_0 = noisy(9, 400, 0.0)
    rng = np.random.default_rng(2)
    fits = fit_profiles(profiles(x, np.abs(C + 0.1 * rng.standard_normal(C.shape)), t))
    held = []
    for i in range(400):
        if fits.why[i] or fits.held[i]:
            continue
        content, half = fits.curve(i, np.array([0.03]))
        true = C_0[i] + (C_s[i] - C_0[i]) * erfc(0.03 / (2 * np.sqrt(D[i] * t[i])))
        held.append(abs(content[0] - true) <= half[0])
    assert len(held) > 100
    assert np.mean(held) == pytest.approx(0.95, abs=0.05)
