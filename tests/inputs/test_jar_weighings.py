"""Weighings of a jar on its way: read, and refused with a sentence."""

from __future__ import annotations

import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.jar_weighings import read_jar_weighings


def _read(tmp_path, text):
    file = tmp_path / "mass.csv"
    file.write_text(text)
    return read_jar_weighings(file)


def test_a_table_in_si(tmp_path):
    read = _read(tmp_path, "hours,gross_g\n0,132.0\n24,132.85\n")
    assert read.times == (0.0, 86400.0)
    assert read.gross == pytest.approx((0.132, 0.13285))
    assert read.resolution == pytest.approx(1e-5)


def test_semicolons_and_decimal_commas(tmp_path):
    read = _read(tmp_path, "hours;gross_g\n0;132,0\n24;132,8\n")
    assert read.gross == pytest.approx((0.132, 0.1328))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty"),
        ("hours,mass_g\n0,1\n", "column is missing"),
        ("hours,gross_g\n", "holds no weighing"),
        ("hours,gross_g\n0,132\n", "holds one weighing"),
        ("hours,gross_g\n0,132\n48,133\n24,133\n", "line 4: hours: weighings are out of order"),
        ("hours,gross_g\n24,132\n48,133\n", "hours 0"),
        ("hours,gross_g\n0,132\n24,0.133\n", "in kg"),
        ("hours,gross_g\n0,132\n24,heavy\n", "'heavy'"),
        ("hours,gross_g\n0,132\n24,nan\n", "got nan; allowed: 0 to"),
        ("hours,gross_g\n0,132\n24,\n", "a number belongs here"),
        ("hours,gross_g\n0,-5\n24,3\n", "got -5; allowed: 0 to"),
        ("hours,gross_g\n0,0\n24,3\n", "weigh something"),
        ("hours,gross_g,gross_g\n0,132,132\n", "stands there twice"),
        ("hours,gross_g\n0,132,0\n24,133\n", "a decimal comma"),
    ],
)
def test_what_is_wrong_is_said(tmp_path, text, words):
    with pytest.raises(InputError) as caught:
        _read(tmp_path, text)
    assert words in str(caught.value)
