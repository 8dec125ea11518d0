"""Filling: what the part, the mold and the solids ask of the ram."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import flow, viscosity
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
    drop = np.exp(flow._nozzle())
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


# ------------------------------------------------------------------ the melt's law


def _around_join(spread=1.0):
    setup = setup_of(job(), spread=spread)
    state = setup.material.at(0.10)
    return state.tg, setup.window(0.10).barrel_stage.flow


def test_the_laws_join_without_a_jump_fifty_kelvin_above_the_glass():
    tg, flow = _around_join()
    for step in (1e-3, 1e-6):
        above, below = (flow.consistency(tg + 50.0 + sign * step) for sign in (1.0, -1.0))
        assert below == pytest.approx(above, abs=2.0 * step)  # a slope below 1 each kelvin
    at = flow.consistency(tg + 50.0)
    assert at == pytest.approx(
        flow.consistency(tg + 70.0) + flow.activation * (1.0 / (tg + 50.0) - 1.0 / (tg + 70.0))
    )


def test_below_the_join_a_melt_of_index_n_stiffens_by_the_nth_power_of_the_shift():
    """At constant rate; at constant stress, where the rate adapts, it is the whole shift."""
    tg, flow = _around_join()
    assert np.ptp(flow.n) > 0.1
    for above in (45.0, 30.0, 10.0, 0.0):
        shift = viscosity.shift_wlf(tg + above, tg) / viscosity.shift_wlf(tg + 50.0, tg)
        stiffer = flow.consistency(tg + above) - flow.consistency(tg + 50.0)
        assert stiffer == pytest.approx(flow.n * np.log(shift), rel=1e-9)
        stress = 1e5
        ln_rates = [(np.log(stress) - flow.consistency(tg + t)) / flow.n for t in (above, 50.0)]
        # viscosity is stress over rate
        assert ln_rates[1] - ln_rates[0] == pytest.approx(np.log(shift), rel=1e-9)


def test_a_newtonian_melt_would_stiffen_by_the_whole_shift():
    tg, flow = _around_join(spread=0.0)
    flow.n = np.ones(512)
    stiffer = flow.consistency(tg + 20.0) - flow.consistency(tg + 50.0)
    shift = viscosity.shift_wlf(tg + 20.0, tg) / viscosity.shift_wlf(tg + 50.0, tg)
    assert stiffer == pytest.approx(np.log(shift), rel=1e-9)


# ------------------------------------------------------------------ trends


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
    """By their runner too, if it is as long; the same volume would make it shorter."""
    one, two = (_fill(mold=change("mold", cavities=n, runner_volume_cm3=0)) for n in (1, 2))
    assert np.all(two < one)
    runner = {"runner_diameter_mm": 4, "runner_length_mm": 30}
    one, two = (_fill(mold=change("mold", cavities=n, **runner)) for n in (1, 2))
    assert np.mean(two < one) > 0.95


def test_a_colder_charge_in_the_middle_takes_force_away():
    """The share that reaches the melt falls with the core that has not welded yet."""
    setup = _setup()
    barrel = setup.window(0.10).barrel_stage
    soaks = np.array([250.0, 400.0, 700.0, 1500.0])
    fill = barrel.margins(_T, soaks)["fill"]
    assert np.all(np.diff(fill, axis=1) >= -1e-12)
    assert np.all(fill[:, -1] > fill[:, 0])


def test_a_wet_starch_melt_lies_in_the_published_range():
    """Xie 2009: 277 to 1254 Pa s at 100 1/s for 19 to 27 % water at 110 to 140 °C."""
    setup = setup_of(job(ingredient=dry(corn_starch=100)), spread=0.0)
    barrel = setup.window(0.23).barrel_stage
    n = float(setup.bench.of(setup.bench.card("corn-starch"), "flow_index")[0])
    ln_k = float(barrel.flow.consistency(125.0 + 273.15)[0])
    eta = np.exp(ln_k) * 100.0 ** (n - 1.0)
    # by hand: 900 Pa s at 160 °C and 15 %, 4250 K, 17.5 for each kg/kg of water
    by_hand = 900.0 * np.exp(4250.0 * (1.0 / 398.15 - 1.0 / 433.15) - 17.5 * 0.08)
    assert eta == pytest.approx(by_hand, rel=1e-6)
    assert by_hand == pytest.approx(526.0, abs=0.5)
    assert 277.0 < eta < 1254.0


# ------------------------------------------------------------------ gate


def test_a_gate_is_a_section_of_the_flow_and_the_thinner_the_worse():
    plain = _fill()
    gates = [_fill([f"mold.gate_thickness_mm={mm}"]) for mm in (3, 1.5, 0.8, 0.4)]
    assert np.all(gates[0] < plain)
    assert np.all(np.diff(gates, axis=0) < 0)


def test_the_gate_takes_what_a_slit_of_its_size_takes():
    setup = setup_of(job(), ["mold.gate_thickness_mm=1"], spread=0.0)
    flow_of = setup.window(0.10).barrel_stage.flow
    n = float(flow_of.n[0])
    # 1 mm thick, 3 mm wide, 1 mm long and four half-thicknesses of entrance, at 1 cm³/s of shot
    part = setup.geometry.volume / setup.geometry.shot_volume
    rate = 2.0 * (2.0 * n + 1.0) / n * 1e-6 * part / (3e-3 * 1e-3**2)
    by_hand = 2.0 * 3e-3 / 1e-3 * rate**n
    assert np.exp(flow_of._gate(setup.geometry)) == pytest.approx(np.full(512, by_hand), rel=1e-6)


@pytest.mark.parametrize("gate", [None, 0.8])
def test_the_sections_share_the_whole_pressure(gate):
    setup = _setup([] if gate is None else [f"mold.gate_thickness_mm={gate}"])
    flow_of = setup.window(0.10).barrel_stage.flow
    t_melt = np.array([360.0, 403.15, 430.0])[:, None, None] + np.zeros((3, 2, 512))
    shares = flow_of.pressure_shares(setup.geometry, t_melt, 343.15)
    assert list(shares) == ["nozzle", "runner", *(["gate"] if gate else []), "part"]
    assert all(share.shape == t_melt.shape for share in shares.values())
    assert all(np.all((share > 0) & (share < 1)) for share in shares.values())
    assert sum(shares.values()) == pytest.approx(np.ones(t_melt.shape), rel=1e-12)


def test_a_sections_share_is_its_own_pressure_over_the_whole():
    """The nozzle's by the tube's law at the flow that fills best, with melt as hot as it came."""
    setup = _setup(["mold.gate_thickness_mm=0.8"])
    flow_of = setup.window(0.10).barrel_stage.flow
    t_melt = np.full(512, 403.15)
    time, _ = flow_of.filling(setup.geometry, t_melt, 343.15)
    whole = np.exp(flow_of.pressure_needed(setup.geometry, t_melt, 343.15))
    entrance = setup.bench.typical("press", "entrance_radii") * 1.5e-3
    tube = flow.power_law_tube(
        np.exp(flow_of.consistency(t_melt)),
        flow_of.n,
        setup.geometry.shot_volume / time,
        1.5e-3,
        10e-3 + entrance,
    )
    shares = flow_of.pressure_shares(setup.geometry, t_melt, 343.15)
    assert shares["nozzle"] == pytest.approx(tube / whole, rel=1e-9)


def test_two_cavities_have_two_gates():
    """Each passes half of the shot, so that the gates take less of the pressure, not more."""
    one, two = (_setup(sets=["mold.gate_thickness_mm=0.8", f"mold.cavities={n}"]) for n in (1, 2))
    gates = [s.window(0.10).barrel_stage.flow._gate(s.geometry) for s in (one, two)]
    assert np.all(gates[1] < gates[0])
