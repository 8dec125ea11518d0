"""What a few hundred makers show: promise against fact, success against rivals, and why not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.second_press.hidden import Truth, truths
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


@dataclass(frozen=True)
class Report:
    """All that is reported; success is counted among makers whom some setting serves.

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
) -> Report:
    """Makers ask, press and are counted.

    Each page is tried by ``twins`` makers who know the same and whose truths differ: that pins
    down how often a promise is kept with fewer questions. Success against rivals is counted on the
    first of them. ``parts`` is how finely promises are told apart.
    """
    rng = np.random.default_rng(seed)
    known = makers(rng, count)
    advised = ask_all(known, count=draws, processes=processes)
    heats, settings = advised_settings(advised)
    asked = known.take(heats)
    verdicts = []
    first = truths(rng, known)
    for twin in range(twins):
        truth = first.take(heats) if twin == 0 else truths(rng, asked)
        verdicts.append(shoot(asked, truth, settings))
    return _count(known, advised, heats, first, verdicts, parts)


def _count(
    known: Known,
    advised: list[Advised],
    heats: Any,
    first: Truth,
    verdicts: list[dict[str, Any]],
    parts: int,
) -> Report:
    promised = np.array([a.promise for a in advised])[heats]
    in_barrel = np.array([a.barrel_chance for a in advised])[heats]
    whole = np.stack([good(v) for v in verdicts])
    filled = np.stack([good(v, BARREL) for v in verdicts])
    table = successes(known, first)
    served = table.any(axis=0)
    best = int(table.sum(axis=1).argmax())
    one = grid()[best]
    rivals = [good(shoot(known, first, alike(known, first, s))) for s in overnight()]
    dry = max(range(len(rivals)), key=lambda k: int(rivals[k].sum()))
    won = np.zeros(len(known), dtype=bool)
    won[heats] = whole[0]
    served |= won  # the advisor's own setting may serve where the grid has none
    reasons = {
        name: float(np.mean([v[name].mean() for v in verdicts])) for name in (*BARREL, *MOLD, *ROOM)
    }
    return Report(
        makers=len(known),
        twins=len(verdicts),
        attempts=int(heats.sum()),
        served=int(served.sum()),
        whole=by_promise(promised, whole, parts),
        barrel=by_promise(in_barrel, filled, parts),
        advisor=float(won[served].mean()),
        overnight=float(rivals[dry][served].mean()),
        overnight_mold_c=overnight()[dry][3],
        one_setting=float(table[best][served].mean()),
        one_setting_is=one,
        chance_of_any=float(table.mean()),
        reasons=reasons,
        missed=_missed(heats, served, won, verdicts[0]),
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
