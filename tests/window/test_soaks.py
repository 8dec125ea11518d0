"""How long to soak, and how long to hold: both by the chance of all limits together."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.window.judge import chance
from moldwin.window.soaks import LONGEST, longest_hold, soak_table
from tests.jobs import BAR, DRY, KELP, change, job, setup_of

_JOBS = {
    "open": (BAR, [], 0.10),
    "unsealed": (job(press=change("press", sealed_nozzle=False)), [], 0.12),
    "weak-heater": (BAR, ["press.heater_max_c=97"], 0.12),
    "closed": (DRY, [], 0.12),
    "kelp": (KELP, [], 0.109),
}


@pytest.fixture(scope="module", params=_JOBS)
def found(request):
    source, sets, moisture = _JOBS[request.param]
    setup = setup_of(source, sets, count=256)
    window = setup.window(moisture)
    return setup, window, soak_table(setup, window)


def test_a_row_is_what_the_window_itself_says_there(found):
    _, window, rows = found
    barrel = window.barrel
    for row in rows:
        place = int(np.abs(barrel.grid - row.barrel).argmin())
        assert row.barrel == barrel.grid[place]
        assert row.chance == barrel.chances[place]
        assert row.best == pytest.approx(barrel.soaks[place])


def test_the_advised_setting_is_among_the_rows_and_none_is_hotter_than_the_heater(found):
    setup, window, rows = found
    assert window.barrel.best in [row.barrel for row in rows]
    assert all(row.barrel <= setup.hottest + 1e-6 for row in rows)
    assert len(rows) <= 7
    assert [row.barrel for row in rows] == sorted(row.barrel for row in rows)


def test_the_table_and_the_hold_limit_say_the_same_of_the_advised_setting(found):
    setup, window, rows = found
    barrel = window.barrel
    (row,) = [row for row in rows if row.barrel == barrel.best]
    assert barrel.hold_max >= barrel.soak
    if barrel.open:
        # both by straight lines over the logarithm of time, from soaks of their own
        assert barrel.hold_max == pytest.approx(row.longest, rel=0.1)
    else:
        assert row.longest is None
    assert setup.confidence == 0.7


def test_at_the_hold_limit_the_chance_is_what_is_asked(found):
    setup, window, _ = found
    barrel, stage = window.barrel, window.barrel_stage
    if barrel.hold_max >= 0.999 * LONGEST:
        return
    asked = setup.confidence if barrel.open else 0.9 * barrel.chance
    left = chance(stage.margins(np.array([barrel.best]), np.array([barrel.hold_max])))[0, 0]
    assert left == pytest.approx(asked, abs=0.03)


def test_between_the_ends_the_chance_is_kept(found):
    setup, window, rows = found
    for row in rows:
        if row.shortest is None:
            assert row.chance < setup.confidence
            continue
        assert row.shortest <= row.best <= row.longest
        inside = np.geomspace(row.shortest, row.longest, 7)[1:-1]
        chances = chance(window.barrel_stage.margins(np.array([row.barrel]), inside))[0]
        assert np.all(chances >= setup.confidence - 0.03)


def test_a_charge_that_bears_everything_is_held_for_the_longest_time_looked_at():
    setup = setup_of(BAR, count=64, spread=0.0)
    stage = setup.window(0.10).barrel_stage
    assert longest_hold(stage, 363.15, 600.0, 0.0) == pytest.approx(LONGEST)


def test_a_hotter_barrel_is_held_shorter():
    setup = setup_of(BAR, count=256)
    window = setup.window(0.10)
    holds = [longest_hold(window.barrel_stage, t, 400.0, 0.6) for t in (393.15, 408.15, 423.15)]
    assert holds == sorted(holds, reverse=True)
