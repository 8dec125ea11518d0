"""Melt viscosity: its pivot, its trends, what solids add and where a shift factor misleads."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.viscosity import (
    consistency_log,
    shift_wlf,
    solids_thickening,
    viscosity,
    wlf_below_reach,
)

MELT = {
    "pivot": 900.0,
    "n": 0.4,
    "activation": 5000.0,
    "water_slope": 17.5,
    "glycerol_slope": 10.0,
}


def test_the_pivot_is_the_pivot_whatever_the_slopes():
    for n in (0.2, 0.6, 1.0):
        melt = MELT | {"n": n, "activation": 3000.0 + 4000 * n, "water_slope": 10.0}
        assert viscosity(100.0, 433.15, 0.15, 0.0, **melt) == pytest.approx(900.0)


def test_inside_the_published_range():
    """Xie et al. 2009: 277 to 1254 Pa s at 19-27 % water, 110-140 °C; derived figure: 610."""
    eta = viscosity(100.0, 398.15, 0.23, 0.0, **MELT)
    assert 277 < eta < 1254
    assert eta == pytest.approx(610, abs=5)


def test_trends():
    def eta(rate=100.0, t=420.0, w=0.12, g=0.1):
        return viscosity(rate, t, w, g, **MELT)

    assert eta(rate=200.0) < eta()
    assert eta(t=430.0) < eta()
    assert eta(w=0.15) < eta()
    assert eta(g=0.2) < eta()


def test_consistency_is_viscosity_at_one_per_second():
    ln_k = consistency_log(420.0, 0.1, 0.2, **MELT)
    assert np.exp(ln_k) == pytest.approx(viscosity(1.0, 420.0, 0.1, 0.2, **MELT))


def test_solids():
    """Derived figures: x 2.3, 4, 9 at .2, .3, .4 with jamming at .6."""
    factor = solids_thickening(np.array([0.0, 0.2, 0.3, 0.4]), 0.6)
    assert factor == pytest.approx([1.0, 2.25, 4.0, 9.0])
    assert np.all(np.isinf(solids_thickening([0.6, 0.9], 0.6)))


def test_wlf():
    assert shift_wlf(330.0, 330.0) == 1.0
    assert shift_wlf(380.0, 330.0) == pytest.approx(10 ** (-17.44 * 50 / 101.6))
    with pytest.warns(OutOfRangeWarning, match="90"):
        shift_wlf(420.0, 330.0)
    shift_wlf(420.0, 330.0, check=False)
    with pytest.raises(ValueError, match="swapped"):
        shift_wlf(300.0, 360.0)


def test_trap_wlf_overstates_water_far_above_tg():
    """About fivefold, near T - Tg = 90 K: a point of water moves Tg of dryish starch by 9 K."""
    t, tg = 420.0, 330.0
    wlf = np.log(shift_wlf(t, tg + 9, check=False) / shift_wlf(t, tg, check=False))
    melt = MELT["water_slope"] * 0.01
    assert 4 < wlf / melt < 10


def test_array_is_scalar_after_scalar():
    t, w = np.array([400.0, 420.0, 440.0]), np.array([[0.1], [0.2]])
    together = viscosity(50.0, t, w, 0.1, **MELT)
    assert together.shape == (2, 3)
    assert together[1, 2] == viscosity(50.0, 440.0, 0.2, 0.1, **MELT)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: viscosity(100.0, 150.0, 0.1, 0.1, **MELT), "°C"),
        (lambda: viscosity(100.0, 420.0, 12.0, 0.1, **MELT), "percentage"),
        (lambda: viscosity(0.0, 420.0, 0.1, 0.1, **MELT), "at rest"),
        (lambda: viscosity(1.0, 420.0, 0.1, 0.1, **(MELT | {"n": 0.0})), "n must"),
        (lambda: viscosity(1.0, 420.0, 0.1, 0.1, **(MELT | {"pivot": -1.0})), "pivot"),
        (lambda: solids_thickening(1.2, 0.6), "phi"),
    ],
)
def test_refuses_the_impossible(call, match):
    with pytest.raises(ValueError, match=match):
        call()


def test_wlf_under_tg_plus_50_is_the_shift_itself_and_joins_without_a_jump():
    tg = 330.0
    t = np.linspace(tg, tg + 50.0, 11)
    shift = np.log(shift_wlf(t, tg) / shift_wlf(tg + 50.0, tg))
    assert wlf_below_reach(tg + 50.0 - t) == pytest.approx(shift, abs=1e-9)
    assert wlf_below_reach(0.0) == 0.0
    assert wlf_below_reach(60.0) == wlf_below_reach(90.0)
    with pytest.raises(ValueError, match="negative"):
        wlf_below_reach(-1.0)


def test_wlf_in_place_is_the_same_and_counts_what_lies_above_as_nothing():
    below = np.array([-20.0, -1e-9, 0.0, 1e-6, 30.0, 59.0, 90.0, np.nan])
    expected = np.concatenate([[0.0, 0.0], wlf_below_reach(below[2:])])
    assert np.array_equal(wlf_below_reach(below, check=False), expected, equal_nan=True)
    kept = below.copy()
    wlf_below_reach(kept, check=False, out=kept)
    assert np.array_equal(kept, expected, equal_nan=True)
    assert wlf_below_reach(-1.0, check=False) == 0.0


def test_trap_wlf_alone_overstates_what_water_does_at_barrel_temperature():
    """At T - Tg near 90 K two points of water shift Tg by some 15 K: WLF says far too much."""
    own = consistency_log(
        403.15, np.array([0.10, 0.12]), 0.0, pivot=900.0, n=0.4, activation=5000.0,
        water_slope=17.5, glycerol_slope=10.0,
    )  # fmt: skip
    alone = np.log(shift_wlf(403.15, np.array([320.0, 305.0]), check=False))
    assert (alone[0] - alone[1]) / (own[0] - own[1]) > 3.0
