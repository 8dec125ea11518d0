"""The bench: numbers by name, shared between benches, listed when used."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.inputs.read_job import read_job
from moldwin.stages.room import air_pressure, room_dew_point, room_humidity, room_temperature
from tests.jobs import bench_of, change, dry, job, row, setup_of


def test_a_number_is_drawn_once_and_listed():
    bench = bench_of(job())
    card = bench.card("corn-starch")
    first = bench.of(card, "tg_dry")
    assert bench.of(card, "tg_dry") is first
    used = bench.used["corn-starch.tg_dry"]
    assert (used.value, used.unit, used.status) == (523.15, "K", "read")
    assert used.source


def test_a_number_a_card_does_not_have():
    bench = bench_of(job())
    card = bench.card("glycerol")
    with pytest.raises(KeyError, match="glycerol has no melt_viscosity"):
        bench.of(card, "melt_viscosity")
    assert np.array_equal(bench.of(card, "melt_viscosity", 7.0), np.full(512, 7.0))


def test_what_the_job_gives_wins_over_what_is_typical():
    bench = bench_of(job())
    given = bench.given("room.humidity", 0.48, "1", u=0.04, typical=("room", "humidity"))
    assert np.median(given) == pytest.approx(0.48, abs=1e-3)
    assert bench.used["room.humidity"].status == "measured"
    other = bench_of(job(room=None))
    left_out = other.given("room.humidity", None, "1", typical=("room", "humidity"))
    assert np.median(left_out) == pytest.approx(0.5, abs=5e-3)
    assert other.used["room.humidity"].status == "assumed"


def test_neither_given_nor_typical():
    with pytest.raises(KeyError, match=r"the job has no jar\.height"):
        bench_of(job()).given("jar.height", None, "m")


def test_two_benches_share_their_draws_for_different_jobs():
    bench = bench_of(job())
    other = bench.with_job(read_job(job(ingredient=dry(potato_starch=100))))
    card = "glycerol"
    assert np.array_equal(
        bench.of(bench.card(card), "k_starch"), other.of(other.card(card), "k_starch")
    )
    assert np.array_equal(
        bench.typical("press", "weld_offset"), other.typical("press", "weld_offset")
    )
    assert other.count == bench.count


def test_a_group_is_drawn_with_its_correlation():
    bench = bench_of(job(), count=2048)
    card = bench.card("corn-starch")
    xm, c, k, tg, k_water = (bench.of(card, key) for key in ("xm", "c", "k", "tg_dry", "k_water"))

    def correlation(a, b):
        return float(np.corrcoef(a, b)[0, 1])

    assert correlation(xm, k) == pytest.approx(-0.7, abs=0.05)
    assert correlation(xm, np.log(c)) == pytest.approx(-0.6, abs=0.05)
    assert correlation(np.log(c), k) == pytest.approx(0.3, abs=0.05)
    assert correlation(tg, k_water) == pytest.approx(0.8, abs=0.05)
    assert correlation(tg, xm) == pytest.approx(0.0, abs=0.1)


def test_members_of_a_group_keep_their_own_spread():
    bench = bench_of(job(), count=2048)
    card = bench.card("corn-starch")
    assert bench.of(card, "k_water").std() == pytest.approx(0.3, rel=0.05)
    assert bench.of(card, "xm").std() == pytest.approx(0.008, rel=0.05)


def test_one_number_held_still_leaves_its_group_spread():
    bench = bench_of(job(), spreads={"corn-starch.k_water": 0.0})
    card = bench.card("corn-starch")
    assert np.ptp(bench.of(card, "k_water")) == 0.0
    assert bench.of(card, "tg_dry").std() > 5.0


# ------------------------------------------------------------------ the room


def test_the_room_as_measured():
    bench = bench_of(job(room={"temperature_c": 25, "humidity_pct": 50, "altitude_m": 1000}))
    assert np.median(room_temperature(bench)) == pytest.approx(298.15, abs=0.05)
    assert np.median(room_humidity(bench)) == pytest.approx(0.50, abs=0.005)
    assert np.median(room_dew_point(bench)) - 273.15 == pytest.approx(13.9, abs=0.3)
    assert air_pressure(bench) == pytest.approx(89875.0, abs=5.0)  # ISO 2533 at 1000 m


@pytest.mark.parametrize("humidity", [1.5, 99.5])
def test_humidity_never_leaves_what_air_can_hold(humidity):
    bench = bench_of(job(room={"temperature_c": 21, "humidity_pct": humidity}))
    readings = room_humidity(bench)
    assert readings.min() >= 0.02
    assert readings.max() <= 0.98


# ------------------------------------------------------------------ the state


def test_the_state_at_a_nominal_moisture():
    setup = setup_of(job(pellets=change("pellets", moisture_pct=10, moisture_u_pct=0)))
    state = setup.material.at(0.10)
    assert state.nominal == 0.10
    assert state.w_water == pytest.approx(0.10)
    assert state.phase_water == pytest.approx(0.10)
    assert state.phase_plasticizer == pytest.approx(0.20)
    assert np.array_equal(state.tg, setup.material.glass_transition(np.full(512, 0.10)))


def test_a_reading_off_by_more_than_the_water_there_is_stays_possible():
    pellets = change("pellets", moisture_pct=1, moisture_u_pct=2)
    state = setup_of(job(pellets=pellets)).material.at(0.01)
    assert np.all(state.w_water > 0)
    assert np.all(np.isfinite(state.tg))


def test_undissolved_seaweed_shares_the_water_but_not_the_plasticizer():
    setup = setup_of(job(ingredient=[row("brown-seaweed-powder", 100), row("glycerol", 20, 0)]))
    state = setup.material.at(0.10)
    amorphous = setup.material.blend.amorphous
    assert np.all(state.phase_plasticizer * amorphous < setup.material.blend.plasticizer + 1e-12)
    assert np.all(state.phase_water > 0.10)  # the ash takes none


def test_a_bench_on_moved_draws_answers_with_them_and_leaves_the_first_alone():
    bench = bench_of(job())
    card = bench.card("corn-starch")
    before = bench.of(card, "tg_dry")
    columns = bench.columns_of((".tg_dry",))
    assert "corn-starch.tg_dry" in bench.columns
    scores = {column: bench.draws.scores(column) + 1.0 for column in columns}
    moved = bench.with_draws(bench.draws.moved(scores))
    assert np.all(moved.of(moved.card("corn-starch"), "tg_dry") > before)
    assert np.array_equal(bench.of(card, "tg_dry"), before)
