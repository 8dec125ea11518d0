"""How many threads libraries of linear algebra start: told before anything loads numpy."""

from __future__ import annotations

import os

__all__ = ["one_thread"]

#: What they ask.
_ASKED = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS")


def one_thread(*, insist: bool = False) -> None:
    """One, for our matrices are small: more wait for each other, and double the time of a fit.

    Parameters
    ----------
    insist : bool
        Also where the environment says otherwise, since last digits are the threads' own. [-]
    """
    for name in _ASKED:
        if insist or name not in os.environ:
            os.environ[name] = "1"
