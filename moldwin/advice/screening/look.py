"""One recipe in numbers that change smoothly from recipe to recipe: what its answer is made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.advice.screening.surface import scores_of
from moldwin.advice.situation import Found
from moldwin.advice.verdict import Verdict
from moldwin.base.percentiles import triple
from moldwin.window.judge import broken_shares, chance
from moldwin.window.mold_best import MOLD_GRID
from moldwin.window.stops import shares_of
from moldwin.window.windows import Setup

__all__ = ["NO_COOLING", "STOP", "Look", "WindowLook", "labels_of", "window_look"]

#: What is added to a code that stops.
STOP = "!"
#: The label of a part that no time cools.
NO_COOLING = "never cools"


@dataclass(frozen=True)
class WindowLook:
    """One window.

    Parameters
    ----------
    grid : array, shape (t,)
        Set points. [K]
    places : dict of str to array
        What the moisture alone decides: normal scores of chances by set point and soak, of the
        mold's, glass transition, mold and logarithms of the soaks. [mixed]
    after : dict of str to float
        What follows from set point and soak: logarithms of times, masses and forces. [mixed]
    shares : dict of str to float
        Normal scores of the shares that are broken there. [-]
    setting : tuple of float
        Set point [K] and soak [s].
    chance : float
        Of that setting. [-]
    open : bool
        Whether the window is. [-]
    """

    grid: Any
    places: dict[str, Any]
    after: dict[str, float]
    shares: dict[str, float]
    setting: tuple[float, float]
    chance: float
    open: bool


@dataclass(frozen=True)
class Look:
    """One recipe: its answer, its window as it is, and the labels that are true of it.

    Parameters
    ----------
    answer : dict
        By dotted key, as a row of the table. [as the keys say]
    now : WindowLook
        The pellets as they are. [SI]
    labels : tuple of str
        Codes of what is said, those of stops once more with `STOP`, and `NO_COOLING`. [-]
    chances : array, shape (t,)
        Chance of each set point at its best soak. [-]
    """

    answer: dict[str, Any]
    now: WindowLook
    labels: tuple[str, ...]
    chances: Any


def window_look(setup: Setup, found: Found) -> WindowLook:
    """What a window is made of.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    found : Found
        Its window, shot and cooling. [SI]

    Returns
    -------
    WindowLook
        [mixed]
    """
    window, count = found.window, setup.bench.count
    barrel, mold, cavity = window.barrel, window.mold, window.cavity
    places = {
        name: scores_of(share, count) for name, share in setup.set_point_chances(window).items()
    }
    places["mold"] = scores_of(chance(cavity.margins(MOLD_GRID)), count)
    places["mold_at_best"] = scores_of(mold.chance, count)
    places["mold_best"], places["mold_hottest"] = mold.best, cavity.hottest
    tg = triple(window.state.tg)
    places["tg"] = np.array([tg.low, tg.likely, tg.high])
    places["soaks"] = np.log(setup.soaks)
    shares = {f"barrel.{limit.name}": limit.broken_share for limit in barrel.limits}
    shares |= {f"mold.{name}": share for name, share in mold.broken.items()}
    shares |= {f"part.{k}": float(v) for k, v in broken_shares(window.moisture_margins).items()}
    shares |= {f"stop.{name}": share for name, share in shares_of(setup, window).items()}
    return WindowLook(
        grid=barrel.grid,
        places=places,
        after=_after(setup, found),
        shares={name: float(scores_of(share, count)) for name, share in shares.items()},
        setting=(barrel.best, barrel.soak),
        chance=barrel.chance,
        open=barrel.open,
    )


def _after(setup: Setup, found: Found) -> dict[str, float]:
    """Logarithms; NaN for a part that no time cools."""
    shot = found.shot
    told = {
        "hold": found.window.barrel.hold_max,
        "cooling": np.nan if found.cooling is None else found.cooling,
    }
    if setup.geometry.given:
        for name, samples in (("charge", shot.charge), ("clamp", shot.clamp_needed)):
            told |= {f"{name}.{end}": v for end, v in triple(samples).to_dict().items()}
        if shot.barrel_fill is not None:
            told["fill"] = float(np.median(shot.barrel_fill))
    return {name: float(np.log(value)) for name, value in told.items()}


def labels_of(answer: Mapping[str, Any], verdict: Verdict) -> tuple[str, ...]:
    """What is true of a recipe or is not.

    Parameters
    ----------
    answer : mapping
        By dotted key. [as the keys say]
    verdict : Verdict
        What is said of it. [-]

    Returns
    -------
    tuple of str
        In the order in which it is said. [-]
    """
    stops = [remark.code + STOP for remark in verdict.said if remark.severity == "stop"]
    never = [NO_COOLING] if answer["cooling_s"] is None else []
    return (*str(answer["warnings"]).split(), *dict.fromkeys(stops), *never)
