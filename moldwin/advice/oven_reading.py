"""What weighings of a tray on its way through the oven say: the forecast narrows."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.percentiles import Triple, triple
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.learn.weighed import Lesson, learn
from moldwin.stages.bench import Bench
from moldwin.stages.drying import HOUR, Oven
from moldwin.stages.state import Material

__all__ = ["learn_from_oven"]

#: What the weighings may move.
_COLUMNS = (
    "diffusivity_factor",
    "drying.film",
    "jar.voids",
    "jar.isotherm_factor",
    "jar.sorption_heat_factor",
    "room.humidity",
)


def learn_from_oven(oven: Oven, target: float, t: float, read: JarWeighings) -> Lesson[Oven]:
    """Move the draws by each weighing in turn, and compare.

    Parameters
    ----------
    oven : Oven
        Before any weighing. [SI]
    target : float
        Wet basis. [kg/kg]
    t : float
        Of the air while they were weighed. [K]
    read : JarWeighings
        The weighings. [SI]

    Returns
    -------
    Lesson
        Of ``hours_to_target`` [h], ``diffusivity_factor`` and ``film_factor`` [-].

    Raises
    ------
    InputError
        Weighings that cannot be of these pellets.
    """
    now = oven.stage.now.nominal

    def oven_on(bench: Bench) -> Oven:
        return Oven(bench, Material(bench), now)

    def expected(on: Oven, times: Any) -> Any:
        return -on.lost(t, np.concatenate([[0.0], times]))[:, 1:]

    def summary(on: Oven) -> dict[str, Triple]:
        return {
            "hours_to_target": triple(on.dry(target, t).to_target / HOUR),
            "diffusivity_factor": triple(on.stage.diffusivity_factor),
            "film_factor": triple(on.film_factor),
        }

    return learn(oven, oven.bench, now, read, _COLUMNS, oven_on, expected, summary)
