"""A material's isotherm from its own weighings: pulled to them, as far as they are sure."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from moldwin.inputs.cards import Library
from moldwin.inputs.errors import InputError
from moldwin.inputs.humidity_weighings import HumidityPoint, HumidityWeighings
from moldwin.physics.sorption import gab
from moldwin.stages.isotherm_reading import CONSTANTS, read_isotherm, with_isotherm

CARDS = Library([])
TRUE = (0.065, 12.0, 0.88)
T25 = 298.15


HEAT_FACTOR = CARDS.card("jar")["sorption_heat_factor"]


def reading(aws, xs=None, card="brown-seaweed-powder", t=T25, aw_u=None, heat_factor=HEAT_FACTOR):
    xs = gab(np.array(aws), *TRUE) if xs is None else xs
    points = (HumidityPoint("a", a, aw_u, float(x), 1e-4) for a, x in zip(aws, xs, strict=True))
    table = HumidityWeighings("p.csv", tuple(points), 1e-5)
    return read_isotherm(CARDS.card(card), table, t, heat_factor)


def relative_width(edge):
    return (edge.now.high - edge.now.low) / edge.now.likely


def test_points_pull_the_curve_and_narrow_it():
    found = reading([0.33, 0.43, 0.57, 0.68])
    for edge in found.edges:
        assert edge.now.low <= gab(edge.aw, *TRUE) <= edge.now.high
        assert edge.now.high - edge.now.low < 0.5 * (edge.before.high - edge.before.low)


def test_two_points_are_usable_and_more_are_surer():
    two, five = reading([0.33, 0.65]), reading([0.2, 0.33, 0.43, 0.57, 0.68])
    near = [edge for edge in two.edges if 0.3 <= edge.aw <= 0.7]
    assert all(edge.now.low <= gab(edge.aw, *TRUE) <= edge.now.high for edge in near)
    for a, b in zip(two.edges, five.edges, strict=True):
        assert relative_width(b) < relative_width(a)


def test_the_curve_says_where_no_point_is_near():
    far = {edge.aw: edge.measured_near for edge in reading([0.25, 0.35]).edges}
    assert far[0.30]
    assert not far[0.75]


def test_the_card_alone_is_what_the_stage_of_the_blend_draws():
    """The prior's likely value is the card's own isotherm."""
    card = CARDS.card("corn-starch")
    found = reading([0.33, 0.6], card="corn-starch")
    for edge in found.edges:
        expected = gab(edge.aw, *(card[key].value for key in ("xm", "c", "k")))
        assert edge.before.likely == pytest.approx(expected)


def test_salt_above_seventy_percent_is_left_out_for_seaweed_only():
    xs = [0.07, 0.12, 0.45]
    found = reading([0.33, 0.57, 0.76], xs)
    assert [point.aw for point in found.left_out] == [0.76]
    assert any("salt" in note for note in found.notes)
    assert reading([0.33, 0.57, 0.76], card="corn-starch").left_out == ()
    with pytest.raises(InputError, match="two humidities below"):
        reading([0.57, 0.76], xs[1:])


def test_points_that_disagree_are_told_and_widen_the_intervals():
    good = reading([0.33, 0.43, 0.57, 0.65], card="corn-starch")
    torn = reading([0.33, 0.43, 0.57, 0.65], [0.16, 0.05, 0.17, 0.06], card="corn-starch")
    assert any("do not agree" in note for note in torn.notes)
    assert not any("do not agree" in note for note in good.notes)
    assert relative_width(torn.edges[2]) > 2.0 * relative_width(good.edges[2])


def test_weighed_in_the_cold_the_same_points_hold_less_at_25_degrees():
    cold, warm = reading([0.33, 0.6], t=283.15), reading([0.33, 0.6], t=T25)
    assert cold.edges[2].now.likely < warm.edges[2].now.likely


def _log_widths(found):
    return np.array([np.log(edge.now.high / edge.now.low) for edge in found.edges])


def test_the_heat_that_moves_weighings_widens_them_the_more_the_further_from_25_degrees():
    aws = [0.33, 0.43, 0.57, 0.68]
    sure = replace(HEAT_FACTOR, factor=1.001)
    added = []
    for celsius in (25.0, 20.0, 10.0):
        t = celsius + 273.15
        unsure, exact = (reading(aws, t=t, heat_factor=f) for f in (HEAT_FACTOR, sure))
        assert [e.now.likely for e in unsure.edges] == pytest.approx(
            [e.now.likely for e in exact.edges], rel=1e-6
        )
        added.append(_log_widths(unsure)[2] - _log_widths(exact)[2])
    assert added[0] == pytest.approx(0.0, abs=1e-6)
    assert added[0] < added[1] < added[2]


def test_more_weighings_do_not_make_the_heat_surer():
    """Cold, the heat is one error of all points: the humidity's shrinks with them, it does not."""
    few = [0.2, 0.33, 0.43, 0.57, 0.68]
    exact = replace(HEAT_FACTOR, factor=1.001)

    def by_heat(aws):
        unsure, sure = (reading(aws, t=278.15, heat_factor=f) for f in (HEAT_FACTOR, exact))
        return np.sqrt(_log_widths(unsure)[2] ** 2 - _log_widths(sure)[2] ** 2)

    assert by_heat(few * 4) == pytest.approx(by_heat(few), rel=0.25)


def test_a_surer_humidity_narrows():
    sure, unsure = reading([0.33, 0.6], aw_u=0.005), reading([0.33, 0.6], aw_u=0.05)
    assert relative_width(sure.edges[2]) < relative_width(unsure.edges[2])


def test_a_card_without_isotherm_is_refused():
    with pytest.raises(InputError, match="name a polymer or a fiber"):
        reading([0.33, 0.6], card="glycerol")


@pytest.mark.parametrize("name", ["brown-seaweed-powder", "corn-starch"])
def test_the_card_that_keeps_it_says_measured_and_changes_nothing_else(name):
    found = reading([0.33, 0.43, 0.57, 0.68], card=name)
    kept, before = with_isotherm(found), CARDS.card(name)
    for key in CONSTANTS:
        assert kept[key].status == "measured"
        assert kept[key].value == found.now[key].likely
        assert kept[key].factor == found.factors[key] > 1.0
    (group,) = [g for g in kept.groups if set(CONSTANTS) <= set(g.members)]
    assert np.array(group.correlation) == pytest.approx(np.array(found.correlation))
    others = set(before.quantities) - {*CONSTANTS, "isotherm_t"}
    assert all(kept[key] == before[key] for key in others)


def test_a_card_that_keeps_a_reading_is_what_the_next_reading_starts_from():
    """The same points again narrow further, and pull no other way."""
    points = [0.33, 0.43, 0.57, 0.68]
    first = reading(points)
    xs = gab(np.array(points), *TRUE)
    table = (HumidityPoint("a", a, None, float(x), 1e-4) for a, x in zip(points, xs, strict=True))
    weighed = HumidityWeighings("p.csv", tuple(table), 1e-5)
    again = read_isotherm(with_isotherm(first), weighed, T25, HEAT_FACTOR)
    for one, two in zip(first.edges, again.edges, strict=True):
        assert relative_width(two) <= 1.02 * relative_width(one)
        assert two.before.likely == pytest.approx(one.now.likely, rel=0.05)
