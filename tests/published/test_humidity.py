"""Humidity of salts and of glycerol baths held against published tables."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import humidity
from tests.published.tables import number, rows

FIXED_POINTS = {
    "LiCl": 11.30,
    "MgCl2": 32.78,
    "K2CO3": 43.16,
    "NaCl": 75.29,
    "KCl": 84.34,
    "K2SO4": 97.30,
}


@pytest.mark.parametrize(("salt", "percent"), FIXED_POINTS.items())
def test_fixed_points_at_25_degrees(salt, percent):
    assert 100 * humidity.salt_water_activity(salt, 298.15) == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize("row", rows("greenspan1977.csv"), ids=lambda r: f"{r['salt']}-{r['t_c']}")
def test_humidity_of_salts_over_the_whole_table(row):
    """The table cuts its second decimal off instead of rounding it: every value is just above."""
    found = 100 * humidity.salt_water_activity(row["salt"], number(row, "t_c") + 273.15)
    assert -1e-9 <= found - number(row, "rh_pct") < 0.01


@pytest.mark.parametrize("row", rows("greenspan1977.csv"), ids=lambda r: f"{r['salt']}-{r['t_c']}")
def test_uncertainty_of_salts(row):
    t = number(row, "t_c") + 273.15
    uncertainty = 100 * humidity.salt_uncertainty(row["salt"], t, check=False)
    assert uncertainty == pytest.approx(number(row, "u_pct"), abs=1e-9)


def test_trap_the_widely_copied_signs_are_wrong():
    """With the sign of its linear term turned, LiCl comes out at 10.9 % instead of 11.30."""
    wrong = 11.2323 - 0.00824245 * 25 - 0.214890e-3 * 25**2
    assert wrong == pytest.approx(10.9, abs=0.05)
    assert 100 * humidity.salt_water_activity("LiCl", 298.15) - wrong > 0.35


# At 25 °C, from memory of the same table, and no row of ours: what the straight lines are worth.
@pytest.mark.parametrize(
    ("salt", "percent"), [("NaNO3", 74.25), ("NH4Cl", 78.57), ("SrCl2", 70.85)]
)
def test_straight_lines_miss_the_curve_by_less_than_four_hundredths(salt, percent):
    assert 100 * humidity.salt_water_activity(salt, 298.15) == pytest.approx(percent, abs=0.04)


# Mass percent for a humidity, published to whole percent of both.
@pytest.mark.parametrize(("w", "percent"), [(0.80, 50), (0.75, 57), (0.58, 75)])
def test_kitchen_recipes(w, percent):
    assert 100 * humidity.glycerol_water_activity(w, 298.15) == pytest.approx(percent, abs=0.6)


# 75 % glycerol that has given 8 g of water, published to three digits.
@pytest.mark.parametrize(("bath_g", "aw"), [(100, 0.473), (200, 0.529), (500, 0.558)])
def test_a_bath_drifts_as_it_gives_water(bath_g, aw):
    w = 0.75 * bath_g / (bath_g - 8.0)
    assert humidity.glycerol_water_activity(w, 298.15) == pytest.approx(aw, abs=1.1e-3)


def test_trap_norrish_alone_is_far_too_dry_in_strong_baths():
    x = (0.8 / 92.094) / (0.8 / 92.094 + 0.2 / 18.015)
    norrish = (1 - x) * np.exp(-1.16 * x * x)
    assert humidity.glycerol_water_activity(0.8, 298.15) - norrish == pytest.approx(0.05, abs=0.005)
