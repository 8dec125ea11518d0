"""What to measure next: each test is made on the draws, and the answer worked out anew."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.advice.advise import advise
from moldwin.advice.bench_tests import bench_tests
from moldwin.advice.measure import measure_next, own_middle, unknowns
from tests.jobs import BAR, DRY, KELP, change, job, row, setup_of

COUNT = 512

_JOBS = {
    "bar": (BAR, 0.10),
    "kelp": (KELP, 0.10),
    "alginate": (job(ingredient=[row("sodium-alginate", 100)]), 0.12),
    "unsealed": (job(press=change("press", sealed_nozzle=False)), 0.10),
}


@pytest.fixture(scope="module", params=_JOBS)
def found(request):
    source, moisture = _JOBS[request.param]
    setup = setup_of(source, count=COUNT)
    window = setup.window(moisture)
    return setup, window, measure_next(setup, window)


def _width(middle):
    return float(np.subtract(*np.quantile(middle, [0.95, 0.05])))


_SHOT = ("trial.fill_pct", "trial.part_g")


def test_the_short_shot_leads_and_the_others_follow_by_what_they_leave(found):
    _, _, told = found
    places = [i for i, test in enumerate(told) if test.key in _SHOT]
    assert places in ([], [0])  # not at all where it would narrow nothing
    after = [test.width_after for test in told if test.key not in _SHOT]
    assert after == sorted(after)


@pytest.mark.parametrize("source", [BAR, KELP], ids=lambda path: path.stem)
def test_the_short_shot_leads_where_flow_is_the_question(source):
    setup = setup_of(source, count=COUNT)
    assert measure_next(setup, setup.window(0.10))[0].key in _SHOT


def test_the_width_now_is_that_of_the_samples_own_windows(found):
    _, window, told = found
    middle, _ = own_middle(window.barrel_stage, window.barrel.grid, window.barrel.soak)
    for test in told:
        assert test.width_now == pytest.approx(_width(middle))
        assert test.width_after < test.width_now


def test_what_is_promised_is_what_the_draws_give_after_the_reading(found):
    """Done by hand: move the draws by the thermometer's likely reading, and ask again."""
    setup, window, _ = found
    (test,) = [t for t in bench_tests(setup, window) if t.key == "press.heater_u_c"]
    ((reading, u),) = test.readings
    bench = setup.bench.with_job(setup.bench.job)
    bench.draws = setup.bench.draws.copy()
    bench.draws.shift(setup.bench.columns.values(), reading, float(np.median(reading)), u)
    again = type(setup)(bench, setup.confidence)
    stage = again.barrel(window.state.nominal)
    # what was read is known now to its own error
    wall = stage.true_temperature(np.array([403.15]))[0, 0]
    assert float(wall.std()) == pytest.approx(u, rel=0.1)
    middle, _ = own_middle(stage, window.barrel.grid, window.barrel.soak)
    told = {t.key: t.width_after for t in measure_next(setup, window)}
    if test.key in told:
        assert told[test.key] == pytest.approx(_width(middle))


def test_an_unknown_that_explains_more_is_worth_more_when_known():
    """Sobol' and recomputation agree on which of two sharp readings narrows more."""
    setup = setup_of(BAR, count=2048)
    window = setup.window(0.10)
    shares = {i.name: i.share for i in unknowns(setup, window)}
    assert shares["starch.browning_limit"] > shares["press.heater_error"]

    def left(name):
        still = setup_of(BAR, count=2048, spreads={name: 0.0})
        stage = still.barrel(0.10)
        return _width(own_middle(stage, window.barrel.grid, window.barrel.soak)[0])

    # the starch's clock belongs to its card: the spread is taken from that quantity
    now = _width(own_middle(window.barrel_stage, window.barrel.grid, window.barrel.soak)[0])
    assert left("corn-starch.browning_limit") < left("press.heater_error") < now


def test_where_flow_is_known_the_short_shot_does_not_lead():
    known = (
        "melt_viscosity",
        "flow_activation",
        "flow_plasticizer",
        "flow_water",
        "flow_index",
    )
    spreads = {f"corn-starch.{name}": 0.0 for name in known}
    others = ("force_share", "entrance_radii", "flow_time_longest")
    spreads |= {f"press.{name}": 0.0 for name in others} | {"melt.tg_misfit": 0.0}
    setup = setup_of(BAR, count=COUNT, spreads=spreads)
    told = measure_next(setup, setup.window(0.10))
    assert told
    assert told[0].key not in _SHOT


def test_without_heat_nothing_is_asked_of_a_hot_press():
    answer = advise(DRY, count=COUNT)
    assert not answer.heat
    assert answer.measure_next
    assert all(test.key != "trial.fill_pct" for test in answer.measure_next)


def test_a_bend_test_in_the_job_is_not_heard_twice():
    """The draws have heard of it: a further reading starts from there."""
    read = ["blend.softening_c=60", "blend.softening_moisture_pct=10"]
    setup = setup_of(BAR, read, count=COUNT)
    window = setup.window(0.10)
    told = {test.key: test for test in measure_next(setup, window)}
    plain = setup_of(BAR, count=COUNT)
    untold = {test.key: test for test in measure_next(plain, plain.window(0.10))}
    key = "blend.softening_c"
    gain = {name: (t[key].width_now - t[key].width_after) if key in t else 0.0
            for name, t in (("told", told), ("untold", untold))}  # fmt: skip
    assert gain["told"] < gain["untold"]


def test_a_grid_of_its_own_for_each_sample_leaves_no_steps():
    setup = setup_of(BAR, count=COUNT)
    window = setup.window(0.10)
    middle, kept = own_middle(window.barrel_stage, window.barrel.grid, window.barrel.soak)
    assert middle.size == int(kept.sum())
    assert len(np.unique(middle.round(6))) > 0.9 * middle.size


def test_another_material_is_not_measured_with_our_tests():
    answer = advise(job(ingredient=[row("gelatin", 100), row("glycerol", 30)]), count=64)
    assert answer.measure_next == []


_BESIDE = {
    "fit.humidity_weighings": ".xm",
    "room.humidity_pct": "room.humidity",
    "pellets.bulk_density_g_cm3": "press.loose_fill_share",
}


@pytest.mark.parametrize("key", _BESIDE)
def test_a_reading_beside_the_press_narrows_what_it_is_of(key):
    """Scale, hygrometer and cup: made on the draws, the number they read is known better."""
    setup = setup_of(job(pellets={"moisture_pct": 10}), count=COUNT)
    (test,) = [t for t in bench_tests(setup, setup.window(0.10)) if t.key == key]
    assert not test.hot
    assert _BESIDE[key] in test.unknowns
    (reading, u), *_ = test.readings
    bench = setup.bench.with_job(setup.bench.job)
    bench.draws = setup.bench.draws.copy()
    bench.draws.shift(setup.bench.columns.values(), reading, float(np.median(reading)), u)
    again = type(setup)(bench, setup.confidence)
    ((after, _), *_) = next(
        t for t in bench_tests(again, again.window(0.10)) if t.key == key
    ).readings
    now = float(np.std(reading))
    assert float(np.std(after)) == pytest.approx(now * u / np.hypot(now, u), rel=0.25)


def test_two_humidities_lie_on_the_isotherm_of_the_main_ingredient():
    """Read where a seaweed's salt does not draw water yet; more water where it is damper."""
    setup = setup_of(KELP, count=COUNT)
    (test,) = [t for t in bench_tests(setup, setup.window(0.10)) if t.key.startswith("fit.")]
    (dry, _), (damp, _) = test.readings
    assert "seaweed" in test.how
    assert np.all(dry < damp)
    card = setup.bench.card("brown-seaweed-powder", "may")
    xm, c, k = (setup.bench.of(card, key) for key in ("xm", "c", "k"))
    by_hand = xm * c * k * 0.33 / ((1 - k * 0.33) * (1 - k * 0.33 + c * k * 0.33))
    assert dry == pytest.approx(by_hand)
    assert test.days >= 5.0


def test_a_cup_is_not_asked_for_where_its_mass_is_known():
    pellets = {"moisture_pct": 10, "bulk_density_g_cm3": 0.65}
    setup = setup_of(job(pellets=pellets), count=64)
    keys = [test.key for test in bench_tests(setup, setup.window(0.10))]
    assert "pellets.bulk_density_g_cm3" not in keys
