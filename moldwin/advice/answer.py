"""The answer as data: what ``advise`` gives, in the order and units of its JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from moldwin.base.percentiles import Triple
from moldwin.base.remarks import Remark

__all__ = [
    "SCHEMA",
    "Advice",
    "Assumption",
    "Barrel",
    "BarrelLimit",
    "Details",
    "Measurement",
    "MoistureAdvice",
    "MoistureLimit",
    "MoldAdvice",
    "Remedy",
    "Settings",
    "ShotAdvice",
    "Situation",
    "SoakAdvice",
]

SCHEMA = "moldwin.advice/1"


@dataclass(frozen=True)
class BarrelLimit:
    """One limit of the barrel window: median temperature [°C] and share of samples broken."""

    name: str
    side: str
    temperature_c: float | None
    broken_share: float


@dataclass(frozen=True)
class Barrel:
    """Barrel window [°C] at the asked confidence, and the best chance.

    ``open`` is False, and no end is named, where no range of set points reaches the confidence,
    where that range is narrower than a heater can be set, and behind a stop.
    """

    low_c: float | None
    best_c: float | None
    high_c: float | None
    confidence: float
    chance: float
    open: bool
    limits: list[BarrelLimit]


@dataclass(frozen=True)
class MoldAdvice:
    """Mold window. [°C]"""

    low_c: float | None
    best_c: float | None
    high_c: float | None


@dataclass(frozen=True)
class ShotAdvice:
    """Shot: volumes [cm³], charge [g], fill of the barrel [%], force on the mold [kN]."""

    part_cm3: float | None
    shot_cm3: float | None
    charge_g: Triple | None
    barrel_fill_pct: float | None
    clamp_needed_kn: Triple | None


@dataclass(frozen=True)
class Situation:
    """Everything that holds for pellets at one moisture."""

    tg_c: Triple
    barrel: Barrel
    soak_s: float | None
    mold: MoldAdvice
    cooling_s: float | None
    shot: ShotAdvice


@dataclass(frozen=True)
class Settings:
    """The one set of numbers to use; the whole of it is missing where the page says do not heat.

    Longer than ``hold_max_s`` the charge may not stay hot: by then the chance has fallen to the
    confidence, or where the window is closed by a tenth.
    """

    moisture_pct: float | None
    barrel_c: float | None
    soak_s: float | None
    hold_max_s: float | None
    mold_c: float | None
    cooling_s: float | None
    charge_g: float | None


@dataclass(frozen=True)
class MoistureLimit:
    """One limit of the moisture target: median moisture [%, wet basis] where it binds.

    ``broken_share`` is the share of samples it breaks at the moisture that is advised: that of the
    settings, which is the target where the page leads with conditioning, else the present one.
    """

    name: str
    side: str
    moisture_pct: float | None
    broken_share: float


@dataclass(frozen=True)
class MoistureAdvice:
    """Moisture now and the target, wet basis. [%]"""

    now_pct: float
    target_low_pct: float
    target_best_pct: float
    target_high_pct: float
    limits: list[MoistureLimit]


@dataclass(frozen=True)
class Remedy:
    """A change worth trying, what chance it gives, and the ``--set`` that makes it."""

    change: str
    effect: str
    set: Mapping[str, Any]
    low_c: float | None
    high_c: float | None
    chance: float
    cost: str


@dataclass(frozen=True)
class Measurement:
    """Something to measure, and how much of the answer's width [K] it would take away."""

    what: str
    how: str
    key: str
    width_now: float
    width_after: float
    minutes: float


@dataclass(frozen=True)
class Assumption:
    """One number the answer rests on, in its ``unit``, or the reason why one is missing."""

    name: str
    value: float | None
    unit: str
    status: str
    source: str


@dataclass(frozen=True)
class SoakAdvice:
    """At one barrel temperature [°C]: soaks [s] at the confidence, best chance, what fails."""

    barrel_c: float
    from_s: float | None
    to_s: float | None
    best_s: float
    chance: float
    fails_first: str


@dataclass(frozen=True)
class Details:
    """What stands behind the window, for the page: not part of the JSON contract.

    ``steam_mpa`` is the charge's steam pressure at the best setting, ``held_mpa`` what holds it;
    ``nozzle_share`` the part of the filling pressure that the nozzle takes; ``unknowns`` the
    columns of draws that explain most of where the window lies, with their share. ``fillings`` is
    how often the barrel is filled with loose pellets to hold one charge; ``part_chance`` counts
    the part in its mold and its room too.
    """

    soaks: list[SoakAdvice]
    steam_mpa: Triple
    held_mpa: Triple
    nozzle_share: float
    unknowns: list[tuple[str, float]]
    fillings: int | None = None
    part_chance: float | None = None


@dataclass(frozen=True)
class Advice:
    """The whole answer.

    ``to_dict`` gives the JSON object, every key always there. ``bundled`` tells that the job is
    the example that ships with the package; ``confidence`` and ``seed`` are what was asked.
    ``conditioning_leads`` tells that the page starts with conditioning: it raises the barrel
    chance by a tenth or more. ``heat`` is False where the page says do not heat. ``details_of``
    works out what only the page shows. ``learned`` is what the maker's trials changed
    (`moldwin.advice.learned.Learned`), or None.
    """

    job: str
    now: Situation
    after_conditioning: Situation | None
    settings: Settings | None
    moisture: MoistureAdvice
    conditioning: Mapping[str, Any] | None
    service: Mapping[str, Any]
    remedies: list[Remedy]
    measure_next: list[Measurement]
    warnings: list[Remark]
    assumptions: list[Assumption]
    bundled: bool = False
    confidence: float = 0.7
    seed: int = 0
    conditioning_leads: bool = False
    heat: bool = True
    overrides: tuple[str, ...] = ()
    learned: Any = None
    details_of: Callable[[], Details] | None = field(default=None, repr=False, compare=False)

    @cached_property
    def details(self) -> Details | None:
        """What stands behind the window; worked out when it is first asked for."""
        return None if self.details_of is None else self.details_of()

    def to_dict(self) -> dict[str, Any]:
        """The object that ``moldwin advise --json`` prints."""
        return {
            "schema": SCHEMA,
            "job": self.job,
            **plain(self.now),
            "after_conditioning": plain(self.after_conditioning),
            "settings": plain(self.settings),
            "moisture": plain(self.moisture),
            "conditioning": None if self.conditioning is None else dict(self.conditioning),
            "service": dict(self.service),
            "remedies": plain(self.remedies),
            "measure_next": plain(self.measure_next),
            "warnings": [remark.to_dict() for remark in self.warnings],
            "assumptions": plain(self.assumptions),
            "learned": plain(self.learned),
        }


def plain(value: Any) -> Any:
    """Dataclasses as dictionaries, all the way down; infinities become null.

    Examples
    --------
    >>> plain(Triple(1.0, 2.0, float("inf")))
    {'low': 1.0, 'likely': 2.0, 'high': None}
    """
    if hasattr(value, "__dataclass_fields__"):
        return {name: plain(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, Mapping):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if (isinstance(value, float) and value != value) or value in (float("inf"), float("-inf")):
        return None
    return value
