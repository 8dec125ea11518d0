"""Isotherms, melt law and dissolved salt held against published values."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import brine, melt_water, sorption
from tests.published.blends import uptake_band
from tests.published.tables import number, rows

GAS_CONSTANT = 8.314462618


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


@pytest.mark.parametrize(
    "row", rows("flory_huggins.csv"), ids=lambda r: "-".join(list(r.values())[:3])
)
def test_melt_law_check_values(row):
    f = melt_water.volume_fractions(number(row, "w_water"), number(row, "w_glycerol"))
    ours = melt_water.flory_huggins_activity(*f, number(row, "chi1"))
    assert ours == pytest.approx(number(row, "aw"), abs=5.001e-3)


def test_trap_a_constant_interaction_of_one_half_is_too_optimistic():
    f, _ = melt_water.volume_fractions(0.05)
    constant = f * np.exp(1 - f + 0.5 * (1 - f) ** 2)
    assert constant < 0.8 * melt_water.flory_huggins_activity(f, 0.0, 0.9)


@pytest.mark.parametrize("row", rows("enrione2007.csv"), ids=lambda row: row["share"])
def test_glycerol_interaction_points(row):
    assert sorption.glycerol_interaction(number(row, "share")) == pytest.approx(
        number(row, "factor"), abs=1e-12
    )


@pytest.mark.parametrize("row", rows("robinson1959.csv"), ids=lambda row: row["molality"])
def test_salt_solution(row):
    # tabulated to .001 in activity: compare activities, not the water that follows from them
    water_per_salt = 1 / (number(row, "molality") * 0.05844277)
    aw = np.linspace(0.75, 0.98, 2301)
    ours = np.interp(water_per_salt, brine.salt_water(aw), aw)
    assert ours == pytest.approx(number(row, "aw"), abs=1.1e-3)


def test_a_saturated_salt_solution_holds_as_much_as_its_solubility():
    # 2.8 g water per g salt at 75 %, published; 36 g salt in 100 g water is the same from memory
    assert brine.salt_water(0.753) == pytest.approx(2.8, abs=0.05)


@pytest.mark.parametrize("row", rows("wood_handbook.csv"), ids=lambda row: row["aw"])
def test_wood(row):
    ours = sorption.hailwood_horrobin(number(row, "aw"), number(row, "t_c") + 273.15)
    assert ours == pytest.approx(number(row, "x"), abs=5.01e-4)


def _heat(cold, warm, x):
    """Net heat between two isotherms of one material, in J/mol."""
    cold, warm = _set(cold), _set(warm)
    t1, t2 = number(cold, "t_c") + 273.15, number(warm, "t_c") + 273.15
    a1, a2 = (sorption.gab_water_activity(x, *_constants(row)) for row in (cold, warm))
    return -GAS_CONSTANT * np.log(a2 / a1) / (1 / t2 - 1 / t1)


# first and last temperature of each material, as the published heats were taken
MATERIALS = {"pasta": (13, 15), "potato": (9, 11), "cellulose": (16, 18)}
PAIRS = [(m, x) for m in MATERIALS for x in (0.05, 0.08, 0.10, 0.12)]
KNOWN_MISS = pytest.mark.xfail(strict=True, reason="misses: 2.4 times the curve, not 2")


@pytest.mark.parametrize(
    ("material", "x"),
    [pytest.param(*p, marks=KNOWN_MISS) if p == ("pasta", 0.05) else p for p in PAIRS],
)
def test_net_heat_within_a_factor_of_two(material, x):
    ratio = _heat(*MATERIALS[material], x) / sorption.net_sorption_heat(x)
    assert 0.5 <= ratio <= 2.0


def test_every_row_says_where_it_comes_from():
    names = "gab_parameters sorption_points flory_huggins enrione2007 robinson1959 wood_handbook"
    for name in names.split():
        for row in rows(f"{name}.csv"):
            assert row["source"]
            assert row["status"] in {"read", "memory", "derived"}


# -- the tool's own isotherms, cards and all, at the measured points ------------------------------

#: Recipe of shipped cards for a point. A fiber needs a polymer to be a blend: a trace of it.
_TRACE = "corn-starch 0.001"
RECIPES = {
    "1": "corn-starch 75 + glycerol 25",  # neither the starch nor its glycerol is known: a guess
    "2": "potato-starch 100",
    "3": "potato-starch 100",
    "5": "potato-starch 85 + glycerol 15",
    "6": "wheat-starch 100",
    "7": "corn-starch 100",
    "9": "rice-starch 100",
    "10": "rice-starch 100",
    "14": f"flax-fiber 100 + {_TRACE}",
    "15": f"hemp-fiber 100 + {_TRACE}",
    "17": f"wood-fiber 100 + {_TRACE}",
    "19": f"wood-fiber 100 + {_TRACE}",
    "20": "sodium-alginate 100",
    "21": "sodium-alginate 100",
}
#: Points that have no card (cotton, jute), or are another table's (glycerol with water).
WITHOUT_CARD = {"12", "13", "16", "22", "23", "25", "26", "28", "29"}
STARCHES = ("2", "3")
#: Flour and grain, not starch: the starch cards stand in for them.
FLOURS = ("6", "7", "9", "10")
MISSES = {
    "6": "misses by 0.048: flour holds 0.107, starch dried from a gel 0.155 (0.133 to 0.174)",
    "7": "misses by 0.050: flour holds 0.105, starch dried from a gel 0.155 (0.133 to 0.174)",
    "9": "misses by 0.049: flour holds 0.106, starch dried from a gel 0.155 (0.133 to 0.174)",
    "10": "misses by 0.025: grain holds 0.130, starch dried from a gel 0.155 (0.133 to 0.174)",
    "17": "misses by 0.005: board 0.0478, wood 0.0527 (0.0491 to 0.0560)",
    "19": "misses by 0.013: board 0.1322, wood 0.1456 (0.1339 to 0.1531)",
}
POINTS = {row["id"]: row for row in rows("sorption_points.csv")}


def known_misses(ids):
    return [
        pytest.param(i, marks=pytest.mark.xfail(strict=True, reason=MISSES[i]))
        if i in MISSES
        else i
        for i in ids
    ]


def test_every_point_has_its_place():
    assert set(RECIPES) | WITHOUT_CARD == set(POINTS)


@pytest.mark.parametrize("i", known_misses(RECIPES))
def test_a_measured_point_lies_inside_the_interval(i):
    band = uptake_band(RECIPES[i], number(POINTS[i], "aw"))
    assert band.low <= number(POINTS[i], "x") <= band.high


def _rms(ids):
    misses = [
        uptake_band(RECIPES[i], number(POINTS[i], "aw")).likely - number(POINTS[i], "x")
        for i in ids
    ]
    return float(np.sqrt(np.mean(np.square(misses))))


def test_starches_without_plasticizer_are_met_to_a_percent_and_a_half():
    assert _rms(STARCHES) <= 0.015


@pytest.mark.xfail(strict=True, reason="misses: RMS 3.6 % with flours and grain counted as starch")
def test_so_are_flours_and_grain():
    assert _rms(STARCHES + FLOURS) <= 0.015


@pytest.mark.parametrize("i", ["1", "5"])
def test_starches_with_plasticizer_are_met_to_twenty_percent(i):
    likely = uptake_band(RECIPES[i], number(POINTS[i], "aw")).likely
    assert likely == pytest.approx(number(POINTS[i], "x"), rel=0.20)
