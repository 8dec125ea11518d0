"""Filling: what the part, the mold and the solids ask of the ram."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import heat
from moldwin.stages.bench import Bench
from tests.jobs import change, dry, job, row, setup_of

_T = np.array([403.15, 413.15, 423.15])
_LONG_SOAK = np.array([1500.0])


def _setup(sets=(), **sections):
    return setup_of(job(**sections), sets)


def _fill(sets=(), t_mold=343.15, **sections):
    """ln of the pressure at hand over the pressure needed, at one mold temperature."""
    setup = _setup(sets, **sections)
    barrel = setup.window(setup.bench.job.pellets.moisture).barrel_stage
    barrel.t_mold = t_mold
    return barrel.margins(_T, _LONG_SOAK)["fill"][:, 0]


def test_pressure_needed_falls_with_temperature():
    assert np.all(np.diff(_fill(), axis=0) > 0)


def test_pressure_needed_rises_with_the_flow_length():
    lengths = [_fill([f"part.flow_length_mm={mm}"]) for mm in (20, 40, 80, 160)]
    assert np.all(np.diff(lengths, axis=0) < 0)


def test_pressure_needed_falls_with_the_wall():
    walls = [_fill([f"part.wall_mm={mm}"]) for mm in (0.8, 1.5, 2.5, 4)]
    assert np.all(np.diff(walls, axis=0) > 0)


def test_a_wider_or_shorter_nozzle_helps():
    nozzle = {"nozzle_diameter_mm": 3, "nozzle_length_mm": 10}
    plain = _fill(press=change("press", **nozzle))
    wider = _fill(press=change("press", **{**nozzle, "nozzle_diameter_mm": 5}))
    shorter = _fill(press=change("press", **{**nozzle, "nozzle_length_mm": 3}))
    assert np.all(wider > plain)
    assert np.all(shorter > plain)


def _nozzle_drop(length_mm):
    """Pressure over K that the nozzle takes at the unit flow, without spread."""
    press = change("press", nozzle_diameter_mm=3, nozzle_length_mm=length_mm)
    setup = setup_of(job(press=press), spread=0.0)
    flow = setup.window(0.10).barrel_stage.flow
    drop = np.exp(flow._resistances(setup.geometry)[0])
    assert np.ptp(drop) <= 1e-9 * drop.max()
    return float(drop[0])


def test_the_entrance_shows_in_a_bagley_plot():
    """Pressure against nozzle length is a straight line that meets zero 4 radii below zero."""
    lengths = np.array([2.0, 5.0, 10.0, 20.0])
    drops = np.array([_nozzle_drop(mm) for mm in lengths])
    slope, intercept = np.polyfit(lengths, drops, 1)
    assert np.polyval([slope, intercept], lengths) == pytest.approx(drops, rel=1e-9)
    assert -intercept / slope == pytest.approx(-4.0 * 1.5)


def _with_entrance(monkeypatch, radii):
    typical = Bench.typical

    def changed(self, card, key):
        found = typical(self, card, key)
        return np.full_like(found, radii) if key == "entrance_radii" else found

    monkeypatch.setattr(Bench, "typical", changed)


def test_the_entrance_is_so_much_more_bore(monkeypatch):
    """Four radii of a bore of 3 mm: as if it were 6 mm longer, whatever the part takes."""

    def fill(length_mm, radii):
        with monkeypatch.context() as patch:
            _with_entrance(patch, radii)
            press = change("press", nozzle_diameter_mm=3, nozzle_length_mm=length_mm)
            return _fill(press=press)

    assert fill(10, 4.0) == pytest.approx(fill(16, 0.0), rel=1e-9)
    assert np.all(fill(10, 4.0) < fill(10, 0.0))


def test_the_melt_loses_the_heat_of_the_time_it_takes():
    """The melt of the mean never gets colder than the mold, nor hotter than it came."""
    setup = _setup()
    flow = setup.window(0.10).barrel_stage.flow
    time, t_fill = flow.filling(setup.geometry, 413.15, 343.15)
    fourier = flow.diffusivity * time / setup.geometry.thickness**2
    lost = (413.15 - t_fill) / 70.0
    assert lost == pytest.approx(heat.filling_heat_loss(fourier, check=False))
    assert np.all((lost > 0) & (lost < 1))


def test_the_filling_time_asks_for_the_least_pressure():
    """Where the closed form is not clipped, quicker and slower both need more."""
    setup = _setup()
    flow = setup.window(0.10).barrel_stage.flow
    t_melt, t_mold = 413.15, 343.15
    time, _ = flow.filling(setup.geometry, t_melt, t_mold)
    scale = flow.diffusivity / setup.geometry.thickness**2
    longest = setup.bench.typical("press", "flow_time_longest")
    lost = heat.filling_heat_loss(scale * time, check=False)
    free = (time > 0.1) & (time < 0.99 * longest) & (lost < 0.3)
    assert free.sum() > 20

    def needed(t):
        loss = heat.filling_heat_loss(scale * t, check=False)
        # ln K rises by activation/T^2 for every kelvin lost, ln of the rate falls by ln t
        return -flow.n * np.log(t) + flow.activation * (t_melt - t_mold) / t_melt**2 * loss

    for other in (0.8, 1.25):
        assert np.all((needed(other * time) > needed(time))[free])


def test_a_warmer_mold_helps():
    molds = [_fill(t_mold=t) for t in (293.15, 333.15, 363.15)]
    assert np.all(np.diff(molds, axis=0) > 0)


def test_glycerol_and_water_thin_the_melt():
    plain = _fill(ingredient=dry(corn_starch=100))
    assert np.all(_fill(ingredient=dry(corn_starch=80, glycerol=20)) > plain)
    wet = [_fill([f"pellets.moisture_pct={pct}"]) for pct in (6, 10, 14)]
    assert np.all(np.diff(wet, axis=0) > 0)


def test_solids_thicken_by_the_published_form():
    """(1 - phi/phi_max)^-2: at phi .2 about 2.3 times the pressure, without spread."""

    def median(cellulose):
        recipe = dry(corn_starch=70, glycerol=20)
        if cellulose:
            recipe.append(row("cellulose", cellulose, 0))
        # both at once: solids also stretch the nozzle, which is the same factor
        setup = setup_of(job(ingredient=recipe), spread=0.0)
        barrel = setup.window(0.10).barrel_stage
        barrel.t_mold = 343.15
        return float(barrel.margins(_T, _LONG_SOAK)["fill"][1, 0, 0])

    dry_mass = 90 + 25
    water = 0.1 / 0.9 * dry_mass
    phi = (25 / 1.6) / (25 / 1.6 + 90 / 1.5 + water)
    factor = (1 - phi / 0.575) ** -2
    assert 0.1 < phi < 0.25
    assert median(0) - median(25) == pytest.approx(np.log(factor), rel=0.10)


def test_more_solids_never_flow_better():
    fills = [
        _fill(ingredient=dry(corn_starch=70, glycerol=20, cellulose=grams))
        for grams in (1, 10, 25, 50, 200)
    ]
    assert np.all(np.diff(fills, axis=0) < 0)


def test_two_cavities_ask_for_more():
    one, two = (_fill(mold=change("mold", cavities=n)) for n in (1, 2))
    assert np.all(two < one)


def test_a_colder_charge_in_the_middle_takes_force_away():
    """The share that reaches the melt falls with the core that has not welded yet."""
    setup = _setup()
    barrel = setup.window(0.10).barrel_stage
    soaks = np.array([250.0, 400.0, 700.0, 1500.0])
    fill = barrel.margins(_T, soaks)["fill"]
    assert np.all(np.diff(fill, axis=1) >= -1e-12)
    assert np.all(fill[:, -1] > fill[:, 0])


def test_freezing_is_nearer_in_a_thin_cold_part():
    def margin(wall, t_mold):
        barrel = _setup([f"part.wall_mm={wall}"]).window(0.10).barrel_stage
        barrel.t_mold = t_mold
        return barrel.freezing_margin(413.15, 800.0)

    assert np.all(margin(1.0, 303.15) <= margin(3.0, 303.15) + 1e-9)
    # the ram is quick enough to lose the same heat to a colder mold, until a hand is too slow
    assert np.all(margin(2.0, 303.15) <= margin(2.0, 353.15) + 1e-9)
    assert np.median(margin(0.8, 283.15)) < np.median(margin(0.8, 363.15)) - 1.0


def test_a_wet_starch_melt_lies_in_the_published_range():
    """Xie 2009: 277 to 1254 Pa s at 100 1/s for 19 to 27 % water at 110 to 140 °C."""
    setup = setup_of(job(ingredient=dry(corn_starch=100)), spread=0.0)
    barrel = setup.window(0.23).barrel_stage
    n = float(setup.bench.of(setup.bench.card("corn-starch"), "flow_index")[0])
    ln_k = float(barrel.flow.consistency(125.0 + 273.15)[0])
    eta = np.exp(ln_k) * 100.0 ** (n - 1.0)
    assert eta == pytest.approx(610.0, rel=0.05)  # derived from the pivot and the slopes
    assert 277.0 < eta < 1254.0
