"""Tables of recipes as spreadsheets save them, row by row."""

from __future__ import annotations

import io

import numpy as np
import pandas as pd
import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.recipe_table import (
    cell_text,
    check_columns,
    open_recipes,
    read_recipes,
    row_settings,
)


def rows_of(text: str):
    columns, rows = read_recipes(io.StringIO(text, newline=""), "recipes.csv")
    return columns, list(rows)


def test_blank_lines_are_passed_over_and_short_rows_filled_up():
    columns, rows = rows_of("title,pellets.moisture_pct\na,9\n\n   \nb\n,\n")
    assert columns == ["title", "pellets.moisture_pct"]
    assert [row.cells for row in rows] == [("a", "9"), ("b", ""), ("", "")]


def test_semicolons_allow_a_decimal_comma():
    _, rows = rows_of("title;pellets.moisture_pct\nwet, soft;9,5\n")
    assert rows[0].cells == ("wet, soft", "9.5")


def test_a_row_with_too_many_fields_is_told_and_the_next_one_read():
    _, rows = rows_of("pellets.moisture_pct\n9,5\n9.5\n")
    assert "2 fields" in rows[0].trouble
    assert "decimal comma" in rows[0].trouble
    assert (rows[1].cells, rows[1].trouble) == (("9.5",), "")


def test_a_field_too_long_for_a_recipe_costs_its_row_alone():
    _, rows = rows_of(f"title\n{'x' * 20_000}\nshort\n")
    assert "cannot be read" in rows[0].trouble
    assert rows[-1].cells == ("short",)


@pytest.mark.parametrize("text", ["", "\n", "  \n"])
def test_an_empty_table_is_refused(text):
    with pytest.raises(InputError, match="is empty"):
        rows_of(text)


def test_bytes_that_are_no_text_are_refused_wherever_they_stand(tmp_path):
    for number, data in enumerate((b"\xff\xfe\x00t", b"title\n" + b"a\n" * 9000 + b"\xff\n")):
        path = tmp_path / f"{number}.csv"
        path.write_bytes(data)
        with pytest.raises(InputError, match="UTF-8"), open_recipes(path) as file:
            list(read_recipes(file, path.name)[1])


def test_a_mark_of_byte_order_is_no_part_of_the_first_name(tmp_path):
    path = tmp_path / "recipes.csv"
    path.write_bytes("﻿title\na\n".encode())
    with open_recipes(path) as file:
        assert read_recipes(file, path.name)[0] == ["title"]


@pytest.mark.parametrize("name", ["missing.csv", "."])
def test_what_is_no_file_is_refused(tmp_path, name):
    with pytest.raises(InputError, match="file"):
        open_recipes(tmp_path / name)


def test_nothing_is_said_of_a_card_without_mass():
    columns = ["ingredient.agar.moisture_pct", "ingredient.agar.mass_g", "title"]
    assert row_settings(columns, ["12", "0", "a"]) == ["ingredient.agar.mass_g=0", "title=a"]
    assert row_settings(columns, ["12", "5", ""]) == [
        "ingredient.agar.mass_g=5",
        "ingredient.agar.moisture_pct=12",
    ]


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (np.float64(0.1), "0.1"),
        (np.int64(3), "3"),
        (1e-7, "1e-07"),
        (np.bool_(False), "false"),
        (pd.NA, ""),
        (pd.NaT, ""),
        (float("nan"), ""),
        (np.float64("nan"), ""),
    ],
    ids=repr,
)
def test_numbers_are_spelled_in_full(cell, text):
    assert cell_text(cell) == text


def test_every_wrong_column_is_told_at_once():
    with pytest.raises(InputError) as refused:
        check_columns(["pellets.moisture", "press.force", "part.solid.0.diameter_mm"])
    assert len(refused.value.faults) == 2
    with pytest.raises(InputError, match="no columns"):
        check_columns([])
    with pytest.raises(InputError, match="allowed are 500"):
        check_columns([f"part.solid.{i}.length_mm" for i in range(501)])
