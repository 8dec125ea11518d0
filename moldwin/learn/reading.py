"""Trials made ready for fitting: the job as it was at each, and all numbers in SI."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moldwin.inputs.job import Job
from moldwin.inputs.job_values import to_si
from moldwin.inputs.read_job import read_job
from moldwin.learn.trials import COLUMNS, Trial

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["TrialArrays", "job_of", "trial_arrays"]

#: What a trial says about the job it was made with.
_JOB_KEYS = {
    "moisture_pct": "pellets.moisture_pct",
    "force_kn": "press.force_kn",
    "mold_c": "mold.temperature_c",
}
_NOT_ARRAYS = ("date", "lot", "photo", "note", "bubbles")


@dataclass(frozen=True)
class TrialArrays:
    """What was noted, in SI, one entry a trial; NaN where nothing was.

    Parameters
    ----------
    moisture : array, shape (n,)
        Water in the pellets, wet basis. [kg/kg]
    barrel, mold : array, shape (n,)
        Temperatures. [K]
    soak, cooling : array, shape (n,)
        Times. [s]
    force : array, shape (n,)
        On the plunger. [N]
    charge, part : array, shape (n,)
        Masses. [kg]
    filled, stuck, cracked, warped, lumps : array, shape (n,)
        1 for yes, 0 for no. [-]
    fill : array, shape (n,)
        Share of the part that filled. [-]
    color : array, shape (n,)
        On `moldwin.learn.trials.COLOR_SCALE`. [-]
    bend_radius : array, shape (n,)
        Tightest bend the part took whole. [m]
    bubbles : tuple of str
        ``"none"``, ``"some"``, ``"skin"``, ``"heart"``, ``"all"`` or empty. [-]
    """

    moisture: NDArray[Any]
    barrel: NDArray[Any]
    soak: NDArray[Any]
    mold: NDArray[Any]
    force: NDArray[Any]
    charge: NDArray[Any]
    cooling: NDArray[Any]
    filled: NDArray[Any]
    fill: NDArray[Any]
    part: NDArray[Any]
    color: NDArray[Any]
    stuck: NDArray[Any]
    cracked: NDArray[Any]
    warped: NDArray[Any]
    lumps: NDArray[Any]
    bend_radius: NDArray[Any]
    bubbles: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.bubbles)


def trial_arrays(trials: Sequence[Trial]) -> TrialArrays:
    """What trials say, in SI.

    Parameters
    ----------
    trials : sequence of Trial
        As from `moldwin.learn.book.read_trials`. [-]

    Returns
    -------
    TrialArrays
        In the same order; what the job says is not filled in, see `job_of`.

    Examples
    --------
    >>> from moldwin.learn.job_then import JobThen
    >>> one = Trial("t1", "2026-03-01T10:00:00Z", "bar.toml", JobThen("{}"), barrel_c=130.0)
    >>> arrays = trial_arrays([one])
    >>> arrays.barrel.tolist(), arrays.soak.tolist()
    ([403.15], [nan])
    """
    import numpy as np

    columns = {
        key.field: np.array([_si(name, trial) for trial in trials], dtype=float)
        for name, key in COLUMNS.items()
        if name not in _NOT_ARRAYS
    }
    return TrialArrays(**columns, bubbles=tuple(trial.bubbles for trial in trials))


def job_of(trial: Trial, folder: str | Path = ".") -> Job:
    """The job as it was at a trial, with the trial's own moisture, force and mold laid over it.

    Parameters
    ----------
    trial : Trial
        The trial. [-]
    folder : str or pathlib.Path
        The book's folder: the user's own cards and a mesh are looked for from there. [-]

    Returns
    -------
    Job
        As `moldwin.inputs.read_job.read_job` would have read it that day.

    Raises
    ------
    InputError
        The job is none to this moldwin, or names a card that is gone.

    Notes
    -----
    A force noted at the trial takes the place of lever, gauge or pressure in the job; the job's
    spread of the moisture stays.
    """
    was = Job(raw=trial.then.tables, folder=Path(folder))
    return read_job(was, [f"title={trial.then.title or 'a trial'}", *_laid_over(trial)])


def _laid_over(trial: Trial) -> Iterator[str]:
    for name, key in _JOB_KEYS.items():
        value = getattr(trial, name)
        if value is not None:
            yield f"{key}={value!r}"


def _si(name: str, trial: Trial) -> float:
    value = getattr(trial, name)
    return float("nan") if value is None else float(to_si(COLUMNS[name], value))
