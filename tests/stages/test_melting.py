"""The barrel's margins: which way each limit pulls, and the figures behind them."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.stages.melting import HIGH_LIMITS, LOW_LIMITS
from tests.jobs import change, dry, job, row, setup_of

SET_POINTS = np.arange(363.15, 483.16, 10.0)
SOAKS = np.array([240.0, 360.0, 500.0, 700.0, 1000.0])
_FIBERED = [
    row("corn-starch", 70, 0),
    row("glycerol", 20, 0),
    row("flax-fiber", 5, 0),
    row("sodium-alginate", 5, 0),
]


def _barrel(w=0.10, sets=(), **sections):
    options = {key: sections.pop(key) for key in ("spread", "count") if key in sections}
    setup = setup_of(job(**sections), [f"pellets.moisture_pct={100 * w:g}", *sets], **options)
    return setup.window(w).barrel_stage


def _margins(*args, t=SET_POINTS, soak=SOAKS, **kwargs):
    barrel = _barrel(*args, **kwargs)
    shape = (len(t), len(soak), barrel.bench.count)
    return {k: np.broadcast_to(m, shape) for k, m in barrel.margins(t, soak).items()}


@pytest.fixture(scope="module")
def every_margin():
    return _margins(ingredient=_FIBERED, blend={"cooked": False})


# ------------------------------------------------------------------ trends


def test_every_limit_of_the_contract_can_be_there(every_margin):
    assert set(every_margin) == {*LOW_LIMITS, *HIGH_LIMITS}
    assert LOW_LIMITS == ("weld", "fill", "granules")
    assert HIGH_LIMITS == ("browning", "fiber-scorch", "fumes", "steam", "heater")


@pytest.mark.parametrize("name", LOW_LIMITS)
def test_low_limits_gain_with_temperature(every_margin, name):
    assert np.all(np.diff(every_margin[name], axis=0) > 0)


@pytest.mark.parametrize("name", HIGH_LIMITS)
def test_high_limits_lose_with_temperature(every_margin, name):
    assert np.all(np.diff(every_margin[name], axis=0) < 0)


@pytest.mark.parametrize("name", LOW_LIMITS)
def test_low_limits_gain_with_soak(every_margin, name):
    assert np.all(np.diff(every_margin[name], axis=1) >= 0)
    assert np.all(every_margin[name][:, -1] > every_margin[name][:, 0])


def test_browning_loses_with_soak_and_nothing_else_does(every_margin):
    assert np.all(np.diff(every_margin["browning"], axis=1) < 0)
    for name in ("fiber-scorch", "fumes", "heater"):
        assert np.all(np.diff(every_margin[name], axis=1) == 0)


def test_more_water_softens_welds_and_flows():
    held = ["mold.temperature_c=70"]  # the mold that fills best is another for each moisture
    drier, wetter = _margins(0.06, held), _margins(0.14, held)
    for name in ("weld", "fill"):
        assert np.all(wetter[name] > drier[name])
    assert np.all(wetter["steam"] < drier["steam"])


def test_more_force_fills_and_changes_no_other_low_limit():
    weak, strong = (
        _margins(sets=["mold.temperature_c=70", f"press.force_kn={force}"]) for force in (3, 9)
    )
    # three times the force is three times the pressure: ln 3 in every sample
    assert strong["fill"] - weak["fill"] == pytest.approx(np.full_like(weak["fill"], np.log(3.0)))
    assert np.array_equal(strong["weld"], weak["weld"])
    assert np.array_equal(strong["browning"], weak["browning"])


def test_a_smaller_plunger_presses_harder():
    wide, narrow = (
        _margins(press=change("press", plunger_diameter_mm=bore, barrel_diameter_mm=16))
        for bore in (16, 12)
    )
    # compared before the colder plug matters: the charge is warm after the longest soak
    assert np.all(narrow["fill"][-1, -1] > wide["fill"][-1, -1])


def test_the_limits_of_what_is_not_in_the_blend_are_not_there():
    plain = _margins(ingredient=dry(corn_starch=100))
    assert not {"granules", "fiber-scorch", "fumes"} & set(plain)


# ------------------------------------------------------------------ heater, fibers, fumes


def test_the_heater_reaches_what_the_job_says_and_no_more():
    margin = _margins(sets=["press.heater_max_c=180"], t=np.array([453.15, 453.16]))["heater"]
    assert np.all(margin[0] > 0)
    assert np.all(margin[1] < 0)


def test_fiber_scorches_from_what_was_read_at_the_wall():
    margin = _margins(ingredient=_FIBERED, spread=0.0, t=np.array([432.15, 434.15]))
    assert np.all(margin["fiber-scorch"][0] > 0)  # flax from 160 °C
    assert np.all(margin["fiber-scorch"][1] < 0)


def test_fumes_stop_well_below_what_was_read():
    margin = _margins(spread=0.0, t=np.array([472.15, 474.15]))["fumes"]
    assert np.all(margin[0] > 0)  # aldehydes from 215 °C, 15 K kept from there
    assert np.all(margin[1] < 0)


def test_flax_in_a_hot_barrel_scorches_while_browning_still_lets_some_through():
    """No threshold is out of reach: at 165 °C for a short soak some samples break it first."""
    found = _margins(ingredient=_FIBERED, t=np.array([438.15]), soak=np.array([150.0]), count=2048)
    scorched, browned = found["fiber-scorch"][0, 0] < 0, found["browning"][0, 0] < 0
    assert scorched.mean() > 0.6
    assert (scorched & ~browned).mean() > 0.3


def test_the_heaters_error_is_the_one_of_the_job():
    barrel = _barrel(count=2048)
    wall = barrel.true_temperature(np.array([400.0]))[0, 0]
    assert wall.mean() == pytest.approx(400.0, abs=0.05)
    assert wall.std() == pytest.approx(4.0, rel=0.01)


# ------------------------------------------------------------------ granules


def test_granules_need_more_heat_than_the_browning_clock_allows():
    """With 10 % water alone and no shear: 157 to 185 °C (derived)."""
    barrel = _barrel(ingredient=dry(corn_starch=100), blend={"cooked": False}, count=2048)
    t = np.arange(403.15, 503.15, 1.0)
    granules = barrel.margins(t, np.array([2000.0]))["granules"][:, 0]
    melts = t[(granules > 0).argmax(axis=0)] - 273.15
    low, high = np.quantile(melts, [0.05, 0.95])
    assert low == pytest.approx(157.0, abs=8.0)
    assert high == pytest.approx(185.0, abs=8.0)


def test_other_polymers_have_no_granules():
    made = _margins(ingredient=[row("sodium-alginate", 100, 0)], blend={"cooked": False})
    assert np.all(made["granules"] == np.inf)


# ------------------------------------------------------------------ browning


def _clock(barrel, t, hours=1.0):
    """Time per dose at a steady wall, once the skin is as warm as the wall, shape (s,). [s]"""
    barrel._skin_swing = np.zeros(barrel.bench.count)
    wall = np.full((1, 1, barrel.bench.count), t)
    late = np.array([[7200.0]]), np.array([[7200.0 + 3600.0 * hours]])
    doses = [barrel.browning_dose(wall, time)[0, 0] for time in late]
    return 3600.0 * hours / (doses[1] - doses[0])


def test_the_likely_clock_runs_out_after_ten_minutes_at_150_degrees():
    assert _clock(_barrel(spread=0.0), 423.15) == pytest.approx(np.full(512, 600.0), rel=1e-6)


def test_a_swinging_heater_browns_sooner_than_a_steady_one_at_the_same_mean():
    """The mean of exp over a sine: 3 K either way, less what the contact keeps from the skin."""
    barrel = _barrel(spread=0.0)
    wall, soak = np.full((1, 1, 512), 423.15), np.array([[900.0]])
    swinging = barrel.browning_dose(wall, soak)
    barrel._skin_swing = np.zeros(512)
    factor = (swinging / barrel.browning_dose(wall, soak))[0, 0, 0]
    phase = np.linspace(0.0, 2.0 * np.pi, 256, endpoint=False)
    kappa = 105e3 / 8.314462618 / 423.15**2
    unfiltered = np.exp(kappa * 3.0 * np.sin(phase)).mean()
    assert 1.005 < factor < unfiltered


@pytest.mark.parametrize(
    ("celsius", "minutes"),
    [(120, 98), (130, 44), (140, 21), (160, 5), (170, 2.6), (180, 1.4)],
)
def test_the_clock_at_other_temperatures_as_derived(celsius, minutes):
    # derived figures are given to two digits
    clock = _clock(_barrel(spread=0.0), celsius + 273.15)[0]
    assert clock / 60.0 == pytest.approx(minutes, rel=0.03)


def test_the_dose_starts_with_the_handling_and_lags_by_the_skins_own_warming():
    barrel = _barrel(spread=0.0)
    barrel._skin_swing = np.zeros(512)
    wall = np.full((1, 1, 512), 423.15)
    handling = float(barrel.bench.typical("press", "handling_time")[0])
    at_once = barrel.browning_dose(wall, np.array([[0.0]]))
    assert at_once == pytest.approx(np.full_like(at_once, handling / 600.0))
    late = barrel.browning_dose(wall, np.array([[900.0]]))[0, 0, 0]
    assert 0.5 * 920.0 < 600.0 * late < 920.0


def test_half_of_the_clocks_are_slower_and_the_band_is_a_factor_of_three():
    clock = _clock(_barrel(count=2048), 423.15)
    low, middle, high = np.quantile(clock, [0.05, 0.5, 0.95])
    assert middle == pytest.approx(600.0, rel=0.01)
    assert middle / low == pytest.approx(3.0, rel=0.03)
    assert high / middle == pytest.approx(3.0, rel=0.03)


def test_every_earlier_pass_takes_its_share_of_the_clock():
    once, sixth = (_barrel(sets=[f"pellets.times_heated={n}"]) for n in (0, 5))
    wall = np.full((1, 1, 512), 413.15)
    hot = np.array([[300.0]])
    assert sixth.browning_dose(wall, hot) == pytest.approx(6.0 * once.browning_dose(wall, hot))


def test_acid_speeds_the_clock_in_every_sample():
    plain = _margins()["browning"]
    recipe = [row("corn-starch", 400, 12.5), row("glycerol", 100, 0)]
    for acid in ("vinegar", "citric-acid"):
        soured = _margins(ingredient=[*recipe, row(acid, 8)])["browning"]
        assert np.all(soured < plain)


def test_seaweed_keeps_a_clock_of_its_own():
    clock = _clock(_barrel(ingredient=[row("sodium-alginate", 100, 0)], count=2048), 423.15)
    low, middle, high = np.quantile(clock, [0.05, 0.5, 0.95])
    assert middle == pytest.approx(600.0, rel=0.02)
    assert high / low == pytest.approx(100.0, rel=0.1)  # a factor of ten either way


# ------------------------------------------------------------------ several clocks


def _recipe(starch_g, alginate_g):
    grams = {"corn-starch": starch_g, "sodium-alginate": alginate_g}
    return [row(card, mass, 0) for card, mass in grams.items() if mass]


def _mixed(starch_g, alginate_g):
    """Clock of a mixture, (s,), and each polymer's share of what melts, (s,)."""
    barrel = _barrel(ingredient=_recipe(starch_g, alginate_g))
    masses = [e.share + np.zeros(512) for e in sorted(barrel.blend.polymers, key=_by_name)]
    return _clock(barrel, 423.15), np.array(masses) / sum(masses)


def _by_name(entry):
    return entry.card.name


@pytest.fixture(scope="module")
def clocks_alone():
    """Of starch and of alginate, each by itself, (s,)."""
    return _mixed(1, 0)[0], _mixed(0, 1)[0]


def test_seaweed_powder_browns_three_times_as_fast_as_starch():
    alone = _barrel(ingredient=[row("brown-seaweed-powder", 100)], spread=0.0)
    assert _clock(alone, 423.15) == pytest.approx(np.full(512, 200.0), rel=1e-6)


@pytest.mark.parametrize("alginate_g", [40, 50, 70])
def test_of_two_major_polymers_the_first_to_run_out_spoils_the_part(clocks_alone, alginate_g):
    """Neither is thinned by the other: in every sample the sooner of the two clocks."""
    starch, alginate = clocks_alone
    assert 0.2 < np.mean(starch < alginate) < 0.8  # each is the first somewhere
    both, shares = _mixed(100 - alginate_g, alginate_g)
    assert np.all(shares > 0.25)
    assert both == pytest.approx(np.minimum(starch, alginate), rel=1e-9)


@pytest.mark.parametrize("minor_g", [1, 5, 20])
def test_a_minor_polymer_colors_by_its_share_of_a_quarter(clocks_alone, minor_g):
    starch, alginate = clocks_alone
    both, (_, share) = _mixed(100 - minor_g, minor_g)
    assert np.all((share > 0.002 * minor_g) & (share <= 0.01 * minor_g + 1e-12))
    assert both == pytest.approx(np.minimum(starch, alginate * 0.25 / share), rel=1e-9)
    assert np.any(both < 0.999 * starch)  # even one part in a hundred, where it is quick enough
    turned, (share, _) = _mixed(minor_g, 100 - minor_g)
    weight = np.minimum(share / 0.25, 1.0)
    assert np.median(weight) < 1.0
    assert turned == pytest.approx(np.minimum(starch / weight, alginate), rel=1e-9)


def test_more_of_another_polymer_never_saves_a_major_one():
    clocks = [_mixed(100, grams)[0] for grams in (0, 1, 5, 20, 30, 100, 200)]
    assert np.all(np.diff(clocks, axis=0) <= 1e-9 * clocks[0])


def test_an_ingredient_written_in_two_rows_browns_as_in_one():
    """Also where each row alone is less than a quarter: the card counts, not the row."""
    wall = np.linspace(383.15, 443.15, 4)[:, None, None] + np.zeros((1, 1, 512))
    soak = np.array([[300.0], [900.0]])

    def dose(*recipe):
        return _barrel(ingredient=[*recipe, row("glycerol", 20, 0)]).browning_dose(wall, soak)

    whole = dose(*_recipe(60, 40))
    assert dose(*_recipe(60, 20), *_recipe(0, 20)) == pytest.approx(whole, rel=1e-12)
    assert dose(*_recipe(20, 10), *_recipe(40, 30)) == pytest.approx(whole, rel=1e-12)
    kelp = [row("brown-seaweed-powder", 30)]
    halves = [row("brown-seaweed-powder", 15), row("brown-seaweed-powder", 15)]
    whole = dose(*_recipe(60, 0), *kelp)
    assert dose(*_recipe(60, 0), *halves) == pytest.approx(whole, rel=1e-12)


# ------------------------------------------------------------------ soak


def test_the_center_lags_behind_the_mean_and_both_reach_the_wall():
    barrel = _barrel()
    wall = barrel.true_temperature(np.array([413.15]))
    soaks = np.array([300.0, 600.0, 1200.0, 6000.0])
    center = barrel.charge_temperature(wall, soaks, "center")[0]
    mean = barrel.charge_temperature(wall, soaks, "mean")[0]
    assert np.all(center[:3] < mean[:3])
    assert np.all(np.diff(center, axis=0) > 0)
    assert np.all(center <= wall[0])
    assert center[-1] == pytest.approx(np.broadcast_to(wall[0, 0], (512,)), abs=0.1)


def test_the_time_constant_of_a_perfect_wall_is_the_radius_squared_over_578_diffusivities():
    """20 mm at 1e-7 m²/s: 170 s; the contact at a real wall and loose pellets add to it."""
    setup = setup_of(job(press=change("press", plunger_diameter_mm=20)), spread=0.0)
    tau = float(setup.window(0.10).barrel_stage.warming.time_constant[0])
    assert 0.01**2 / (5.783 * 1.3e-7) < tau < 600.0
    assert setup.soaks[0] == pytest.approx(1.4 * tau, rel=0.02)
    assert np.all(np.diff(setup.soaks) > 0)


def test_a_barrel_twice_as_wide_takes_two_to_four_times_as_long():
    """Four times where the charge itself is slow, twice where the contact at its wall is."""
    narrow, wide = (
        setup_of(job(press=change("press", plunger_diameter_mm=d))).soaks for d in (10, 20)
    )
    assert np.all(wide > 2.0 * narrow)
    assert np.all(wide < 4.0 * narrow)


def test_the_layers_run_by_the_modes_own_profile():
    """Equal masses of a full cylinder: J0 at the middle of each ring's mass."""
    from scipy.special import j0

    warming = _barrel(spread=0.0).warming
    root, center = float(warming._mode.root[0]), float(warming._mode.center[0])
    soak = np.array([2.5 * float(warming.time_constant[0])])
    for share, layer in zip((1 / 6, 1 / 2, 5 / 6), warming.layers(soak), strict=True):
        exact = center * j0(root * np.sqrt(share)) * np.exp(-2.5)
        assert layer[0, 0] == pytest.approx(exact, abs=0.01 * np.exp(-2.5))


@pytest.mark.parametrize("w", [0.10])
def test_a_30_mm_barrel_is_told_to_soak_longer_and_less_hot_than_a_15_mm_one(w):
    wide, narrow = (
        # the same pressure: nine times nothing else differs
        setup_of(job(press=change("press", plunger_diameter_mm=d, force_kn=f)), count=1024).window(
            w
        )
        for d, f in ((30, 21), (15, 5.25))
    )
    assert wide.barrel.soak > 2.0 * narrow.barrel.soak
    assert wide.barrel.best < narrow.barrel.best
    assert wide.barrel.high < narrow.barrel.high


def test_a_spreader_warms_the_charge_sooner_and_a_thin_one_does_no_harm():
    plain, thick, thin = (
        setup_of(
            job(press=change("press", barrel_diameter_mm=24, spreader_diameter_mm=spreader))
        ).soaks
        for spreader in (None, 16, 1)
    )
    assert np.all(thick < 0.5 * plain)
    assert np.all(thin <= plain)
