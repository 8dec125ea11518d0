"""Melting of granules: dry, a little water, much water, and what cannot be."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.melting import granule_melting_point

DRY, HEAT = 465.0, 67500.0
#: 10 % water of the mass beside starch of 1.5 g/cm³.
TENTH = (0.1 / 1.0) / (0.1 / 1.0 + 0.9 / 1.5)


def test_dry_crystals_melt_where_they_are_said_to():
    assert granule_melting_point(0.0, DRY, HEAT) == pytest.approx(DRY, rel=1e-12)


def test_the_first_water_lowers_it_as_an_ideal_diluent_would():
    """R Tm² / ΔHu per mole fraction, six moles of water to the volume of one of glucose units."""
    f = 1e-6
    ideal = 8.314462618 * DRY**2 / HEAT * 6.0 * f
    assert DRY - granule_melting_point(f, DRY, HEAT) == pytest.approx(ideal, rel=1e-4)


def test_at_the_limit_of_water_alone_half_of_it_counts():
    """With an interaction of one half the square takes half back: f - f²/2 at f = 1."""
    reciprocal = 1.0 / DRY + 8.314462618 / HEAT * 6.0 * 0.5
    assert granule_melting_point(1.0, DRY, HEAT) == pytest.approx(1.0 / reciprocal, rel=1e-12)


def test_a_tenth_of_water_leaves_it_above_what_browns():
    """Why granules are cooked first: even the lowest constants melt far above 150 °C."""
    assert granule_melting_point(TENTH, 450.0, 60e3) > 423.15


def test_more_water_melts_sooner_and_more_heat_of_fusion_later():
    f = np.linspace(0.0, 1.0, 41)
    assert np.all(np.diff(granule_melting_point(f, DRY, HEAT)) < 0.0)
    heats = np.array([50e3, 60e3, 75e3])
    assert np.all(np.diff(granule_melting_point(TENTH, DRY, heats)) > 0.0)


def test_scalar_equals_array_and_nan_stays_nan():
    f = np.array([0.05, 0.2, np.nan])
    found = granule_melting_point(f, DRY, HEAT)
    assert found[:2].tolist() == [granule_melting_point(x, DRY, HEAT) for x in f[:2]]
    assert np.isnan(found[2])
    assert isinstance(granule_melting_point(0.1, DRY, HEAT), float)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((14.3, DRY, HEAT), "percentage"),
        ((-0.1, DRY, HEAT), "f_water"),
        ((0.1, 0.0, HEAT), "above 0"),
        ((0.1, DRY, -1.0), "above 0"),
    ],
)
def test_what_cannot_be_is_refused(arguments, says):
    with pytest.raises(ValueError, match=says):
        granule_melting_point(*arguments)
