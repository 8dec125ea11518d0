"""The part once it has settled in its room: what every answer says of it."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.advice.situation import Found
from moldwin.base.percentiles import triple
from moldwin.stages.in_use import glassy_state, size_change
from moldwin.window.windows import Setup

__all__ = ["at_home", "most_common"]


def at_home(setup: Setup, chosen: Found) -> dict[str, Any]:
    """Moisture, glass transition, state and change of size in the room of the job.

    Parameters
    ----------
    setup : Setup
        The job, made ready. [-]
    chosen : Found
        What is advised to be molded. [SI]

    Returns
    -------
    dict
        ``moisture_pct``, ``tg_c``, ``state``, ``size_change_pct``. [%], [°C]
    """
    bench, material, w = setup.bench, setup.material, setup.room_w
    tg = material.glass_transition(w)
    change = size_change(bench, material.blend, chosen.window.state.w_water, w)
    return {
        "moisture_pct": triple(100.0 * w).to_dict(),
        "tg_c": triple(tg - 273.15).to_dict(),
        "state": most_common(glassy_state(bench, material.room_t - tg)),
        "size_change_pct": 100.0 * float(np.median(change)),
    }


def most_common(words: Any) -> str:
    """The word that most samples have.

    Parameters
    ----------
    words : array of str, shape (s,)
        One a sample. [-]

    Examples
    --------
    >>> most_common(np.array(["glassy", "rubbery", "glassy"]))
    'glassy'
    """
    names, counts = np.unique(words, return_counts=True)
    return str(names[int(counts.argmax())])
