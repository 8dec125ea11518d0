"""Tables of numbers: what every one of them may look like, and what is said of a wrong one."""

from __future__ import annotations

import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.number_table import read_number_table


def _read(tmp_path, text, **options):
    file = tmp_path / "t.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    table = read_number_table(file, ("sample",), ("dish_g", "gross_g"), ("hours",), **options)
    table.refuse_faults()
    return table


def test_rows_words_numbers_and_what_may_be_left_empty(tmp_path):
    table = _read(
        tmp_path, "sample, dish_g, gross_g, hours\nb, 2, 3.25, 1\na, 2, 3.5,\n\nb,2,3,2\n"
    )
    assert [row.line for row in table.rows] == [2, 3, 5]
    assert table.rows[0].numbers == {"dish_g": 2.0, "gross_g": 3.25, "hours": 1.0}
    assert "hours" not in table.rows[1].numbers
    assert {name: len(rows) for name, rows in table.by("sample").items()} == {"b": 2, "a": 1}


def test_the_last_digit_is_the_finest_printed_and_no_finer_than_a_scale(tmp_path):
    table = _read(tmp_path, "sample,dish_g,gross_g,hours\na,2.0,3.25,1.123456789\n")
    assert table.last_digit("dish_g") == pytest.approx(0.1)
    assert table.last_digit("dish_g", "gross_g") == pytest.approx(0.01)
    assert table.last_digit("hours") == pytest.approx(1e-5)
    assert _read(tmp_path, "sample,dish_g,gross_g\na,2e1,30\n").last_digit("dish_g") == 1.0


@pytest.mark.parametrize("mark", [";", "\t"])
def test_a_decimal_comma_is_fine_where_columns_are_parted_otherwise(tmp_path, mark):
    text = "sample,dish_g,gross_g\na,2|5,3|75\n".replace(",", mark).replace("|", ",")
    assert _read(tmp_path, text).rows[0].numbers == {"dish_g": 2.5, "gross_g": 3.75}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty; the first line is: sample, dish_g, gross_g"),
        ("sample,gross_g\na,3\n", "dish_g is 0 where the scale was tared"),
        ("sample,dish_g,gros_g\na,2,3\n", "is it 'gros_g'?"),
        ("sample,dish_g,gross_g,gross_g\na,2,3,3\n", "stands there twice"),
        ("sample,dish_g,gross_g\n,2,3\n", "line 2: sample: is empty; give every row the name"),
        ("sample,dish_g,gross_g\na,2,3 g\n", "write the number alone"),
        ("sample,dish_g,gross_g\na,2,3,5\n", "a decimal comma? Write a point"),
        ("sample,dish_g,gross_g\na,,3\n", "or write 0 if the scale was tared"),
        ("sample,dish_g,gross_g\na,2,1e999\n", "allowed: 0 to 1000000"),
        (b"PK\x03\x04\x00\x00", "save the table as CSV"),
    ],
)
def test_what_is_wrong_is_a_sentence(tmp_path, text, said):
    with pytest.raises(InputError) as caught:
        _read(tmp_path, text)
    assert said in str(caught.value)


def test_too_many_rows_and_too_many_faults(tmp_path):
    head = "sample,dish_g,gross_g\n"
    with pytest.raises(InputError, match="holds 4 rows, allowed are 3"):
        _read(tmp_path, head + 4 * "a,2,3\n", most_rows=3)
    with pytest.raises(InputError) as caught:
        _read(tmp_path, head + 200 * "a,x,3\n")
    assert len(caught.value.faults) == 51
    assert "mend these first" in caught.value.faults[-1].message
