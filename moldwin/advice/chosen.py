"""At which moisture the pellets are molded: as they are, or at the target."""

from __future__ import annotations

from dataclasses import dataclass

from moldwin.advice.situation import Found, find
from moldwin.window.aim import aim, worth_going
from moldwin.window.windows import MoistureTarget, Setup

__all__ = ["Chosen", "choose"]


@dataclass(frozen=True)
class Chosen:
    """The windows looked at, and which of them is advised.

    Parameters
    ----------
    target : MoistureTarget
        The moisture to mold at. [kg/kg]
    now : Found
        The pellets as they are. [SI]
    after : Found or None
        At the target; none where there is nothing to gain by going there. [SI]
    leads : bool
        Whether the advice starts with going there. [-]
    """

    target: MoistureTarget
    now: Found
    after: Found | None
    leads: bool

    @property
    def found(self) -> Found:
        """What is advised."""
        return self.after if self.after is not None and self.leads else self.now


def choose(setup: Setup) -> Chosen:
    """Look at the moisture now and at the target, and choose.

    Parameters
    ----------
    setup : Setup
        The job, made ready. [-]

    Returns
    -------
    Chosen
        [SI]
    """
    moisture = float(setup.bench.job.pellets.moisture or 0.0)
    target = setup.target(moisture)
    now = find(setup, moisture)
    goal = aim(setup, target, moisture)
    after = None if goal == moisture else find(setup, goal)
    return Chosen(target, now, after, after is not None and _leads(now, after))


def _leads(now: Found, after: Found) -> bool:
    """Whether the page starts with conditioning; it never leads out of an open window."""
    closes = now.window.barrel.open and not after.window.barrel.open
    return not closes and worth_going(now.window, after.window)
