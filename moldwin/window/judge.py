"""The one place where margins become a verdict."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

__all__ = ["HOPELESS", "broken_shares", "chance", "holds"]

#: Below this best chance no setting is named: do not heat.
HOPELESS = 0.2


def holds(margins: Mapping[str, Any]) -> Any:
    """True for the samples whose every margin is above zero.

    Everything the tool says of a setting - the window, the target, each remedy, each map cell, each
    next measurement - comes from this function.

    Parameters
    ----------
    margins : mapping of str to array, shapes that broadcast, samples last
        Margin per limit; above zero is fine. [any]

    Returns
    -------
    array of bool, broadcast shape
        Verdict per sample. [-]

    Examples
    --------
    >>> holds({"hot": np.array([1.0, -1.0]), "cold": np.array([2.0, 2.0])}).tolist()
    [True, False]
    """
    shape = np.broadcast_shapes(*(np.shape(m) for m in margins.values()))
    verdict = np.ones(shape, dtype=bool)
    for margin in margins.values():
        verdict &= margin > 0
    return verdict


def chance(margins: Mapping[str, Any]) -> Any:
    """Share of samples whose every margin holds, over the last axis. [-]

    Parameters
    ----------
    margins : mapping of str to array, shape (..., s)
        Above zero is fine, by limit. [-]
    """
    return holds(margins).mean(axis=-1)


def broken_shares(margins: Mapping[str, Any]) -> dict[str, Any]:
    """Share of samples that each limit alone breaks, over the last axis. [-]

    Parameters
    ----------
    margins : mapping of str to array, shape (..., s)
        Above zero is fine, by limit. [-]
    """
    return {name: 1.0 - chance({name: margin}) for name, margin in margins.items()}
