"""Glass transitions held against published points, anchors and traps."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import glass
from tests.published.tables import number, rows

# The published starch set, with glycerol as derived for it.
TG = {"starch": 523.0, "glycerol": 190.0, "water": 138.0}
K_WATER = 5.2


def _celsius(row, k_glycerol=3.0):
    w = [number(row, "w_polymer"), number(row, "w_plasticizer"), number(row, "w_water")]
    tg = [TG["starch"], TG["glycerol"], TG["water"]]
    return glass.gordon_taylor(w, tg, [1.0, k_glycerol, K_WATER]) - 273.15


def _points(use, plasticizer):
    return [
        row
        for row in rows("starch_tg.csv")
        if row["use"] == use and row["plasticizer"] == plasticizer and row["polymer"] != "none"
    ]


def _row(name):
    return next(row for row in rows("starch_tg.csv") if row["id"] == name)


@pytest.mark.parametrize("row", _points("fit", "none"), ids=lambda row: row["id"])
def test_starch_and_water_within_25_kelvin(row):
    assert _celsius(row) == pytest.approx(number(row, "tg_c"), abs=25.0)


def test_starch_and_water_rms():
    misses = [_celsius(row) - number(row, "tg_c") for row in _points("fit", "none")]
    assert len(misses) == 5
    assert np.sqrt(np.mean(np.square(misses))) <= 13.5


def test_a_point_no_one_fitted_lies_within_25_kelvin():
    assert _celsius(_row("S09")) == pytest.approx(number(_row("S09"), "tg_c"), abs=25.0)
    assert _celsius(_row("S15")) == pytest.approx(number(_row("S15"), "tg_c"), abs=25.0)


@pytest.mark.parametrize("row", _points("fit", "glycerol"), ids=lambda row: row["id"])
def test_the_glycerol_band_holds_the_ternary_points(row):
    # k 1.8 to 5 and the 12 K misfit at two sigma, as the derived set is meant to be shown
    low, high = _celsius(row, 5.0) - 24.0, _celsius(row, 1.8) + 24.0
    assert low <= number(row, "tg_c") <= high


def test_trap_k_is_not_transitive():
    """Water over glycerol is 2.84: dividing gives 1.8 for glycerol in starch, and fails."""
    points = _points("fit", "glycerol")

    def rms(k_glycerol):
        misses = [_celsius(row, k_glycerol) - number(row, "tg_c") for row in points]
        return np.sqrt(np.mean(np.square(misses)))

    assert rms(K_WATER / 2.84) > 30.0
    assert min(rms(3.0), rms(4.0), rms(5.0)) < 10.0


def test_trap_ice_makes_wet_starch_read_far_warmer_than_the_rule():
    row = _row("S17")
    assert number(row, "tg_c") - _celsius(row) > 50.0


def test_trap_granules_add_forty_kelvin():
    amorphous, granular = _row("S06"), _row("S07")
    assert amorphous["w_water"] == granular["w_water"]
    assert number(granular, "tg_c") - number(amorphous, "tg_c") == pytest.approx(40.0, abs=1.0)


@pytest.mark.parametrize("name", ["M01", "M02", "M03", "M04"])
def test_trap_dynamic_peaks_read_about_22_kelvin_higher(name):
    gap = number(_row(name + "b"), "tg_c") - number(_row(name + "a"), "tg_c")
    assert 20.0 <= gap <= 24.0


def _log_form_shortfall(w_water):
    w = np.stack([1 - np.asarray(w_water), w_water], axis=-1)
    tg, dcp = [523.15, 138.15], [1.0, 5.2]
    return glass.linear_heat_capacity(w, tg, dcp) - glass.logarithmic_heat_capacity(w, tg, dcp)


def test_trap_the_logarithmic_form_lands_about_fifty_kelvin_low():
    assert _log_form_shortfall([0.05, 0.20]) == pytest.approx([47.4, 59.1], abs=0.5)


@pytest.mark.xfail(strict=True, reason="misses by 3 K: 60.9 and 62.3 K at 10 and 15 % water")
def test_trap_the_logarithmic_form_stays_within_47_to_59_kelvin_between():
    shortfall = _log_form_shortfall([0.10, 0.15])
    assert np.all((shortfall >= 46.5) & (shortfall <= 59.5))


def test_glycerol_and_water_by_the_published_weight():
    row = _row("P02")
    w = [number(row, "w_water"), number(row, "w_plasticizer")]
    ours = glass.gordon_taylor(w, [138.0, 190.0], [2.84, 1.0])
    # pure glycerol is published between 187 and 193 K, water between 135 and 138 K
    assert ours - 273.15 == pytest.approx(number(row, "tg_c"), abs=4.0)


def test_xylitol_and_water_by_the_rule_that_fits_nothing():
    row = _row("P07")
    w = [number(row, "w_water"), number(row, "w_plasticizer")]
    # the same 25 K that are asked of starch and water: no weight is published for xylitol
    assert glass.fox(w, [136.0, 247.0]) - 273.15 == pytest.approx(number(row, "tg_c"), abs=25.0)


def test_the_table_is_whole():
    table = rows("starch_tg.csv")
    assert len({row["id"] for row in table}) == len(table) == 63
    for row in table:
        assert row["source"]
        assert row["use"]
        assert row["status"] in {"read", "memory", "derived"}
        if row["use"].startswith("fit"):
            parts = [number(row, c) for c in ("w_polymer", "w_plasticizer", "w_water")]
            assert sum(parts) == pytest.approx(1.0, abs=1e-9)
