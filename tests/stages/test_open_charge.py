"""An open charge dries while it soaks: how far, and which limits hear of it."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.vapor import water_saturation_pressure
from moldwin.stages.bench import Bench
from moldwin.stages.melting import LOW_LIMITS
from moldwin.stages.moisture import HotActivity
from moldwin.stages.softening import glass_transition
from tests.jobs import change, dry, job, setup_of

_COMPOUND = dry(corn_starch=70, glycerol=20)
_SET_POINTS = np.arange(363.15, 453.16, 10.0)
_SOAKS = np.array([400.0, 800.0, 1600.0])
_LONG = np.array([2e4])


def _setup(sealed=False, ingredients=None, sets=(), **options):
    made = job(
        ingredient=ingredients or _COMPOUND,
        pellets=change("pellets", moisture_u_pct=0),
        press=change("press", sealed_nozzle=sealed, heater_u_c=0),
    )
    return setup_of(made, sets, **options)


def _barrel(w=0.10, sealed=False, ingredients=None, **options):
    setup = _setup(sealed, ingredients, [f"pellets.moisture_pct={100 * w:g}"], **options)
    barrel = setup.window(w).barrel_stage
    barrel.t_mold = 343.15
    return barrel


def _with_attraction(monkeypatch, chi1):
    """Every sample at one attraction between water and melt."""
    typical = Bench.typical

    def changed(self, card, key):
        found = typical(self, card, key)
        return np.full_like(found, chi1) if key == "chi1" else found

    monkeypatch.setattr(Bench, "typical", changed)


# ------------------------------------------------------------------ how far it dries


@pytest.mark.parametrize(
    ("celsius", "chi1", "percent", "digit"),
    [
        (120, 0.7, 10, 0.5),
        (120, 1.4, 5, 0.5),
        (130, 0.7, 6.6, 0.1),
        (130, 1.4, 3.2, 0.1),
        (140, 0.7, 4.6, 0.1),
        (140, 1.4, 2.2, 0.1),
    ],
)
def test_what_the_compound_holds_as_derived(monkeypatch, celsius, chi1, percent, digit):
    """70/20/10: 10 to 5 % at 120 °C, 6.6 to 3.2 at 130, 4.6 to 2.2 at 140, chi1 .7 to 1.4."""
    _with_attraction(monkeypatch, chi1)
    charge = _setup().material.at(0.10).open_charge
    held = 100.0 * charge.moisture(np.full(512, celsius + 273.15))
    assert np.median(held) == pytest.approx(percent, abs=digit)


def test_its_steam_then_pushes_just_as_hard_as_the_air():
    setup = _setup()
    material = setup.material
    for celsius in (115.0, 130.0, 150.0):
        t = np.full(512, celsius + 273.15)
        w = material.at(0.10).open_charge.moisture(t)
        tg = material.glass_transition(w)
        hot = HotActivity(setup.bench, material.blend, w, tg, material.isotherm.activity(w))
        pressure = hot.at(t) * water_saturation_pressure(t)
        assert pressure == pytest.approx(np.full(512, 101325.0), rel=0.03)


def test_the_glass_transition_is_the_mixing_laws_own():
    setup = _setup()
    state = setup.material.at(0.10)
    for w in (0.01, 0.05, 0.14):
        at = np.full(512, w)
        law = glass_transition(setup.bench, setup.material.blend, at)
        ours = state.open_charge.glass_transition(state.w_water, state.tg, at)
        assert ours == pytest.approx(law, abs=1e-4)


def test_drying_at_130_degrees_takes_the_compound_from_30_to_53_to_66_degrees_and_thickens_it():
    """Derived: the glass transition rises from 30 to 53-66 °C, the melt thickens 2 to 3 times."""
    barrel = _barrel(count=2048)
    wall = np.full((1, 1, 1), 403.15)
    dried = barrel.charge(wall, _LONG)
    tg = np.median(dried.t_weld - (barrel.t_weld - barrel.state.tg)) - 273.15
    assert np.median(barrel.state.tg) - 273.15 == pytest.approx(30.0, abs=2.0)
    assert 53.0 < tg < 66.0
    thicker = np.exp(dried.flow.consistency(403.15) - barrel.flow.consistency(403.15))
    assert 2.0 < np.median(thicker) < 3.0


# ------------------------------------------------------------------ over time


def test_it_holds_what_was_loaded_below_the_onset_and_less_the_longer_and_hotter():
    barrel = _barrel()
    wall = barrel.true_temperature(_SET_POINTS)
    held = barrel.moisture_at_fill(wall, _SOAKS)
    below = barrel.onset().min() > _SET_POINTS
    assert np.all(held[below] == pytest.approx(0.10))
    assert np.all(np.diff(held, axis=0) <= 1e-9)
    assert np.all(np.diff(held, axis=1) <= 1e-9)
    assert np.all(held[-1, -1] < 0.05)
    assert np.all(held > 0.0)


def test_at_last_it_holds_what_is_even_with_the_wall():
    barrel = _barrel()
    wall = barrel.true_temperature(np.array([408.15]))
    held = barrel.moisture_at_fill(wall, np.array([1e6]))
    even = barrel.state.open_charge.moisture(wall)
    assert held == pytest.approx(even, abs=2e-4)


def test_the_heat_it_takes_keeps_the_middle_near_the_onset():
    wall, soak = np.full((1, 1, 1), 413.15), np.array([600.0])
    open_, sealed = (
        _barrel(sealed=shut).charge_temperature(wall, soak, "center") for shut in (False, True)
    )
    onset = _barrel().onset()
    assert np.median(sealed - onset) > 15.0
    assert np.all(open_ < sealed)
    assert 0.0 < np.median(open_ - onset) < 8.0


def test_thinner_air_dries_it_further():
    low, high = (
        _setup(sets=[f"room.altitude_m={meters}"]).material.at(0.10).open_charge
        for meters in (0, 1500)
    )
    t = np.full(512, 403.15)
    assert np.all(high.moisture(t) < low.moisture(t))


# ------------------------------------------------------------------ which limits hear of it


def _margins(**options):
    barrel = _barrel(**options)
    shape = (len(_SET_POINTS), len(_SOAKS), barrel.bench.count)
    found = barrel.margins(_SET_POINTS, _SOAKS)
    return barrel, {name: np.broadcast_to(m, shape) for name, m in found.items()}


def test_below_the_onset_an_open_charge_is_like_a_sealed_one():
    barrel, open_ = _margins()
    _, sealed = _margins(sealed=True)
    below = _SET_POINTS[:, None] + np.zeros(512) < barrel.onset()
    for name in (*LOW_LIMITS, "browning", "fumes", "heater"):
        if name in open_:
            part = np.broadcast_to(below[:, None, :], open_[name].shape)
            assert open_[name][part] == pytest.approx(sealed[name][part])


@pytest.mark.parametrize("name", ["weld", "fill"])
def test_above_it_a_dry_starch_stiffens_as_it_dries(name):
    options = {"ingredients": dry(corn_starch=100), "w": 0.12}
    barrel, open_ = _margins(**options)
    _, sealed = _margins(sealed=True, **options)
    hot = _SET_POINTS[-2:, None] > barrel.onset() + 20.0
    part = np.broadcast_to(hot[:, None, :], open_[name][-2:].shape)
    assert np.all(open_[name][-2:][part] < sealed[name][-2:][part])
    # so that heating on does not soften it: none at all of them fill
    assert np.mean(open_["fill"][-1] > 0) < 0.5 * np.mean(sealed["fill"][-1] > 0)


def test_granules_lose_the_water_they_would_melt_with():
    options = {"ingredients": dry(corn_starch=100), "w": 0.14, "sets": ["blend.cooked=false"]}
    made = job(
        ingredient=options["ingredients"],
        blend={"cooked": False},
        pellets=change("pellets", moisture_pct=14, moisture_u_pct=0),
    )
    margins = []
    for sealed in (False, True):
        made["press"] = change("press", sealed_nozzle=sealed, heater_u_c=0)
        barrel = setup_of(made).window(0.14).barrel_stage
        margins.append(barrel.margins(np.array([443.15]), _LONG)["granules"][0, 0])
    assert np.all(margins[0] < margins[1])


def test_a_low_limit_that_holds_at_the_onset_goes_on_holding_beyond():
    """There the steam is the limit; what closes the window has one name and one side."""
    for ingredients, w in ((_COMPOUND, 0.10), (dry(corn_starch=100), 0.14)):
        barrel, found = _margins(ingredients=ingredients, w=w)
        beyond = (_SET_POINTS[:, None] > barrel.onset())[:, None, :]
        for name in ("weld", "fill"):
            held = ((found[name] > 0) & ~beyond).any(axis=0)
            assert held.any() or w > 0.10  # the dry starch does not fill below its onset at all
            assert np.all((found[name] > 0) | ~beyond | ~held)


def test_the_steam_limit_is_where_it_was_for_what_was_loaded():
    barrel, found = _margins()
    breaks = found["steam"][:, 0] < 0
    assert np.array_equal(breaks, _SET_POINTS[:, None] > barrel.onset() - 1e-9)


# ------------------------------------------------------------------ sealed


def test_a_sealed_charge_is_pressed_as_it_was_loaded():
    barrel = _barrel(sealed=True)
    wall = barrel.true_temperature(_SET_POINTS)
    assert barrel.moisture_at_fill(wall, _SOAKS) is barrel.state.w_water
    assert barrel.charge(wall, _SOAKS).flow is barrel.flow


def test_what_its_voids_take_up_is_less_than_a_tenth_of_a_readings_uncertainty_of_half_a_point():
    setup = _setup(sealed=True)
    barrel = setup.window(0.10).barrel_stage
    share = setup.bench.typical("press", "loose_fill_share")
    t = 413.15
    density = barrel.steam_pressure(np.full(512, t)) * 0.018015 / (8.314 * t)
    lost = (1.0 / share - 1.0) / 1350.0 * density  # kg of steam a kg of melt
    assert np.all(lost < 0.1 * 0.01)
    assert np.median(lost) == pytest.approx(0.0006, abs=0.0002)
