"""Non-linear wetting and drying against closed forms, finer grids, a library and limits."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics import _course
from moldwin.physics.diffusion import (
    dense_starch_diffusivity,
    unaccomplished,
    unaccomplished_cylinder,
)
from moldwin.physics.pellet import DenseStarch, ExponentialDiffusivity, Pellet
from moldwin.physics.sorption import gab_water_activity
from moldwin.physics.uptake import first_time, uptake_curve

SHAPES = ("slab", "cylinder", "sphere")
HALF, DENSITY, D = 1.5e-3, 1300.0, 2e-12
DRY, WET = 0.05, 0.15
PACE = HALF**2 / D


def line(x):
    """A straight isotherm, for which the surface condition is linear too."""
    return 5.0 * x


def starch(x):
    return gab_water_activity(x, 0.0743, 26.87, 0.7842, check=False)


def film_at(biot, diffusivity=D):
    return biot * DENSITY * diffusivity / (HALF * 5.0)


def hard_sets(count, rng):
    """Diffusivity 1 to 55 times across the step, Biot 1 to 50 in the middle, both ways."""
    ratio = np.exp(rng.uniform(0, np.log(55), count))
    biot = np.exp(rng.uniform(0, np.log(50), count))
    ratio[:4], biot[:4] = 55.0, [50.0, 50.0, 1.0, 1.0]
    wetting = np.arange(count) % 2 == 0
    start, end = np.where(wetting, DRY, WET), np.where(wetting, WET, DRY)
    law = ExponentialDiffusivity(D, np.log(ratio) / (WET - DRY), (DRY + WET) / 2)
    return start, end, law, film_at(biot)


def done(curve, start, end):
    change = np.broadcast_to(end - start, curve.mean.shape[:-1])[..., None]
    return (curve.mean - np.asarray(start)[..., None]) / change


# -- closed forms --------------------------------------------------------------------------------


@pytest.mark.parametrize("biot", [0.1, 1.0, 10.0, 100.0, np.inf])
@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(("accuracy", "within"), [(1e-4, 1e-4), (1e-6, 1e-6)])
def test_constant_diffusivity_against_the_series(shape, biot, accuracy, within):
    fourier = np.array([1e-3, 1e-2, 0.05, 0.1, 0.3, 1.0, 2.0])
    pellet = Pellet(shape, HALF, DENSITY, D, line)
    curve = uptake_curve(fourier * PACE, DRY, 0.6, pellet, film_at(biot), accuracy=accuracy)
    exact = 1 - unaccomplished(shape, fourier, biot)
    assert done(curve, DRY, 0.12) == pytest.approx(exact, abs=within)


def test_heart_against_the_series():
    fourier = np.array([0.01, 0.05, 0.1, 0.3, 1.0])
    pellet = Pellet("sphere", HALF, DENSITY, D, line)
    curve = uptake_curve(fourier * PACE, WET, 0.25, pellet, film_at(10.0))
    exact = unaccomplished("sphere", fourier, 10.0, where="center")
    assert (curve.heart - DRY) / (WET - DRY) == pytest.approx(exact, abs=2e-3)


def test_rising_air_by_superposition():
    """Air that runs up straight: for a linear problem the integral of the answer to a jump."""
    end = 0.6 * PACE
    biot = 3.0
    pellet = Pellet("slab", HALF, DENSITY, D, line)
    curve = uptake_curve(
        [0.3 * end, end], DRY, [0.25, 0.75], pellet, film_at(biot), air_times=[0.0, end]
    )
    share = (np.arange(4000) + 0.5) / 4000
    for t, got in zip((0.3, 1.0), curve.mean, strict=True):
        since = t * share * end / PACE
        expected = t * np.mean(1 - unaccomplished("slab", since, biot))
        assert (got - DRY) / (WET - DRY) == pytest.approx(expected, abs=1e-4)


def test_a_jump_there_and_back_by_superposition():
    """Lid off for a while: two jumps, each with its own answer."""
    times = np.array([0.02, 0.1, 0.11, 0.3, 1.0])
    pellet = Pellet("cylinder", HALF, DENSITY, D, line)
    curve = uptake_curve(
        times * PACE,
        DRY,
        [0.25, 0.25, 0.75, 0.75, 0.25],
        pellet,
        film_at(20.0),
        air_times=np.array([0.0, 0.02, 0.02, 0.1, 0.1]) * PACE,
    )

    def jump(at):
        since = np.maximum(times - at, 0.0)
        return np.where(since > 0, 1 - unaccomplished("cylinder", since, 20.0), 0.0)

    expected = jump(0.02) - jump(0.1)
    assert (curve.mean - DRY) / (WET - DRY) == pytest.approx(expected, abs=1.5e-4)


@pytest.mark.parametrize("aspect", [0.02, 0.1, 0.2, 0.5, 0.8, 1.0, 1.3, 2.0, 5.0, 20.0])
def test_short_cylinders_stay_near_the_exact_product(aspect):
    """The stand-in of one dimension is within 0.016; a sphere of equal S/V would be off by 0.13."""
    pellet = Pellet("finite-cylinder", HALF, DENSITY, D, line, aspect)
    for biot in (0.1, 1.0, 5.0, 20.0, 100.0, np.inf):
        fourier = np.geomspace(1e-3, 3.0, 40) * min(aspect, 1.0) ** 2
        curve = uptake_curve(fourier * PACE, DRY, 0.6, pellet, film_at(biot))
        exact = 1 - unaccomplished_cylinder(fourier, fourier / aspect**2, biot, biot * aspect)
        assert done(curve, DRY, 0.12) == pytest.approx(exact, abs=0.016)


@pytest.mark.parametrize(
    ("aspect", "shape", "scale"), [(1e3, "cylinder", 1.0), (1e-3, "slab", 1e-3)]
)
def test_long_and_flat_cylinders_become_rod_and_slab(aspect, shape, scale):
    times = np.array([0.05, 0.2, 0.5]) * PACE * scale**2
    short = Pellet("finite-cylinder", HALF, DENSITY, D, line, aspect)
    limit = Pellet(shape, HALF * scale, DENSITY, D, line)
    film = film_at(5.0) / scale
    a, b = (uptake_curve(times, DRY, 0.6, pellet, film).mean for pellet in (short, limit))
    assert a == pytest.approx(b, abs=2e-3 * 0.07)


# -- the non-linear case -------------------------------------------------------------------------


@pytest.mark.parametrize("shape", SHAPES)
def test_against_cells_and_steps_ten_times_finer(shape, monkeypatch):
    """1e-4 of the change, against one plain run that nothing was extrapolated from."""
    start, end, law, film = hard_sets(24, np.random.default_rng(3))
    times = np.geomspace(1e-3, 5.0, 30) * PACE
    pellet = Pellet(shape, HALF, DENSITY, law, line)
    found = done(uptake_curve(times, start, line(end), pellet, film), start, end)
    march, finer = _course._march, []

    def ten_times(problem, cells, watched, at, step_error, accuracy):
        if not finer:  # the fine grid of the pair comes first: ten times its cells and steps
            finer.append(march(problem, 10 * cells, 10 * watched, at, step_error / 100, accuracy))
        return finer[0]

    monkeypatch.setattr(_course, "_march", ten_times)
    exact = done(uptake_curve(times, start, line(end), pellet, film), start, end)
    assert np.abs(found - exact).max() < 1e-4


def test_against_a_library_integrator_on_even_cells():
    """Starch isotherm and a diffusivity given as a function; scipy's BDF on 400 even cells."""
    growth, cells, end = 20.0, 400, 0.6
    film, times = 3e-7, np.array([0.02, 0.1, 0.3, 1.0]) * PACE
    edge = np.linspace(0.0, HALF, cells + 1)
    volume = np.diff(edge**3) / 3

    def rate(_, x):
        potential = D * np.exp(growth * (x - DRY)) / growth
        flow = edge[1:-1] ** 2 * np.diff(potential) / np.diff((edge[1:] + edge[:-1]) / 2)
        # The last half cell conducts too: its skin's moisture is where both flows agree.
        skin = x[-1]
        half = edge[-1] - (edge[-1] + edge[-2]) / 2
        for _ in range(20):
            inner = (D * np.exp(growth * (skin - DRY)) / growth - potential[-1]) / half
            outer = film / DENSITY * (starch(skin) - end)
            slope = D * np.exp(growth * (skin - DRY)) / half + film / DENSITY * 8.0
            skin -= (inner + outer) / slope
        into = edge[-1] ** 2 * inner
        return (np.append(flow, into) - np.append(0.0, flow)) / volume

    band = np.abs(np.subtract.outer(np.arange(cells), np.arange(cells))) <= 1
    solved = solve_ivp(
        rate,
        (0.0, times[-1]),
        np.full(cells, DRY),
        "BDF",
        times,
        rtol=1e-6,
        atol=1e-9,
        jac_sparsity=band,
    )
    expected = solved.y.T @ volume / volume.sum()
    pellet = Pellet("sphere", HALF, DENSITY, ExponentialDiffusivity(D, growth, DRY), starch)
    curve = uptake_curve(times, DRY, end, pellet, film)
    assert curve.mean == pytest.approx(expected, abs=2e-4 * (expected[-1] - DRY))
    table = Pellet("sphere", HALF, DENSITY, lambda x: D * np.exp(growth * (x - DRY)), starch)
    assert uptake_curve(times, DRY, end, table, film).mean == pytest.approx(curve.mean, abs=2e-6)


def test_uptake_starts_with_the_root_of_time():
    """Without resistance, however D depends on x, until the middle feels it (Boltzmann)."""
    law = ExponentialDiffusivity(D, np.log(30.0) / 0.1, DRY)
    times = np.array([1e-3, 4e-3, 1.6e-2]) * PACE / 30.0
    curve = uptake_curve(times, DRY, 0.75, Pellet("slab", HALF, DENSITY, law, line), np.inf)
    per_root = (curve.mean - DRY) / np.sqrt(times)
    assert per_root[:2] == pytest.approx(per_root[2], rel=5e-3)


def test_wetting_is_faster_than_drying_where_wet_conducts_better():
    law = ExponentialDiffusivity(D, 30.0, 0.1)
    pellet = Pellet("sphere", HALF, DENSITY, law, line)
    wet = uptake_curve(0.1 * PACE, DRY, 5 * WET, pellet, np.inf).mean
    dry = uptake_curve(0.1 * PACE, WET, 5 * DRY, pellet, np.inf).mean
    assert wet - DRY > 1.2 * (WET - dry)


@pytest.mark.parametrize("shape", SHAPES)
def test_none_of_a_thousand_fails_or_turns_back(shape):
    start, end, law, film = hard_sets(1000, np.random.default_rng(11))
    times = np.geomspace(1e-4, 100.0, 80) * PACE
    found = done(
        uptake_curve(times, start, line(end), Pellet(shape, HALF, DENSITY, law, line), film),
        start,
        end,
    )
    assert np.isfinite(found).all()
    assert np.diff(found, axis=1).min() > -1e-10
    assert found.min() >= 0
    assert found[:, -1] == pytest.approx(1.0, abs=1e-6)


def test_steeper_than_promised_still_runs():
    """A diffusivity that changes ten thousand times, Biot numbers from 1e-3 to 1e6."""
    rng = np.random.default_rng(5)
    film = film_at(np.exp(rng.uniform(np.log(1e-3), np.log(1e6), 200)))
    growth = rng.uniform(-0.3, 1.0, 200) * np.log(1e4) / 0.1
    law = ExponentialDiffusivity(D, growth, 0.1)
    start = np.where(rng.random(200) < 0.5, DRY, WET)
    end = DRY + WET - start
    times = np.geomspace(1e-3, 300.0, 40) * PACE
    curve = uptake_curve(times, start, line(end), Pellet("slab", HALF, DENSITY, law, line), film)
    found = done(curve, start, end)
    assert np.isfinite(found).all()
    assert np.diff(found, axis=1).min() > -1e-6


# -- what goes in and comes out ------------------------------------------------------------------


def test_dense_starch_is_its_correlation():
    times = np.array([0.1, 0.5, 2.0]) * PACE
    factor = np.array([0.3, 1.0, 4.0])

    def correlation(x):
        return factor * dense_starch_diffusivity(x, 330.0, check=False)

    args = (times, 0.02, 0.7)
    named = Pellet("cylinder", HALF, DENSITY, DenseStarch(330.0, factor), starch)
    given = Pellet("cylinder", HALF, DENSITY, correlation, starch)
    a, b = (uptake_curve(*args, pellet, 1e-6).mean for pellet in (named, given))
    assert a == pytest.approx(b, abs=1e-5)
    with pytest.warns(OutOfRangeWarning, match="dense_starch"):
        uptake_curve(*args, Pellet("slab", HALF, DENSITY, DenseStarch(298.15), starch), 1e-6)


def test_array_is_scalar_after_scalar():
    start = np.array([[0.05], [0.16]])
    air = np.array([0.3, 0.6, 0.7])
    growth = np.array([[5.0], [30.0]])
    times = np.array([0.05, 0.4, 1.5]) * PACE
    half = np.array([1.0, 1.5, 2.0]) * 1e-3

    def pellet(half, growth):
        return Pellet("sphere", half, DENSITY, ExponentialDiffusivity(D, growth, 0.1), starch)

    together = uptake_curve(times, start, air, pellet(half, growth), 2e-7)
    assert together.mean.shape == (2, 3, 3)
    for i in range(2):
        for j in range(3):
            alone = uptake_curve(times, start[i, 0], air[j], pellet(half[j], growth[i, 0]), 2e-7)
            assert alone.mean.shape == (3,)
            # The grid is chosen for all sets, so that answers differ within their accuracy.
            assert together.mean[i, j] == pytest.approx(alone.mean, abs=1e-4 * 0.15)


def test_more_sets_than_go_together():
    """Sets are marched in groups; one more than a group holds changes none of them."""
    count = _course._TOGETHER + 3
    film = film_at(np.geomspace(0.5, 50.0, count))
    pellet = Pellet("slab", HALF, DENSITY, D, line)
    many = uptake_curve(0.2 * PACE, DRY, 0.6, pellet, film)
    few = uptake_curve(0.2 * PACE, DRY, 0.6, pellet, film[[0, -1]])
    assert many.mean[[0, -1]] == pytest.approx(few.mean, abs=1e-12)


def test_times_of_each_set_and_their_order():
    pellet = Pellet("slab", HALF, DENSITY, D, line)
    own = np.array([[0.0, 0.1], [0.2, 0.2]]) * PACE
    curve = uptake_curve(own, DRY, 0.6, pellet, film_at(5.0))
    common = uptake_curve(np.array([0.0, 0.1, 0.2]) * PACE, DRY, 0.6, pellet, film_at(5.0))
    assert curve.mean[0] == pytest.approx(common.mean[:2], abs=1e-5)
    assert curve.mean[1] == pytest.approx(common.mean[[2, 2]], abs=1e-5)
    assert curve.mean[0, 0] == curve.skin[0, 0] == curve.heart[0, 0] == DRY


def test_profile_falls_from_skin_to_heart():
    pellet = Pellet("sphere", HALF, DENSITY, ExponentialDiffusivity(D, 20.0, 0.1), line)
    curve = uptake_curve(0.05 * PACE, DRY, 0.75, pellet, film_at(20.0), profile=True)
    assert np.all(np.diff(curve.depth[np.argsort(curve.depth)]) > 0)
    inward = curve.profile[0][np.argsort(curve.depth)]
    assert np.all(np.diff(inward) > -1e-4)
    assert inward[0] == curve.heart[0]
    assert inward[-1] == curve.skin[0]
    assert curve.heart[0] < curve.mean[0] < curve.skin[0]
    bare = uptake_curve(0.05 * PACE, DRY, 0.75, pellet, film_at(20.0))
    assert bare.depth.size == bare.profile.size == 0


def test_nothing_happens_in_balance():
    pellet = Pellet("cylinder", HALF, DENSITY, D, starch)
    curve = uptake_curve(np.array([1.0, 1e6]), 0.1, starch(0.1), pellet, 1e-6)
    assert curve.mean == pytest.approx(0.1, abs=1e-8)


def test_nan_in_nan_out():
    pellet = Pellet("slab", np.array([HALF, np.nan, HALF]), DENSITY, D, line)
    curve = uptake_curve(
        np.array([0.1, np.nan, 0.3]) * PACE, np.array([DRY, DRY, np.nan]), 0.6, pellet, 1e-6
    )
    assert np.isnan(curve.mean).tolist() == [[False, True, False], [True] * 3, [True] * 3]
    assert np.isnan(curve.skin[1]).all()
    nothing = uptake_curve([1.0], np.nan, 0.6, Pellet("slab", HALF, DENSITY, D, line), 1e-6)
    assert np.isnan(nothing.mean).all()


def test_first_time():
    times = np.array([0.0, 1.0, 2.0, 3.0])
    values = np.array([[0.0, 1.0, 4.0, 4.0], [4.0, 3.0, 1.0, 0.5], [np.nan] * 4])
    goal = np.array([2.5, 2.0, 1.0])
    assert first_time(times, values, goal) == pytest.approx([1.5, 1.5, np.nan], nan_ok=True)
    assert first_time(times, values[0], [5.0, 0.0]).tolist() == [np.inf, 0.0]
    fine = np.linspace(0, 2, 2001) * PACE
    curve = uptake_curve(fine, DRY, 0.6, Pellet("slab", HALF, DENSITY, D, line), np.inf)
    half_done = first_time(fine, curve.mean, (DRY + 0.12) / 2)
    assert half_done / PACE == pytest.approx(4 * 0.049183, rel=1e-3)


def falling(x):
    return np.where(x < 0.1, 5 * x, 0.5 - (x - 0.1)) + 40 * np.maximum(x - 0.3, 0)


PELLET = Pellet("slab", HALF, DENSITY, D, line)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: uptake_curve([2.0, 1.0], DRY, 0.6, PELLET, 1e-6), "rise"),
        (lambda: uptake_curve(-1.0, DRY, 0.6, PELLET, 1e-6), "times"),
        (lambda: uptake_curve(1.0, 12.0, 0.6, PELLET, 1e-6), "percentage"),
        (lambda: uptake_curve(1.0, DRY, 60.0, PELLET, 1e-6), "a_air"),
        (lambda: uptake_curve(1.0, DRY, 0.6, PELLET, 0.0), "seal"),
        (lambda: uptake_curve(1.0, DRY, 0.6, PELLET, 1e-6, accuracy=0.0), "accuracy"),
        (lambda: uptake_curve(1.0, DRY, [0.6], PELLET, 1e-6, air_times=[0.0, 1.0]), "row"),
        (lambda: uptake_curve(1.0, DRY, 0.6, Pellet("cube", 1, 1, 1, line), 1e-6), "cube"),
        (lambda: uptake_curve(1.0, DRY, 0.6, Pellet("slab", 0, 1, 1, line), 1e-6), "half"),
        (lambda: uptake_curve(1.0, DRY, 0.6, Pellet("slab", 1, 1, 0, line), 1e-6), "diffusivity"),
        (lambda: uptake_curve(1.0, DRY, 0.6, Pellet("slab", 1, 1, 1, line, 2.0), 1e-6), "aspect"),
        (
            lambda: uptake_curve(1.0, DRY, 0.6, Pellet("slab", 1, 1, 1, lambda x: 0.1 * x), 1e-6),
            "reach",
        ),
        (lambda: uptake_curve(1.0, DRY, 0.6, Pellet("slab", 1, 1, 1, falling), 1e-6), "must rise"),
        (lambda: first_time([1.0], [1.0], 1.0), "2 times"),
    ],
)
def test_refuses_the_impossible(call, match):
    with pytest.raises(ValueError, match=match):
        call()
