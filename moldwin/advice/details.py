"""What stands behind the window: soaks by temperature, steam, where the pressure goes."""

from __future__ import annotations

import math

import numpy as np

from moldwin.advice.answer import Details, SoakAdvice
from moldwin.advice.situation import Found
from moldwin.base.percentiles import triple
from moldwin.window.sensitivity import Influence
from moldwin.window.soaks import soak_table
from moldwin.window.windows import Setup

__all__ = ["details"]

#: A barrel this much overfull is heaped, not filled twice. [-]
_HEAPED = 0.05


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
        fillings=_fillings(setup, found),
        unknowns=[(i.name, i.share) for i in unknowns],
    )


def _fillings(setup: Setup, found: Found) -> int | None:
    """How often the barrel is filled with loose pellets to hold one charge; none where unknown."""
    capacity, poured = setup.bench.job.press.barrel_capacity, setup.bench.job.pellets.bulk_density
    if capacity is None:
        return None
    volume = found.shot.charge_volume / setup.bench.typical("press", "loose_fill_share")
    if poured is not None:
        volume = found.shot.charge / poured
    return max(1, math.ceil(float(np.median(volume)) / capacity - _HEAPED))
