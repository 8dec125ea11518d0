"""A wet surface in air, and a cast film, held against what others measured."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.advice.evidence.predictions import cast_film, film_hours
from moldwin.advice.evidence.solved import wet_bulb
from moldwin.physics.film_drying import convective_heat_transfer, surface_temperature
from tests.published.blends import BLENDS, evidence_of
from tests.published.tables import number, rows


def _rows(quantity):
    return [row for row in rows("film_drying.csv") if row["quantity"] == quantity]


def test_a_wet_surface_is_at_the_wet_bulb_within_a_tenth_of_a_kelvin():
    found = list(wet_bulb())
    assert len(found) == len(_rows("wet_bulb"))
    assert all(abs(row.error) < 0.11 for row in found)


@pytest.mark.parametrize("row", _rows("wet_bulb"), ids=lambda row: row["t_c"])
def test_without_radiation_vapor_passes_better_than_heat_and_it_is_a_little_colder(row):
    t, p = number(row, "t_c") + 273.15, number(row, "pressure_pa")
    heat = convective_heat_transfer(0.02, t, p)
    colder = (
        number(row, "value")
        + 273.15
        - surface_temperature(t, number(row, "humidity"), 1.0, 0.02, heat)
    )
    assert 0.1 < colder < 0.7


def test_a_cast_film_dries_overnight_in_a_warm_oven():
    """12 % of solids: 3.3 mm wet, 0.3 mm dry as printed, to one digit."""
    assert np.median(cast_film(BLENDS).thickness(0.05)) == pytest.approx(0.3e-3, abs=0.05e-3)
    (row,) = evidence_of(film_hours).values()
    assert row.low < row.published < row.high
    assert row.published_low < row.high
    assert row.low < row.published_high
