"""Rows read from surfaces: as near as is said, the same in any part, and never where none is."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from moldwin.advice.screen import ANSWERS, Screener, lay_between, screen
from moldwin.advice.screening import lay as screen_lay
from moldwin.advice.screening.check import check
from moldwin.advice.screening.groups import Sorter, survey
from moldwin.advice.screening.labels import Labels
from moldwin.advice.screening.lay import COMPUTED, INTERPOLATED, lay
from moldwin.base.remarks import CODES
from tests.jobs import BAR

COLUMNS = ["pellets.moisture_pct", "press.force_kn"]
COUNT = 900
OPTIONS = {"base": BAR, "target": False}


def table(count=COUNT, seed=1):
    drawn = np.random.default_rng(seed).uniform((7.0, 2.0), (14.0, 6.0), (count, 2))
    return pd.DataFrame(drawn.round(3), columns=COLUMNS)


@pytest.fixture(scope="module")
def fewer():
    """Fewer recipes worked out than for a table of two numbers would be, for the time it takes."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(screen_lay, "_STEPS", (64, 128))
        patch.setattr(screen_lay, "_HELD_OUT", 40)
        yield


@pytest.fixture(scope="module")
def laid(fewer):
    return lay_between(table(), base=BAR)


@pytest.fixture(scope="module")
def known():
    """Twenty recipes looked at, and their numbers."""
    rows = table(20, seed=2)
    screener = Screener(COLUMNS, **OPTIONS)
    return rows.to_numpy(), [screener.look(cells) for cells in rows.itertuples(index=False)]


# --------------------------------------------------------------------------- as near as is said


def test_recipes_that_no_surface_saw_are_as_near_as_the_check_says(laid):
    (group,) = laid.reported
    assert group.used, group.why
    fresh = table(60, seed=99)
    fresh = fresh[(fresh >= table().min()).all(axis=1) & (fresh <= table().max()).all(axis=1)]
    read = screen(fresh, between=laid, **OPTIONS)
    exact = screen(fresh, **OPTIONS)
    assert (read["made"] == INTERPOLATED).mean() >= 0.9
    off = (read["barrel.chance"] - exact["barrel.chance"]).abs()
    assert off.quantile(0.9) <= 0.02
    assert (read["barrel.open"] == exact["barrel.open"]).mean() >= 0.9
    assert (read["tg_c.likely"] - exact["tg_c.likely"]).abs().max() <= 1.0
    ends = (read["barrel.low_c"] - exact["barrel.low_c"]).abs().dropna()
    assert ends.quantile(0.9) <= 2.5
    charge = (read["shot.charge_g.likely"] / exact["shot.charge_g.likely"] - 1.0).abs()
    assert charge.quantile(0.9) <= 0.01


def test_no_warning_of_a_row_is_left_out_silently(laid):
    fresh = table(40, seed=98)
    read = screen(fresh, between=laid, **OPTIONS)
    exact = screen(fresh, **OPTIONS)
    missing = 0
    for found, true in zip(read.itertuples(), exact.itertuples(), strict=True):
        said = set(found.warnings.split())
        assert said <= set(CODES)
        if found.made == INTERPOLATED:
            assert set(found.warnings_unsure.split()) <= said
        missing += not set(true.warnings.split()) <= said
    assert missing <= 2


def test_each_number_that_is_worked_out_is_there_too_or_none_is(laid):
    read = screen(table(30, seed=3), between=laid, **OPTIONS)
    exact = screen(table(30, seed=3), **OPTIONS)
    numbers = [name for name, kind in ANSWERS.items() if kind == "float64"]
    assert (read[numbers].isna() == exact[numbers].isna()).all(axis=1).mean() >= 0.9
    assert list(read.columns) == [*exact.columns, "warnings_unsure", "made"]


# ---------------------------------------------------------------------- the gate can say no


def shuffled(looks):
    """Answers that do not follow from the recipes: each that of another one."""
    return [looks[i] for i in np.random.default_rng(4).permutation(len(looks))]


def test_what_cannot_be_interpolated_is_not(monkeypatch, fewer, known):
    monkeypatch.setattr(screen_lay, "_HELD_OUT", 16)
    _, looks = known
    lot = np.random.default_rng(5)

    def compute(rows):
        return [looks[i] for i in lot.integers(len(looks), size=len(rows))]

    rows = table().itertuples(index=False, name=None)
    found = lay(COLUMNS, rows, compute, lambda _: True, samples=256, confidence=0.7, seed=1)
    (group,) = found.reported
    assert not group.used
    assert group.through == 128  # all that was to be had
    assert "chance within 0.02 in" in group.why
    answers = found.answers([(9.0, 4.0)], lambda _: {"barrel.chance": 0.5})
    assert answers == [{"barrel.chance": 0.5, "made": COMPUTED}]


def test_the_check_passes_the_truth_and_no_other(known):
    _, looks = known
    true = [look.answer for look in looks]
    found = check(looks, true)
    assert found.passed
    assert set(found.within.values()) == {1.0}
    assert found.same_warnings == 1.0
    assert not check(looks, [look.answer for look in shuffled(looks)]).passed
    assert not check(looks, [{}] * len(looks)).passed
    for name, value in [
        ("barrel.chance", 0.03),
        ("tg_c.low", 1.5),
        ("mold.best_c", 3.0),
        ("barrel.best_c", 6.0),
    ]:
        moved = [
            answer if answer[name] is None else answer | {name: answer[name] + value}
            for answer in true
        ]
        assert not check(looks, moved).passed, name
    silent = [answer | {"warnings": ""} for answer in true]
    assert not check(looks, silent).passed


@pytest.mark.parametrize("spoil", ["a wrong row", "other parts"])
def test_a_group_whose_rows_are_not_alike_is_worked_out(fewer, known, spoil):
    _, looks = known
    more = dict.fromkeys(["barrel.fiber-scorch", *looks[0].now.shares], 0.0)
    other = replace(looks[0], now=replace(looks[0].now, shares=more))

    def compute(rows):
        odd = None if spoil == "a wrong row" else other
        return [odd, *(looks[i % len(looks)] for i in range(len(rows) - 1))]

    rows = table().itertuples(index=False, name=None)
    found = lay(COLUMNS, rows, compute, lambda _: True, samples=256, confidence=0.7, seed=1)
    assert not found.reported[0].used
    assert "not made of the same parts" in found.reported[0].why


def test_where_a_corner_is_no_job_every_row_is_worked_out(fewer):
    def compute(rows):
        raise AssertionError("nothing is to be worked out")

    rows = table().itertuples(index=False, name=None)
    found = lay(COLUMNS, rows, compute, lambda _: False, samples=256, confidence=0.7, seed=1)
    assert "is no job" in found.reported[0].why


# ------------------------------------------------------------------------ a pure function of a row


def test_parts_of_a_table_give_what_the_whole_gives_to_the_last_bit(laid):
    whole = screen(table(70, seed=6), between=laid, **OPTIONS)
    kept = pickle.loads(pickle.dumps(laid))
    parts = [
        screen(table(70, seed=6).iloc[i:j], between=kept, **OPTIONS)
        for i, j in [(0, 1), (1, 18), (18, 70)]
    ]
    pd.testing.assert_frame_equal(pd.concat(parts), whole, check_exact=True)


def test_the_same_table_lays_the_same_surfaces(fewer, known):
    places, looks = known

    def compute(rows):
        near = [np.abs(places - [float(c) for c in cells]).sum(axis=1).argmin() for cells in rows]
        return [looks[i] for i in near]

    def answers():
        rows = table().itertuples(index=False, name=None)
        found = lay(COLUMNS, rows, compute, lambda _: True, samples=256, confidence=0.7, seed=1)
        (key,) = survey(Sorter(COLUMNS), [(9.0, 4.0)], 1)
        return found.reported, found._groups.get(key) is None

    assert answers() == answers()


def test_what_is_beyond_the_table_or_wrong_is_worked_out_as_ever(laid):
    rows = pd.DataFrame(
        [["10", "4"], ["16", "4"], ["120", "4"], ["", "4"], ["damp", "4"], ["0.5", "4"]],
        columns=COLUMNS,
    )
    found = screen(rows, between=laid, **OPTIONS)
    assert found["made"].tolist() == [INTERPOLATED] + [COMPUTED] * 5
    exact = screen(rows, **OPTIONS)
    pd.testing.assert_frame_equal(found[exact.columns][1:], exact[1:], check_exact=True)
    assert found["error"].isna().tolist() == [True, True, False, True, False, False]


def test_other_columns_or_the_target_are_refused(laid):
    with pytest.raises(ValueError, match="target=False"):
        screen(table(2), base=BAR, between=laid)
    with pytest.raises(ValueError, match="laid for the columns"):
        screen(table(2)[COLUMNS[::-1]], between=laid, **OPTIONS)


# --------------------------------------------------------------------------------------- groups


def test_rows_that_differ_in_more_than_numbers_are_other_groups():
    columns = [
        "title",
        "ingredient.glycerol.mass_g",
        "ingredient.glycerol.moisture_pct",
        "press.sealed_nozzle",
        "press.heater_max_c",
        "pellets.times_heated",
    ]
    sorter = Sorter(columns)
    one = ("a", "20", "1", "true", "220", "0")
    assert sorter.of(one)[1] == (20.0, 1.0)
    assert sorter.of(("b", "30", "2", "true", "220", "0"))[0] == sorter.of(one)[0]
    others = [
        ("a", "20", "1", "false", "220", "0"),
        ("a", "20", "1", "true", "230", "0"),  # set points tried end at the heater's last
        ("a", "20", "1", "true", "220", "1"),
        ("a", "20", "", "true", "220", "0"),
        ("a", "0", "1", "true", "220", "0"),
    ]
    keys = {sorter.of(cells)[0] for cells in (one, *others)}
    assert len(keys) == 1 + len(others)
    # what is said of a card that is not there says nothing
    assert sorter.of(("a", "0", "7", "true", "220", "0")) == sorter.of(others[-1])
    for wrong in ("much", "-3", "1e99", "nan", "1,5"):
        assert sorter.of(("a", wrong, "1", "true", "220", "0")) is None


def test_a_group_knows_its_reach_and_gives_its_rows_back():
    sorter = Sorter(COLUMNS)
    groups = survey(sorter, [("9", "4"), ("11", "2"), ("10", ""), ("damp", "3")], seed=1)
    (key, group), (other, alone) = groups.items()
    assert (group.count, group.low, group.high) == (2, [9.0, 2.0], [11.0, 4.0])
    assert group.holds((10.0, 3.0))
    assert not group.holds((10.0, 4.1))
    assert sorter.cells(key, (10.5, 3.0)) == ["10.5", "3.0"]
    assert sorter.named(other) == ["pellets.moisture_pct"]
    assert alone.count == 1


def test_a_table_of_any_length_is_kept_by_a_bounded_lot(monkeypatch):
    monkeypatch.setattr("moldwin.advice.screening.groups._KEPT", 50)
    monkeypatch.setattr("moldwin.advice.screening.groups._MOST_GROUPS", 3)
    rows = [(str(7 + i / 1000), "4") for i in range(5000)]
    (group,) = survey(Sorter(COLUMNS), rows, seed=1).values()
    assert (group.count, len(group.kept)) == (5000, 50)
    drawn = np.array(group.kept)[:, 0]
    assert 8.0 < drawn.mean() < 11.0  # from all over
    many = [(str(i), "true") for i in range(10)]
    assert len(survey(Sorter(["press.heater_max_c", "blend.cooked"]), many, 1)) == 0
    many = [("9", str(200 + i)) for i in range(10)]
    assert len(survey(Sorter(["pellets.moisture_pct", "press.heater_max_c"]), many, 1)) == 3


# --------------------------------------------------------------------------------------- labels


def test_a_label_that_one_share_decides_turns_where_that_share_does():
    rng = np.random.default_rng(1)
    places, share = rng.uniform(size=(300, 2)), rng.uniform(size=300)
    shares = {"a": share, "b": rng.uniform(size=300)}
    labels = [("dust", *(["short-shot"] if 0.1 <= s < 0.5 else [])) for s in share]
    known = Labels(places, labels, shares)
    assert known.names == ["dust", "short-shot"]
    asked = np.array([0.0, 0.1, 0.3, 0.5, 0.9])
    sure = known.at(places[:5], {"a": asked, "b": asked[::-1]})
    assert (sure[:, 0] == np.inf).all()
    assert ((sure[:, 1] > -1.0) == [False, True, True, True, False]).all()  # open or true
    assert ((sure[:, 1] > 1.0) == [False, False, True, False, False]).all()  # surely


def test_another_label_is_read_from_a_surface_and_left_open_near_its_edge():
    rng = np.random.default_rng(2)
    places = rng.uniform(-1.0, 1.0, (400, 2))
    labels = [("steam",) if x + y > 0.0 else () for x, y in places]
    known = Labels(places, labels, {"a": rng.uniform(size=400)})
    asked = np.array([[0.6, 0.6], [0.01, 0.0], [-0.6, -0.6]])
    sure = known.at(asked, {"a": np.full(3, 0.5)})[:, 0]
    assert sure[0] > 1.0
    assert -1.0 < sure[1] < 1.0
    assert sure[2] < -1.0
