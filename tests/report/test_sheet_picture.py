"""The window drawn into the page."""

from __future__ import annotations

import re

import pytest

from moldwin.report.sheet_picture import Axes, sheet_picture
from tests.report.sample import conditioned, hopeless, sample
from tests.report.sheet_sample import grid


def test_axes_rise_to_the_right_and_upward():
    axes = Axes([8.0, 9.0, 12.0], [100.0, 120.0, 125.0])
    assert axes.x(8.0) < axes.x(9.0) < axes.x(12.0)
    assert axes.y(100.0) > axes.y(120.0) > axes.y(125.0)
    assert axes.x(8.0) > 0.0
    assert axes.x(12.0) < 440.0


def test_one_moisture_alone_has_a_place():
    axes = Axes([8.0], [100.0])
    assert axes.x(8.0) == pytest.approx((44.0 + 430.0) / 2.0)


def test_you_are_here_at_the_present_moisture_and_its_best():
    picture = sheet_picture(sample(), grid())
    axes = Axes([9.0, 10.0, 11.0], grid().barrel_c)
    assert f'cx="{axes.x(10.0)}" cy="{axes.y(134.8)}"' in picture
    assert "you are here" in picture
    assert "mold here" not in picture


def test_the_target_is_marked_where_conditioning_leads():
    assert "mold here" in sheet_picture(conditioned(), grid())


def test_where_nobody_should_heat_no_temperature_is_marked():
    picture = sheet_picture(hopeless(), grid(heat=False))
    assert "you are here" in picture
    assert 'class="only"' in picture
    for mark in ('class="dot"', "mold here", 'class="win"', 'class="c1"', 'class="c3"'):
        assert mark not in picture


def test_only_cells_with_a_chance_worth_heating_are_shaded():
    picture = sheet_picture(sample(), grid())
    assert len(re.findall(r'class="c3"', picture)) == 3
    assert len(re.findall(r'class="c2"', picture)) == 3
    assert len(re.findall(r'class="c1"', picture)) == 3


def test_the_outline_spans_the_moistures_with_a_window():
    (outline,) = re.findall(r'class="win" d="M([^"]*)Z"', sheet_picture(sample(), grid()))
    points = [tuple(map(float, point.split())) for point in outline.split(" L")]
    axes = Axes([9.0, 10.0, 11.0], grid().barrel_c)
    assert {x for x, _ in points} == {axes.x(10.0), axes.x(11.0)}
    assert {y for _, y in points} == {axes.y(121.4), axes.y(158.9)}


def test_it_tells_those_who_do_not_see_it():
    picture = sheet_picture(sample(), grid())
    assert 'role="img"' in picture
    assert "The pellets are at 10 % water." in picture
    assert "from 121 to 159 °C, best at 135 °C" in picture
