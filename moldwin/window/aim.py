"""The moisture that every command sends the pellets to, and whether going there is worth it."""

from __future__ import annotations

from moldwin.window.judge import chance
from moldwin.window.stops import HOPELESS
from moldwin.window.windows import MoistureTarget, Setup, Window

__all__ = ["aim", "whole_chance", "worth_going"]

#: Conditioning is worth its days where it raises a chance by this much.
_WORTH = 0.1


def aim(setup: Setup, target: MoistureTarget, now: float) -> float:
    """The moisture to bring the pellets to: their own where that is as good.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    target : MoistureTarget
        Its target. [-]
    now : float
        Moisture of the pellets, wet basis. [kg/kg]

    Returns
    -------
    float
        Wet basis. [kg/kg]

    Notes
    -----
    Pellets inside the target's band stay as they are, unless their window is closed and the best
    of the band opens one.
    """
    if not target.low <= now <= target.high:
        return target.best
    window = setup.window(now)
    if window.barrel.open:
        return now
    best = setup.window(target.best)
    return target.best if best.barrel.open and worth_going(window, best) else now


def worth_going(now: Window, there: Window) -> bool:
    """Whether a moisture raises the barrel's chance, or that of barrel and part together.

    Either counts only where it leads out of the hopeless: nobody waits weeks for a part that fails
    all the same, and every warning would be of a moisture that the pellets never come to.
    """
    barrel = _rises(now.barrel.chance, there.barrel.chance)
    return barrel or _rises(whole_chance(now), whole_chance(there))


def _rises(now: float, there: float) -> bool:
    return there >= HOPELESS and there - now >= _WORTH


def whole_chance(window: Window) -> float:
    """Chance of the barrel times the share of samples whose part mold and room leave good. [-]"""
    return window.barrel.chance * float(chance(window.part_margins))
