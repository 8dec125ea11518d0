"""Water activity of the blend: isotherm in the room, Flory-Huggins in the melt."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.melt_water import flory_huggins_activity, volume_fractions
from moldwin.physics.sorption import gab, net_sorption_heat
from moldwin.stages.blend import make_blend
from moldwin.stages.moisture import AW_TOP, HotActivity, Isotherm, moisture_error
from moldwin.stages.state import Material
from tests.jobs import KELP, bench_of, change, dry, job, row
from tests.published.tables import number, rows

_AT_25 = {"temperature_c": 25, "humidity_pct": 50}


def _material(ingredients=None, **options):
    ingredients = ingredients or dry(corn_starch=70, glycerol=20)
    return Material(bench_of(job(ingredient=ingredients, room=_AT_25), **options))


def _x(w):
    return w / (1.0 - w)


def test_moisture_rises_with_activity_in_every_sample():
    aw = np.linspace(0.01, AW_TOP, 60)[:, None]
    for material in (_material(), Material(bench_of(KELP))):
        assert np.all(np.diff(material.isotherm.moisture(aw), axis=0) > 0)


def test_activity_rises_with_moisture_in_every_sample():
    w = np.linspace(0.005, 0.35, 60)[:, None]
    aw = Material(bench_of(KELP)).isotherm.activity(w)
    assert np.all(np.diff(aw, axis=0) >= 0)
    assert np.all((aw >= 0) & (aw < 1))


_CARDS = (
    "potato-starch",
    "corn-starch",
    "sodium-alginate",
    "brown-seaweed-powder",
    "agar",
    "flax-fiber",
    "wood-fiber",
)


_HEAT = "jar.sorption_heat_factor"


@pytest.mark.parametrize("heat_spread", [1.0, 2.0])
@pytest.mark.parametrize("celsius", [-10, 5, 20, 40, 60])
@pytest.mark.parametrize("card", _CARDS)
def test_an_isotherm_rises_at_every_temperature(card, celsius, heat_spread):
    """With salt or without; kelp's once bent back at the step of its dissolving salt.

    Twice the spread of the heat reaches the ends of what a card may say of it.
    """
    for salt, glycerol in ((0, 0), (15, 0), (0, 20), (15, 20)):
        mixed = [row(card, 100), row("corn-starch", 20), row("baking-soda", salt + 1e-6)]
        mixed.append(row("glycerol", glycerol + 1e-6, 0))
        source = job(ingredient=mixed, room=_AT_25)
        bench = bench_of(source, count=256, spreads={_HEAT: heat_spread})
        isotherm = Isotherm(bench, make_blend(bench), celsius + 273.15)
        aw = isotherm.activity(np.linspace(0.005, 0.6, 80)[:, None])
        assert np.all(np.diff(aw, axis=0) >= 0)
        moisture = isotherm.moisture(np.linspace(0.01, 0.97, 80)[:, None])
        assert np.all(np.diff(moisture, axis=0) > 0)


@pytest.mark.parametrize(("heat_spread", "warmest_once"), [(0.0, 45.0), (2.0, 29.9)])
@pytest.mark.parametrize("card", _CARDS)
def test_one_reading_is_what_the_table_says(card, heat_spread, warmest_once):
    """As warm as the quick reading is used it needs no mending: no node lies below another.

    The more heat there may be the less warm that is; the ends of the heat are in the second.
    """
    recipe = [row(card, 100), row("corn-starch", 20)]
    for celsius in (5.0, 25.0, 29.9, 44.9, 60.0):
        bench = bench_of(job(ingredient=recipe), count=256, spreads={_HEAT: heat_spread})
        blend = make_blend(bench)
        for w in (0.05, 0.15, 0.25, 0.35):
            quick, table = (Isotherm(bench, blend, celsius + 273.15) for _ in range(2))
            table.highest_moisture()  # makes the table
            once = quick.activity(np.full(256, w))
            assert ("_table" in vars(quick)) == (celsius > warmest_once)
            assert once == pytest.approx(table.activity(np.full(256, w)), abs=1e-9)


# ------------------------------------------------------------------ the heat that moves it


def _with_and_without(source, celsius, **options):
    """The isotherm with the spread of its heat and without, and the factor on that heat."""
    benches = [bench_of(source, count=2048, spreads={_HEAT: s}, **options) for s in (1.0, 0.0)]
    isotherms = [Isotherm(bench, make_blend(bench), celsius + 273.15) for bench in benches]
    return *isotherms, benches[0].typical("jar", "sorption_heat_factor")


def test_the_heat_is_good_to_a_factor_of_two_either_way():
    factor = _with_and_without(KELP, 25.0)[-1]
    assert np.quantile(factor, [0.05, 0.5, 0.95]) == pytest.approx([0.5, 1.0, 2.0], rel=0.01)


@pytest.mark.parametrize("source", [job(ingredient=dry(corn_starch=70, glycerol=20)), KELP])
def test_the_heats_spread_counts_the_more_the_further_from_25_degrees(source):
    w, shares = np.full(2048, 0.10), {}
    for celsius in (-5.0, 10.0, 25.0, 40.0, 55.0):
        unsure, sure, _ = _with_and_without(source, celsius)
        shares[celsius] = np.std(np.log(unsure.activity(w) / sure.activity(w)))
    assert shares[25.0] == 0.0
    assert 0.01 < shares[10.0] < shares[-5.0]
    assert 0.01 < shares[40.0] < shares[55.0]


def test_moisture_in_warm_air_is_less_sure_than_at_25_degrees():
    aw, added = np.full(2048, 0.5), {}
    for celsius in (10.0, 25.0, 40.0):
        found = _with_and_without(job(ingredient=dry(corn_starch=100)), celsius)[:2]
        widths = [np.ptp(np.quantile(i.moisture(aw), [0.05, 0.95])) for i in found]
        added[celsius] = widths[0] / widths[1] - 1.0
    assert added[25.0] == 0.0
    assert added[10.0] > 0.02
    assert added[40.0] > 0.02


def test_the_factor_multiplies_the_heat_that_moves_an_isotherm():
    """Of one polymer: ln of the activity goes with the factor, and by as much as the heat says."""
    unsure, sure, factor = _with_and_without(job(ingredient=dry(corn_starch=100)), 30.0)
    x = 0.12
    w = np.full(2048, x / (1.0 + x))
    moved = np.log(unsure.activity(w) / sure.activity(w))
    by_hand = net_sorption_heat(x) / 8.314462618 * (1.0 / 298.15 - 1.0 / 303.15) * (factor - 1.0)
    assert moved == pytest.approx(by_hand, rel=0.05, abs=2e-4)


def test_polymer_and_fiber_share_the_factor():
    """Both take up water by one draw: what they hold together is moved like either alone."""
    for ingredients in (dry(corn_starch=20, cellulose=80), dry(corn_starch=80, sodium_alginate=20)):
        unsure, sure, factor = _with_and_without(job(ingredient=ingredients), 35.0)
        moved = np.log(unsure.activity(np.full(2048, 0.08)) / sure.activity(np.full(2048, 0.08)))
        assert np.all(moved[factor > 1.01] > 0.0)
        assert np.all(moved[factor < 0.99] < 0.0)


def test_salt_dissolves_at_the_same_humidity_warm_and_cold():
    """Table salt's 75 % moves by 1 % from 0 to 40 °C; the heat of bound water is not brine's."""
    salted = dry(corn_starch=90, baking_soda=10)
    bench = bench_of(job(ingredient=salted, room=_AT_25), spread=0.0)
    blend = make_blend(bench)
    plain = bench_of(job(ingredient=dry(corn_starch=100), room=_AT_25), spread=0.0)
    for celsius in (5, 25, 40):
        with_salt = Isotherm(bench, blend, celsius + 273.15)
        without = Isotherm(plain, make_blend(plain), celsius + 273.15)

        def brine(aw, with_salt=with_salt, without=without):
            at = np.array([[aw]])
            return float(_x(with_salt.moisture(at)[0, 0]) - 0.9 * _x(without.moisture(at)[0, 0]))

        assert brine(0.68) == pytest.approx(0.0, abs=2e-3)
        assert brine(0.76) == pytest.approx(0.1 * 2.75, abs=0.02)


@pytest.mark.parametrize("w", [0.01, 0.05, 0.10, 0.15])
def test_moisture_to_activity_and_back(w):
    for material in (_material(), Material(bench_of(KELP))):
        aw = material.isotherm.activity(np.full(512, w))
        assert material.isotherm.moisture(aw) == pytest.approx(np.full(512, w), abs=1e-9)


def test_one_polymer_alone_follows_its_own_gab_set():
    bench = bench_of(job(ingredient=dry(corn_starch=100), room=_AT_25), spread=0.0)
    card = bench.card("corn-starch")
    aw = np.array([0.2, 0.4, 0.6, 0.8])
    expected = gab(aw, *(card[key].value for key in ("xm", "c", "k")))
    ours = Material(bench).isotherm.moisture(aw[:, None])[:, 0]
    assert _x(ours) == pytest.approx(expected, rel=1e-6)


def test_the_published_desorption_point_of_amorphous_starch_lies_in_the_band():
    point = next(row for row in rows("sorption_points.csv") if row["id"] == "3")
    assert "Lourdin" in point["source"]
    material = _material(dry(corn_starch=100), count=2048)
    x = _x(material.isotherm.moisture(np.full(2048, number(point, "aw"))))
    low, high = np.quantile(x, [0.05, 0.95])
    assert low <= number(point, "x") <= high


def test_glycerol_lowers_moisture_in_dry_air_and_raises_it_in_damp_air():
    plain, glycerol = _material(dry(corn_starch=100)), _material()

    def median(material, aw):
        return np.median(material.isotherm.moisture(np.full(512, aw)))

    assert median(glycerol, 0.3) < median(plain, 0.3)
    assert median(glycerol, 0.8) > median(plain, 0.8)


def test_dissolved_salt_takes_up_water_in_damp_air_only():
    plain = _material(dry(corn_starch=100))
    salted = _material(dry(corn_starch=90, baking_soda=10))

    def gain(aw):
        at = np.full(512, aw)
        return np.median(_x(salted.isotherm.moisture(at)) - 0.9 * _x(plain.isotherm.moisture(at)))

    assert gain(0.5) == pytest.approx(0.0, abs=1e-3)
    # a saturated salt solution holds 2.8 g water per g salt at 75 % (models of table salt)
    assert gain(0.80) > 0.15


def test_warmer_air_holds_less_in_the_pellets():
    def moisture(celsius):
        room = {"temperature_c": celsius, "humidity_pct": 50}
        bench = bench_of(job(ingredient=dry(corn_starch=100), room=room))
        return np.median(Material(bench).isotherm.moisture(np.full(512, 0.5)))

    assert moisture(10) > moisture(25) > moisture(40)


def test_the_moisture_error_is_the_same_slip_at_every_moisture():
    dry_reading, wet_reading = bench_of(job()), bench_of(job(), ["pellets.moisture_pct=18"])
    assert moisture_error(dry_reading) == pytest.approx(moisture_error(wet_reading), abs=1e-12)
    assert moisture_error(dry_reading).std() == pytest.approx(0.005, rel=0.05)


def test_an_uncertainty_left_out_is_half_a_percent():
    bench = bench_of(job(pellets=change("pellets", moisture_u_pct=None)))
    assert moisture_error(bench).std() == pytest.approx(0.005, rel=0.05)


# ------------------------------------------------------------------ the melt


def _melt(material, w, t):
    state = material.at(w)
    count = material.bench.count
    water = np.full(count, w)
    return HotActivity(material.bench, material.blend, water, state.tg, state.a_water).at(t)


@pytest.mark.parametrize("w", [0.04, 0.10, 0.16])
def test_the_isotherm_hands_over_to_the_melts_law_without_a_jump(w):
    material = _material()
    tg = material.at(w).tg
    above = np.arange(-5.0, 30.0, 0.25)
    aw = _melt(material, w, tg + above[:, None])
    whole = np.abs(aw[-1] - aw[0])
    # 20 K of handing over, in steps of a quarter: an eightieth of the way each
    assert np.all(np.abs(np.diff(aw, axis=0)) <= whole / 80.0 + 1e-9)


def test_well_above_the_transition_it_is_flory_huggins_alone():
    material = _material(spread=0.0)
    phase = material.blend.water_in_phase(0.10)
    fractions = volume_fractions(phase, 20 / 90 * (1 - phase))
    chi1 = material.bench.typical("melt", "chi1")
    expected = flory_huggins_activity(*fractions, chi1, check=False)
    assert _melt(material, 0.10, material.at(0.10).tg + 21.0) == pytest.approx(expected)


def test_below_the_transition_the_room_isotherm_holds_moved_up():
    material = _material(dry(corn_starch=100), spread=0.0)
    state = material.at(0.08)
    cold, colder = (_melt(material, 0.08, state.tg - k)[0] for k in (1.0, 40.0))
    assert cold == colder  # moved by the 35 K that are allowed and no further
    assert cold > state.a_water[0]


def test_the_glass_in_the_barrel_is_moved_by_the_same_factor():
    """And the melt is not: it has no heat of sorption."""

    def at(t, spread):
        material = _material(dry(corn_starch=100), count=2048, spreads={_HEAT: spread})
        water, tg, room = (np.full(2048, value) for value in (0.08, 400.0, 0.25))
        hot = HotActivity(material.bench, material.blend, water, tg, room)
        return hot.at(t), material.bench.typical("jar", "sorption_heat_factor")

    (glass, factor), (likely, _) = at(399.0, 1.0), at(399.0, 0.0)
    shift = (1.0 / 298.15 - 1.0 / 333.15) / 8.314462618
    by_hand = net_sorption_heat(0.08 / 0.92) * shift * (factor - 1.0)
    free = glass < 1.0  # cut there where the heat would carry it beyond
    assert free.mean() > 0.8
    assert np.log(glass / likely)[free] == pytest.approx(by_hand[free], abs=1e-9)
    assert np.all(at(421.0, 1.0)[0] == at(421.0, 0.0)[0])


def test_the_melts_activity_at_the_derived_points_of_the_compound():
    """Checked by hand for chi1 .9, 1.15 and 1.4 at 70/20/10: .56, .64, .74."""
    material = _material(count=2048)
    chi1 = material.bench.typical("melt", "chi1")
    aw = _melt(material, 0.10, np.full(2048, 400.0))
    for asked, expected in ((0.9, 0.56), (1.15, 0.64), (1.4, 0.74)):
        nearest = int(np.abs(chi1 - asked).argmin())
        assert aw[nearest] == pytest.approx(expected, abs=0.006)


def test_activity_rises_with_water_in_the_melt():
    material = _material()
    aw = [_melt(material, w, np.full(512, 420.0)) for w in (0.03, 0.06, 0.10, 0.15, 0.25)]
    assert np.all(np.diff(aw, axis=0) > 0)


def test_an_isotherm_ends_where_its_sources_do():
    material = _material()
    top = material.isotherm.highest_moisture()
    assert material.isotherm.moisture(np.full(512, AW_TOP)) == pytest.approx(top, rel=0.02)


def test_nothing_is_wetted_by_nothing():
    only_salt_and_a_little_starch = [row("corn-starch", 3, 0), row("baking-soda", 97, 0)]
    aw = _material(only_salt_and_a_little_starch).isotherm.activity(np.full(512, 0.05))
    assert np.all(np.isfinite(aw))


@pytest.mark.parametrize(("guessed", "status"), [(False, "measured"), (True, "assumed")])
def test_a_guessed_moisture_is_not_called_measured(guessed, status):
    bench = bench_of(KELP, [f"pellets.moisture_guessed={str(guessed).lower()}"])
    moisture_error(bench)
    assert bench.used["pellets.moisture"].status == status
