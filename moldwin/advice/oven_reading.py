"""What weighings of a tray on its way through the oven say: the forecast narrows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.advice.weighed import move_draws, taken_up
from moldwin.base.draws import Draws
from moldwin.base.percentiles import Triple, triple
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.stages.bench import Bench
from moldwin.stages.drying import HOUR, Oven
from moldwin.stages.state import Material

__all__ = ["OvenLearned", "learn_from_oven"]

#: What the weighings may move.
_COLUMNS = (
    "diffusivity_factor",
    "drying.film",
    "jar.voids",
    "jar.isotherm_factor",
    "room.humidity",
)


@dataclass(frozen=True)
class OvenLearned:
    """Draws moved by weighings, and what that did.

    Parameters
    ----------
    bench : Bench
        The job on the moved draws. [-]
    before, after : dict of str to Triple
        ``hours_to_target`` [h], ``diffusivity_factor``, ``film_factor`` [-]. [as named]
    effective : float
        How many samples the readings would leave by weights alone. [-]
    hours : float
        Of the last weighing. [h]
    used : int
        Weighings used. [-]
    far : bool
        The readings lie outside what the job allows. [-]
    """

    bench: Bench
    before: dict[str, Triple]
    after: dict[str, Triple]
    effective: float
    hours: float
    used: int
    far: bool

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "weighings": self.used,
            "hours": self.hours,
            "effective_samples_by_weights": self.effective,
            "outside_expectation": self.far,
            "before": {name: value.to_dict() for name, value in self.before.items()},
            "after": {name: value.to_dict() for name, value in self.after.items()},
        }


def learn_from_oven(
    bench: Bench, now: float, target: float, t: float, read: JarWeighings
) -> OvenLearned:
    """Move the draws by each weighing in turn, and compare.

    Parameters
    ----------
    bench : Bench
        Before any weighing. [-]
    now, target : float
        Wet basis. [kg/kg]
    t : float
        Of the air while they were weighed. [K]
    read : JarWeighings
        The weighings. [SI]

    Returns
    -------
    OvenLearned
        [SI]

    Raises
    ------
    InputError
        Weighings that cannot be of these pellets.
    """
    job = bench.job
    oven = Oven(bench, Material(bench), now)
    step = job.scale.resolution or 0.0
    weighed = taken_up(read, job.pellets.mass, job.jar.tray or 0.0, now, step)
    times = np.concatenate([[0.0], weighed.times])

    def expected(on: Oven) -> Any:
        return -on.lost(t, times)[:, 1:]

    predicted = expected(oven)
    before = _summary(oven, target, t)
    columns = bench.columns.items()
    names = [column for name, column in columns if any(name.endswith(end) for end in _COLUMNS)]
    draws = bench.fresh_draws.copy()
    move_draws(draws, names, weighed, lambda moved: expected(_oven(bench, moved.copy(), now)))
    after = _oven(bench, draws, now)
    return OvenLearned(
        bench=after.bench,
        before=before,
        after=_summary(after, target, t),
        effective=weighed.effective(predicted),
        hours=weighed.hours,
        used=len(weighed.times),
        far=weighed.far_from(predicted),
    )


def _oven(old: Bench, draws: Draws, now: float) -> Oven:
    bench = Bench(old.job, seed=draws.seed, count=draws.count, library=old.library)
    bench.draws = bench.fresh_draws = draws
    return Oven(bench, Material(bench), now)


def _summary(oven: Oven, target: float, t: float) -> dict[str, Triple]:
    return {
        "hours_to_target": triple(oven.dry(target, t).to_target / HOUR),
        "diffusivity_factor": triple(oven.stage.diffusivity_factor),
        "film_factor": triple(oven.film_factor),
    }
