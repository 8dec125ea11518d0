"""Isotherms, melt law and dissolved salt held against published values."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.advice.evidence.sorbed import isotherms, moistures, stored_grain
from moldwin.physics import brine, melt_water, sorption
from tests.published.blends import evidence_of
from tests.published.tables import number, rows


def _set(name):
    return next(row for row in rows("gab_parameters.csv") if row["id"] == str(name))


def _constants(row):
    return number(row, "xm"), number(row, "c"), number(row, "k")


def test_hysteresis_of_rice_starch():
    # at 53 % humidity, adsorption .121 and desorption .129, as published with the sets
    up = sorption.gab(0.53, *_constants(_set(1)))
    down = sorption.gab(0.53, *_constants(_set(2)))
    assert (up, down) == (pytest.approx(0.121, abs=5e-4), pytest.approx(0.129, abs=5e-4))


@pytest.mark.parametrize("row", rows("gab_parameters.csv"), ids=lambda row: row["id"])
def test_every_published_set_is_a_rising_isotherm_and_inverts(row):
    aw = np.linspace(0.0, 0.95, 50)
    x = sorption.gab(aw, *_constants(row))
    assert np.all(np.diff(x) > 0)
    assert sorption.gab_water_activity(x, *_constants(row)) == pytest.approx(aw, abs=1e-12)


def test_trap_glycerol_crosses_over_near_sixty_percent():
    """Below 60-65 % humidity glycerol lowers the moisture, above it raises it."""
    plain, with_glycerol = _constants(_set(3)), _constants(_set(4))
    low, high = np.array([0.2, 0.4, 0.5]), np.array([0.75, 0.85])
    assert np.all(sorption.gab(low, *with_glycerol) < sorption.gab(low, *plain))
    assert np.all(sorption.gab(high, *with_glycerol) > sorption.gab(high, *plain))


def test_native_starch_lies_near_the_textbook_point():
    # potato starch, .10 at 30 % humidity read off a figure: another starch, so 25 % either way
    point = next(row for row in rows("sorption_points.csv") if row["id"] == "2")
    ours = sorption.gab(number(point, "aw"), *_constants(_set(2)))
    assert ours == pytest.approx(number(point, "x"), rel=0.25)


def test_trap_a_constant_interaction_of_one_half_is_too_optimistic():
    f, _ = melt_water.volume_fractions(0.05)
    constant = f * np.exp(1 - f + 0.5 * (1 - f) ** 2)
    assert constant < 0.8 * melt_water.flory_huggins_activity(f, 0.0, 0.9)


def test_a_saturated_salt_solution_holds_as_much_as_its_solubility():
    # 2.8 g water per g salt at 75 %, published; 36 g salt in 100 g water is the same from memory
    assert brine.salt_water(0.753) == pytest.approx(2.8, abs=0.05)


# -- the tool's own isotherms, cards and all, at the measured points ------------------------------

STARCHES = ("2", "3")
#: Flour and grain, not starch: the starch cards stand in for them.
FLOURS = ("6", "7", "8", "9", "10", "11")


def points():
    return evidence_of(moistures)


def _rms(ids):
    return float(np.sqrt(np.mean([points()[i].error ** 2 for i in ids])))


def test_starches_without_plasticizer_are_met_to_a_percent_and_a_half():
    assert _rms(STARCHES) <= 0.015


@pytest.mark.xfail(strict=True, reason="misses: RMS 3.9 % with flours and grain counted as starch")
def test_so_are_flours_and_grain():
    assert _rms(STARCHES + FLOURS) <= 0.015


@pytest.mark.parametrize("i", ["1", "5"])
def test_starches_with_plasticizer_are_met_to_twenty_percent(i):
    assert points()[i].predicted == pytest.approx(points()[i].published, rel=0.20)


def test_grain_in_store_holds_what_wheat_starch_does_at_every_humidity():
    found = evidence_of(stored_grain).values()
    assert len(found) == 5
    for row in found:
        assert row.predicted == pytest.approx(row.published, rel=0.08)


def test_no_other_isotherm_here_comes_as_low_as_that_of_the_flours():
    """Why the flours are no reason for a wider interval: one laboratory against all others."""
    flours = [points()[i].published for i in ("6", "7", "8", "9")]
    curves = [row for row in rows("gab_parameters.csv") if float(row["t_c"]) <= 30]
    starchy = [row for row in curves if "cellulose" not in row["material"]]
    others = [sorption.gab(0.65, *_constants(row)) for row in starchy]
    assert len(others) >= 6
    assert max(flours) < 0.8 * min(others)


def test_hysteresis_explains_a_hundredth_of_the_miss():
    up, down = (sorption.gab(0.65, *_constants(_set(name))) for name in (1, 2))
    assert down - up == pytest.approx(0.01, abs=0.002)


def test_dough_of_durum_is_met_at_forty_degrees_and_not_at_sixty():
    found = evidence_of(isotherms)
    for aw in ("0.53", "0.75"):
        for name in ("13", "O1", "O3"):
            assert found[f"{name} at {aw}"].inside
    assert not any(found[f"{name} at 0.33"].inside for name in ("14", "O2", "O4"))


def test_a_curve_is_read_as_its_own_equation_says():
    # 0.10608 (0.53 / 0.47)^0.45984, worked out by hand
    found = evidence_of(isotherms)["O3 at 0.53"]
    assert found.published == pytest.approx(0.11211, abs=1e-5)
    assert found.status == "derived"
