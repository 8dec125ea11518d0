"""A changed job as a file: what did not change stays, what cannot be edited is written anew."""

from __future__ import annotations

import tomllib

import pytest

from moldwin.advice.recipe import recipe_job
from moldwin.advice.recipe_answer import Asked
from moldwin.inputs.errors import InputError
from moldwin.inputs.read_job import read_job
from moldwin.inputs.write_recipe import rewritten, write_recipe
from tests.jobs import EXAMPLES, KELP

TEXT = """# mine
title = "Bars"   # short

[[ingredient]]
card = "corn-starch"
mass_g = 300      # dry
[[ingredient]]
card = "glycerol"
mass_g = 60
lot = "b"
[pot]
water_g = 900
[pellets]
moisture_pct = 9.0 # now
weighings = "w.csv"
"""


def _wanted(**changes):
    tables = tomllib.loads(TEXT)
    tables.update(changes)
    return tables


def test_nothing_changed_changes_nothing():
    assert rewritten(TEXT, tomllib.loads(TEXT)) == TEXT


def test_a_number_changes_and_its_comment_stays_in_its_column():
    rows = [{"card": "corn-starch", "mass_g": 1250.5}, {**tomllib.loads(TEXT)["ingredient"][1]}]
    new = rewritten(TEXT, _wanted(ingredient=rows))
    assert "mass_g = 1250.5   # dry\n" in new
    assert new.replace("mass_g = 1250.5   # dry", "mass_g = 300      # dry") == TEXT


def test_keys_come_and_go():
    new = rewritten(TEXT, _wanted(pellets={"moisture_pct": 8.5, "mass_g": 120}, scale={"a": 1}))
    assert tomllib.loads(new) == _wanted(
        pellets={"moisture_pct": 8.5, "mass_g": 120}, scale={"a": 1}
    )
    assert '# weighings = "w.csv"' in new
    assert "moisture_pct = 8.5 # now" in new


def test_a_remark_takes_the_place_of_the_old_one():
    new = rewritten(TEXT, _wanted(), {"pellets.moisture_pct": "then"})
    assert "moisture_pct = 9.0 # then\n" in new


def test_a_row_goes_as_a_comment_and_another_comes_at_the_end():
    rows = [{"card": "corn-starch", "mass_g": 300}, {"card": "sorbitol", "mass_g": 80.5}]
    new = rewritten(TEXT, _wanted(ingredient=rows))
    assert tomllib.loads(new) == _wanted(ingredient=rows)
    assert '# card = "glycerol"' in new
    assert new.endswith('[[ingredient]]\ncard = "sorbitol"\nmass_g = 80.5\n')
    assert new.startswith("# mine\n")


def test_two_rows_of_one_card_keep_their_places():
    two = TEXT + '[[ingredient]]\ncard = "corn-starch"\nmass_g = 100 # more\n'
    tables = tomllib.loads(two)
    tables["ingredient"][0]["mass_g"], tables["ingredient"][2]["mass_g"] = 600, 200
    new = rewritten(two, tables)
    assert tomllib.loads(new) == tables
    assert "mass_g = 200 # more" in new


@pytest.mark.parametrize(
    "text",
    [
        'ingredient = [{card = "corn-starch", mass_g = 300}]\npellets = {moisture_pct = 9}\n',
        'pellets.moisture_pct = 9\n[["ingredient"]]\ncard = "corn-starch"\nmass_g = 3_00\n',
        "",
    ],
)
def test_what_cannot_be_edited_is_written_anew(text):
    wanted = {
        "title": 'Ba"rs',
        "ingredient": [{"card": "corn-starch", "mass_g": 400, "lot": "ü"}],
        "pellets": {"moisture_pct": 8.0, "moisture_guessed": True},
        "jar": {"sources": ["NaCl", "KCl"]},
        "part": {"wall_mm": 2, "solid": [{"shape": "disc", "diameter_mm": 30}]},
        "price": {"corn-starch": 2},
    }
    assert tomllib.loads(rewritten(text, wanted)) == wanted


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_written_job_reads_as_the_changed_one(tmp_path, path):
    before = read_job(path)
    found = recipe_job(before, Asked(parts=30, aim="flexible"), count=64)
    target = tmp_path / "new.toml"
    write_recipe(target, before, found.final, found.moisture, found.steps["pellets"].likely)
    after = read_job(target)
    assert after.ingredients == found.final.ingredients
    assert after.pot == found.final.pot
    assert after.press == before.press
    assert after.pellets.moisture == pytest.approx(found.moisture, abs=5e-4)
    assert after.pellets.moisture_guessed
    assert after.pellets.mass == pytest.approx(found.steps["pellets"].likely, rel=1e-3)
    kept = [line for line in path.read_text(encoding="utf-8").split("\n") if line.startswith("#")]
    assert all(line in target.read_text(encoding="utf-8") for line in kept)


def test_a_job_with_a_mesh_stays_in_its_folder(tmp_path):
    (tmp_path / "a").mkdir()
    job = tmp_path / "a" / "job.toml"
    text = KELP.read_text(encoding="utf-8")
    head, _, rest = text.partition("[[part.solid]]")
    rest = rest[rest.index("[room]") :]
    job.write_text(f'{head}[part]\nmesh = "p.stl"\nmesh_unit = "mm"\n\n{rest}', encoding="utf-8")
    (tmp_path / "a" / "p.stl").write_text("solid\n", encoding="utf-8")
    read = read_job(job)
    with pytest.raises(InputError, match=r"part\.mesh"):
        write_recipe(tmp_path / "new.toml", read, read, 0.1, 0.2)
    write_recipe(tmp_path / "a" / "new.toml", read, read, 0.1, 0.2)
    assert read_job(tmp_path / "a" / "new.toml").part.mesh == read.part.mesh
