"""The job behind a trial stays as it was, whatever becomes of its file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from moldwin.inputs.job_values import SlipError
from moldwin.inputs.read_job import read_job
from moldwin.learn.job_then import JobThen, job_then, path_from
from moldwin.learn.reading import job_of
from tests.jobs import BAR, EXAMPLES, KELP, dry, job, row
from tests.learn.sample import trial

HERE = Path(".")


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_reads_back_as_the_job_it_was(example):
    now = read_job(example)
    then = job_of(trial(then=job_then(now, now.folder)), now.folder)
    for name in ("ingredients", "pot", "blend", "pellets", "press", "mold", "part", "room", "jar"):
        assert getattr(then, name) == getattr(now, name), name
    assert then.title == now.title


def test_what_was_set_for_the_trial_is_part_of_the_job():
    then = job_then(read_job(BAR, ["pellets.moisture_pct=7", "press.force_kn=4"]), HERE)
    assert job_of(trial(then=then)).pellets.moisture == 0.07
    assert job_of(trial(then=then)).press.force == 4000.0


def test_a_table_of_weighings_gives_way_to_what_it_said(tmp_path):
    table = tmp_path / "oven.csv"
    table.write_text("sample,minutes,dish_g,gross_g\na,0,20,30\na,180,20,29\n")
    (tmp_path / "job.toml").write_text(
        '[[ingredient]]\ncard = "corn-starch"\nmass_g = 100\n[pellets]\nweighings = "oven.csv"\n'
    )
    now = read_job(tmp_path / "job.toml")
    then = job_then(now, tmp_path)
    table.unlink()
    was = job_of(trial(then=then), tmp_path)
    assert was.pellets.moisture == pytest.approx(0.10, rel=1e-12)
    assert was.pellets.moisture_u == pytest.approx(now.pellets.moisture_u, rel=1e-12)


def test_a_mesh_is_named_from_the_book(tmp_path):
    mesh = tmp_path / "jobs" / "label.stl"
    mesh.parent.mkdir()
    mesh.write_text("solid x\nendsolid x\n")
    text = (
        '[[ingredient]]\ncard = "corn-starch"\nmass_g = 100\n[pellets]\nmoisture_pct = 10\n'
        '[part]\nmesh = "label.stl"\nmesh_unit = "mm"\n'
    )
    (mesh.parent / "job.toml").write_text(text)
    then = job_then(read_job(mesh.parent / "job.toml"), tmp_path)
    assert then.tables["part"]["mesh"] == "jobs/label.stl"
    assert job_of(trial(then=then), tmp_path).part.mesh == mesh


def test_the_same_job_has_the_same_id_in_any_order():
    one = JobThen.read('{"a": 1.50, "b": [1, {"y": 2, "x": 3}]}')
    other = JobThen.read('{ "b":[1,{"x":3,"y":2}],"a":1.5 }')
    assert one.id == other.id
    assert one.id != JobThen.read('{"a": 1.25, "b": [1, {"y": 2, "x": 3}]}').id


@pytest.mark.parametrize(
    "text", ["", "{", "[1]", "7", '"x"', "[" * 100_000, '{"a":' * 20 + "1" + "}" * 20]
)
def test_what_is_no_job_is_refused(text):
    with pytest.raises(SlipError):
        JobThen.read(text)


def test_odd_tables_have_no_materials_and_do_no_harm():
    for ingredient in ("7", "[7]", '{"card": "x"}', '[{"card": 7}]'):
        assert JobThen(json.dumps({"ingredient": json.loads(ingredient)})).materials == ()


# ------------------------------------------------------------------------------- lots


def lots(tables: dict[str, object] | Path, lot: str) -> dict[str, str]:
    return dict(job_then(read_job(tables), HERE, lot).materials)


TWO_STARCHES = job(ingredient=dry(corn_starch=70, rice_starch=10, glycerol=20))
SEAWEED = job(ingredient=dry(brown_seaweed_powder=20, corn_starch=60, glycerol=20))
TWO_LOTS = job(
    ingredient=[
        row("brown-seaweed-powder", 20, 0, lot="may"),
        row("corn-starch", 60, 0, lot="bag 2"),
        row("glycerol", 20, 0),
    ]
)


def test_a_plain_name_goes_to_what_it_must_be_about():
    assert lots(KELP, "") == {"brown-seaweed-powder": "may", "glycerol": "", "potato-starch": ""}
    assert lots(KELP, "june")["brown-seaweed-powder"] == "june"
    assert lots(KELP, "june")["potato-starch"] == ""
    assert lots(SEAWEED, "x") == {"brown-seaweed-powder": "x", "corn-starch": "", "glycerol": ""}
    assert lots(TWO_STARCHES, "x") == {"corn-starch": "x", "rice-starch": "x", "glycerol": ""}


def test_each_card_may_have_its_own():
    given = "corn-starch=bag 3, glycerol = old"
    assert lots(TWO_LOTS, given) == {
        "brown-seaweed-powder": "may",
        "corn-starch": "bag 3",
        "glycerol": "old",
    }


@pytest.mark.parametrize(
    ("lot", "said"),
    [
        ("june", "say which you mean: brown-seaweed-powder=may, corn-starch=bag 2"),
        ("corn-starh=x", "did you mean 'corn-starch'?"),
        ("agar=x", "the job has"),
        ("corn-starch=", "CARD=NAME"),
    ],
)
def test_a_lot_is_never_guessed(lot, said):
    with pytest.raises(SlipError) as caught:
        lots(TWO_LOTS, lot)
    assert said in str(caught.value)


def test_paths_start_at_the_book_where_they_can(tmp_path):
    assert path_from(tmp_path, tmp_path / "a" / "b.toml") == "a/b.toml"
    assert path_from(tmp_path / "a", tmp_path / "b.toml") == (tmp_path / "b.toml").as_posix()
