"""The map says what the advice says: same draws, same margins, same verdict, at every cell."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.advice.advise import advise
from moldwin.inputs.read_job import read_job
from moldwin.window import judge
from moldwin.window.mapping import Map, moisture_map
from tests.jobs import BAR, DRY, EXAMPLES, KELP, setup_of

COUNT = 256
GRID = 12


def drawn(source: object = BAR, grid: int = GRID, **options: object) -> Map:
    return moisture_map(setup_of(source, count=COUNT), grid, **options)


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def example(request) -> tuple[object, Map]:
    setup = setup_of(request.param, count=COUNT)
    return setup, moisture_map(setup, GRID)


# ------------------------------------------------------------- one and the same as the advice


@pytest.mark.parametrize("pct", [6.0, 10.0, 14.5])
@pytest.mark.parametrize("source", [BAR, KELP, DRY], ids=lambda path: path.stem)
def test_a_column_is_the_barrel_window_of_that_moisture(source, pct):
    setup = setup_of(source, count=COUNT)
    window = setup.window(pct / 100.0).barrel
    column = moisture_map(setup, moisture=np.array([pct / 100.0]), barrel=window.grid)
    assert column.barrel_chance[:, 0].tolist() == window.chances.tolist()
    ends = [None if np.isnan(end) else end for end in (column.low[0], column.high[0])]
    assert ends == [window.low, window.high]


def test_a_cell_is_the_chance_the_advice_names_there():
    advice = advise(KELP, sets=["pellets.moisture_pct=9.5"], count=COUNT)
    barrel = advice.now.barrel
    setup = setup_of(KELP, ["pellets.moisture_pct=9.5"], count=COUNT)
    cells = moisture_map(
        setup,
        moisture=np.array([0.05, 0.095]),
        barrel=np.array([350.0, barrel.best_c + 273.15]),
    )
    assert cells.barrel_chance[1, 1] == barrel.chance


def test_now_and_target_are_those_of_the_advice():
    advice, found = advise(KELP, count=COUNT), drawn(KELP)
    after = advice.after_conditioning
    assert after is not None
    assert 100 * found.now.moisture == pytest.approx(advice.moisture.now_pct)
    assert found.now.barrel_chance == advice.now.barrel.chance
    assert 100 * found.target.moisture == pytest.approx(advice.moisture.target_best_pct)
    assert found.target.barrel_chance == after.barrel.chance
    assert found.target.barrel - 273.15 == pytest.approx(after.barrel.best_c)
    assert found.target.soak == after.soak_s


def test_pellets_inside_the_target_band_are_at_their_target():
    setup = setup_of(BAR, count=COUNT)
    band = setup.target(0.10)
    assert band.low <= 0.10 <= band.high
    found = moisture_map(setup, 4)
    assert found.target == found.now


def test_the_verdict_is_made_in_one_place(monkeypatch):
    before = drawn()
    whole = judge.holds
    monkeypatch.setattr(judge, "holds", lambda margins: whole(margins) & False)
    assert drawn(moisture=before.moisture, barrel=before.barrel).chance.max() == 0.0
    assert before.chance.max() > 0.5


@pytest.mark.parametrize("source", EXAMPLES, ids=lambda path: path.stem)
def test_the_limits_now_and_at_the_target_are_those_the_advice_names(source):
    advice, setup = advise(source, count=COUNT), setup_of(source, count=COUNT)
    at = [(advice.moisture.now_pct, advice.now)]
    if advice.after_conditioning is not None:
        at.append((advice.moisture.target_best_pct, advice.after_conditioning))
    for pct, situation in at:
        found = moisture_map(
            setup, moisture=np.array([pct / 100.0]), barrel=np.array([273.15, 573.15])
        )
        named = {limit.name: limit for limit in situation.barrel.limits}
        assert {line.name: line.side for line in found.lines} == {
            name: limit.side for name, limit in named.items()
        }
        for line in found.lines:
            at_line = None if np.isnan(line.at[0]) else line.at[0] - 273.15
            # the last bits depend on how many set points are worked on at once
            assert at_line == pytest.approx(named[line.name].temperature_c, abs=1e-9), line.name
        if situation.soak_s is not None:
            assert found.limits_soak[0] == situation.soak_s


def test_limits_are_drawn_at_a_soak_as_good_as_the_best(example):
    setup, found = example
    grid = setup.window(0.1).barrel.grid
    for water, soak in zip(found.moisture, found.limits_soak, strict=True):
        by_soak = judge.chance(setup.barrel(float(water)).margins(grid, setup.soaks)).max(axis=0)
        assert by_soak[setup.soaks == soak] >= by_soak.max() - 0.02


def test_a_line_does_not_go_to_and_fro(example):
    _, found = example
    changes = np.diff(found.limits_soak)
    # from that of now to that of the target, and little else
    assert np.count_nonzero(changes) <= 3
    for line in found.lines:
        if line.name == "browning":
            assert np.nanmax(np.abs(np.diff(line.at))) < 12.0


def test_the_uprights_are_the_targets_own_limits():
    setup = setup_of(BAR, count=COUNT)
    assert moisture_map(setup, 4).uprights == setup.target(0.10).limits


# ------------------------------------------------------------------------- every limit together


@pytest.mark.parametrize("source", [BAR, KELP, DRY], ids=lambda path: path.stem)
def test_a_cell_is_the_share_of_samples_that_satisfy_every_limit(source):
    """Each cell again by itself: barrel, filling, moisture and mold margins, every soak."""
    setup = setup_of(source, count=COUNT)
    waters, places = np.array([0.07, 0.11, 0.16]), np.array([363.15, 388.15, 413.15])
    found = moisture_map(setup, moisture=waters, barrel=places)
    for j, water in enumerate(waters):
        window = setup.window(float(water))
        for i, t_set in enumerate(places):
            of_barrel = window.barrel_stage.margins(np.array([t_set]), setup.soaks)
            by_soak = judge.chance(of_barrel | window.part_margins)[0]
            assert found.chance[i, j] == by_soak.max()
            assert by_soak[setup.soaks == found.soak[i, j]] == by_soak.max()


def test_beyond_the_moisture_limits_no_cell_is_good_however_well_the_barrel_fills():
    found = drawn(KELP, moisture=np.array([0.10, 0.35]), barrel=np.linspace(333.15, 413.15, 9))
    assert found.barrel_chance[:, 1].max() > 0.5
    assert found.chance[:, 1].max() < 0.05


def test_where_to_go_stands_at_the_peak():
    found = drawn(KELP, grid=40)
    peak = found.chance.max()
    assert found.target.chance == pytest.approx(peak, abs=0.04)
    assert found.now.chance < peak - 0.1


def test_more_water_helps_the_barrel_and_hurts_the_part_and_both_peak_inside():
    target = setup_of(KELP, count=COUNT).target(0.08)
    assert (np.diff(target.barrel_chances[:9]) > -0.02).all()
    assert target.barrel_chances[8] > target.barrel_chances[0] + 0.5
    wet = target.moisture_chances[target.grid > 0.12]
    assert (np.diff(wet) <= 0.0).all()
    assert wet[-1] < wet[0] - 0.5
    product = target.barrel_chances * target.moisture_chances
    assert 0 < int(product.argmax()) < len(product) - 1


# --------------------------------------------------------------------------------- the frame


def test_shapes(example):
    _, found = example
    shape = (len(found.barrel), len(found.moisture))
    assert shape == (GRID, GRID)
    assert found.chance.shape == found.soak.shape == found.open.shape == shape
    assert found.low.shape == found.high.shape == (GRID,)
    assert all(line.at.shape == (GRID,) for line in found.lines)
    assert (np.diff(found.barrel) > 0).all()
    assert (np.diff(found.moisture) > 0).all()
    assert ((found.chance >= 0) & (found.chance <= 1)).all()


def test_it_holds_now_and_target(example):
    _, found = example
    for place in (found.now, found.target):
        assert found.moisture[0] < place.moisture < found.moisture[-1]
        assert found.barrel[0] < place.barrel < found.barrel[-1]


def test_it_reaches_from_where_hardly_anything_works_to_where_hardly_anything_works(example):
    _, found = example
    works = found.chance.max(axis=1) > 0.1
    # no barrel is colder than a warm room: a wet melt may still fill there
    assert not works[0] or found.barrel[0] <= 303.15
    assert not works[-1]
    if works.any():  # and no further than two coarse steps
        first, last = np.flatnonzero(works)[[0, -1]]
        step = found.barrel[1] - found.barrel[0]
        assert found.barrel[first] - found.barrel[0] <= 25.0 + step
        assert found.barrel[-1] - found.barrel[last] <= 25.0 + step


def test_it_reaches_to_where_the_moisture_limits_leave_hardly_a_sample(example):
    setup, found = example
    for end, driest_or_wettest in ((found.moisture[0], 0.005), (found.moisture[-1], 0.40)):
        state, barrel, cavity, _ = setup._stages(float(end))
        _, core = cavity.cooling(barrel.true_temperature(np.array([found.now.barrel]))[0, 0], 350.0)
        inside = judge.chance(setup._moisture_margins(state, core))
        assert inside <= 0.1 or end == pytest.approx(driest_or_wettest)


def test_the_open_region_lies_inside_the_window_of_each_moisture():
    found = drawn(grid=30)
    step = 5.0  # of the advice, which draws a straight line from one set point to the next
    assert found.open.any()
    for j in range(len(found.moisture)):
        if np.isnan(found.low[j]):
            continue
        inside = (found.barrel >= found.low[j] + step) & (found.barrel <= found.high[j] - step)
        assert (found.barrel_chance[inside, j] >= found.confidence).all()
        outside = (found.barrel < found.low[j] - step) | (found.barrel > found.high[j] + step)
        assert not found.open[outside, j].any()


def test_a_blend_that_nothing_molds_still_gets_a_map():
    found = drawn(DRY)
    assert not found.open.any()
    assert np.isnan(found.low).all()
    assert np.isfinite(found.barrel).all()


# ------------------------------------------------------------------------------- what it shows


def test_more_water_lets_a_colder_barrel_fill():
    lines = drawn(KELP, moisture=np.array([0.06, 0.09, 0.12])).lines
    fill = next(line.at for line in lines if line.name == "fill")
    assert (np.diff(fill) < 0).all()


def test_a_weaker_heater_cuts_the_map_off():
    setup = setup_of(BAR, ["press.heater_max_c=120"], count=COUNT)
    found = moisture_map(setup, barrel=np.array([383.15, 403.15]), moisture=np.array([0.1]))
    assert found.chance[0, 0] > 0.1
    assert found.chance[1, 0] == 0.0


def test_a_bigger_press_never_lowers_a_chance():
    places = {"moisture": np.array([0.06, 0.10]), "barrel": np.linspace(360.0, 440.0, 9)}
    weak, strong = (
        moisture_map(
            # the mold held where it is: what the press alone does, on the same draws
            setup_of(BAR, [f"press.force_kn={force}", "mold.temperature_c=80"], count=COUNT),
            **places,
        )
        for force in (3, 9)
    )
    assert (strong.chance >= weak.chance).all()
    assert strong.chance.max() > weak.chance.max()


# ---------------------------------------------------------------------- threads, progress, errors


def test_threads_do_not_change_a_bit():
    one, two = (drawn(KELP, threads=threads) for threads in (1, 2))
    for name in ("moisture", "barrel", "chance", "soak", "low", "high"):
        assert getattr(one, name).tobytes() == getattr(two, name).tobytes(), name
    assert [line.at.tobytes() for line in one.lines] == [line.at.tobytes() for line in two.lines]


def test_progress_counts_every_column_once():
    told: list[tuple[int, int]] = []
    drawn(grid=5, tick=lambda done, total: told.append((done, total)))
    assert told == [(done, 5) for done in range(1, 6)]


def test_what_goes_wrong_in_a_thread_is_raised(monkeypatch):
    def broken(*_: object) -> None:
        raise ZeroDivisionError("in a column")

    monkeypatch.setattr("moldwin.window.mapping._column", broken)
    with pytest.raises(ZeroDivisionError, match="in a column"):
        drawn(grid=4)


def test_a_stop_in_the_middle_leaves_the_rest_undone(monkeypatch):
    begun: list[float] = []

    def stopped(_: object, nominal: float, *__: object) -> None:
        begun.append(nominal)
        raise KeyboardInterrupt

    monkeypatch.setattr("moldwin.window.mapping._column", stopped)
    with pytest.raises(KeyboardInterrupt):
        drawn(grid=200, barrel=np.array([380.0, 400.0]))
    assert len(begun) < 200


@pytest.mark.parametrize(
    "places",
    [
        {"grid": 1},
        {"barrel": np.array([400.0])},
        {"barrel": np.array([400.0, 390.0])},
        {"moisture": np.array([])},
    ],
)
def test_too_few_points_are_refused(places):
    with pytest.raises(ValueError, match="at least"):
        drawn(**places)


def test_any_number_of_samples_will_do():
    setup = setup_of(read_job(BAR, ()), count=2000 // 8)
    assert moisture_map(setup, 4).chance.shape == (4, 4)
