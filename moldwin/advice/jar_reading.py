"""What weighings of the jar on its way say: diffusivity, air and end point move, spread shrinks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.base.draws import effective_size
from moldwin.base.percentiles import Triple, triple
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.physics.jar_parts import jar_conductances
from moldwin.stages.bench import Bench
from moldwin.stages.jar_plan import JarPlan
from moldwin.stages.jar_stage import DAY, JarStage
from moldwin.stages.state import Material

__all__ = ["Learned", "learn_from"]

#: What the model of the jar itself may miss, of the change so far (assumed), and at the least.
_MODEL_SHARE, _LEAST_MOISTURE = 0.05, 5e-4
#: At most this many weighings are used, evenly picked: neighbors say the same.
_MOST = 8
#: Readings this many standard deviations from every sample do not fit the job.
_FAR = 4.0
#: Share of the information used in each pass.
_PASSES = (1.0 / 3.0, 2.0 / 3.0)
#: What the weighings may move.
_COLUMNS = ("diffusivity_factor", "jar.convection", "jar.voids", "jar.isotherm_factor")


@dataclass(frozen=True)
class Learned:
    """Draws moved by weighings, and what that did.

    Parameters
    ----------
    stage : JarStage
        The same pellets on the moved draws. [SI]
    before, after : dict of str to Triple
        ``days_90`` [days], ``diffusivity_factor`` [-], ``air_conductance`` of gap and bed [kg/s per
        unit of activity], ``end_moisture`` of this source, wet basis [kg/kg]. [SI]
    effective : float
        How many samples the readings would leave by weights alone. [-]
    hours : float
        Of the last weighing. [h]
    used : int
        Weighings used. [-]
    far : bool
        The readings lie outside what the job allows. [-]
    """

    stage: JarStage
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


def learn_from(stage: JarStage, plan: JarPlan, target: float, read: JarWeighings) -> Learned:
    """Move the draws by each weighing in turn (linear ensemble update), and compare.

    Parameters
    ----------
    stage : JarStage
        Before any weighing. [SI]
    plan : JarPlan
        What is in the jar. [SI]
    target : float
        Wet basis. [kg/kg]
    read : JarWeighings
        The weighings; differences from the first are what counts, so a tray does not matter. [SI]

    Returns
    -------
    Learned
        [SI]

    Raises
    ------
    InputError
        Weighings that cannot be of these pellets.

    Notes
    -----
    A weight per sample would leave too few of them as soon as the readings are sharp; the number
    that would be left is told beside it.
    """
    times, taken = _taken(stage, read)
    picked = np.unique(np.linspace(0, len(times) - 1, min(len(times), _MOST)).round().astype(int))
    times, taken = times[picked], taken[picked]
    step = max(read.resolution, stage.bench.job.scale.resolution or 0.0)
    errors = _errors(taken, step / stage.mass)
    bath = plan.bath
    before = _summary(stage, plan, target)
    predicted = _predicted(stage, bath, target, times)
    far = bool(
        np.any(
            np.abs(np.median(predicted, axis=0) - taken) > _FAR * (errors + predicted.std(axis=0))
        )
    )
    logs = -0.5 * (((predicted - taken) / errors) ** 2).sum(axis=1)
    weights = np.exp(logs - logs.max())
    effective = effective_size(weights / weights.sum())
    names = _columns(stage)
    draws = stage.bench.fresh_draws.copy()
    moved = stage
    for share in _PASSES:  # twice, the second from where the first one led: it is not linear
        # what the model misses is the same in every reading: together they count as one
        u = errors * np.sqrt(len(times) / share)
        for i, observed in enumerate(taken):
            reading = _predicted(moved, bath, target, times)[:, i]
            draws.shift(names, reading, float(observed), float(u[i]))
            moved = _again(stage, draws.copy())
    return Learned(
        stage=moved,
        before=before,
        after=_summary(moved, plan, target),
        effective=effective,
        hours=read.times[-1] / 3600.0,
        used=len(times),
        far=far,
    )


def _taken(stage: JarStage, read: JarWeighings) -> tuple[Any, Any]:
    """Times, and water taken up by then per mass of pellets at the start."""
    gross = np.array(read.gross)
    mass = stage.mass
    if stage.bench.job.pellets.mass is None:
        mass = gross[0] - (stage.bench.job.jar.tray or 0.0)
    if gross[0] < 0.98 * mass:
        message = (
            f"the first weighing shows {1e3 * gross[0]:g} g, less than the pellets alone "
            f"(pellets.mass_g = {1e3 * mass:g})"
        )
        raise InputError([Fault(read.file, "gross_g", message)])
    taken = (gross[1:] - gross[0]) / mass
    driest = -stage.now.nominal - 0.02
    if taken.min() < driest or taken.max() > 1.0:
        worst = float(taken.min() if taken.min() < driest else taken.max())
        message = (
            f"the pellets changed by {1e3 * worst * mass:g} g, which {1e3 * mass:g} g of them at "
            f"{100 * stage.now.nominal:g} % water cannot; was something added, spilled or tared?"
        )
        raise InputError([Fault(read.file, "gross_g", message)])
    return np.array(read.times[1:]), taken


def _errors(taken: Any, step: float) -> Any:
    """Standard uncertainty of each reading: scale twice, and what the model may miss."""
    scale = step / np.sqrt(6.0)
    return np.sqrt(scale**2 + (_MODEL_SHARE * taken) ** 2 + _LEAST_MOISTURE**2)


def _predicted(stage: JarStage, bath: Any, target: float, times: Any) -> Any:
    """Water taken up per mass at the start at each time, shape (s, n)."""
    run = stage.run(bath, target, times=np.concatenate([[0.0], times]))
    x0 = run.x_start[:, None]
    return (run.course.mean[:, 1:] - x0) / (1.0 + x0)


def _columns(stage: JarStage) -> list[str]:
    columns = stage.bench.columns.items()
    return [column for name, column in columns if any(name.endswith(end) for end in _COLUMNS)]


def _again(stage: JarStage, draws: Any) -> JarStage:
    old = stage.bench
    bench = Bench(old.job, seed=draws.seed, count=draws.count, library=old.library)
    bench.draws = bench.fresh_draws = draws
    return JarStage(bench, Material(bench), stage.now.nominal)


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
