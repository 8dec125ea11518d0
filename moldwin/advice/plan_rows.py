"""One experiment of a plan: what to set or measure, what it costs, what is known after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from moldwin.advice.bench_tests import BenchTest
from moldwin.advice.situation import celsius, find
from moldwin.learn.designs import DesignPoint
from moldwin.learn.effort import Effort, effort_of
from moldwin.learn.job_then import job_then
from moldwin.learn.planning import PlannedTest, PlannedTrial
from moldwin.learn.possible import Possible
from moldwin.learn.trial_sheet import SheetRow
from moldwin.window.windows import Setup

__all__ = ["MeasureRow", "PlanRow", "Rows", "setting_to_dict"]


@dataclass(frozen=True)
class MeasureRow:
    """One measurement beside the press; the numbers as of a `PlanRow`. [SI]"""

    test: BenchTest
    effort: Effort
    spread: float
    best_chance: float

    def to_dict(self) -> dict[str, Any]:
        """The measurement as the JSON shows it."""
        test = self.test
        return {
            "kind": "bench",
            "what": test.what,
            "how": test.how,
            "key": test.key,
            **_gains(self),
        }


@dataclass(frozen=True)
class PlanRow:
    """One trial to do.

    Parameters
    ----------
    setting : Possible
        What to set, and how likely it is good. [SI]
    cooling : float or None
        From pressing to opening the mold. [s]
    effort : Effort
        What it costs on top of those before it. [-]
    charge : float or None
        To load; None where no part is described. [kg]
    spread, best_chance : float or None
        Expected after it and those before it: spread of the window's ends [K], chance of the best
        setting; None for a design. [-]
    glycerol : float or None
        Of the dry polymer, where a design changes it. [kg/kg]
    job_tables : str
        The changed job of a design; empty for the job at hand. [JSON]
    """

    setting: Possible
    cooling: float | None
    effort: Effort
    charge: float | None
    spread: float | None = None
    best_chance: float | None = None
    glycerol: float | None = None
    job_tables: str = ""

    def to_dict(self) -> dict[str, Any]:
        """The trial as the JSON shows it."""
        sheet = self.sheet
        share = None if self.glycerol is None else 100.0 * self.glycerol
        return {
            "kind": "press",
            **setting_to_dict(self.setting),
            "cooling_s": sheet.cooling_s,
            "charge_g": sheet.charge_g,
            **_gains(self),
            "glycerol_g_per_100g_dry_polymer": share,
        }

    @property
    def sheet(self) -> SheetRow:
        """The row to take to the press."""
        return SheetRow(
            moisture_pct=round(100.0 * self.setting.moisture, 1),
            barrel_c=round(self.setting.barrel - 273.15, 1),
            soak_s=self.setting.soak,
            mold_c=round(self.setting.mold - 273.15, 1),
            charge_g=None if self.charge is None else round(1e3 * self.charge, 2),
            cooling_s=None if self.cooling is None else float(round(self.cooling)),
            job_tables=self.job_tables,
        )


class Rows:
    """Rows of the sheet; shot and cooling are those that the advice gives at each moisture."""

    def __init__(self, setup: Setup, tests: dict[str, BenchTest]) -> None:
        self._setup, self._tests = setup, tests

    def chosen(self, steps: Sequence[PlannedTrial | PlannedTest]) -> list[PlanRow | MeasureRow]:
        """The steps of a plan."""
        rows: list[PlanRow | MeasureRow] = []
        before: list[Possible] = []
        for step in steps:
            after = step.spread, step.best_chance
            if isinstance(step, PlannedTest):
                rows.append(MeasureRow(self._tests[step.name], step.effort, *after))
                continue
            row = self._row(step.setting, before)
            rows.append(replace(row, spread=after[0], best_chance=after[1]))
            before.append(step.setting)
        return rows

    def design(self, points: Sequence[DesignPoint], folder: Path) -> list[PlanRow]:
        """The points of a design, those that are not to be tried among them."""
        rows: list[PlanRow] = []
        before: list[Possible] = []
        for point in points:
            tables = job_then(point.job, folder).text if point.new_batch else ""
            setup = self._setup
            if point.new_batch:
                setup = Setup(setup.bench.with_job(point.job), setup.confidence)
            rows.append(
                self._row(point.setting, before, setup, glycerol=point.glycerol, job_tables=tables)
            )
            if not point.setting.screened:
                before.append(point.setting)
        return rows

    def _row(
        self,
        setting: Possible,
        before: Sequence[Possible],
        setup: Setup | None = None,
        **more: Any,
    ) -> PlanRow:
        setup = setup or self._setup
        cooling = find(setup, setting.moisture).cooling
        effort = effort_of(setting, before, cooling or 0.0)
        load = setting.charge if setup.geometry.given else None
        return PlanRow(setting, cooling, effort, load, **more)


def _gains(row: PlanRow | MeasureRow) -> dict[str, Any]:
    return {
        "spread_after_k": row.spread,
        "best_chance_after": row.best_chance,
        "minutes": row.effort.minutes,
        "evenings": row.effort.evenings,
        "wait_days": row.effort.wait,
        "grams": row.effort.grams,
    }


def setting_to_dict(one: Possible) -> dict[str, Any]:
    """A setting as JSON and tables have it; the unit ends each key."""
    return {
        "moisture_pct": 100.0 * one.moisture,
        "barrel_c": celsius(one.barrel),
        "soak_s": one.soak,
        "mold_c": celsius(one.mold),
        "chance": one.chance,
        "barrel_chance": one.barrel_chance,
    }
