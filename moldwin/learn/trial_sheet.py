"""The sheet to take to the press: what to set is filled in, what comes out is left empty."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass

from moldwin.learn.trials import COLUMNS, written_value

__all__ = ["SheetRow", "trial_sheet"]

#: Columns of the sheet before those of a trial, and after them, as ``trial add --from`` knows them.
_JOB, _TABLES = "job", "job_tables"


@dataclass(frozen=True)
class SheetRow:
    """One trial to do, in the units of the sheet.

    Parameters
    ----------
    moisture_pct : float
        Pellets, wet basis. [%]
    barrel_c, mold_c : float
        Set points. [°C]
    soak_s, cooling_s : float
        Times; cooling None where it is not known. [s]
    charge_g : float, optional
        Pellets to load; None where no part is described. [g]
    job_tables : str
        The job as it would be, where it differs from the one the sheet is for. [JSON]
    """

    moisture_pct: float
    barrel_c: float
    soak_s: float
    mold_c: float
    charge_g: float | None
    cooling_s: float | None
    job_tables: str = ""


def trial_sheet(rows: Sequence[SheetRow]) -> str:
    """The sheet as CSV: the columns of the table of trials, to be filled in and read back.

    Parameters
    ----------
    rows : sequence of SheetRow
        In the order they are to be pressed. [-]

    Returns
    -------
    str
        Lines as in the table of trials. Columns for other jobs are there only where a row has one.

    Examples
    --------
    >>> print(trial_sheet([SheetRow(10.0, 130.0, 420.0, 90.0, 2.2, None)]).splitlines()[1][:24])
    ,,10,130,420,90,,2.2,,,,
    """
    other = any(row.job_tables for row in rows)
    names = (_JOB, *COLUMNS, _TABLES) if other else tuple(COLUMNS)
    memory = io.StringIO(newline="")
    table = csv.writer(memory, lineterminator="\r\n")
    table.writerow(names)
    table.writerows([written_value(getattr(row, name, None)) for name in names] for row in rows)
    return memory.getvalue()
