"""What stands behind the window: soaks by temperature, steam, where the pressure goes."""

from __future__ import annotations

import math

import numpy as np

from moldwin.advice.answer import Details, SoakAdvice
from moldwin.advice.situation import Found
from moldwin.base.percentiles import triple
from moldwin.stages.shot import fillings
from moldwin.window.aim import whole_chance
from moldwin.window.sensitivity import Influence
from moldwin.window.soaks import soak_table
from moldwin.window.windows import Setup

__all__ = ["details"]


def details(setup: Setup, found: Found, unknowns: list[Influence]) -> Details:
    """Details of the advised window.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    found : Found
        What is advised. [-]
    unknowns : list of Influence
        Unknowns behind where it lies. [-]

    Returns
    -------
    Details
        In the units of the page.
    """
    stage, barrel = found.window.barrel_stage, found.window.barrel
    t_set = np.array([barrel.best])
    shares = stage.pressure_shares(t_set, np.array([barrel.soak]))
    rows = [
        SoakAdvice(
            barrel_c=row.barrel - 273.15,
            from_s=row.shortest,
            to_s=row.longest,
            best_s=row.best,
            chance=row.chance,
            fails_first=row.fails_first,
        )
        for row in soak_table(setup, found.window)
    ]
    return Details(
        soaks=rows,
        steam_mpa=triple(1e-6 * stage.steam_pressure(stage.true_temperature(t_set)[0, 0])),
        held_mpa=triple(1e-6 * (stage.held_pressure() + np.zeros(setup.bench.count))),
        nozzle_share=float(np.median(shares["nozzle"])),
        fillings=_whole(fillings(setup.bench, found.shot)),
        unknowns=[(i.name, i.share) for i in unknowns],
        part_chance=whole_chance(found.window),
    )


def _whole(count: float | None) -> int | None:
    """A count as it is told; none where it is not known, or where no number of fills is enough."""
    return int(count) if count is not None and math.isfinite(count) else None
