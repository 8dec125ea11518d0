"""One line of a benchmark's result."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """Time and peak memory of ours and of a peer doing the same or comparable work.

    ``ratio`` is ``peer_s / ours_s``: bigger is better. ``gate`` says what must be right for the
    time to count, ``passed`` whether it was.
    """

    name: str
    ours_s: float
    peer: str
    peer_s: float | None
    ratio: float | None
    gate: str
    passed: bool
    peak_mib: float | None
    peer_peak_mib: float | None
