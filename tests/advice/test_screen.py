"""Many recipes at once say what each of them says alone."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

import moldwin
from moldwin.advice.screen import _MOST_DRAWN, ANSWERS, Screener, screen
from moldwin.inputs.errors import InputError
from moldwin.inputs.read_job import read_job
from moldwin.inputs.recipe_table import row_settings
from tests.jobs import BAR, EXAMPLES, KELP

#: Few samples where what is tested does not depend on how many.
FEW = 64

RECIPES = pd.DataFrame(
    {
        "ingredient.glycerol.mass_g": [20.0, 60.0, 0.0, 100.0],
        "pellets.moisture_pct": [9.0, 12.0, 15.0, 22.0],
        "press.force_kn": [2.0, 4.0, 6.0, 4.0],
    },
    index=[7, 3, 5, 1],
)


def value_of(answer: dict, dotted: str):
    """A number of the one answer by its dotted key, None where something above it is missing."""
    for key in dotted.split("."):
        answer = None if answer is None else answer[key]
    return answer


def same(cell: object, value: object) -> bool:
    """Whether a cell of the table and a number of the answer are the very same."""
    nothing = cell is pd.NA or (isinstance(cell, float) and math.isnan(cell))
    return value is None if nothing else cell == value


# ------------------------------------------------------------------- against the one answer


@pytest.mark.parametrize("base", EXAMPLES, ids=lambda path: path.stem)
def test_each_row_is_what_advise_says_with_as_many_samples(base):
    recipes = pd.DataFrame({"pellets.moisture_pct": [9.5, 16.0], "press.force_kn": [3.0, 5.0]})
    found = screen(recipes, base=base, samples=FEW)
    for (_, row), cells in zip(found.iterrows(), recipes.itertuples(index=False), strict=True):
        sets = row_settings(list(recipes.columns), cells)
        answer = moldwin.advise(base, sets=sets, count=FEW).to_dict()
        for name in (name for name in ANSWERS if name not in ("warnings", "error")):
            assert same(row[name], value_of(answer, name)), name
        codes = dict.fromkeys(warning["code"] for warning in answer["warnings"])
        assert row["warnings"] == " ".join(codes)
        assert row["error"] is pd.NA


def test_a_table_of_256_samples_is_as_close_to_2048_as_samples_allow():
    # with as many samples there is no difference at all, see above; this one is that of the draws:
    # ends of the window lie where the chance crosses what is asked, and the best set point is one
    # of a grid of 5 K
    recipes = pd.DataFrame({"pellets.moisture_pct": [9.0, 12.0, 15.0]})
    few = screen(recipes, base=KELP, target=False)
    many = screen(recipes, base=KELP, target=False, samples=2048)
    share = many["barrel.chance"]
    two_errors = 2.0 * np.sqrt(share * (1.0 - share) / 256)  # of independent samples
    assert ((few["barrel.chance"] - share).abs() <= two_errors).all()
    for name in ("tg_c.likely", "mold.best_c"):
        assert (few[name] - many[name]).abs().max() <= 1.0
    for name in ("barrel.low_c", "barrel.best_c", "barrel.high_c"):
        assert (few[name] - many[name]).abs().max() <= 5.0


def test_a_higher_moisture_softens_and_a_weaker_ram_never_helps():
    recipes = pd.DataFrame({"pellets.moisture_pct": [8.0, 11.0, 14.0]})
    found = screen(recipes, base=BAR, samples=FEW, target=False)
    assert (np.diff(found["tg_c.likely"]) < 0).all()
    forces = pd.DataFrame({"press.force_kn": [0.5, 1.0, 2.0, 4.0]})
    found = screen(forces, base=BAR, samples=FEW, target=False)
    assert (np.diff(found["barrel.chance"]) >= 0).all()


def test_without_the_target_the_pellets_as_they_are_get_the_same_numbers():
    whole = screen(RECIPES, base=BAR, samples=FEW)
    quick = screen(RECIPES, base=BAR, samples=FEW, target=False)
    numbers = [n for n in ANSWERS if n.startswith(("tg_c", "mold", "shot", "moisture.now"))]
    pd.testing.assert_frame_equal(
        whole[[*numbers, "barrel.chance"]], quick[[*numbers, "barrel.chance"]]
    )
    assert quick["moisture.target_best_pct"].isna().all()
    named = quick["settings.moisture_pct"].notna()
    assert (
        quick["settings.moisture_pct"][named].tolist() == quick["moisture.now_pct"][named].tolist()
    )


# ---------------------------------------------------------------------- a pure function of a row


def test_a_row_depends_on_nothing_but_itself_to_the_last_bit():
    whole = screen(RECIPES, base=BAR, samples=FEW)
    parts = [screen(RECIPES.iloc[[i]], base=BAR, samples=FEW) for i in range(len(RECIPES))]
    pd.testing.assert_frame_equal(pd.concat(parts), whole, check_exact=True)
    turned = screen(RECIPES[::-1], base=BAR, samples=FEW)
    pd.testing.assert_frame_equal(turned[::-1], whole, check_exact=True)


def test_no_row_is_moved_by_the_draws_of_another():
    alone = screen(pd.DataFrame({"blend.softening_c": [70.0]}), **softened())
    beside = screen(pd.DataFrame({"blend.softening_c": [40.0, 70.0]}), **softened())
    assert beside["tg_c.likely"][0] != beside["tg_c.likely"][1]
    assert beside.iloc[1].equals(alone.iloc[0])


def softened() -> dict:
    """The bundled job with the moisture of a bent strip."""
    base = read_job(BAR, ["blend.softening_moisture_pct=9", "blend.softening_c=60"])
    return {"base": base, "samples": FEW, "target": False}


def test_draws_thrown_away_change_nothing_and_do_not_pile_up(monkeypatch):
    columns = ["ingredient.potato-starch.moisture_pct"]
    kept = Screener(columns, base=BAR, samples=FEW, target=False)
    first = [kept.answer([cell]) for cell in (10.0, 11.0, 12.0)]
    monkeypatch.setattr("moldwin.advice.screen._MOST_DRAWN", 1)
    thrown = Screener(columns, base=BAR, samples=FEW, target=False)
    assert [thrown.answer([cell]) for cell in (10.0, 11.0, 12.0)] == first
    assert _MOST_DRAWN < 10_000


def test_the_same_seed_gives_the_same_bytes_and_another_one_others():
    found = screen(RECIPES, base=BAR, samples=FEW, target=False)
    again = screen(RECIPES, base=BAR, samples=FEW, target=False)
    other = screen(RECIPES, base=BAR, samples=FEW, target=False, seed=1)
    assert found.to_csv() == again.to_csv()
    assert found.to_csv() != other.to_csv()


def test_columns_keep_their_kind_however_few_rows_or_answers_there_are():
    kinds = screen(RECIPES, base=BAR, samples=FEW, target=False).dtypes
    wrong = RECIPES.assign(**{"pellets.moisture_pct": 120.0})
    assert screen(wrong, base=BAR, samples=FEW).dtypes.equals(kinds)
    assert screen(RECIPES.iloc[:0], base=BAR, samples=FEW).dtypes.equals(kinds)


def test_a_table_without_a_base_describes_its_job_alone():
    recipe = {"ingredient.potato-starch.mass_g": [300.0], "pellets.moisture_pct": [14.0]}
    alone = screen(pd.DataFrame(recipe), samples=FEW, target=False)
    assert alone["error"].isna().all()
    assert alone["tg_c.likely"][0] > 0.0
    assert np.isnan(alone["shot.charge_g.likely"][0])  # nobody described a part


# ------------------------------------------------------------------------------- what is wrong


def test_a_wrong_row_says_so_and_stops_no_other():
    recipes = pd.DataFrame({"pellets.moisture_pct": ["12", "damp", "120", None, "nan"]})
    found = screen(recipes, base=BAR, samples=FEW, target=False)
    assert found["error"].isna().tolist() == [True, False, False, True, False]
    assert found["error"][2].startswith("pellets.moisture_pct: got 120; allowed: 0 to 60")
    numbers = found.loc[[1, 2, 4], [n for n in ANSWERS if n != "error"]]
    assert numbers.isna().all(axis=None)
    # an empty cell leaves what the base says
    base = screen(pd.DataFrame({"title": ["as it is"]}), base=BAR, samples=FEW, target=False)
    assert found["barrel.chance"][3] == base["barrel.chance"][0]


@pytest.mark.parametrize(
    ("recipe", "said"),
    [
        ({"ingredient.potato-starsh.mass_g": 10.0}, "potato-starch"),
        ({"press.force_kn": -3.0}, "press.force_kn"),
        ({"pellets.shape": "cube"}, "pellets.shape"),
        ({"part.mesh": "nowhere.stl", "part.mesh_unit": "mm"}, "nowhere.stl"),
        ({"pellets.moisture_pct": math.inf}, "pellets.moisture_pct"),
    ],
    ids=str,
)
def test_what_is_wrong_names_its_key_and_the_likely_slip(recipe, said):
    found = screen(pd.DataFrame([recipe]), base=BAR, samples=FEW, target=False)
    assert said in found["error"][0]


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        (["pellets.moisture"], "moisture_pct"),
        (["pelets.moisture_pct"], "pellets"),
        (["recipe"], "recipe"),
        (["ingredient.agar.mass"], "mass_g"),
        (["title", "title"], "twice"),
        ([3], "no name"),
    ],
    ids=str,
)
def test_a_column_that_is_no_key_is_refused_before_any_work(columns, said):
    with pytest.raises(InputError, match=said):
        screen(pd.DataFrame([[1] * len(columns)], columns=columns), base=BAR)


@pytest.mark.parametrize("options", [{"confidence": 0.3}, {"samples": 1}], ids=str)
def test_options_out_of_reach_are_refused(options):
    with pytest.raises(ValueError, match=next(iter(options))):
        screen(RECIPES, base=BAR, **options)


# -------------------------------------------------------------------------- over other engines


def test_dask_maps_it_over_partitions_unchanged():
    dask_frame = pytest.importorskip("dask.dataframe", reason="needs moldwin[dask]")
    distributed = pytest.importorskip("distributed", reason="needs moldwin[dask]")
    options = {"base": str(BAR), "samples": FEW, "target": False}
    recipes = RECIPES.reset_index(drop=True)
    alone = moldwin.screen(recipes, **options)
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    )
    with cluster, distributed.Client(cluster):
        parts = dask_frame.from_pandas(recipes, npartitions=3)
        mapped = parts.map_partitions(moldwin.screen, **options, meta=alone.iloc[:0]).compute()
    pd.testing.assert_frame_equal(mapped, alone, check_exact=True)
