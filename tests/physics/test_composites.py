"""Fiber in a softer matrix: worked values, limiting cases, trends."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.composites import (
    carried_share,
    critical_length,
    fiber_strength,
    halpin_tsai,
    random_in_plane,
    volume_share,
)
from moldwin.physics.strength import strength_of_modulus
from tests.published.tables import number, rows

WORKED = [row for row in rows("fiber.csv") if row["rule"] == "halpin_tsai"]
PHI = np.linspace(0.0, 0.6, 7)


@pytest.mark.parametrize("row", WORKED, ids=lambda row: row["id"])
def test_the_rule_worked_out_by_hand(row):
    given = [number(row, f"{of}_modulus_gpa") for of in ("fiber", "matrix")]
    found = halpin_tsai(*given, number(row, "phi"), number(row, "zeta"))
    assert found == pytest.approx(number(row, "low"), abs=5e-5)


def test_endless_fiber_is_the_rule_of_mixtures():
    mixed = PHI * 40e9 + (1 - PHI) * 1e9
    assert halpin_tsai(40e9, 1e9, PHI, 1e9) == pytest.approx(mixed, rel=1e-6)


def test_no_shape_at_all_is_the_inverse_rule():
    mixed = 1 / (PHI / 40e9 + (1 - PHI) / 1e9)
    assert halpin_tsai(40e9, 1e9, PHI, 0.0) == pytest.approx(mixed, rel=1e-12)


@pytest.mark.parametrize("zeta", [0.0, 2.0, 40.0, 1e6])
def test_no_fiber_all_fiber_and_the_same_stiffness(zeta):
    assert halpin_tsai(40e9, 1e9, 0.0, zeta) == pytest.approx(1e9)
    assert halpin_tsai(40e9, 1e9, 1.0, zeta) == pytest.approx(40e9)
    assert halpin_tsai(3e9, 3e9, PHI, zeta) == pytest.approx(np.full(7, 3e9))


def test_longer_fiber_is_stiffer_and_every_length_lies_between_the_two_rules():
    by_length = halpin_tsai(40e9, 1e9, 0.3, np.geomspace(0.1, 1e4, 30))
    assert np.all(np.diff(by_length) > 0)
    assert 1 / (0.3 / 40e9 + 0.7 / 1e9) < by_length[0] < by_length[-1] < 0.3 * 40e9 + 0.7 * 1e9


def test_random_in_plane_of_equal_sides_is_that_side():
    assert random_in_plane(2e9, 2e9) == pytest.approx(2e9)
    assert 2e9 < random_in_plane(8e9, 2e9) < 8e9


def test_volume_share_is_the_mass_share_for_one_density():
    share = np.linspace(0, 1, 11)
    assert volume_share(share, 1400.0, 1400.0) == pytest.approx(share)
    assert volume_share(0.3, 1500.0, 1300.0) < 0.3


def test_a_fiber_pulls_out_below_its_critical_length_and_breaks_above():
    critical = critical_length(600e6, 20e-6, 4e6)
    assert critical == pytest.approx(1.5e-3)
    assert carried_share(critical, critical) == pytest.approx(0.5)
    lengths = critical * np.geomspace(1e-3, 1e4, 50)
    share = carried_share(lengths, critical)
    assert np.all(np.diff(share) > 0)
    assert share[0] < 1e-3
    assert share[-1] == pytest.approx(1.0, abs=1e-4)
    just = carried_share(critical * np.array([1 - 1e-9, 1 + 1e-9]), critical)
    assert just[0] == pytest.approx(just[1])


def test_endless_aligned_fiber_carries_by_volume_and_poor_fiber_weakens():
    assert fiber_strength(0.3, 600e6, 1.0, 1.0, 10e6) == pytest.approx(0.3 * 600e6 + 0.7 * 10e6)
    assert fiber_strength(0.3, 600e6, 0.0, 1.0, 10e6) == pytest.approx(0.7 * 10e6)


def test_strength_goes_through_the_two_published_points():
    assert strength_of_modulus(np.array([10e6, 70e6])) == pytest.approx([3e6, 7e6], rel=1e-3)


def test_the_strength_of_a_glass_is_that_of_dry_ribbons_without_having_been_fitted():
    """25 to 40 MPa at 20 and 50 % humidity (Shogren and Jasberg 1994), modulus 1 to 5 GPa."""
    low, high = strength_of_modulus(np.array([1e9, 5e9]), check=False)
    assert low <= 40e6
    assert high >= 25e6


@pytest.mark.filterwarnings("error")
def test_far_from_the_points_it_warns():
    with pytest.warns(UserWarning, match=r"strength_of_modulus: modulus = 2e\+09 Pa"):
        strength_of_modulus(2e9)


def test_array_is_scalar_after_scalar_and_nan():
    assert halpin_tsai(40e9, 1e9, PHI, 2.0).tolist() == [
        halpin_tsai(40e9, 1e9, phi, 2.0) for phi in PHI
    ]
    assert np.ndim(carried_share(1e-3, 2e-3)) == 0
    assert np.isnan(halpin_tsai(np.nan, 1e9, 0.2, 2.0))
    assert np.isnan(carried_share(np.nan, 1e-3))
    assert np.isnan(strength_of_modulus(np.nan))


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: halpin_tsai(0.0, 1e9, 0.2, 2.0), "fiber_modulus"),
        (lambda: halpin_tsai(1e9, 1e9, 20.0, 2.0), "percentage"),
        (lambda: halpin_tsai(1e9, 1e9, 0.2, -1.0), "zeta"),
        (lambda: volume_share(20.0, 1500.0, 1400.0), "percentage"),
        (lambda: critical_length(600e6, 0.0, 4e6), "diameter"),
        (lambda: carried_share(0.0, 1e-3), "length"),
        (lambda: fiber_strength(0.2, 600e6, 1.5, 0.3, 1e6), "carried"),
        (lambda: strength_of_modulus(-1.0), "modulus"),
        (lambda: random_in_plane(0.0, 1e9), "along"),
    ],
)
def test_what_cannot_be_is_refused(call, match):
    with pytest.raises(ValueError, match=match):
        call()
