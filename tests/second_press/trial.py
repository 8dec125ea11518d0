"""Makers who ask the advisor, and makers who follow a rule instead; what the press then says."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import Any

import numpy as np

from moldwin.advice.advise import advise
from moldwin.advice.situation import find
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.window.judge import broken_shares, chance
from moldwin.window.windows import Setup
from tests.second_press.hidden import Truth
from tests.second_press.known import Known, job
from tests.second_press.press import Settings, ample_charge_g, good, shoot

#: Settings that rivals and the search for any setting that serves choose from.
MOISTURES_PCT = (4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 19.0)
BARRELS_C = (95.0, 105.0, 115.0, 125.0, 135.0, 145.0, 155.0)
SOAKS_S = (150.0, 300.0, 600.0, 1000.0, 1600.0)
MOLDS_C = (25.0, 60.0, 90.0, 120.0)
#: Rivals wait this long before they open: more than any of these parts needs.
_LONG_COOLING_S = 120.0
#: "Dry overnight": pellets of the oven, wet basis.
_OVERNIGHT_PCT = 3.0


@dataclass(frozen=True)
class Advised:
    """What the page promised one maker; ``settings`` is None where it says do not heat.

    ``broken`` is the share of the advisor's samples that each limit breaks at its settings.
    """

    barrel_chance: float
    inside_share: float
    broken: dict[str, float]
    settings: tuple[float, ...] | None

    @property
    def promise(self) -> float:
        """The chance of the whole: barrel, and the part within the limits of moisture and mold."""
        return self.barrel_chance * self.inside_share


def ask(known: Known, i: int, count: int = 512) -> Advised:
    """Ask the advisor for maker ``i``.

    The share inside the moisture limits is not on the page as one number, so it is taken from the
    window that the page was made of.
    """
    tables = job(known, i)
    answer = advise(tables, count=count)
    leads = answer.conditioning_leads and answer.after_conditioning is not None
    nominal = answer.moisture.target_best_pct if leads else answer.moisture.now_pct
    setup = Setup(Bench(read_job(tables), count=count), answer.confidence)
    found = find(setup, nominal / 100.0)
    s = answer.settings
    row = None
    if s is not None and s.barrel_c is not None:
        row = tuple(
            float("nan") if value is None else float(value)
            for value in (
                s.moisture_pct,
                leads,
                s.barrel_c,
                s.soak_s,
                s.mold_c,
                s.cooling_s,
                s.charge_g,
            )
        )
    return Advised(
        barrel_chance=float(found.window.barrel.chance),
        inside_share=float(chance(_of_the_shot(found.window.part_margins))),
        broken={limit.name: float(limit.broken_share) for limit in found.window.barrel.limits}
        | {
            name: float(share)
            for name, share in broken_shares(found.window.moisture_margins).items()
        },
        settings=row,
    )


def _of_the_shot(margins: dict[str, Any]) -> dict[str, Any]:
    """All but mold on stored pellets: these makers press within days."""
    return {name: margin for name, margin in margins.items() if name != "mold-growth"}


def ask_all(known: Known, *, count: int = 512, processes: int = 1) -> list[Advised]:
    """Ask for every maker, in as many processes as given."""
    one = partial(ask, known, count=count)
    if processes == 1:
        return [one(i) for i in range(len(known))]
    with ProcessPoolExecutor(processes) as pool:
        return list(pool.map(one, range(len(known)), chunksize=8))


def advised_settings(advised: list[Advised]) -> tuple[Any, Settings]:
    """Which makers heat at all, and the settings of those.

    Where the page gives no cooling time the maker waits long; where no charge, that shows as a
    charge of nothing.
    """
    heats = np.array([a.settings is not None for a in advised])
    rows = np.array([a.settings for a in advised if a.settings is not None], dtype=float)
    moisture, leads, barrel, soak, mold, cooling, charge = rows.reshape(-1, 7).T
    return heats, Settings(
        moisture_pct=moisture,
        conditioned=leads > 0.5,
        barrel_c=barrel,
        soak_s=soak,
        mold_c=mold,
        cooling_s=np.where(np.isnan(cooling), _LONG_COOLING_S, cooling),
        charge_g=np.where(np.isnan(charge), 0.0, charge),
    )


def alike(known: Known, truth: Truth, setting: tuple[float, float, float, float]) -> Settings:
    """One moisture, barrel, soak and mold for every maker."""
    return _generous(known, truth, *(np.full(len(known), value) for value in setting))


def _generous(
    known: Known, truth: Truth, moisture: Any, barrel: Any, soak: Any, mold: Any
) -> Settings:
    """Settings with an ample charge and a long wait, so that neither can spoil the part."""
    return Settings(
        moisture_pct=moisture,
        conditioned=np.full(len(known), True),
        barrel_c=barrel,
        soak_s=soak,
        mold_c=mold,
        cooling_s=np.full(len(known), _LONG_COOLING_S),
        charge_g=ample_charge_g(known, truth),
    )


def grid() -> list[tuple[float, float, float, float]]:
    """Every setting that is searched."""
    return list(product(MOISTURES_PCT, BARRELS_C, SOAKS_S, MOLDS_C))


def successes(known: Known, truth: Truth) -> Any:
    """Who succeeds with which setting of the grid, shape (settings, makers)."""
    moisture, barrel, soak, mold = np.array(grid()).T
    found = []
    for i in range(len(known)):
        again = np.full(len(moisture), i)
        one, hidden = known.take(again), truth.take(again)
        settings = _generous(one, hidden, moisture, barrel, soak, mold)
        found.append(good(shoot(one, hidden, settings)))
    return np.stack(found, axis=1)


def overnight() -> list[tuple[float, float, float, float]]:
    """ "Dry overnight, 130 °C, 5 min" with each of the mold temperatures."""
    return [(_OVERNIGHT_PCT, 130.0, 300.0, mold) for mold in MOLDS_C]
