"""Where steam starts in the barrel, and what holds it down."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.vapor import standard_air_pressure
from tests.jobs import change, dry, job, setup_of

_COMPOUND = dry(corn_starch=70, glycerol=20)


def _barrel(w=0.10, ingredients=None, altitude=0, press=None, **options):
    pellets = change("pellets", moisture_pct=100 * w, moisture_u_pct=0)
    room = {"temperature_c": 21, "humidity_pct": 48, "altitude_m": altitude}
    made = job(
        ingredient=ingredients or _COMPOUND,
        pellets=pellets,
        room=room,
        press=press or change("press", heater_u_c=0),
    )
    return setup_of(made, **options).window(w).barrel_stage


def test_the_onset_of_the_compound_by_the_assumed_range_of_attraction():
    """Derived by hand for chi1 from 1.4 to 0.9: 109 to 117 °C at sea level."""
    barrel = _barrel(count=2048)
    onset = barrel.onset() - 273.15
    chi1 = barrel.bench.typical("melt", "chi1")
    assert onset[chi1.argmax()] == pytest.approx(109.0, abs=1.0)
    assert onset[chi1.argmin()] == pytest.approx(117.0, abs=1.0)
    # and no other number takes it outside
    assert onset.min() >= 108.0
    assert onset.max() <= 118.0


def test_it_falls_by_five_kelvin_at_fifteen_hundred_meters():
    low, high = _barrel(), _barrel(altitude=1500)
    assert low.onset() - high.onset() == pytest.approx(np.full(512, 5.0), abs=1.0)


@pytest.mark.parametrize("w", [0.08, 0.10, 0.15, 0.25], ids=lambda w: f"{100 * w:.0f}-percent")
def test_at_the_onset_the_steam_just_passes_the_air(w):
    barrel = _barrel(w)
    pressure = barrel.steam_pressure(barrel.onset())
    assert pressure == pytest.approx(np.full(512, 101325.0), rel=0.01)


@pytest.mark.parametrize("w", [0.03, 0.05, 0.08, 0.10])
def test_at_the_onset_of_glassy_pellets_the_steam_just_passes_the_air(w):
    """Without plasticizer the onset lies where the isotherm hands over to the melt's law."""
    barrel = _barrel(w, dry(corn_starch=100))
    pressure = barrel.steam_pressure(barrel.onset())
    assert pressure == pytest.approx(np.full(512, 101325.0), rel=0.01)


def test_thinner_air_lowers_the_onset_of_dry_starch_in_every_sample():
    onsets = [
        _barrel(0.05, dry(corn_starch=100), altitude=meters).onset() for meters in (0, 800, 1500)
    ]
    assert np.all(np.diff(onsets, axis=0) < 0)


def test_it_falls_with_water():
    onsets = [_barrel(w).onset() for w in (0.05, 0.08, 0.12, 0.2, 0.3)]
    assert np.all(np.diff(onsets, axis=0) < 0)
    assert np.all(np.array(onsets) > 373.0)  # never below that of pure water


def test_the_air_of_the_room_is_the_standard_atmosphere():
    assert _barrel(altitude=1500).air_pressure == pytest.approx(standard_air_pressure(1500.0))


# ------------------------------------------------------------------ sealed and not


def _steam_margin(sealed, t_c, force_kn=6):
    press = change("press", heater_u_c=0, sealed_nozzle=sealed, force_kn=force_kn)
    barrel = _barrel(press=press)
    t = np.atleast_1d(t_c) + 273.15
    return barrel, barrel.margins(t, np.array([600.0]))["steam"][:, 0]


def test_unsealed_the_onset_is_the_limit():
    barrel, _ = _steam_margin(False, 110)
    onset = barrel.onset()
    for offset, holds in ((-1.0, True), (1.0, False)):
        t = np.array([np.median(onset)]) + offset
        margin = barrel.margins(t, np.array([600.0]))["steam"][0, 0]
        beyond = onset > t + 0.2 if holds else onset < t - 0.2
        assert np.all((margin[beyond] > 0) == holds)


def test_sealed_the_packing_holds_the_steam_far_above_the_onset():
    _, unsealed = _steam_margin(False, 150)
    _, sealed = _steam_margin(True, 150)
    assert np.all(unsealed < 0)
    assert np.all(sealed > 0)


def test_more_force_holds_more_steam():
    margins = [_steam_margin(True, 170, force)[1] for force in (1, 3, 9)]
    assert np.all(np.diff(margins, axis=0) > 0)


def test_the_margin_falls_with_temperature_and_water():
    _, by_temperature = _steam_margin(True, np.arange(90.0, 220.0, 10.0))
    assert np.all(np.diff(by_temperature, axis=0) < 0)
    by_water = [
        _barrel(w).margins(np.array([410.0]), np.array([600.0]))["steam"][0, 0]
        for w in (0.05, 0.1, 0.2)
    ]
    assert np.all(np.diff(by_water, axis=0) < 0)
