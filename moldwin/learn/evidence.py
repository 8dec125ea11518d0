"""Trials as evidence: each held against the samples of the job it was made with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from moldwin.base.draws import Draws
from moldwin.inputs.cards import Library
from moldwin.inputs.job import Job
from moldwin.learn.outcome_laws import FULL
from moldwin.learn.outcomes import (
    Foreseen,
    Foresight,
    Seen,
    Setting,
    field_log_likelihoods,
    log_likelihood,
    seen_of,
    setting_of,
)
from moldwin.learn.reading import job_of
from moldwin.learn.trials import Trial
from moldwin.stages.bench import Bench

__all__ = ["Evidence", "Odd", "trial_evidence"]

#: A note more likely a slip than not is told.
_ODD = 0.5


@dataclass(frozen=True)
class Odd:
    """What one trial says against all others: its number, what was noted, chance of a slip."""

    number: int
    what: str
    chance: float


@dataclass(frozen=True)
class _Datum:
    number: int
    job: int
    setting: Setting
    seen: Seen


class Evidence:
    """Trials that say something, by the jobs they were made with.

    Parameters
    ----------
    jobs : sequence of Job
        Each once. [SI]
    data : sequence of tuple
        Number of the trial, index of its job, its setting and what was seen. [SI]
    library : Library
        Cards before any fit. [-]
    left_out : sequence of int
        Numbers of trials that cannot be used: barrel or soak was not noted. [-]
    """

    def __init__(
        self,
        jobs: Sequence[Job],
        data: Sequence[tuple[int, int, Setting, Seen]],
        library: Library,
        left_out: Sequence[int] = (),
    ) -> None:
        self.jobs = tuple(_without_softening(job) for job in jobs)
        self.library, self.left_out = library, tuple(left_out)
        self._data = [_Datum(*datum) for datum in data]

    def __len__(self) -> int:
        return len(self._data)

    @property
    def numbers(self) -> list[int]:
        """Numbers of the trials used."""
        return [datum.number for datum in self._data]

    def columns(self, draws: Draws) -> list[str]:
        """Columns of the draws that some trial depends on."""
        trying = Draws(draws.seed, 4, spread=draws.spread, spreads=draws.spreads)
        self.logs(trying)
        return trying.asked()

    def logs(self, draws: Draws) -> Any:
        """ln of the likelihood of each trial at each sample, shape (m, s)."""
        return np.stack([log_likelihood(f, datum.seen) for datum, f in self._foreseen(draws)])

    def odd(self, draws: Draws) -> list[Odd]:
        """Notes that are rather slips than explained by any sample of the posterior."""
        found = []
        for datum, foreseen in self._foreseen(draws):
            for what, (_, slip) in field_log_likelihoods(foreseen, datum.seen).items():
                chance = float(np.mean(slip))
                if chance > _ODD:
                    found.append(Odd(datum.number, what, chance))
        return sorted(found, key=lambda odd: -odd.chance)

    def bench(self, index: int, draws: Draws) -> Bench:
        """A bench for one of the jobs on such draws."""
        bench = Bench(self.jobs[index], seed=draws.seed, count=draws.count, library=self.library)
        bench.draws = bench.fresh_draws = draws
        return bench

    def _foreseen(self, draws: Draws) -> list[tuple[_Datum, Foreseen]]:
        short: dict[tuple[int, Setting], bool] = {}  # makers repeat settings
        for datum in self._data:
            key = (datum.job, datum.setting)
            short[key] = short.get(key, False) or not _whole(datum)
        known: dict[tuple[int, Setting], Foreseen] = {}
        for job in range(len(self.jobs)):
            own = [key for key in short if key[0] == job]
            foresight = Foresight(self.bench(job, draws))
            found = foresight.at_each([key[1] for key in own], [short[key] for key in own])
            known.update(zip(own, found, strict=True))
        return [(datum, known[datum.job, datum.setting]) for datum in self._data]


def _whole(datum: _Datum) -> bool:
    """Whether nothing is told of how far a short part came."""
    seen = datum.seen
    if seen.filled is not None or seen.fill is None:
        return seen.filled is True or (seen.fill is None and seen.part is None)
    return seen.fill >= FULL


def trial_evidence(trials: Sequence[Trial], folder: str | Path, library: Library) -> Evidence:
    """Trials of a book made ready.

    Parameters
    ----------
    trials : sequence of Trial
        As from `moldwin.learn.book.read_trials`. [-]
    folder : str or pathlib.Path
        The book's, where a mesh is looked for. [-]
    library : Library
        Cards before any fit. [-]

    Returns
    -------
    Evidence
        Those trials whose setting was noted.

    Raises
    ------
    InputError
        A job is none to this moldwin, or names a card that is gone.
    """
    jobs: dict[str, int] = {}
    read: list[Job] = []
    data, left_out = [], []
    for trial in trials:
        setting, seen = setting_of(trial), seen_of(trial)
        if setting is None or seen == Seen():
            left_out.append(trial.number or 0)
            continue
        if trial.then.id not in jobs:
            jobs[trial.then.id] = len(read)
            # moisture, mold and force are the setting's: one job serves many trials
            bare = replace(trial, moisture_pct=None, mold_c=None, force_kn=None)
            read.append(job_of(bare, folder))
        data.append((trial.number or 0, jobs[trial.then.id], setting, seen))
    return Evidence(read, data, library, left_out)


def _without_softening(job: Job) -> Job:
    """A bend test in the job is counted when the job is read; here it would count twice."""
    return replace(job, blend=replace(job.blend, softening=None, softening_moisture=None))
