"""The one verdict rules the map, the sheet's controls and the plan too, not the answer alone."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.advice.advise import advise
from moldwin.advice.mapped import map_job
from moldwin.advice.planned import plan_job
from moldwin.advice.sheet_grid import sheet_grid
from moldwin.inputs.read_job import read_job
from moldwin.window import judge
from tests.jobs import BAR

COUNT = 128


def _of(value):
    def verdict(margins):
        shape = np.broadcast_shapes(*(np.shape(m) for m in margins.values()))
        return np.full(shape, value)

    return verdict


@pytest.fixture
def under(monkeypatch):
    """Call something while another judge sits."""

    def call(verdict, ask):
        with monkeypatch.context() as patch:
            if verdict is not None:
                patch.setattr(judge, "holds", verdict)
            return ask()

    return call


def _map():
    return map_job(read_job(BAR), grid=8, count=COUNT)


def test_the_map_hears_the_judge(under):
    plain = under(None, _map).map.barrel_chance
    assert np.ptp(plain) > 0.1
    assert np.all(under(_of(True), _map).map.barrel_chance == 1.0)
    never = under(_of(False), _map)
    assert np.all(never.map.barrel_chance == 0.0)
    assert not never.heat_now


def _sheet():
    read = read_job(BAR)
    return sheet_grid(read, advise(read, count=COUNT), moistures=[9.0, 12.0], count=COUNT)


def test_the_controls_of_the_sheet_hear_the_judge(under):
    plain = under(None, _sheet)
    assert any(column.heat for column in plain.columns)
    assert all(column.situation.barrel.chance == 1.0 for column in under(_of(True), _sheet).columns)
    never = under(_of(False), _sheet)
    assert all(column.situation.barrel.chance == 0.0 for column in never.columns)
    assert not any(column.heat for column in never.columns)
    assert all(cell.settings is None for column in never.columns for cell in column.cells)


def _plan():
    return plan_job(read_job(BAR), count=COUNT, wanted=2)


def test_nothing_is_pressed_where_the_judge_lets_nothing_pass(under):
    assert under(None, _plan).pressed
    never = under(_of(False), _plan)
    assert never.cold is not None
    assert never.pressed == ()


def test_what_a_plan_is_worth_hears_the_judge(under):
    assert under(_of(True), _plan).best_chance == 1.0
    assert under(_of(False), _plan).best_chance == 0.0
