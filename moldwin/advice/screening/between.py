"""Recipes between others that were worked out: read from surfaces laid through those."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.advice.heating import may_heat
from moldwin.advice.screening.labels import Labels
from moldwin.advice.screening.look import NO_COOLING, STOP, Look, WindowLook
from moldwin.advice.screening.surface import Surface, chances_of, scores_of
from moldwin.window.hot_core import worth_cooling
from moldwin.window.picking import Picked, barrel_ends, mold_ends, pick

__all__ = ["MADE", "UNSURE", "Between"]

#: Columns of a table some of whose rows were read from surfaces: how a row was made, and which of
#: its warnings may not be true of it.
MADE, UNSURE = "made", "warnings_unsure"

_ZERO_C = 273.15
_ENDS = ("low", "likely", "high")
_TG = [f"tg_c.{end}" for end in _ENDS]


class _Fields:
    """Named arrays side by side in one."""

    def __init__(self, likes: dict[str, Any]) -> None:
        self._shapes = {name: np.shape(like) for name, like in likes.items()}

    def row(self, values: dict[str, Any]) -> Any:
        return np.concatenate([np.ravel(values[name]) for name in self._shapes])

    def parted(self, rows: Any) -> dict[str, Any]:
        """Rows (n, all) as arrays (n, ...) by name."""
        found, start = {}, 0
        for name, shape in self._shapes.items():
            size = int(np.prod(shape))
            found[name] = rows[:, start : start + size].reshape(len(rows), *shape)
            start += size
        return found


class _Family:
    """Arrays of some names over places."""

    def __init__(self, places: Any, rows: Sequence[dict[str, Any]]) -> None:
        self._fields = _Fields(rows[0])
        self._surface = Surface(places, np.stack([self._fields.row(row) for row in rows]))

    def at(self, places: Any) -> dict[str, Any]:
        return self._fields.parted(self._surface.at(places))


@dataclass(frozen=True)
class _Setting:
    """A set point and soak with the ends of their window. [K], [s]"""

    picked: Picked
    low: float | None
    best: float
    high: float | None
    chance: float
    soak: float


class Between:
    """Answers for recipes between those looked at, which share all that is no number.

    Parameters
    ----------
    places : array, shape (n, d)
        Their numbers. [any]
    looks : sequence of Look
        What is known of them. [mixed]
    samples : int
        Of the draws. [-]
    confidence : float
        Chance asked of a window. [-]

    Notes
    -----
    No answer is read from a surface as it is, for it jumps from one set point to the next. Chances
    are, at every set point and soak, and the rule that picks from them is the one of every window.
    """

    def __init__(
        self, places: Any, looks: Sequence[Look], *, samples: int, confidence: float
    ) -> None:
        self._samples, self._confidence = samples, confidence
        self._grid = looks[0].now.grid
        self._log = places.min(axis=0) > 0.0
        at = self._scaled(places)
        windows = [look.now for look in looks]
        self._chances, self._mold, self._blend = (
            _Family(at, [{name: window.places[name] for name in names} for window in windows])
            for names in _families(windows[0])
        )
        there = np.column_stack([at, _of_setting(*np.array([w.setting for w in windows]).T)])
        after = [{k: v for k, v in window.after.items() if k != "hold"} for window in windows]
        self._after = _Family(there, after)
        # a closed window may be held until a tenth of its chance is lost, an open one until what
        # is asked of it: two laws
        sure = [window.chance for window in windows]
        self._hold = {
            kind: _Family(self._held(there, sure), [_hold_of(window, kind) for window in windows])
            for kind in (True, False)
        }
        self._shares = _Family(there, [window.shares for window in windows])
        shares = {
            name: chances_of(np.array([window.shares[name] for window in windows]), samples)
            for name in windows[0].shares
        }
        self._labels = Labels(there, [look.labels for look in looks], shares)

    def _scaled(self, places: Any) -> Any:
        """Masses, forces and lengths act by their ratios."""
        places = np.asarray(places, dtype=float)
        return np.where(self._log, np.log(np.where(self._log, places, 1.0)), places)

    def _held(self, there: Any, chances: Sequence[float]) -> Any:
        """Where a hold is read: it lasts as long as the chance has room to fall."""
        return np.column_stack([there, scores_of(np.array(chances), self._samples)])

    def answers(self, places: Any, moisture_pct: Any) -> list[dict[str, Any] | None]:
        """What the table says of recipes.

        Parameters
        ----------
        places : array, shape (n, d)
            Their numbers. [any]
        moisture_pct : array, shape (n,)
            Of the pellets as they are, wet basis. [%]

        Returns
        -------
        list of dict or None
            By dotted key; None for a recipe of which something cannot be read. [as the keys say]
        """
        at = self._scaled(places)
        blend, mold = self._blend.at(at), self._mold.at(at)
        settings = list(self._settings(self._chances.at(at), np.exp(blend["soaks"])))
        there = np.column_stack(
            [at, _of_setting(*np.array([[one.best, one.soak] for one in settings]).T)]
        )
        opened = np.array([one.low is not None for one in settings])
        after = {name: np.exp(value) for name, value in self._after.at(there).items()}
        held = self._held(there, [one.chance for one in settings])
        holds = [np.exp(self._hold[kind].at(held)["hold"]) for kind in (True, False)]
        after["hold"] = np.where(opened, *holds)
        shares = {n: chances_of(v, self._samples) for n, v in self._shares.at(there).items()}
        sure = self._labels.at(there, shares)
        molds = [self._mold_of(mold, i) for i in range(len(at))]
        return [
            self._answer(
                {**{k: v[i] for k, v in after.items()}, "tg": blend["tg"][i]},
                settings[i],
                molds[i],
                sure[i],
                float(moisture_pct[i]),
            )
            for i in range(len(at))
        ]

    def _settings(self, scores: dict[str, Any], soaks: Any) -> Iterator[_Setting]:
        chances = {name: chances_of(value, self._samples) for name, value in scores.items()}
        broken: dict[str, Any] = {
            name: chances[name] for name in ("heater", "fumes") if name in chances
        }
        for i, of_row in enumerate(soaks):

            def cooled(at: tuple[int, int], i: int = i) -> Any:
                cools = float(chances["core"][i, at[0]])
                return worth_cooling(cools, lambda: chances["together"][i], at)

            picked = pick(chances["alone"][i], cooled)
            of_one = {name: share[i] for name, share in broken.items()}
            best = picked.best
            ends = barrel_ends(self._grid, picked.chances, best, self._confidence, of_one)
            yield _Setting(
                picked=picked,
                low=ends[0] if ends else None,
                best=float(self._grid[best]),
                high=ends[1] if ends else None,
                chance=float(picked.chances[best]),
                soak=float(of_row[picked.by_soak[best]]),
            )

    def _mold_of(self, mold: dict[str, Any], i: int) -> tuple[float | None, float, float | None]:
        """Low, best and high. [K]"""
        chances = chances_of(mold["mold"][i], self._samples)
        at_best = float(chances_of(mold["mold_at_best"][i], self._samples))
        best, hottest = float(mold["mold_best"][i]), float(mold["mold_hottest"][i])
        ends = mold_ends(chances, best, at_best, self._confidence, hottest)
        return (None, best, None) if ends is None else (ends[0], best, ends[1])

    def _answer(
        self,
        read: dict[str, Any],
        setting: _Setting,
        mold: tuple[float | None, float, float | None],
        sure: Any,
        moisture_pct: float,
    ) -> dict[str, Any] | None:
        likely = {name for name, value in zip(self._labels.names, sure, strict=True) if value > 0.0}
        cools = NO_COOLING not in likely
        heat = may_heat(setting.chance) and not any(name.endswith(STOP) for name in likely)
        unasked = [name for name, asked in (("cooling", cools), ("hold", heat)) if not asked]
        if not all(np.isfinite(v).all() for name, v in read.items() if name not in unasked):
            return None
        cooling = float(read["cooling"]) if cools else None
        low, best, high, mold_c = (
            None if t is None else t - _ZERO_C
            for t in (setting.low, setting.best, setting.high, mold[1])
        )
        found = {
            **dict(zip(_TG, (read["tg"] - _ZERO_C).tolist(), strict=True)),
            "barrel.low_c": low if heat else None,
            "barrel.best_c": best if heat else None,
            "barrel.high_c": high if heat else None,
            "barrel.chance": setting.chance,
            "barrel.open": low is not None and heat,
            "soak_s": setting.soak if heat else None,
            "mold.low_c": None if mold[0] is None else mold[0] - _ZERO_C,
            "mold.best_c": mold_c,
            "mold.high_c": None if mold[2] is None else mold[2] - _ZERO_C,
            "cooling_s": cooling,
            "moisture.now_pct": moisture_pct,
            "warnings": self._codes(sure, -1.0, np.inf),
            UNSURE: self._codes(sure, -1.0, 1.0),
        }
        found |= _of_shot(read)
        if heat:
            found |= {
                "settings.moisture_pct": moisture_pct,
                "settings.barrel_c": best,
                "settings.soak_s": setting.soak,
                "settings.hold_max_s": float(read["hold"]),
                "settings.mold_c": mold_c,
                "settings.charge_g": found.get("shot.charge_g.likely"),
            }
        return found

    def _codes(self, sure: Any, low: float, high: float) -> str:
        """Codes so sure; whatever cannot be read may be true."""
        names = (
            name
            for name, value in zip(self._labels.names, sure, strict=True)
            if not value < low and not value > high and name != NO_COOLING
        )
        return " ".join(dict.fromkeys(name.removesuffix(STOP) for name in names))


def _families(window: WindowLook) -> tuple[list[str], list[str], list[str]]:
    """Names of what is moved by the same things: chances, mold, blend."""
    mold = [name for name in window.places if name.startswith("mold")]
    blend = ["tg", "soaks"]
    return [name for name in window.places if name not in (*mold, *blend)], mold, blend


def _of_setting(t_set: Any, soak: Any) -> Any:
    """A set point [K] and a soak [s] as rates see them, shape (n, 2)."""
    return np.column_stack([1000.0 / t_set, np.log(soak)])


def _hold_of(window: WindowLook, kind: bool) -> dict[str, float]:
    return {"hold": window.after["hold"] if window.open is kind else np.nan}


def _of_shot(read: dict[str, Any]) -> dict[str, float]:
    """Grams, kilonewtons and percent; nothing where nobody described a part."""
    scales = {"charge": ("shot.charge_g", 1e3), "clamp": ("shot.clamp_needed_kn", 1e-3)}
    found = {
        f"{key}.{end}": float(read[f"{name}.{end}"]) * scale
        for name, (key, scale) in scales.items()
        for end in _ENDS
        if f"{name}.{end}" in read
    }
    if "fill" in read:
        found["shot.barrel_fill_pct"] = 100.0 * float(read["fill"])
    return found
