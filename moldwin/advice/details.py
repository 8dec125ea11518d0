"""What stands behind the window: soaks by temperature, steam, where the pressure goes."""

from __future__ import annotations

import numpy as np

from moldwin.advice.answer import Details, SoakAdvice
from moldwin.advice.measure import own_middle
from moldwin.base.percentiles import triple
from moldwin.window.sensitivity import influences
from moldwin.window.soaks import soak_table
from moldwin.window.windows import Setup, Window

__all__ = ["details"]


def details(setup: Setup, window: Window) -> Details:
    """Details of the advised window.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    window : Window
        The window that is advised. [-]

    Returns
    -------
    Details
        In the units of the page.
    """
    stage, barrel = window.barrel_stage, window.barrel
    wall = stage.true_temperature(np.array([barrel.best]))
    center = stage.charge_temperature(wall, np.array([barrel.soak]), "center")[0, 0]
    middle, kept = own_middle(setup, window)
    rows = [
        SoakAdvice(
            barrel_c=row.barrel - 273.15,
            from_s=row.shortest,
            to_s=row.longest,
            best_s=row.best,
            chance=row.chance,
            fails_first=row.fails_first,
        )
        for row in soak_table(setup, window)
    ]
    return Details(
        soaks=rows,
        steam_mpa=triple(1e-6 * stage.steam_pressure(wall[0, 0])),
        held_mpa=triple(1e-6 * (stage.held_pressure() + np.zeros(setup.bench.count))),
        nozzle_share=float(
            np.median(stage.flow.nozzle_share(setup.geometry, center, stage.t_mold))
        ),
        unknowns=[(i.name, i.share) for i in influences(setup.bench, middle, kept)],
    )
