"""The sheet's controls say what ``advise`` says, at every position, and nothing behind a stop."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldwin.advice.advise import advise
from moldwin.advice.sheet_grid import sheet_grid, sheet_moistures
from moldwin.inputs.files import shipped
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.window.judge import chance
from moldwin.window.mapping import moisture_map
from moldwin.window.stops import HOPELESS
from moldwin.window.windows import Setup

COUNT = 256
BAR = shipped("examples") / "starch-glycerol-bar.toml"
KELP = shipped("examples") / "kelp-plant-labels.toml"
DRY = shipped("examples") / "dry-starch-no-glycerol.toml"


def grid_of(job, moistures=None, sets=()):
    read = read_job(job, sets)
    advice = advise(read, count=COUNT)
    return advice, sheet_grid(read, advice, moistures=moistures, count=COUNT)


@pytest.mark.parametrize("job", [BAR, KELP, DRY], ids=["bar", "kelp", "dry"])
def test_a_column_is_what_advise_says_of_pellets_that_moist(job):
    _, grid = grid_of(job, [9.0, 16.0])
    for column in grid.columns:
        asked = advise(job, sets=[f"pellets.moisture_pct={column.moisture_pct}"], count=COUNT).now
        assert column.situation.barrel.chance == asked.barrel.chance
        if column.heat and asked.barrel.best_c is not None:
            assert column.situation == asked
            cell = column.cells[column.best]
            assert (cell.barrel_c, cell.situation) == (asked.barrel.best_c, asked)


@pytest.mark.parametrize("job", [BAR, KELP], ids=["bar", "kelp"])
def test_the_advised_position_is_the_answer_to_the_last_digit(job):
    advice, grid = grid_of(job, None)
    leads = advice.conditioning_leads
    water = advice.moisture.target_best_pct if leads else advice.moisture.now_pct
    column = grid.columns[grid.nearest(water)]
    assert column.moisture_pct == water
    assert column.cells[column.best].settings == advice.settings
    assert column.cells[column.best].part_chance == advice.details.part_chance
    assert column.situation == (advice.after_conditioning if leads else advice.now)


def test_a_cell_has_the_chance_of_the_map_and_a_soak_that_gives_it():
    read = read_job(BAR)
    _, grid = grid_of(BAR, [10.0])
    setup = Setup(Bench(read, count=COUNT))
    barrel = np.array(grid.barrel_c) + 273.15
    mapped = moisture_map(setup, moisture=np.array([0.10]), barrel=barrel)
    assert [c.chance for c in grid.columns[0].cells] == mapped.barrel_chance[:, 0].tolist()
    stage = setup.window(0.10).barrel_stage
    for t_set, cell in zip(barrel, grid.columns[0].cells, strict=True):
        if cell.heat:
            soak = np.array([cell.situation.soak_s])
            assert chance(stage.margins(np.array([t_set]), soak))[0, 0] == cell.chance


def test_the_part_is_good_no_oftener_than_its_barrel_and_is_told_only_where_worked_out():
    _, grid = grid_of(KELP, None)
    cells = [cell for column in grid.columns for cell in column.cells]
    told = [cell for cell in cells if cell.part_chance is not None]
    assert all(0.0 < cell.part_chance <= cell.chance for cell in told)
    assert any(cell.part_chance < cell.chance for cell in told)
    assert all((cell.part_chance is None) == (cell.situation is None) for cell in cells)


def test_a_hotter_barrel_browns_more_and_cools_no_faster():
    _, grid = grid_of(BAR, [10.0])
    heated = [cell for cell in grid.columns[0].cells if cell.heat]
    cooling = [cell.situation.cooling_s for cell in heated]
    assert cooling == sorted(cooling)
    coldest, hottest = (
        {limit.name: limit.broken_share for limit in cell.situation.barrel.limits}
        for cell in (heated[0], heated[-1])
    )
    assert hottest["browning"] > coldest["browning"]
    assert coldest["fill"] > hottest["fill"]


def test_hopeless_places_name_no_setting():
    _, grid = grid_of(DRY, None)
    cells = [cell for column in grid.columns for cell in column.cells]
    assert any(cell.chance < HOPELESS for cell in cells)
    for cell in cells:
        if cell.chance < HOPELESS:
            assert not cell.heat
            assert cell.settings is None
            assert cell.situation is None or cell.situation.soak_s is None


def test_behind_a_stop_no_position_names_a_setting():
    sets = ["ingredient.corn-starch.card=plant-protein"]
    advice, grid = grid_of(BAR, [9.0, 10.0], sets)
    assert not advice.heat
    for column in grid.columns:
        assert not column.heat
        assert column.best is None
        assert column.situation.barrel.best_c is None
        assert not any(cell.heat or cell.settings for cell in column.cells)


def test_a_set_point_whose_fumes_are_a_stop_is_not_offered():
    """Hot, wet and quick: a soak of seconds lets a barrel work that already fumes."""
    sets = ["press.heater_max_c=260", "press.plunger_diameter_mm=10"]
    _, grid = grid_of(BAR, [10.0], sets)
    stopped = [
        cell
        for cell in grid.columns[0].cells
        if any(remark.severity == "stop" for remark in cell.warnings)
    ]
    assert any(cell.chance >= HOPELESS for cell in stopped)
    assert not any(cell.heat or cell.settings for cell in stopped)


def test_nothing_hotter_than_the_heater_is_shown_as_reachable():
    _, grid = grid_of(BAR, [10.0], ["press.heater_max_c=141", "press.heater_u_c=1"])
    assert all(cell.barrel_c <= 141.0 for cell in grid.columns[0].cells if cell.heat)


def test_weighings_do_not_stand_in_the_way(tmp_path):
    """The control changes the moisture of a job whose moisture comes from a table."""
    table = "sample,minutes,dish_g,gross_g\na,0,20,25\na,90,20,24.5\n"
    (tmp_path / "w.csv").write_text(table, encoding="utf-8")
    text = BAR.read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("moisture_u_pct")]
    text = "\n".join(lines).replace("moisture_pct = 10.0 ", 'weighings = "w.csv" #')
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    read = read_job(tmp_path / "job.toml")
    assert read.pellets.weighings is not None
    advice = advise(read, count=64)
    grid = sheet_grid(read, advice, moistures=[9.0, advice.moisture.now_pct], count=64)
    assert [column.heat for column in grid.columns] == [True, True]


def test_the_same_seed_gives_the_same_grid():
    assert grid_of(BAR, [9.0, 11.0])[1] == grid_of(BAR, [9.0, 11.0])[1]


def test_it_says_how_far_it_is():
    read = read_job(BAR)
    seen = []
    advice = advise(read, count=64)
    sheet_grid(read, advice, moistures=[9.0, 10.0], count=64, tick=lambda *done: seen.append(done))
    assert seen == [(1, 2), (2, 2)]


@given(st.floats(0.5, 45.0), st.floats(3.0, 30.0))
def test_the_moistures_hold_the_pellets_and_their_target(now, target):
    found = sheet_moistures(now, target)
    assert found == sorted(set(found))
    assert now in found
    assert min(abs(w - target) for w in found) <= 0.05
    assert len(found) <= 18


def test_a_job_without_hope_has_an_empty_picture_and_still_columns():
    job = read_job(DRY, ["press.force_kn=0.01"])
    advice = advise(job, count=64)
    grid = sheet_grid(job, replace(advice), moistures=[12.0], count=64)
    assert grid.barrel_c == []
    assert not grid.columns[0].heat
