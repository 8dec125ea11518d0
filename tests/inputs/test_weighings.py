"""Loss on drying: what the three weighings say, how surely, and what is wrong with a table."""

import math

import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.read_job import read_job
from moldwin.inputs.weighings import read_weighings

HEAD = "sample, minutes, dish_g, gross_g\n"


def table(tmp_path, rows, head=HEAD):
    path = tmp_path / "weighings.csv"
    path.write_text(head + "\n".join(rows) + "\n")
    return path


def said_of(tmp_path, rows, head=HEAD):
    with pytest.raises(InputError) as caught:
        read_weighings(table(tmp_path, rows, head))
    return caught.value


def test_ten_grams_that_lose_one_held_ten_percent(tmp_path):
    found = read_weighings(table(tmp_path, ["a, 0, 20.0, 30.0", "a, 90, 20.0, 29.0"]))
    assert found.moisture == pytest.approx(0.1, rel=1e-12)
    assert found.samples[0].time == 5400


def test_the_last_row_is_the_dry_one(tmp_path):
    rows = ["a, 0, 20, 30", "a, 60, 20, 29.2", "a, 90, 20, 29.0"]
    assert read_weighings(table(tmp_path, rows)).moisture == pytest.approx(0.1)


def test_the_step_is_the_last_printed_digit_unless_the_scale_is_known(tmp_path):
    path = table(tmp_path, ["a, 0, 20.00, 30.00", "a, 90, 20.00, 29.00"])
    assert read_weighings(path).resolution == pytest.approx(1e-5)
    assert read_weighings(path, 1e-4).resolution == 1e-4


def test_one_sample_carries_half_a_step_of_each_reading(tmp_path):
    found = read_weighings(table(tmp_path, ["a, 0, 20.0, 30.0", "a, 90, 20.0, 29.0"]))
    reading = 0.1 / math.sqrt(12)  # the readings move by hand, one at a time
    moved = [
        ((30 + reading - 29) / (10 + reading)) - 0.1,
        ((30 - 29) / (10 - reading)) - 0.1,
        ((30 - 29 - reading) / 10) - 0.1,
    ]
    by_hand = math.sqrt(sum(m * m for m in moved))
    assert found.moisture_u == pytest.approx(by_hand, rel=0.01)  # second order of the step


def test_a_finer_scale_is_surer(tmp_path):
    path = table(tmp_path, ["a, 0, 20.0, 30.0", "a, 90, 20.0, 29.0"])
    assert read_weighings(path, 1e-5).moisture_u < read_weighings(path, 1e-4).moisture_u


def test_repeats_that_disagree_are_less_sure_than_the_scale(tmp_path):
    rows = ["a,0,20.00,30.00", "a,90,20.00,29.00", "b,0,20.00,30.00", "b,90,20.00,28.60"]
    found = read_weighings(table(tmp_path, rows))
    assert found.moisture == pytest.approx(0.12)
    assert found.moisture_u == pytest.approx(0.02)  # 0.10 and 0.14: s / sqrt 2


def test_a_job_takes_its_moisture_from_the_table(tmp_path):
    table(tmp_path, ["a, 0, 20.00, 30.00", "a, 90, 20.00, 29.00"])
    text = '[[ingredient]]\ncard = "agar"\nmass_g = 3\n[pellets]\nweighings = "weighings.csv"\n'
    (tmp_path / "job.toml").write_text(text + "[scale]\nresolution_g = 0.1\n")
    job = read_job(tmp_path / "job.toml")
    assert job.pellets.moisture == pytest.approx(0.1)
    assert job.pellets.moisture_u == pytest.approx(
        read_weighings(job.pellets.weighings, 1e-4).moisture_u
    )


@pytest.mark.parametrize(
    ("rows", "said", "line"),
    [
        (["a, 0, 20, 30", "a, 90, 20, 31"], "heavier dried", 3),
        (["a, 0, 30, 20", "a, 90, 30, 19"], "swapped", 2),
        (["a, 0, 20, 30", "a, 90, 20, 29", "a, 60, 20, 29"], "out of order", 4),
        (["a, 90, 20, 29", "a, 0, 20, 30"], "minutes 0", 2),
        (["a, 0, 20, 30"], "weighed once", 2),
        (["a, 0, 20, 30", "a, 90, 21, 29"], "changes its dish", 3),
        (["a, 0, 20, 30", "a, 90, 20, x"], "a number belongs here", 3),
        (["a, 0, 20, 30", "a, 90, 20"], "a number belongs here", 3),
        (["a, 0, 20, 30", "a, 90, 20, nan"], "allowed", 3),
        (["a, 0, 20, 30", "a, 90, 20, -2"], "allowed", 3),
        ([", 0, 20, 30"], "name of its sample", 2),
    ],
)
def test_a_wrong_row_is_named_with_its_line(tmp_path, rows, said, line):
    error = said_of(tmp_path, rows)
    assert any(said in f.message and f.line == line for f in error.faults), str(error)


def test_a_missing_column_is_named_with_the_one_meant(tmp_path):
    error = said_of(tmp_path, ["a, 0, 20, 30"], "sample, minutes, dish_g, gros_g\n")
    assert error.faults[0].key == "gross_g"
    assert "is it 'gros_g'?" in str(error)


@pytest.mark.parametrize("text", ["", HEAD, "\n\n", "sample;minutes;dish_g;gross_g\na;0;1;2\n"])
def test_a_table_without_weighings_is_refused(tmp_path, text):
    path = tmp_path / "t.csv"
    path.write_text(text)
    with pytest.raises(InputError):
        read_weighings(path)


def test_a_table_that_says_too_wet_is_refused_by_the_job(tmp_path):
    table(tmp_path, ["a, 0, 20, 30", "a, 90, 20, 22"])
    text = '[[ingredient]]\ncard = "agar"\nmass_g = 3\n[pellets]\nweighings = "weighings.csv"\n'
    (tmp_path / "job.toml").write_text(text)
    with pytest.raises(InputError, match=r"80\.0% water"):
        read_job(tmp_path / "job.toml")
