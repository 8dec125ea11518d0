"""Weighings at several humidities: what they give, and what is said of a wrong table."""

from __future__ import annotations

import math

import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.humidity_weighings import read_humidity_weighings

HEAD = "sample,humidity_pct,dish_g,gross_g\n"
GOOD = ["a,0,20.00,30.00", "a,33,20.00,30.90", "a,75,20.00,31.80"]


def table(tmp_path, rows, head=HEAD):
    path = tmp_path / "points.csv"
    path.write_text(head + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_water_per_dry_mass_by_hand(tmp_path):
    found = read_humidity_weighings(table(tmp_path, GOOD))
    assert [point.aw for point in found.points] == [0.33, 0.75]
    assert [point.x for point in found.points] == pytest.approx([0.09, 0.18], rel=1e-12)
    assert found.resolution == pytest.approx(1e-5)
    half_step = 0.01 / math.sqrt(12) / 10
    by_hand = half_step * math.sqrt(1 + 1.09**2 + 0.09**2)
    assert found.points[0].x_u == pytest.approx(by_hand, rel=1e-12)


def test_rows_stand_in_any_order_and_samples_side_by_side(tmp_path):
    rows = [GOOD[2], "b,57,5.00,16.30", GOOD[0], "b,0,5.00,15.00", GOOD[1]]
    found = read_humidity_weighings(table(tmp_path, rows))
    assert [(point.sample, point.aw) for point in found.points] == [
        ("a", 0.33),
        ("b", 0.57),
        ("a", 0.75),
    ]


def test_semicolons_with_decimal_commas_are_the_same(tmp_path):
    plain = read_humidity_weighings(table(tmp_path, GOOD))
    rows = [row.replace(",", ";").replace(".", ",") for row in GOOD]
    again = read_humidity_weighings(table(tmp_path, rows, HEAD.replace(",", ";")))
    assert again.points == plain.points


def test_a_column_may_say_how_sure_the_humidity_is(tmp_path):
    rows = [row + end for row, end in zip(GOOD, (",", ",1", ","), strict=True)]
    found = read_humidity_weighings(table(tmp_path, rows, HEAD.strip() + ",humidity_u_pct\n"))
    assert [point.aw_u for point in found.points] == [0.01, None]


@pytest.mark.parametrize(
    ("rows", "said", "line"),
    [
        (["a,33,20,30.9", "a,75,20,31.8"], "no dry weighing", 2),
        ([*GOOD, "a,0,20.00,29.99"], "2 dry weighings", 2),
        ([GOOD[0], "a,33,20.00,29.50", GOOD[2]], "29.5 at 33 % and 30 dry", 3),
        ([GOOD[0], "a,33,20.00,0.0309", GOOD[2]], "in kg", 3),
        (["a,0,20.00,0.030", GOOD[1], GOOD[2]], "in kg", 2),
        ([GOOD[0], "a,33,21.00,30.90", GOOD[2]], "changes its dish", 3),
        (["a,0,30.00,20.00", "a,33,30.00,20.90", "a,75,30.00,21.8"], "swapped", 2),
        ([GOOD[0], "a,0.33,20.00,30.90", GOOD[2]], "did you mean 33?", 3),
        ([GOOD[0], "a,99,20.00,30.90", GOOD[2]], "allowed: 0 for the dry mass, or 5 to 95", 3),
        ([GOOD[0], "a,33,,30.90", GOOD[2]], "write 0 if the scale was tared", 3),
        ([GOOD[0], "a,33,20.00,45.00", GOOD[2]], "a dish missing", 3),
        ([GOOD[0], "a,33,20.00,30.90 g", GOOD[2]], "write the number alone", 3),
        ([GOOD[0], ",33,20.00,30.90", GOOD[2]], "is empty", 3),
        ([GOOD[0], "a,33,20,00,30,90", GOOD[2]], "a decimal comma?", 3),
        (GOOD[:2], "two humidities at least", None),
    ],
)
def test_a_wrong_row_is_named_with_its_line(tmp_path, rows, said, line):
    with pytest.raises(InputError) as caught:
        read_humidity_weighings(table(tmp_path, rows))
    faults = caught.value.faults
    assert any(said in fault.message and fault.line == line for fault in faults), str(caught.value)


def test_how_unsure_a_humidity_may_be(tmp_path):
    rows = [f"{row},50" for row in GOOD]
    with pytest.raises(InputError, match="0 to 20 points"):
        read_humidity_weighings(table(tmp_path, rows, HEAD.strip() + ",humidity_u_pct\n"))


@pytest.mark.parametrize("head", ["", "sample,humidity,dish_g,gross_g\n", HEAD])
def test_a_table_without_points_is_refused(tmp_path, head):
    with pytest.raises(InputError):
        read_humidity_weighings(table(tmp_path, [], head))
