"""All evidence there is: every check run once, and what is printed but cannot be compared."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

from moldwin.advice.evidence import constants, flowing, made, predictions, solved, sorbed
from moldwin.advice.evidence.blends import Blends
from moldwin.advice.evidence.row import (
    CONSTANT,
    PREDICTION,
    EvidenceRow,
    Summary,
    origins,
    summaries,
)
from moldwin.advice.evidence.tables import published

__all__ = ["CONSTANTS", "PREDICTIONS", "Evidence", "NotCompared", "gather"]

#: Each gives the rows of one table, or of a part of it, in the order they are shown.
PREDICTIONS: tuple[Callable[[Blends], Iterable[EvidenceRow]], ...] = (
    predictions.glass_transitions,
    sorbed.moistures,
    sorbed.isotherms,
    sorbed.stored_grain,
    sorbed.net_heats,
    sorbed.net_heats_printed,
    made.moldings,
    made.parts,
    predictions.gelatinization,
    predictions.film_hours,
    predictions.pool_evaporation,
    predictions.gel_rods,
    flowing.melt_viscosities,
    flowing.heat_capacities,
    flowing.water_diffusivities,
)
CONSTANTS: tuple[Callable[[], Iterable[EvidenceRow]], ...] = (
    constants.water_vapor,
    constants.water_beside_glycerol,
    constants.glycerol_vapor,
    constants.glycerol_vapor_elsewhere,
    constants.air_pressure,
    constants.salt_humidity,
    constants.glycerol_baths,
    constants.salt_solution,
    constants.wood_moisture,
    constants.glycerol_factor,
    constants.melt_law,
    constants.glass_rules,
    solved.diffusion_series,
    solved.dense_starch,
    solved.cooling_times,
    solved.wet_bulb,
    constants.component_properties,
    constants.fiber_rule,
    solved.specimen_ends,
)

#: Tables with a column that says why a row is not compared.
_WITH_REASONS = (
    "starch_tg.csv",
    "sorption_points.csv",
    "gab_parameters.csv",
    "sorption_heat.csv",
    "melt_viscosity.csv",
    "water_diffusivity.csv",
    "conditioning_cases.csv",
    "gelatinization.csv",
    "part_properties.csv",
    "fiber.csv",
)
#: Columns that name a row's subject, the first there is.
_NAMES = ("material", "polymer", "plasticizer", "starch")
_RANGE = "{low} to {high} {unit}"
#: What a row prints, by table; without the columns there is no number in it.
_PRINTED = {
    "starch_tg.csv": "{tg_c} °C",
    "sorption_points.csv": "{x} kg/kg at {aw} of saturation",
    "gab_parameters.csv": "xm {xm}, c {c}, k {k} at {t_c} °C",
    "sorption_heat.csv": "{heat_kj_mol} kJ/mol at {x} kg/kg",
    "gelatinization.csv": _RANGE,
    "part_properties.csv": _RANGE,
    "fiber.csv": _RANGE,
    "water_diffusivity.csv": "{low} to {high} m2/s",
}


@dataclass(frozen=True)
class NotCompared:
    """A printed row that is no evidence, and why."""

    table: str
    id: str
    what: str
    why: str
    source: str
    status: str

    def to_dict(self) -> dict[str, str]:
        """As plain data."""
        return dict(vars(self))


@dataclass(frozen=True)
class Evidence:
    """Every published value beside what the tool says of it today."""

    rows: tuple[EvidenceRow, ...]
    not_compared: tuple[NotCompared, ...]

    @property
    def misses(self) -> list[EvidenceRow]:
        """Rows outside interval or tolerance, predictions first."""
        return [row for row in self.rows if not row.inside]

    @property
    def summary(self) -> list[Summary]:
        """By quantity."""
        return summaries(self.rows)

    def of_kind(self, kind: str) -> list[EvidenceRow]:
        """Rows of one kind."""
        return [row for row in self.rows if row.subject.kind == kind]

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "schema": "moldwin.evidence/1",
            "rows": [row.to_dict() for row in self.rows],
            "summary": [summary.to_dict() for summary in self.summary],
            "totals": {kind: _total(self.of_kind(kind)) for kind in (PREDICTION, CONSTANT)},
            "not_compared": [row.to_dict() for row in self.not_compared],
        }


def gather(progress: Callable[[int, int], None] | None = None, count: int = 1024) -> Evidence:
    """Recompute everything the tool is held against.

    Parameters
    ----------
    progress : callable, optional
        Told how many checks of how many are done. [-]
    count : int
        Samples behind each interval. [-]

    Returns
    -------
    Evidence
        Nothing is kept from one run to the next: it is what this very code says.
    """
    blends, rows = Blends(count), list[EvidenceRow]()
    checks: list[Callable[[], Iterable[EvidenceRow]]]
    checks = [*(partial(check, blends) for check in PREDICTIONS), *CONSTANTS]
    for done, check in enumerate(checks):
        if progress is not None:
            progress(done, len(checks))
        rows.extend(check())
    if progress is not None:
        progress(len(checks), len(checks))
    return Evidence(tuple(rows), tuple(_not_compared()))


def _total(rows: list[EvidenceRow]) -> dict[str, int]:
    fresh = [row for row in rows if not row.used_for_fit]
    return {
        "rows": len(rows),
        "independent_sources": origins(rows),
        "sources_not_identified": origins(row for row in rows if not row.identified),
        "sources_second_hand": origins(row for row in rows if row.second_hand),
        "inside": sum(row.inside for row in rows),
        "rows_not_used_for_fit": len(fresh),
        "inside_not_used_for_fit": sum(row.inside for row in fresh),
        "from_memory": sum(row.status == "memory" for row in rows),
    }


def _not_compared() -> Iterator[NotCompared]:
    for table in _WITH_REASONS:
        for row in published(table):
            trend = "a direction without a number" if row.get("judge") == "trend" else ""
            why = row["why_not"] or trend
            if why and row.get("judge") != "size":
                named = (row.get(name, "") for name in _NAMES)
                what = next((name for name in named if name not in ("", "none")), "water")
                yield _left_out(table, row, what + _printed(table, row), why)
    for row in published("molding_cases.csv"):
        if row["judge"] in ("no", "scope"):
            tried = ", ".join(filter(None, (row["material"], row["composition"])))
            what = f"{tried}: {row['outcome']}"
            yield _left_out("molding_cases.csv", row, what, row["note"])


def _printed(table: str, row: dict[str, str]) -> str:
    """The number itself, a range of one value as that value."""
    text = _PRINTED.get(table, "").format_map(row)
    if ("low" in row and not row["low"]) or row.get("unit") == "sign":
        return ""
    if row.get("low") and row["low"] == row["high"]:
        text = text.replace(f"{row['low']} to ", "", 1)
    return f", {text}" if text else ""


def _left_out(table: str, row: dict[str, str], what: str, why: str) -> NotCompared:
    return NotCompared(table, row["id"], what, why, row["source"], row["status"])
