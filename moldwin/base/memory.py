"""Memory that large arrays leave behind, kept for the next ones."""

from __future__ import annotations

import numpy as np

__all__ = ["keep_memory"]

#: Numbers in the array that is freed once: 16 MiB, half of the most that glibc takes notice of.
_ENOUGH = 2**21


def keep_memory() -> None:
    """Free one large array, so that glibc keeps freed memory for the next array.

    It hands the memory of large arrays back to the system, and asks for it page by page again,
    until it has seen an array of that size freed. Loops over blocks of samples lose a third of
    their time there. Costs some microseconds; with another C library it does nothing.

    Examples
    --------
    >>> keep_memory()
    """
    np.empty(_ENOUGH)
