"""Remarks: what the tool warns of, each with a code, a weight and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

__all__ = ["CODES", "SEVERITIES", "Remark", "weightiest_first"]

SEVERITIES = ("info", "caution", "stop")

#: Every code the tool can raise. A code outside this tuple is a mistake of ours.
CODES = (
    "acid-browning",
    "antiplasticization",
    "brittle",
    "condensation",
    "crosslinked",
    "degradation",
    "dust",
    "extrapolated",
    "fiber-scorch",
    "flash",
    "freeze-off",
    "fume",
    "glycerol-read-as-water",
    "granules-unmelted",
    "heater-limit",
    "held-too-long",
    "hot-core",
    "hot-metal",
    "mold-growth",
    "not-polysaccharide",
    "oxidizer",
    "pellets-fuse",
    "phase-separation",
    "salt-corrosion",
    "short-shot",
    "shot-size",
    "steam",
    "sticky",
    "too-stiff-to-fill",
    "unmeasured-material",
)


@dataclass(frozen=True)
class Remark:
    """One thing the user should know.

    Parameters
    ----------
    code : str
        One of ``CODES``. [-]
    severity : str
        ``"info"``, ``"caution"`` or ``"stop"``. [-]
    message : str
        A plain sentence with its number. [-]
    stage : str
        The step of the job it belongs to. [-]
    source : str
        Where the limit behind it comes from. [-]

    Examples
    --------
    >>> Remark("dust", "info", "Keep powder away from flames.", "blend", "common practice").severity
    'info'
    """

    code: str
    severity: str
    message: str
    stage: str
    source: str

    def __post_init__(self) -> None:
        if self.code not in CODES:
            raise ValueError(f"unknown remark code {self.code!r}")
        if self.severity not in SEVERITIES:
            raise ValueError(f"unknown severity {self.severity!r}; allowed: {SEVERITIES}")

    def to_dict(self) -> dict[str, Any]:
        """The remark as plain data, in the order of the contract."""
        return {
            "code": self.code,
            "severity": self.severity,
            "message": self.message,
            "stage": self.stage,
            "source": self.source,
        }


def weightiest_first(remarks: list[Remark]) -> list[Remark]:
    """One remark a code and message, stops first; the order within a severity is kept.

    Parameters
    ----------
    remarks : list of Remark
        As they came, some of them twice. [-]

    Returns
    -------
    list of Remark
        Each once. [-]

    Examples
    --------
    >>> mild = Remark("dust", "info", "Keep powder away from flames.", "blend", "common practice")
    >>> grave = Remark("steam", "stop", "Keep the nozzle shut.", "barrel", "common practice")
    >>> [remark.code for remark in weightiest_first([mild, grave, mild])]
    ['steam', 'dust']
    """
    unique = list(dict.fromkeys(remarks))
    return sorted(unique, key=lambda r: -SEVERITIES.index(r.severity))
