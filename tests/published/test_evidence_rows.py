"""Every published value against the tool, row by row, as ``moldwin evidence`` shows them.

A row is held to what the command says of it: a prediction to its 90 % interval, a constant to its
printed digits. What is missed is known, with a reason, and listed here: a miss that goes away or
one that is new fails this file.
"""

from __future__ import annotations

from functools import cache

import pytest

from moldwin.advice.evidence.gather import CONSTANTS, PREDICTIONS, Evidence, gather
from moldwin.advice.evidence.row import CONSTANT
from tests.published.blends import evidence_of
from tests.published.tables import rows

#: Predictions that are known to be missed, by table and row.
MISSED = [
    ("starch_tg.csv", "M02a"),
    *(
        ("sorption_points.csv", point)
        for point in ("6", "7", "8", "9", "10", "11", "17", "18", "19")
    ),
    *(
        ("gab_parameters.csv", f"{name} at {aw}")
        for name, read_at in (
            ("3", ("0.33",)),
            ("4", ("0.33", "0.53")),
            ("5", ("0.33", "0.53", "0.75")),
            ("9", ("0.33", "0.53")),
            ("11", ("0.33", "0.53")),
            ("14", ("0.33", "0.53")),
        )
        for aw in read_at
    ),
    *(
        ("oswin_isotherms.csv", f"{name} at {aw}")
        for name, read_at in (("O2", ("0.33",)), ("O4", ("0.33", "0.53")))
        for aw in read_at
    ),
    *(("gab_parameters.csv", name) for name in ("pasta-0.05", "maize-0.1", "maize-0.12")),
    ("oswin_isotherms.csv", "pasta-1985-0.05"),
    ("molding_cases.csv", "C002"),
    ("part_properties.csv", "P08"),
    ("fiber.csv", "F05"),
    ("gelatinization.csv", "G08"),
    ("gelatinization.csv", "G12"),
    ("heat_capacity.csv", "CP3"),
]
#: The same for check values, by table and how many.
MISSED_CONSTANTS = {
    "zhang2022.csv": 2,
    "robinson1959.csv": 1,
    "litchfield_okos1992.csv": 1,
    "cooling.csv": 10,
    "film_drying.csv": 3,
    "specimens.csv": 1,
}
#: Tables whose every row is compared, with a row of evidence for each.
WHOLE = [
    "cammenga1977",
    "choi_okos1986",
    "cooling",
    "crank",
    "enrione2007",
    "flory_huggins",
    "glass_anchors",
    "greenspan1977",
    "if97",
    "iso2533",
    "litchfield_okos1992",
    "robinson1959",
    "wood_handbook",
    "zhang2022",
    "film_drying",
    "heat_capacity",
    "stored_grain",
]
#: Tables with rows that are not compared: for those a reason is given instead.
WITH_REASONS = [
    "starch_tg",
    "sorption_points",
    "gelatinization",
    "part_properties",
    "fiber",
    "molding_cases",
    "conditioning_cases",
    "sorption_heat",
    "melt_viscosity",
    "water_diffusivity",
]


@cache
def found() -> Evidence:
    return gather()


def key(row):
    return row.subject.table, row.id


@pytest.mark.parametrize("check", [*CONSTANTS, *PREDICTIONS], ids=lambda check: check.__name__)
def test_rows_are_inside_unless_known_to_be_missed(check):
    mine = list(check()) if check in CONSTANTS else list(evidence_of(check).values())
    assert mine
    wrong = [(row.id, row.error) for row in mine if not row.inside and not row.known_miss]
    assert wrong == []
    healed = [row.id for row in mine if row.inside and row.known_miss]
    assert healed == [], "no longer missed: take the reason away"


@pytest.mark.parametrize(
    ("table", "name"),
    [
        pytest.param(*miss, marks=pytest.mark.xfail(strict=True, reason=f"misses: {miss[1]}"))
        for miss in MISSED
    ],
)
def test_a_known_miss_would_be_inside(table, name):
    row = next(row for row in found().rows if key(row) == (table, name))
    assert row.inside, row.known_miss


def test_the_misses_listed_are_exactly_the_known_ones():
    missed = found().misses
    predictions = [key(row) for row in missed if row.subject.kind != CONSTANT]
    assert sorted(predictions) == sorted(MISSED)
    constants: dict[str, int] = {}
    for row in missed:
        if row.subject.kind == CONSTANT:
            constants[row.subject.table] = constants.get(row.subject.table, 0) + 1
    assert constants == MISSED_CONSTANTS
    assert all(len(row.known_miss.split()) >= 5 for row in missed)


@pytest.mark.parametrize("name", WHOLE)
def test_every_row_of_the_table_is_compared(name):
    mine = [row for row in found().rows if row.subject.table == f"{name}.csv"]
    assert len(mine) == len(rows(f"{name}.csv"))


@pytest.mark.parametrize("name", WITH_REASONS)
def test_every_row_of_the_table_is_compared_or_says_why_not(name):
    table = f"{name}.csv"
    compared = [row.id for row in found().rows if row.subject.table == table]
    left_out = [row.id for row in found().not_compared if row.table == table]
    assert sorted([*compared, *left_out]) == sorted(row["id"] for row in rows(table))
    assert all(row.why and row.source for row in found().not_compared)


def test_every_published_curve_is_compared_or_says_why_not():
    for name in ("gab_parameters", "oswin_isotherms"):
        table = f"{name}.csv"
        mine = [row.id for row in found().rows if row.subject.table == table]
        compared = {each.split(" at ")[0] for each in mine if " at " in each}
        left_out = {row.id for row in found().not_compared if row.table == table}
        assert not compared & left_out
        assert compared | left_out == {row["id"] for row in rows(table)}


def test_every_row_says_where_it_comes_from():
    for row in found().rows:
        assert row.source
        assert row.status in {"read", "memory", "derived"}
        assert row.what
    names = [(*key(row), row.subject.quantity) for row in found().rows]
    assert len(names) == len(set(names))
