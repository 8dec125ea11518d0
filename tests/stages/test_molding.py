"""The mold: stiffness against temperature, and how long a part stays in."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.mold_wall import fourier_in_mold
from moldwin.stages.molding import Stiffness
from tests.jobs import change, dry, job, setup_of

_THICK, _THIN = (
    {"solid": [{"shape": "plate", "length_mm": 60, "width_mm": 20, "thickness_mm": mm}]}
    for mm in (4, 1)
)


def _stiff(plateau=3e7):
    return Stiffness(
        glass=np.array([2e9]),
        plateau=np.array([plateau]),
        tg=np.array([300.0]),
        fall=np.array([30.0]),
    )


def _cavity(sets=(), **sections):
    setup = setup_of(job(**sections), sets)
    return setup.window(setup.bench.job.pellets.moisture).cavity


# ------------------------------------------------------------------ stiffness


def test_glass_below_rubber_above_and_the_geometric_mean_between():
    stiff = _stiff()
    t = np.array([200.0, 284.9, 300.0, 315.1, 500.0])
    expected = [2e9, 2e9, np.sqrt(2e9 * 3e7), 3e7, 3e7]
    assert stiff.modulus(t) == pytest.approx(expected)


def test_it_never_rises_with_temperature():
    assert np.all(np.diff(_stiff().modulus(np.linspace(250.0, 350.0, 201))) <= 0)


@pytest.mark.parametrize("modulus", [1.9e9, 5e8, 1e8, 4e7])
def test_the_temperature_of_a_modulus_is_where_it_is_reached(modulus):
    stiff = _stiff()
    assert stiff.modulus(stiff.temperature_of(modulus)) == pytest.approx([modulus])


def test_a_rubber_stiff_enough_can_be_ejected_at_any_temperature():
    assert _stiff(plateau=3e7).temperature_of(1e7) == np.inf
    assert np.isfinite(_stiff(plateau=5e6).temperature_of(1e7))


def test_filler_raises_the_plateau_and_the_plateau_stays_below_the_glass():
    plain = _cavity(ingredient=dry(corn_starch=70, glycerol=20))
    filled = _cavity(ingredient=dry(corn_starch=70, glycerol=20, cellulose=30))
    assert np.isinf(filled.t_stiff).mean() > np.isinf(plain.t_stiff).mean()
    # glass and plateau may overlap in the cards: every sample still is a proper fall
    assert not np.any(np.isnan(filled.t_stiff))


# ------------------------------------------------------------------ margins


def test_the_margins_pull_the_right_way():
    cavity = _cavity()
    margins = cavity.margins(np.arange(283.15, 403.16, 10.0))
    assert set(margins) == {
        "condensation",
        "soft-at-ejection",
        "steam-at-ejection",
        "mold-heater",
        "below-room",
    }
    assert np.all(np.diff(margins["condensation"], axis=0) > 0)
    for name in ("steam-at-ejection", "mold-heater"):
        assert np.all(np.diff(margins[name], axis=0) < 0)
    soft = margins["soft-at-ejection"]
    falls = np.isfinite(soft[0])  # infinite where the rubber is stiff enough at any temperature
    assert 0 < falls.sum() < falls.size
    assert np.all(np.diff(soft[:, falls], axis=0) < 0)


def test_the_mold_is_wet_below_the_dew_point_of_the_room():
    damp = _cavity(room={"temperature_c": 25, "humidity_pct": 90})
    dry_room = _cavity(room={"temperature_c": 25, "humidity_pct": 30})
    # psychrometric tables: 23.2 and 6.2 °C
    assert np.median(damp.dew) - 273.15 == pytest.approx(23.2, abs=0.3)
    assert np.median(dry_room.dew) - 273.15 == pytest.approx(6.2, abs=0.3)


def test_the_mold_stays_below_the_steam_onset_of_the_core():
    cavity = _cavity()
    onset = setup_of(job()).window(0.10).barrel_stage.onset()
    assert cavity.t_steam == pytest.approx(onset - 5.0)


def test_the_molds_heater_reaches_what_the_job_says():
    margin = _cavity(["mold.temperature_max_c=80"]).margins([353.15, 353.16])["mold-heater"]
    assert np.all(margin[0] > 0)
    assert np.all(margin[1] < 0)


def test_a_mold_is_not_colder_than_its_room_unless_it_is_held_so():
    window = setup_of(job(), count=1024).window(0.10)
    assert window.mold.low >= 21.0 + 273.15
    room = {"temperature_c": 35, "humidity_pct": 20}
    assert setup_of(job(room=room)).window(0.10).mold.low >= 35.0 + 273.15
    chilled = _cavity(mold=change("mold", temperature_c=12))
    at = chilled.margins([284.15, 286.15])["below-room"]
    assert np.all(at[0] < 0)
    assert np.all(at[1] > 0)


# ------------------------------------------------------------------ what it is made of


def _made_of(material, **sections):
    return _cavity(mold=change("mold", material=material), **sections)


def test_metal_is_nearly_a_perfect_mold():
    plain = _cooling(part=_THICK)[1]
    for material in ("aluminum", "brass"):
        made = _made_of(material, part=_THICK).cooling(np.full(512, 413.15), 343.15)[1]
        ends = np.isfinite(plain)
        assert np.all(made[ends] >= 0.99 * plain[ends])
        assert np.all(made[ends] <= 1.15 * plain[ends])


def test_plastic_wood_and_silicone_keep_a_part_several_times_as_long():
    metal = _made_of("aluminum", part=_THICK).cooling(np.full(512, 413.15), 313.15)[1]
    for material in ("printed", "resin", "wood", "silicone"):
        poor = _made_of(material, part=_THICK).cooling(np.full(512, 413.15), 313.15)[1]
        assert 2.5 < np.median(poor / metal) < 20.0
    plaster = _made_of("plaster", part=_THICK).cooling(np.full(512, 413.15), 313.15)[1]
    assert 1.5 < np.median(plaster / metal) < np.median(poor / metal)


def test_every_sample_cools_as_in_its_own_mold():
    """Read between a few molds: against each sample's own, solved by itself."""
    cavity = _made_of("printed", part=_THICK)
    times = cavity.cooling(np.full(512, 413.15), 313.15)[1]
    half = cavity.geometry.thickest / 2.0
    material = cavity.material
    depth = material.wall / half * np.sqrt(cavity.diffusivity / material.diffusivity)
    left = (cavity.t_steam - 313.15) / 100.0
    for i in range(0, 512, 37):
        own = fourier_in_mold("plate", left[i], cavity._ratio[i], depth[i], "center")
        assert times[i] == pytest.approx(own * half**2 / cavity.diffusivity[i], rel=0.04)


def test_a_printed_mold_stays_cold_enough_to_keep_its_shape():
    cavity = _made_of("printed")
    margin = cavity.margins([313.15, 343.15])["mold-material"]
    assert np.all(margin[0] > 0)
    assert np.mean(margin[1] < 0) > 0.7
    window = setup_of(job(mold=change("mold", material="printed"))).window(0.10)
    assert window.mold.high < 70.0 + 273.15
    assert "mold-material" in window.mold.broken
    assert "mold-material" not in _cavity().margins([313.15])


def test_a_poor_mold_chills_the_melt_less_while_it_fills():
    def fill(material):
        setup = setup_of(job(mold=change("mold", material=material), part=_THIN))
        barrel = setup.window(0.10).barrel_stage
        barrel.t_mold = 313.15
        return barrel.margins(np.array([403.15]), np.array([1500.0]))["fill"][0, 0]

    assert np.all(fill("printed") > fill("steel"))
    assert np.all(fill("steel") >= fill(None))
    assert np.median(fill("steel") - fill(None)) < 0.1


# ------------------------------------------------------------------ gate


def test_a_gate_freezes_with_the_square_of_its_thickness_and_never_in_a_warm_mold():
    made = {"ingredient": dry(corn_starch=100), "pellets": change("pellets", moisture_pct=12)}

    def seconds(mm, t_mold):
        cavity = _cavity(mold=change("mold", gate_thickness_mm=mm), **made)
        return cavity.gate_freezing(np.full(512, 413.15), t_mold)

    thin, thick = seconds(0.5, 313.15), seconds(1.0, 313.15)
    assert thick == pytest.approx(4.0 * thin)
    # a slit from a hand formula, melt at 140 °C, mold at 40: h²/(pi² alpha) ln(4/pi 100/(T - 40))
    cavity = _cavity(mold=change("mold", gate_thickness_mm=1), **made)
    drop = cavity._freezes_at - 313.15
    early = np.isfinite(thick) & (drop > 5.0) & (drop < 60.0)
    assert early.sum() > 20
    hand = 1e-6 / (np.pi**2 * cavity.diffusivity) * np.log(4.0 / np.pi * 100.0 / drop)
    assert thick[early] == pytest.approx(hand[early], rel=0.03)
    warm = seconds(1.0, 412.15)
    assert np.all(np.isinf(warm[cavity._freezes_at < 412.15]))
    assert _cavity().gate_freezing(np.full(512, 413.15), 313.15) is None


# ------------------------------------------------------------------ cooling


def _cooling(t_melt=413.15, t_mold=343.15, sets=(), **sections):
    return _cavity(sets, **sections).cooling(np.full(512, t_melt), t_mold)


def test_cooling_takes_longer_for_a_hotter_melt_and_a_warmer_mold():
    for of in (0, 1):
        by_melt = [_cooling(t_melt=t)[of] for t in (393.15, 413.15, 433.15)]
        by_mold = [_cooling(t_mold=t)[of] for t in (303.15, 343.15, 368.15)]
        for times in (by_melt, by_mold):
            with np.errstate(invalid="ignore"):  # inf - inf: too warm either way
                assert not np.any(np.diff(times, axis=0) < 0)
            assert np.any(np.asarray(times[-1]) > np.asarray(times[0]))


def test_twice_the_wall_cools_four_times_as_long():
    thin, thick = (_cooling(sets=[f"part.wall_mm={mm}"])[1] for mm in (2, 4))
    assert thick == pytest.approx(4.0 * thin, rel=1e-6)


def test_a_mold_too_warm_never_lets_go():
    _, core = _cooling(t_mold=385.15)
    assert np.mean(np.isinf(core)) > 0.5


def test_where_the_rubber_is_stiff_only_steam_binds():
    cavity = _cavity()
    stiff, core = cavity.cooling(np.full(512, 413.15), 343.15)
    rubbery = np.isinf(cavity.t_stiff)
    assert rubbery.any()
    assert np.all(stiff[rubbery] <= core[rubbery])


def test_a_rod_cools_faster_than_a_plate_as_thick():
    plate = {"solid": [{"shape": "plate", "length_mm": 60, "width_mm": 20, "thickness_mm": 5}]}
    rod = {"solid": [{"shape": "rod", "length_mm": 60, "diameter_mm": 5}]}
    assert np.all(_cooling(part=rod)[1] < _cooling(part=plate)[1])


# ------------------------------------------------------------------ the window


def test_a_mold_held_at_a_temperature_is_judged_there():
    window = setup_of(job(mold=change("mold", temperature_c=62))).window(0.10)
    assert window.mold.best == pytest.approx(62.0 + 273.15)
    assert window.barrel_stage.t_mold == window.mold.best


def test_the_mold_window_lies_between_dew_point_and_steam():
    window = setup_of(job()).window(0.10)
    dew, onset = np.median(window.cavity.dew), np.median(window.barrel_stage.onset())
    assert dew - 3.0 < window.mold.low < window.mold.best < window.mold.high < onset


def test_a_cavity_for_some_samples_is_the_cavity_of_these_samples():
    """Moistures folded into one run are taken apart again: nothing may leak between them."""
    cavity = _cavity()
    half = slice(0, cavity.bench.count // 2)
    part = cavity.part(half, cavity.bench)
    for t_melt, t_mold in ((413.15, 343.15), (433.15, 313.15)):
        whole = cavity.core_cooling(t_melt, t_mold)
        assert np.array_equal(part.core_cooling(t_melt, t_mold), whole[half])
    assert np.array_equal(part.t_steam, cavity.t_steam[half])


def test_its_mold_is_that_of_these_samples_too():
    cavity = _cavity(mold=change("mold", material="silicone"))
    half = slice(cavity.bench.count // 2, None)
    part = cavity.part(half, cavity.bench)
    assert np.array_equal(part.material.diffusivity, cavity.material.diffusivity[half])
    assert np.shape(part.core_cooling(413.15, 343.15)) == (cavity.bench.count // 2,)
