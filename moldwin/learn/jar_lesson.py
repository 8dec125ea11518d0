"""What weighings of the jar on its way say: diffusivity, air and end point move, spread shrinks."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.base.draws import DEFAULT_COUNT
from moldwin.base.percentiles import Triple, triple
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.inputs.job import Job
from moldwin.learn.weighed import Lesson, learn
from moldwin.physics.jar_parts import jar_conductances
from moldwin.stages.bench import Bench
from moldwin.stages.jar_plan import JarPlan
from moldwin.stages.jar_stage import DAY, JarStage
from moldwin.stages.state import Material
from moldwin.window.aim import aim
from moldwin.window.windows import Setup

__all__ = ["jar_target", "learn_from_jar"]

#: What the weighings may move.
_COLUMNS = (
    "diffusivity_factor",
    "jar.convection",
    "jar.voids",
    "jar.isotherm_factor",
    "jar.sorption_heat_factor",
)
#: Moistures this close are the same. [kg/kg]
_SAME = 5e-4


def jar_target(job: Job, to: float | None, seed: int) -> tuple[float, bool]:
    """Where the pellets of a job are to go, and whether they are there already.

    Parameters
    ----------
    job : Job
        Whose pellets. [SI]
    to : float or None
        As asked for; None for the best moisture to mold at, wet basis. [kg/kg]
    seed : int
        Of the draws. [-]

    Returns
    -------
    tuple of float and bool
        Target, wet basis, and whether it is reached. [kg/kg]
    """
    now = float(job.pellets.moisture or 0.0)
    if to is not None:
        return to, abs(to - now) < _SAME
    setup = Setup(Bench(job, seed=seed, count=DEFAULT_COUNT))
    goal = aim(setup, setup.target(now), now)
    return goal, abs(goal - now) < _SAME


def learn_from_jar(
    stage: JarStage, plan: JarPlan, target: float, read: JarWeighings
) -> Lesson[JarStage]:
    """Move the draws by each weighing in turn, and compare.

    Parameters
    ----------
    stage : JarStage
        Before any weighing. [SI]
    plan : JarPlan
        What is in the jar. [SI]
    target : float
        Wet basis. [kg/kg]
    read : JarWeighings
        The weighings. [SI]

    Returns
    -------
    Lesson
        Of ``days_90`` [days], ``diffusivity_factor`` [-], ``air_conductance`` of gap and bed [kg/s
        per unit of activity], ``end_moisture`` of this source, wet basis [kg/kg].

    Raises
    ------
    InputError
        Weighings that cannot be of these pellets.
    """
    now = stage.now.nominal

    def stage_on(bench: Bench) -> JarStage:
        return JarStage(bench, Material(bench), now)

    def expected(on: JarStage, times: Any) -> Any:
        run = on.run(plan.bath, target, times=np.concatenate([[0.0], times]))
        x0 = run.x_start[:, None]
        return (run.course.mean[:, 1:] - x0) / (1.0 + x0)

    def summary(on: JarStage) -> dict[str, Triple]:
        return _summary(on, plan, target)

    return learn(stage, stage.bench, now, read, _COLUMNS, stage_on, expected, summary)


def _summary(stage: JarStage, plan: JarPlan, target: float) -> dict[str, Triple]:
    run = stage.run(plan.bath, target)
    end = run.course.mean[:, -1]
    gap, bed = jar_conductances(stage.jar, stage.pellet, stage.dry_mass, check=False)
    return {
        "days_90": triple(run.time_to(0.9) / DAY),
        "diffusivity_factor": triple(stage.diffusivity_factor),
        "air_conductance": triple(1.0 / (1.0 / gap + 1.0 / bed)),
        "end_moisture": triple(end / (1.0 + end)),
    }
