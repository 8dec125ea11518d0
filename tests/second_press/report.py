"""What a few hundred makers show: promise against fact, success against rivals, and why not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from tests.second_press.hidden import truths
from tests.second_press.known import Known, makers
from tests.second_press.press import BARREL, MOLD, ROOM, good, shoot
from tests.second_press.trial import (
    Advised,
    advised_settings,
    alike,
    ask_all,
    grid,
    overnight,
    successes,
)

#: A decile of promises counts from this many makers on.
ENOUGH = 20
#: How far promise and fact may lie apart.
TARGET = 0.1
#: Which reasons of the press a limit of the advisor speaks of.
SPEAKS_OF = {
    "fill": ("short",),
    "weld": ("lumps",),
    "browning": ("browned",),
    "steam": ("spat", "bubbles"),
    "hot-core": ("puffed",),
    "soft-part": ("soft",),
    "brittle": ("brittle",),
    "drying-cracks": ("cracked", "warped"),
    "mold-growth": ("moldy",),
}


class Rivals(NamedTuple):
    """Who succeeds by a rule: shapes (settings of the grid, makers) and (molds, makers)."""

    table: Any
    overnight: Any


class Press(NamedTuple):
    """A press to be counted at: its truths, a shot, what rivals get there, all its reasons."""

    truths: Callable[..., Any]
    shoot: Callable[..., dict[str, Any]]
    rivals: Callable[..., Rivals]
    reasons: tuple[str, ...]


def _rivals(known: Known, truth: Any) -> Rivals:
    dry = [good(shoot(known, truth, alike(known, truth, s))) for s in overnight()]
    return Rivals(table=successes(known, truth), overnight=np.stack(dry))


#: The press of this folder.
SECOND = Press(truths=truths, shoot=shoot, rivals=_rivals, reasons=(*BARREL, *MOLD, *ROOM))


@dataclass(frozen=True)
class Bin:
    """Makers whose promise lies in one part of the scale, a tenth as a rule.

    ``makers`` asked; each page was tried by a number of ``trials`` in all, whose truths differ.
    ``error`` is the standard error of ``kept``, makers being what varies.
    """

    low: float
    high: float
    makers: int
    trials: int
    promised: float
    kept: float
    error: float

    @property
    def gap(self) -> float:
        """Promised less kept: above zero is a promise too many."""
        return self.promised - self.kept


def by_promise(promised: Any, kept: Any, parts: int = 10) -> list[Bin]:
    """Promise against fact, by deciles of the promise (or other ``parts`` of its scale).

    ``kept`` has shape (twins, makers), the promises (makers).

    Examples
    --------
    >>> bins = by_promise(np.array([0.75, 0.75]), np.array([[True, False], [True, True]]))
    >>> bins[7].kept, bins[7].gap, bins[0].makers
    (0.75, 0.0, 0)
    """
    place = np.minimum((promised * parts).astype(int), parts - 1)
    share = kept.mean(axis=0)
    bins = []
    for b in range(parts):
        here = place == b
        n = int(here.sum())
        bins.append(
            Bin(
                low=b / parts,
                high=(b + 1) / parts,
                makers=n,
                trials=n * len(kept),
                promised=float(promised[here].mean()) if n else float("nan"),
                kept=float(share[here].mean()) if n else float("nan"),
                error=float(share[here].std(ddof=1) / np.sqrt(n)) if n > 1 else float("nan"),
            )
        )
    return bins


def largest_gap(bins: list[Bin], enough: int = ENOUGH) -> float:
    """The gap of most size among deciles with enough makers, with its sign."""
    gaps = [b.gap for b in bins if b.makers >= enough]
    return max(gaps, key=abs) if gaps else float("nan")


def merged(bins: list[Bin], enough: int = ENOUGH) -> list[Bin]:
    """Neighboring bins joined, from the highest promise down, until each holds enough makers.

    Examples
    --------
    >>> bins = by_promise(np.array([0.15, 0.25, 0.95, 0.95]), np.ones((3, 4), dtype=bool))
    >>> [(b.low, b.high, b.makers) for b in merged(bins, 2)]
    [(0.9, 1.0, 2), (0.1, 0.9, 2)]
    """
    found: list[Bin] = []
    for b in reversed([b for b in bins if b.makers]):
        if found and found[-1].makers < enough:
            found[-1] = _joined(b, found[-1])
        else:
            found.append(b if not found else replace(b, high=found[-1].low))
    if len(found) > 1 and found[-1].makers < enough:
        found[-2:] = [_joined(found[-1], found[-2])]
    return found


def _joined(low: Bin, high: Bin) -> Bin:
    n, m = low.makers, high.makers

    def mean(name: str) -> float:
        return float((n * getattr(low, name) + m * getattr(high, name)) / (n + m))

    # a bin of one maker has no error of its own; a half is the most that a share can have
    spread = np.hypot(*(b.makers * np.nan_to_num(b.error, nan=0.5) for b in (low, high)))
    return Bin(
        low=low.low,
        high=high.high,
        makers=n + m,
        trials=low.trials + high.trials,
        promised=mean("promised"),
        kept=mean("kept"),
        error=float(spread / (n + m)),
    )


@dataclass(frozen=True)
class Report:
    """All that is reported; success is counted among makers (and twins) whom some setting serves.

    ``limits`` holds, per limit of the advisor, the share it was expected to break at the settings
    given, and the share that the press saw spoiled for that reason.
    """

    makers: int
    twins: int
    attempts: int
    served: int
    whole: list[Bin]
    barrel: list[Bin]
    advisor: float
    overnight: float
    overnight_mold_c: float
    one_setting: float
    one_setting_is: tuple[float, ...]
    chance_of_any: float
    reasons: dict[str, float]
    missed: dict[str, float]
    limits: dict[str, tuple[float, float]]

    @property
    def whole_gap(self) -> float:
        return largest_gap(self.whole)

    @property
    def barrel_gap(self) -> float:
        return largest_gap(self.barrel)


def run(
    count: int,
    *,
    seed: int = 20,
    twins: int = 20,
    draws: int = 512,
    processes: int = 1,
    parts: int = 10,
    press: Press = SECOND,
    ask: Callable[..., list[Advised]] = ask_all,
    against: int = 1,
) -> Report:
    """Makers ask, press and are counted.

    Each page is tried by ``twins`` makers who know the same and whose truths differ: that pins
    down how often a promise is kept with fewer questions. Success against rivals is counted on the
    first ``against`` of them. ``parts`` is how finely promises are told apart. ``ask`` answers for
    all makers.
    """
    rng = np.random.default_rng(seed)
    known = makers(rng, count)
    advised = ask(known, count=draws, processes=processes)
    heats, settings = advised_settings(advised)
    asked = known.take(heats)
    verdicts, rivals = [], []
    for twin in range(twins):
        if twin < against:
            truth = press.truths(rng, known)
            rivals.append(press.rivals(known, truth))
            truth = truth.take(heats)
        else:
            truth = press.truths(rng, asked)
        verdicts.append(press.shoot(asked, truth, settings))
    return _count(advised, heats, verdicts, rivals, parts, press.reasons)


def _count(
    advised: list[Advised],
    heats: Any,
    verdicts: list[dict[str, Any]],
    rivals: list[Rivals],
    parts: int,
    every: tuple[str, ...],
) -> Report:
    promised = np.array([a.promise for a in advised])[heats]
    in_barrel = np.array([a.barrel_chance for a in advised])[heats]
    whole = np.stack([good(v, every) for v in verdicts])
    filled = np.stack([good(v, BARREL) for v in verdicts])
    # makers and their twins side by side, as if each were a maker more
    table = np.concatenate([r.table for r in rivals], axis=1)
    nights = np.concatenate([r.overnight for r in rivals], axis=1)
    served = table.any(axis=0)
    best = int(table.sum(axis=1).argmax())
    one = grid()[best]
    dry = int(nights.sum(axis=1).argmax())
    each = np.zeros((len(rivals), len(advised)), dtype=bool)
    each[:, heats] = whole[: len(rivals)]
    won = each.ravel()
    served |= won  # the advisor's own setting may serve where the grid has none
    reasons = {name: float(np.mean([v[name].mean() for v in verdicts])) for name in every}
    return Report(
        makers=len(advised),
        twins=len(verdicts),
        attempts=int(heats.sum()),
        served=int(served.sum()),
        whole=by_promise(promised, whole, parts),
        barrel=by_promise(in_barrel, filled, parts),
        advisor=float(won[served].mean()),
        overnight=float(nights[dry][served].mean()),
        overnight_mold_c=overnight()[dry][3],
        one_setting=float(table[best][served].mean()),
        one_setting_is=one,
        chance_of_any=float(table.mean()),
        reasons=reasons,
        missed=_missed(heats, served[: len(advised)], won[: len(advised)], verdicts[0]),
        limits=_limits([a for a in advised if a.settings is not None], verdicts),
    )


def _missed(heats: Any, served: Any, won: Any, verdict: dict[str, Any]) -> dict[str, float]:
    """Why the advisor's makers failed whom some setting serves: shares of those failures."""
    lost = served & ~won
    total = max(int(lost.sum()), 1)
    found = {"not heated": float((lost & ~heats).sum() / total)}
    inside = lost[heats]
    for name, broken in verdict.items():
        found[name] = float((broken & inside).sum() / total)
    return {k: v for k, v in sorted(found.items(), key=lambda item: -item[1]) if v > 0}


def _limits(
    advised: list[Advised], verdicts: list[dict[str, Any]]
) -> dict[str, tuple[float, float]]:
    """Share expected to break each limit, and share seen."""
    found = {}
    for limit, reasons in SPEAKS_OF.items():
        expected = np.mean([a.broken.get(limit, 0.0) for a in advised])
        seen = np.mean([np.any([v[name] for name in reasons], axis=0).mean() for v in verdicts])
        found[limit] = (float(expected), float(seen))
    return found
