"""Weighings on the way move the draws: the same update for a jar and for an oven."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

import numpy as np

from moldwin.base.draws import Draws, effective_size
from moldwin.base.percentiles import Triple
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.stages.bench import Bench

__all__ = ["Lesson", "Weighed", "learn", "move_draws", "taken_up"]

Stage = TypeVar("Stage")

#: What the model may miss, of the change so far (assumed), and at the least. [-, kg/kg]
_MODEL_SHARE, _LEAST_MOISTURE = 0.05, 5e-4
#: At most this many weighings are used, evenly picked: neighbors say the same.
_MOST = 8
#: Readings this many standard deviations from every sample do not fit the job.
_FAR = 4.0
#: Share of the information used in each pass.
_PASSES = (1.0 / 3.0, 2.0 / 3.0)


@dataclass(frozen=True)
class Weighed:
    """Weighings as changes since the first one; arrays of shape (n,).

    Parameters
    ----------
    times : array
        Since the start. [s]
    taken : array
        Mass taken up by then per mass at the start, below zero when it was given off. [-]
    errors : array
        Standard uncertainty: scale twice, and what the model may miss. [-]
    hours : float
        Of the last weighing. [h]
    """

    times: Any
    taken: Any
    errors: Any
    hours: float

    def far_from(self, predicted: Any) -> bool:
        """Whether a reading lies outside all that the samples (s, n) expect."""
        off = np.abs(np.median(predicted, axis=0) - self.taken)
        return bool(np.any(off > _FAR * (self.errors + predicted.std(axis=0))))

    def effective(self, predicted: Any) -> float:
        """How many of the samples (s, n) weights alone would leave."""
        logs = -0.5 * (((predicted - self.taken) / self.errors) ** 2).sum(axis=1)
        weights = np.exp(logs - logs.max())
        return effective_size(weights / weights.sum())


@dataclass(frozen=True)
class Lesson(Generic[Stage]):
    """What weighings did to an answer.

    Parameters
    ----------
    stage
        The same pellets on the moved draws. [SI]
    before, after : dict of str to Triple
        The same numbers on the draws as they were, and moved. [as named]
    effective : float
        How many samples the readings would leave by weights alone. [-]
    hours : float
        Of the last weighing. [h]
    used : int
        Weighings used. [-]
    far : bool
        The readings lie outside what the job allows. [-]
    columns : tuple of str
        Columns of the draws that the readings could move. [-]
    """

    stage: Stage
    before: dict[str, Triple]
    after: dict[str, Triple]
    effective: float
    hours: float
    used: int
    far: bool
    columns: tuple[str, ...] = ()

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


def taken_up(
    read: JarWeighings, mass: float | None, tray: float, moisture: float, step: float
) -> Weighed:
    """Weighings as changes, refused where they cannot be of these pellets.

    Parameters
    ----------
    read : JarWeighings
        Differences from the first are what counts, so a tray does not matter. [SI]
    mass : float or None
        Of the pellets at the start; left out, the first weighing without its tray. [kg]
    tray : float
        Mass of the empty tray. [kg]
    moisture : float
        Of the pellets at the start, wet basis. [kg/kg]
    step : float
        Of the job's scale; the table's own last digit counts where it is coarser. [kg]

    Returns
    -------
    Weighed
        At most eight of them. [SI]

    Raises
    ------
    InputError
        Lighter than the pellets alone, or a change that they cannot make.
    """
    gross = np.array(read.gross)
    start = gross[0] - tray if mass is None else mass
    if start <= 0.0 or gross[0] < 0.98 * start:
        what = "the empty tray (jar.tray_g" if start <= 0.0 else "the pellets alone (pellets.mass_g"
        least = tray if start <= 0.0 else start
        message = f"the first weighing shows {1e3 * gross[0]:g} g, less than {what} = "
        raise InputError([Fault(read.file, "gross_g", f"{message}{1e3 * least:g})")])
    taken = (gross[1:] - gross[0]) / start
    if taken.min() < -moisture - 0.02 or taken.max() > 1.0:
        worst = float(taken.max() if taken.max() > 1.0 else taken.min())
        message = (
            f"the pellets changed by {1e3 * worst * start:g} g, which {1e3 * start:g} g of them at "
            f"{100 * moisture:.1f} % water cannot; was something added, spilled or tared?"
        )
        raise InputError([Fault(read.file, "gross_g", message)])
    picked = np.unique(np.linspace(0, len(taken) - 1, min(len(taken), _MOST)).round().astype(int))
    taken = taken[picked]
    scale = max(read.resolution, step) / start / np.sqrt(6.0)
    errors = np.sqrt(scale**2 + (_MODEL_SHARE * taken) ** 2 + _LEAST_MOISTURE**2)
    return Weighed(np.array(read.times[1:])[picked], taken, errors, read.times[-1] / 3600.0)


def move_draws(
    draws: Draws, names: Sequence[str], weighed: Weighed, predict: Callable[[Draws], Any]
) -> None:
    """Move columns of the draws by each weighing in turn (linear ensemble update).

    Parameters
    ----------
    draws : Draws
        Changed in place. [-]
    names : sequence of str
        Columns that the weighings may move. [-]
    weighed : Weighed
        The weighings. [SI]
    predict : callable
        What samples (s, n) expect of each weighing on such draws. [-]

    Notes
    -----
    A weight per sample would leave too few of them as soon as the readings are sharp.
    """
    for share in _PASSES:  # twice, the second from where the first one led: it is not linear
        # what the model misses is the same in every reading: together they count as one
        u = weighed.errors * np.sqrt(len(weighed.times) / share)
        for i, observed in enumerate(weighed.taken):
            draws.shift(names, predict(draws)[:, i], float(observed), float(u[i]))


def learn(
    first: Stage,
    bench: Bench,
    now: float,
    read: JarWeighings,
    endings: tuple[str, ...],
    stage_on: Callable[[Bench], Stage],
    expected: Callable[[Stage, Any], Any],
    summary: Callable[[Stage], dict[str, Triple]],
) -> Lesson[Stage]:
    """Move the draws by weighings, and compare.

    Parameters
    ----------
    first
        The pellets before any weighing. [SI]
    bench : Bench
        What they were made of. [-]
    now : float
        Moisture at the start, wet basis. [kg/kg]
    read : JarWeighings
        The weighings. [SI]
    endings : tuple of str
        How the names of the numbers end that the weighings may move. [-]
    stage_on : callable
        The same pellets on a fresh bench. [-]
    expected : callable
        Mass a stage takes up by times (n,) per mass at the start, shape (s, n). [-]
    summary : callable
        What to compare. [-]

    Returns
    -------
    Lesson
        [as ``summary``]

    Raises
    ------
    InputError
        Weighings that cannot be of these pellets.
    """
    job = bench.job
    step = job.scale.resolution or 0.0
    weighed = taken_up(read, job.pellets.mass, job.jar.tray or 0.0, now, step)

    def moved_to(draws: Draws) -> Stage:
        # a copy: what else was measured moves them too, on the way to the stage
        return stage_on(bench.with_draws(draws.copy()))

    predicted = expected(first, weighed.times)
    draws, names = bench.fresh_draws.copy(), bench.columns_of(endings)
    move_draws(draws, names, weighed, lambda on: expected(moved_to(on), weighed.times))
    after = moved_to(draws)
    return Lesson(
        stage=after,
        before=summary(first),
        after=summary(after),
        effective=weighed.effective(predicted),
        hours=weighed.hours,
        used=len(weighed.times),
        far=weighed.far_from(predicted),
        columns=tuple(names),
    )
