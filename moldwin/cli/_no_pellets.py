"""A job whose pellets do not exist yet, for the commands that come before them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from moldwin.inputs.errors import InputError

if TYPE_CHECKING:
    from moldwin.inputs.job import Job

__all__ = ["read_before_pellets"]

#: What stands in for them; nothing of a pot or of a sheet depends on it.
_NO_PELLETS = ("pellets.moisture_pct=10", "pellets.moisture_guessed=true")
_MISSING = "is missing"


def read_before_pellets(job: str | None, sets: list[str], what: str) -> tuple[Job, list[str]]:
    """The job and what is to be noted of it; without pellets it is read as if they were.

    Parameters
    ----------
    job : str or None
        Its file; None for the bundled example. [-]
    sets : list of str
        What-ifs of the command line. [-]
    what : str
        What needs no pellets, for the note. [-]

    Returns
    -------
    tuple of Job and list of str
        [SI]

    Raises
    ------
    InputError
        Anything else is wrong with it.
    """
    from moldwin.inputs.read_job import read_job

    try:
        read = read_job(job, sets)
    except InputError as error:
        (fault, *more) = error.faults
        if more or fault.key != "pellets.moisture_pct" or not fault.message.startswith(_MISSING):
            raise
        read = read_job(job, [*sets, *_NO_PELLETS])
        return read, [*read.notes, f"no pellets in the job yet: {what} needs none"]
    return read, list(read.notes)
