"""What stops a job however well the barrel is set: hot core, charge too big, mold forced open.

A limit of the barrel narrows the window. These cannot be heated away: where one of them is broken
in nearly every sample, heating only spoils the charge.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.stages.melting import Barrel
from moldwin.stages.state import State
from moldwin.window import judge
from moldwin.window.edges import best_index
from moldwin.window.judge import HOPELESS
from moldwin.window.windows import FUMES_STOP, Setup, Window

__all__ = [
    "HOPELESS",
    "STOPPED",
    "Push",
    "Quick",
    "best_push",
    "quick_look",
    "shares_of",
    "stopping",
    "stops",
]

#: A step outside barrel and filling that fails in this share of samples is a stop. It leaves no
#: more of them than a barrel that is called hopeless, and there is one rule for both.
STOPPED = 1.0 - HOPELESS
#: What hurts is a stop much earlier.
_ENOUGH = {"fume": FUMES_STOP}

#: Pushes tried, as natural logarithms of shares of the full one: a hand leans in no finer steps.
_PUSHES = np.linspace(np.log(0.01), 0.0, 61)


@dataclass(frozen=True)
class Push:
    """The push on the ram that suits most samples: it fills, and the mold stays shut.

    Parameters
    ----------
    force : float
        Of the ram. [N]
    works : float
        Share of samples for which it does both. [-]
    fails : float
        Of the samples that the full push fills, the share for which this one does not do both. [-]
    """

    force: float
    works: float
    fails: float


@dataclass(frozen=True)
class Quick:
    """Best barrel chance of one moisture on a coarse grid, and what else is broken there. [-]"""

    chance: float
    shares: Mapping[str, float]


def stops(setup: Setup, window: Window) -> tuple[str, ...]:
    """Codes of what stops a window at its best setting.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    window : Window
        Of one moisture. [-]

    Returns
    -------
    tuple of str
        Empty where nothing does. A material that the laws do not hold for is not among them. [-]
    """
    return stopping(shares_of(setup, window))


def stopping(shares: Mapping[str, float]) -> tuple[str, ...]:
    """Those of the shares that are a stop.

    Parameters
    ----------
    shares : mapping of str to float
        Share of samples that a code warns of. [-]

    Examples
    --------
    >>> stopping({"hot-core": 0.5, "shot-size": 1.0, "fume": 0.06})
    ('shot-size', 'fume')
    """
    return tuple(code for code, share in shares.items() if share >= _ENOUGH.get(code, STOPPED))


def shares_of(setup: Setup, window: Window) -> dict[str, float]:
    """Share of samples that each step outside barrel and filling breaks at the best setting.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    window : Window
        Of one moisture. [-]

    Returns
    -------
    dict of str to float
        By the code of the remark; what the job tells nothing of is not there. [-]
    """
    best, core = window.barrel, window.moisture_margins["hot-core"]
    return _shares(setup, window.state, window.barrel_stage, core, (best.best, best.soak))


def quick_look(setup: Setup, nominal: float) -> Quick:
    """Chance and shares of one moisture: the same margins and verdict as the window, fewer places.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    nominal : float
        Moisture as the user reads it, wet basis. [kg/kg]

    Returns
    -------
    Quick
        At the best of the coarse set points and soaks. [-]
    """
    state, barrel, cavity, mold = setup._stages(nominal)
    core = setup.core(barrel, cavity, mold)
    chance, t_set, soak = setup.coarse_best(core)
    margin = core.margin(np.array([t_set]))[0]
    return Quick(chance, _shares(setup, state, barrel, margin, (t_set, soak)))


def best_push(setup: Setup, state: State, barrel: Barrel, at: tuple[float, float]) -> Push | None:
    """The push that fills most samples and does not force their mold open.

    Parameters
    ----------
    setup, state, barrel
        The job, the blend at one moisture, its barrel. [SI]
    at : tuple of float
        Set point and soak. [K], [s]

    Returns
    -------
    Push or None
        None where the job names no part or no clamp.

    Notes
    -----
    A push is held while the mold packs, so that it counts with the share of it that reaches the
    cavity then. One push is looked for that suits most samples: nobody knows which one theirs is.
    """
    clamp = setup.bench.job.press.clamp
    if clamp is None or not setup.geometry.given:
        return None
    t_set, soak = (np.array([value]) for value in at)
    margins = barrel.margins(t_set, soak, side="low")
    fill = np.broadcast_to(margins["fill"], (1, 1, setup.bench.count))[0, 0]
    t_melt = barrel.true_temperature(t_set)[0, 0]
    with np.errstate(divide="ignore"):
        opens_at = np.log(clamp) - np.log(setup.shot(state, t_melt).clamp_needed)
    pushes = _PUSHES[:, None]
    works = judge.chance({"fill": fill + pushes, "flash": opens_at - pushes})
    fills = float(judge.chance({"fill": fill}))
    best = best_index(works)
    full = float(np.median(setup.ram.pressure * np.ones(setup.bench.count))) * setup.ram.area
    return Push(
        force=full * float(np.exp(_PUSHES[best])),
        works=float(works[best]),
        # where not even the full push fills, it is not the mold that is in the way
        fails=max(0.0, 1.0 - float(works[best]) / fills) if fills > 0.0 else 0.0,
    )


def _shares(
    setup: Setup, state: State, barrel: Barrel, core: Any, at: tuple[float, float]
) -> dict[str, float]:
    """Shares at one set point [K] and soak [s]; ``core`` is the margin of its cooling, (s,)."""
    t_set = np.array([at[0]])
    shares = {"hot-core": float(judge.broken_shares({"hot-core": core})["hot-core"])}
    fill = setup.shot(state, barrel.true_temperature(t_set)[0, 0]).barrel_fill
    if fill is not None and setup.geometry.given:
        shares["shot-size"] = float(judge.broken_shares({"fits": 1.0 - fill})["fits"])
    push = best_push(setup, state, barrel, at)
    if push is not None:
        shares["flash"] = push.fails
    fumes = judge.broken_shares(barrel.set_point_margins(t_set)).get("fumes")
    if fumes is not None:
        shares["fume"] = float(fumes[0, 0])
    return shares
