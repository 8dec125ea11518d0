"""What may be said of a trial, and that it is kept to the last digit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldwin.inputs.job_values import SlipError
from moldwin.learn.reading import job_of, trial_arrays
from moldwin.learn.trials import (
    COLOR_SCALE,
    COLUMNS,
    contradictions,
    new_id,
    read_value,
    written_value,
)
from tests.learn.sample import FULL, trial

NUMBERS = [key for key in COLUMNS.values() if key.kind == "number"]


@pytest.mark.parametrize("key", NUMBERS, ids=lambda key: key.key)
@settings(deadline=None, derandomize=True)
@given(st.data())
def test_a_number_reads_back_as_it_was_written(key, data):
    low = max(key.low, 1.0) if key.percent else key.low
    value = data.draw(st.floats(low, key.high, exclude_min=key.above))
    assert read_value(key.key, written_value(value)) == value


@pytest.mark.parametrize(
    ("column", "text", "value"),
    [
        ("barrel_c", " 130 ", 130.0),
        ("barrel_c", "1.3e2", 130.0),
        ("mold_c", "-5", -5.0),
        ("mold_c", "-0", 0.0),
        ("filled", "YES", True),
        ("filled", "n", False),
        ("stuck", "", None),
        ("bubbles", "Heart", "heart"),
        ("bubbles", "no", "none"),
        ("bubbles", "yes", "some"),
        ("bubbles", " ", ""),
        ("date", "2026-02-28", "2026-02-28"),
        ("date", "28.2.2026", "2026-02-28"),
        ("date", "", ""),
        ("note", "  =1+1\r\n\t", "  =1+1\r\n\t"),
    ],
)
def test_what_a_maker_may_write(column, text, value):
    assert read_value(column, text) == value
    if value == 0:
        assert math.copysign(1.0, read_value(column, text)) == 1.0


@pytest.mark.parametrize(
    ("column", "text", "said"),
    [
        ("barrel_c", "403", "looks like kelvin"),
        ("barrel_c", "hot", "20 to 400 °C"),
        ("barrel_c", "130 C", "write the number alone: 130"),
        ("barrel_c", "130,5", "use a point: 130.5"),
        ("barrel_c", "1_30", "a number belongs here"),
        ("barrel_c", "nan", "a number belongs here"),
        ("barrel_c", "1e999", "not a number that can be measured"),
        ("barrel_c", "١٣٠", "a number belongs here"),
        ("moisture_pct", "0.1", "did you mean 10?"),
        ("fill_pct", "0.6", "did you mean 60?"),
        ("fill_pct", "101", "0 to 100 %"),
        ("force_kn", "6000", "did you mean 6? 6000 looks like newtons"),
        ("force_kn", "0", "above 0"),
        ("color", "6", "0 to 5"),
        ("color", "-1", "0 to 5"),
        ("filled", "half", "got 'half'; allowed: yes or no"),
        ("bubbles", "inside", "none, some, skin, heart, all"),
        ("date", "2026-02-30", "YYYY-MM-DD"),
        ("date", "02/03/2026", "YYYY-MM-DD"),
        ("date", "20260228", "YYYY-MM-DD"),
        ("note", "n" * 10_001, "allowed are 10000"),
        ("lot", "n" * 301, "allowed are 300"),
        ("note", "a\0b", "zero character"),
        ("photo", "\udcff.jpg", "not valid text"),
    ],
)
def test_a_slip_says_what_came_and_what_is_allowed(column, text, said):
    with pytest.raises(SlipError) as caught:
        read_value(column, text)
    assert said in str(caught.value)


def test_a_decimal_comma_only_where_commas_part_no_cells():
    assert read_value("moisture_pct", "9,5", decimal_comma=True) == 9.5
    with pytest.raises(SlipError):
        read_value("soak_s", "1.234,5", decimal_comma=True)


@pytest.mark.parametrize(
    ("filled", "fill_pct", "faulty"),
    [
        (True, 100.0, False),
        (True, 96.0, False),
        (True, 60.0, True),
        (False, 100.0, True),
        (False, 60.0, False),
        (None, 60.0, False),
        (True, None, False),
    ],
)
def test_filled_and_how_far_must_agree(filled, fill_pct, faulty):
    assert bool(list(contradictions({"filled": filled, "fill_pct": fill_pct}))) is faulty


def test_every_step_of_color_has_words():
    assert len(COLOR_SCALE) == COLUMNS["color"].high + 1
    assert len(set(COLOR_SCALE)) == len(COLOR_SCALE)


def test_ids_are_never_read_as_numbers_by_a_spreadsheet():
    assert all(new_id()[0] == "t" for _ in range(10))


def test_the_sample_fills_every_column():
    assert list(trial(**FULL).noted()) == list(COLUMNS)


# ------------------------------------------------------------------------- for fitting


def test_arrays_are_in_si_and_nan_where_nothing_was_noted():
    arrays = trial_arrays([trial(**FULL), trial()])
    assert len(arrays) == 2
    first = {
        "moisture": 0.0945,
        "barrel": 403.15,
        "mold": 268.15,
        "soak": 0.3,
        "force": 6000.0,
        "charge": 1e-8,
        "cooling": 30.0,
        "filled": 0.0,
        "fill": 0.625,
        "part": 0.0,
        "color": 2.5,
        "stuck": 1.0,
        "cracked": 0.0,
        "bend_radius": 0.018,
    }
    for name, value in first.items():
        column = getattr(arrays, name)
        assert column[0] == pytest.approx(value, rel=1e-12), name
        assert math.isnan(column[1]), name
    assert arrays.bubbles == ("heart", "")


def test_no_trials_make_empty_arrays():
    arrays = trial_arrays([])
    assert (len(arrays), arrays.barrel.shape) == (0, (0,))


def test_the_job_at_a_trial_is_the_job_with_what_the_trial_says():
    plain = job_of(trial())
    assert (plain.title, plain.pellets.moisture) == ("A bar", 0.10)
    changed = job_of(trial(moisture_pct=12.5, force_kn=3.5, mold_c=80.0))
    assert changed.pellets.moisture == 0.125
    assert changed.pellets.moisture_u == 0.005
    assert changed.press.force == 3500.0
    assert changed.mold.temperature == 353.15
