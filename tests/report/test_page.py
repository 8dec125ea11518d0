"""A page of plain text: what is too wide is wrapped, never cut."""

from __future__ import annotations

import pytest

from moldwin.report.page import Page

ROWS = [
    ("", "dry season", "damp season"),
    ("water, %", "9.3 (8.0 to 10.8)", "20 (17 to 24)"),
    ("stiffness, MPa", "2000 (200 to 4000)", "70 (20 to 200)"),
]


def _lines(width, **options):
    page = Page(width=width)
    page.rows(ROWS, **options)
    return page.text().splitlines()


def test_a_table_that_fits_stands_in_columns():
    head, *rows = _lines(60)
    at = head.index("damp season")
    assert [row[at : at + 2] for row in rows] == ["20", "70"]


@pytest.mark.parametrize("width", [40, 45])
def test_one_that_does_not_fit_loses_no_number(width):
    lines = _lines(width)
    assert max(map(len, lines)) <= width
    words = " ".join(lines).replace("   ", " ").replace("  ", " ")
    for row in ROWS:
        for cell in filter(None, row):
            assert cell in words
    assert "…" not in words


def test_notes_stand_under_their_rows_either_way():
    for width in (40, 60):
        lines = _lines(width, below=["", "from the isotherm", ""])
        at = lines.index("    from the isotherm")
        assert "24)" in lines[at - 1]
