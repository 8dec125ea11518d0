"""How far answers read from surfaces are from the same recipes worked out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.advice.screening.look import Look

__all__ = ["Check", "check"]

#: This share of the rows held out has to be as near as asked, in each respect.
_ASKED = 0.95
#: Nearer than the draws are to each other: with 256 of them a chance of a half has a standard error
#: of 0.03.
_CHANCE = 0.02
#: One step of the set points that are tried: among those whose chance is within a hundredth of the
#: best the middle one is named, and a sample more or less moves that by half a step.
_STEP_K, _END_K, _TG_K, _MOLD_K = 5.0, 2.5, 1.0, 2.0
#: Shares of the value: of times, which follow from the set point, and of the charge.
_TIME, _CHARGE = 0.15, 0.01


@dataclass(frozen=True)
class Check:
    """Share of rows held out for which a number is as near as asked, and the 95th percentiles.

    Parameters
    ----------
    rows : int
        How many were held out. [-]
    within : dict of str to float
        Share of them by what was asked. [-]
    off_95 : dict of str to float
        How far off 95 % of them are at the most. [by name]
    same_warnings, more_warnings, fewer_warnings : float
        Share of rows with exactly the warnings of the row worked out, with further ones, and with
        one that is not there. [-]
    passed : bool
        Whether each share is at least 0.95. [-]
    """

    rows: int
    within: dict[str, float]
    off_95: dict[str, float]
    same_warnings: float
    more_warnings: float
    fewer_warnings: float
    passed: bool

    @property
    def why(self) -> str:
        """What falls short, in words."""
        short = [f"{name} in {100 * v:.0f} %" for name, v in self.within.items() if v < _ASKED]
        return f"of {self.rows} rows held out: {', '.join(short)}"


def check(looks: Sequence[Look], read: Sequence[Mapping[str, Any]]) -> Check:
    """Compare rows worked out with the same rows read from surfaces.

    Parameters
    ----------
    looks : sequence of Look
        Worked out. [mixed]
    read : sequence of mapping
        By dotted key; empty for a row that no surface answers. [as the keys say]

    Returns
    -------
    Check
        Numbers that follow from set point and soak are compared where both are the same. [-]
    """
    pairs = [(look, row) for look, row in zip(looks, read, strict=True) if "barrel.chance" in row]
    off: dict[str, list[float]] = {name: [] for name in _ASKED_OF}
    for look, row in pairs:
        for name, of_pair in _ASKED_OF.items():
            value = of_pair[1](look, row)
            if value is not None:
                off[name].append(value)
    within = {
        name: float(np.mean([v <= _ASKED_OF[name][0] for v in values])) if values else 1.0
        for name, values in off.items()
    }
    told = [
        (set(str(look.answer["warnings"]).split()), set(str(row["warnings"]).split()))
        for look, row in pairs
    ]
    fewer = float(np.mean([bool(exact - found) for exact, found in told])) if told else 1.0
    within["no warning missing"] = 1.0 - fewer
    within["read at all"] = len(pairs) / max(len(looks), 1)
    return Check(
        rows=len(looks),
        within=within,
        off_95={name: float(np.quantile(values, 0.95)) for name, values in off.items() if values},
        same_warnings=float(np.mean([exact == found for exact, found in told])) if told else 0.0,
        more_warnings=float(np.mean([bool(f - e) for e, f in told])) if told else 0.0,
        fewer_warnings=fewer,
        passed=all(share >= _ASKED for share in within.values()),
    )


_Off = Callable[[Look, Mapping[str, Any]], float | None]


def _farthest(
    distance: Callable[[float, float], float | None], *keys: str, settled: bool = False
) -> _Off:
    """The largest distance of some numbers; None where no number has one.

    ``settled``: only where set point and soak are the same.
    """

    def of_pair(look: Look, row: Mapping[str, Any]) -> float | None:
        if settled and not _same_setting(look, row):
            return None
        pairs = [(look.answer[key], row.get(key)) for key in keys]
        far = [distance(a, b) for a, b in pairs if a is not None and b is not None]
        return max((d for d in far if d is not None), default=None)

    return of_pair


def _apart(*keys: str) -> _Off:
    """In their own unit."""
    return _farthest(lambda exact, read: abs(exact - read), *keys)


def _ratio(*keys: str, settled: bool = False) -> _Off:
    """As a share of the value worked out."""

    def share(exact: float, read: float) -> float | None:
        return abs(read / exact - 1.0) if exact else None

    return _farthest(share, *keys, settled=settled)


def _same_setting(look: Look, row: Mapping[str, Any]) -> bool:
    """The same set point, and the same one of the soaks that are tried."""
    best, soak = look.answer["barrel.best_c"], look.answer["soak_s"]
    if best is None or row.get("barrel.best_c") is None:
        return False
    return abs(row["barrel.best_c"] - best) < 1e-6 and abs(row["soak_s"] / soak - 1.0) < 0.05


def _unlike(*keys: str) -> _Off:
    """0 where a flag, or that there is a number at all, is the same, else 1."""

    def of_pair(look: Look, row: Mapping[str, Any]) -> float | None:
        pairs = [(look.answer[key], row.get(key)) for key in keys]
        same = (a == b if isinstance(a, bool) else (a is None) == (b is None) for a, b in pairs)
        return 0.0 if all(same) else 1.0

    return of_pair


def _given_up(look: Look, row: Mapping[str, Any]) -> float | None:
    """By how much the set point named has a smaller chance than the best one."""
    named = row.get("barrel.best_c")
    if named is None or look.answer["barrel.best_c"] is None:
        return None
    place = int(np.abs(look.now.grid - 273.15 - named).argmin())
    return float(look.chances.max() - look.chances[place])


#: How near what has to be, and how far off it is.
_ASKED_OF: dict[str, tuple[float, _Off]] = {
    "glass transition within 1 K": (
        _TG_K,
        _apart(*(f"tg_c.{e}" for e in ("low", "likely", "high"))),
    ),
    "chance within 0.02": (_CHANCE, _apart("barrel.chance")),
    "same verdict, open or closed": (0.0, _unlike("barrel.open")),
    "same advice, to heat or not": (0.0, _unlike("barrel.best_c")),
    "set point within one step of 5 K": (_STEP_K + 1e-6, _apart("barrel.best_c")),
    "chance given up at it within 0.02": (_CHANCE, _given_up),
    "ends of the window within 2.5 K": (_END_K, _apart("barrel.low_c", "barrel.high_c")),
    "mold within 2 K": (_MOLD_K, _apart("mold.low_c", "mold.best_c", "mold.high_c")),
    "cooling within 15 %": (_TIME, _ratio("cooling_s", settled=True)),
    "longest hold within 15 %": (_TIME, _ratio("settings.hold_max_s", settled=True)),
    "charge and clamp within 1 %": (
        _CHARGE,
        _ratio("shot.charge_g.likely", "shot.clamp_needed_kn.likely", "shot.barrel_fill_pct"),
    ),
}
