"""What the maker's own trials have done to the answer: the same draws with and without them."""

from __future__ import annotations

from dataclasses import dataclass

from moldwin.advice.situation import celsius
from moldwin.inputs.cards import library_for
from moldwin.inputs.fitted_cards import is_fitted
from moldwin.stages.bench import Bench
from moldwin.window.windows import BarrelWindow, Setup

__all__ = ["Learned", "learned"]


@dataclass(frozen=True)
class Learned:
    """Barrel window [°C] and best chance, now and on the cards before trials and weighings."""

    trials: int
    low_c: float | None
    high_c: float | None
    chance: float
    before_low_c: float | None
    before_high_c: float | None
    before_chance: float

    @property
    def effect(self) -> str:
        """What became of the window; knowing more, a maker may well be sure of a wider one.

        Examples
        --------
        >>> Learned(3, 113.2, 174.1, 0.96, 104.4, 133.0, 0.74).effect
        'Widened'
        """
        if self.low_c is None or self.high_c is None:
            return "Still closed" if self.before_low_c is None else "Closed"
        if self.before_low_c is None or self.before_high_c is None:
            return "Opened"
        now = round(self.low_c), round(self.high_c)
        was = round(self.before_low_c), round(self.before_high_c)
        wider = (now[1] - now[0]) - (was[1] - was[0])
        if wider:
            return "Widened" if wider > 0 else "Narrowed"
        return "Unchanged" if now == was else "Moved"

    @property
    def by(self) -> str:
        """What changed it, as a maker would say."""
        if not self.trials:
            return "your weighings"
        return f"your {self.trials} trial" + "s" * (self.trials != 1)


def learned(setup: Setup, barrel: BarrelWindow, nominal: float) -> Learned | None:
    """What fitted cards changed; None where the job uses none.

    Parameters
    ----------
    setup : Setup
        The job on the cards as they are. [-]
    barrel : BarrelWindow
        Its barrel window. [SI]
    nominal : float
        At this moisture, wet basis. [kg/kg]

    Returns
    -------
    Learned or None
        In the words of the contract.
    """
    bench = setup.bench
    cards = [bench.card(row.card, row.lot) for row in bench.job.ingredients]
    fitted = [card.facts["fitted"] for card in cards if is_fitted(card)]
    if not fitted:
        return None
    before = Bench(
        bench.job,
        seed=bench.draws.seed,
        count=bench.count,
        spread=bench.draws.spread,
        spreads=bench.draws.spreads,
        library=library_for(bench.job.folder, fits="behind"),
    )
    was = Setup(before, setup.confidence).window(nominal).barrel
    return Learned(
        trials=max(int(one["trials"]) for one in fitted),
        low_c=celsius(barrel.low),
        high_c=celsius(barrel.high),
        chance=barrel.chance,
        before_low_c=celsius(was.low),
        before_high_c=celsius(was.high),
        before_chance=was.chance,
    )
