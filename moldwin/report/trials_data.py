"""Trials as plain data, for JSON and for the pages."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from moldwin.learn.trials import COLOR_SCALE, COLUMNS, Trial

__all__ = ["trial_data", "trials_data"]


def trials_data(
    book: str, trials: Sequence[Trial], *, known: int | None = None, with_job: bool = False
) -> dict[str, Any]:
    """Several trials.

    Parameters
    ----------
    book : str
        The book as the user named it. [-]
    trials : sequence of Trial
        In their order. [-]
    known : int, optional
        How many of those handed in were there already. [-]
    with_job : bool
        Whether each brings the tables of its job. [-]

    Returns
    -------
    dict
        What was noted under the columns' own names and units; null where nothing was. [-]
    """
    data: dict[str, Any] = {"schema": "moldwin.trials/1", "book": book}
    if known is not None:
        data["already_there"] = known
    data["color_scale"] = list(COLOR_SCALE)
    data["trials"] = [_facts(trial, with_job) for trial in trials]
    return data


def trial_data(book: str, trial: Trial) -> dict[str, Any]:
    """One trial, with the tables of its job.

    Parameters
    ----------
    book : str
        The book as the user named it. [-]
    trial : Trial
        The trial. [-]

    Returns
    -------
    dict
        As in `trials_data`. [-]
    """
    return {"schema": "moldwin.trial/1", "book": book, **_facts(trial, True)}


def _facts(trial: Trial, with_job: bool) -> dict[str, Any]:
    noted = trial.noted()
    job: dict[str, Any] = {"file": trial.job, "title": trial.then.title, "id": trial.then.id}
    if with_job:
        job["tables"] = trial.then.tables
    return {
        "number": trial.number,
        "id": trial.id,
        "added": trial.added,
        "undone": trial.undone or None,
        "job": job,
        "materials": [{"card": card, "lot": lot or None} for card, lot in trial.materials],
        **{name: noted.get(name) for name in COLUMNS},
    }
