"""What the tool says of the published rows, worked out once for all tests of a process."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from moldwin.advice.evidence.blends import Blends
from moldwin.advice.evidence.row import EvidenceRow

__all__ = ["BLENDS", "evidence_of"]

BLENDS = Blends()


@cache
def evidence_of(check: Callable[..., object]) -> dict[str, EvidenceRow]:
    """Rows of one check of predictions, by their id."""
    return {row.id: row for row in check(BLENDS)}  # type: ignore[attr-defined]
