"""Chances from where the verdicts change: equal to those of every set point and soak by itself."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from moldwin.stages.melting import LOW_LIMITS
from moldwin.window import judge
from moldwin.window.cells import chances, median_limits
from moldwin.window.edges import median_crossing
from tests.jobs import BAR, DRY, KELP, setup_of

#: Closer than any map or window, hotter and colder than both.
PLACES = np.arange(303.15, 543.16, 3.0)

JOBS = {
    "compound": (BAR, []),
    "kelp": (KELP, []),
    "dry": (DRY, []),
    "uncooked": (BAR, ["blend.cooked=false"]),
    "open nozzle": (BAR, ["press.sealed_nozzle=false"]),
    "weak heater": (BAR, ["press.heater_max_c=120"]),
    "weak press": (KELP, ["press.force_kn=0.5"]),
    "browned before, open nozzle": (KELP, ["pellets.times_heated=3", "press.sealed_nozzle=false"]),
    "cold mold": (BAR, ["mold.temperature_c=25"]),
    "thin part": (BAR, ["part.wall_mm=0.5"]),
    "hot heater error": (KELP, ["press.heater_u_c=20"]),
}


@pytest.fixture(scope="module", params=list(JOBS.values()), ids=list(JOBS))
def setup(request) -> Any:
    source, sets = request.param
    return setup_of(source, sets, count=256)


@pytest.mark.parametrize("water", [0.005, 0.06, 0.10, 0.15, 0.30])
def test_every_cell_is_what_its_own_margins_say(setup, water):
    barrel = setup.barrel(water)
    one_by_one = [
        judge.chance(barrel.margins(PLACES[[i]], setup.soaks)) for i in range(len(PLACES))
    ]
    assert np.array_equal(chances(barrel, PLACES, setup.soaks), np.concatenate(one_by_one))


@pytest.mark.parametrize("water", [0.005, 0.06, 0.10, 0.15, 0.30])
def test_limits_turn_once_as_the_barrel_gets_hotter(setup, water):
    """What the halving rests on."""
    margins = setup.barrel(water).margins(PLACES, setup.soaks)
    high = judge.holds({name: m for name, m in margins.items() if name not in LOW_LIMITS})
    low = judge.holds({name: m for name, m in margins.items() if name in LOW_LIMITS})
    assert (high[1:] <= high[:-1]).all()
    assert (low[1:] >= low[:-1])[high[1:]].all()


# ------------------------------------------------------------------ barrels made up for the test


def made_up(low: Any, high: Any) -> Any:
    """A barrel whose samples work above ``low`` and below ``high`` [K], shape (s,)."""

    def margins(t_set: Any, soak: Any, side: str | None = None) -> dict[str, Any]:
        t = np.asarray(t_set, dtype=float)
        t = t[:, None, None] if t.ndim == 1 else t
        late = np.asarray(soak, dtype=float)[:, None]  # a kelvin less of either for each second
        both = {"weld": t + late - low, "browning": high - late - t}
        wanted = {"low": ["weld"], "high": ["browning"], None: both}[side]
        return {name: both[name] for name in wanted}

    return SimpleNamespace(margins=margins, bench=SimpleNamespace(count=len(low)), sealed=True)


def test_shares_counted_by_hand():
    barrel = made_up(np.array([310.0, 320.0, 330.0, 600.0]), np.array([400.0, 325.0, 320.0, 900.0]))
    places, soaks = np.array([305.0, 315.0, 322.0, 350.0, 500.0]), np.array([0.0, 8.0])
    assert chances(barrel, places, soaks).T.tolist() == [
        [0.0, 0.25, 0.5, 0.25, 0.0],
        [0.25, 0.5, 0.25, 0.25, 0.0],
    ]


@pytest.mark.parametrize("count", [1, 2, 3, 4, 7, 8, 9, 31, 32, 33])
def test_any_number_of_places_will_do(count):
    rng = np.random.default_rng(count)
    low = rng.uniform(290.0, 520.0, 64)
    barrel = made_up(low, low + rng.uniform(-50.0, 150.0, 64))
    places, soaks = np.linspace(300.0, 500.0, count), np.array([0.0, 5.0, 30.0])
    assert np.array_equal(
        chances(barrel, places, soaks), judge.chance(barrel.margins(places, soaks))
    )


def test_what_is_unknown_holds_nowhere():
    barrel = made_up(np.array([np.nan, 310.0, 310.0]), np.array([400.0, np.nan, 400.0]))
    assert chances(barrel, np.array([305.0, 350.0]), np.array([0.0])).tolist() == [[0.0], [1 / 3]]


def test_the_verdict_is_that_of_the_judge(monkeypatch):
    barrel = made_up(np.array([310.0]), np.array([400.0]))
    at = np.array([350.0]), np.array([0.0])
    assert chances(barrel, *at) == 1.0
    whole = judge.holds
    monkeypatch.setattr(judge, "holds", lambda margins: whole(margins) & False)
    assert chances(barrel, *at) == 0.0


def test_limits_of_the_set_point_are_the_barrels_own(setup):
    barrel = setup.barrel(0.10)
    margins, found = barrel.margins(PLACES, setup.soaks), barrel.set_point_margins(PLACES)
    assert {"heater"} <= set(found) <= {"heater", "fumes"}
    assert ("fumes" in found) == ("fumes" in margins)
    for name, margin in found.items():
        assert np.array_equal(margin, margins[name]), name


# ------------------------------------------------------------------ where each limit binds


@pytest.mark.parametrize("water", [0.005, 0.06, 0.10, 0.15, 0.30])
def test_the_median_of_a_limit_is_that_of_all_its_margins(setup, water):
    barrel, soak = setup.barrel(water), setup.soaks[[2]]
    found = median_limits(barrel, PLACES, soak)
    margins = barrel.margins(PLACES, soak)
    assert set(found) == set(margins)
    shape = (len(PLACES), 1, barrel.bench.count)
    for name, (side, at) in found.items():
        assert side == ("low" if name in LOW_LIMITS else "high")
        whole = np.broadcast_to(margins[name], shape)[:, 0]
        # the last bits depend on how many set points are worked on at once
        assert at == pytest.approx(median_crossing(PLACES, whole, side), abs=1e-9), name


@pytest.mark.parametrize("samples", [1, 2, 3, 4, 63, 64])
@pytest.mark.parametrize("count", [2, 3, 8, 31])
def test_the_median_of_any_number_of_samples_at_any_number_of_places(count, samples):
    rng = np.random.default_rng(100 * count + samples)
    low = rng.uniform(280.0, 540.0, samples)
    low[rng.uniform(size=samples) < 0.2] = np.nan  # unknown holds nowhere
    barrel = made_up(low, low + rng.uniform(-50.0, 150.0, samples))
    places, soak = np.linspace(300.0, 500.0, count), np.array([5.0])
    margins = barrel.margins(places, soak)
    for name, (side, at) in median_limits(barrel, places, soak).items():
        assert at == median_crossing(places, margins[name][:, 0], side), name


def test_few_of_the_places_are_looked_at():
    barrel = made_up(np.linspace(310.0, 330.0, 64), np.linspace(400.0, 480.0, 64))
    seen: list[float] = []
    whole = barrel.margins

    def counting(at: Any, soak: Any, side: str | None = None) -> dict[str, Any]:
        seen.extend(at)
        return whole(at, soak, side=side)

    barrel.margins = counting
    median_limits(barrel, np.linspace(300.0, 500.0, 101), np.array([0.0]))
    assert len(seen) <= 2 * (1 + 7)
