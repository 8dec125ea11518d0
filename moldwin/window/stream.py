"""A million samples through every limit of the barrel, in parts small enough to stay in cache."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from moldwin.base.draws import Draws
from moldwin.base.memory import keep_memory
from moldwin.base.normal import normal_strata
from moldwin.base.quantities import Quantity
from moldwin.stages.bench import Bench
from moldwin.stages.melting import Barrel
from moldwin.stages.shot import part_geometry, ram
from moldwin.stages.state import Material
from moldwin.window.judge import broken_shares, chance
from moldwin.window.windows import Setup

__all__ = ["PART", "LimitQuantiles", "limit_quantiles"]

#: Samples of one part; a power of two keeps every column of it evenly stratified.
PART = 16_384


@dataclass(frozen=True)
class LimitQuantiles:
    """What many samples say of one setting.

    Parameters
    ----------
    count : int
        Samples behind it. [-]
    chance : float
        Share of samples for which every barrel limit holds. [-]
    chance_u : float
        Standard error of ``chance`` from drawing, by the spread between parts; NaN for one. [-]
    broken : dict of str to float
        Share of samples that each limit alone breaks. [-]
    shares : tuple of float
        Shares of samples below the quantiles. [-]
    quantiles : dict of str to array, shape (len(shares),)
        Quantiles of each limit's margin. [the margin's unit]
    """

    count: int
    chance: float
    chance_u: float
    broken: dict[str, float]
    shares: tuple[float, ...]
    quantiles: dict[str, Any]


def limit_quantiles(
    source: Setup | Bench,
    nominal: float,
    t_set: float,
    soak: float,
    count: int = 1_000_000,
    *,
    threads: int = 1,
    shares: Sequence[float] = (0.05, 0.5, 0.95),
    part: int = PART,
) -> LimitQuantiles:
    """Chance, broken shares and quantiles of every barrel margin at one setting.

    Parameters
    ----------
    source : Setup or Bench
        The job, with the seed and spread of its draws. [-]
    nominal : float
        Moisture as the user reads it, wet basis. [kg/kg]
    t_set : float
        Set point of the barrel. [K]
    soak : float
        Time in the barrel. [s]
    count : int
        Samples asked for; as many whole parts are drawn as it takes. [-]
    threads : int
        Parts worked on side by side; the bits do not depend on it. [-]
    shares : sequence of float
        Shares of samples below the quantiles asked for, 0 to 1. [-]
    part : int
        Samples of one part, a power of two. [-]

    Returns
    -------
    LimitQuantiles
        The answer.

    Raises
    ------
    ValueError
        A count or number of threads below 1, a part that is no power of two, a share outside 0..1.

    Notes
    -----
    Each part is a bench of its own on the same stratified draws with another random digital shift,
    which leaves parts independent of one another: their spread gives the error. A softening
    measurement moves the draws of each part by what the samples of that part say, which differs
    from one update over all samples by the error of a covariance of ``part`` samples. Quantiles are
    those of all samples together, exact, straight between neighbors; for that eight bytes are kept
    for each sample and limit.

    References
    ----------
    P. L'Ecuyer, C. Lemieux, in Modeling Uncertainty (2002), ch. 20, on digital shifts (from
    memory).
    """
    _check(count, threads, part, shares)
    keep_memory()
    setup = source if isinstance(source, Setup) else Setup(source)
    known = setup._stages(nominal)[1]
    at, soaks = np.array([t_set]), np.array([soak])
    names = sorted(known.margins(at, soaks))
    parts = -(-count // part)
    kept = np.empty((len(names), parts * part))
    shared, shape = _Shared(), (1, 1, part)

    def work(number: int) -> tuple[float, list[float]]:
        stage = _barrel(_bench(setup.bench, number, part, shared), nominal, known.t_mold)
        margins = stage.margins(at, soaks)
        for row, name in zip(kept, names, strict=True):
            row[number * part : (number + 1) * part] = np.broadcast_to(margins[name], shape)
        alone = broken_shares(margins)
        return float(chance(margins)[0, 0]), [float(alone[name][0, 0]) for name in names]

    with ThreadPoolExecutor(threads) as pool:
        chances, broken = zip(*pool.map(work, range(parts)), strict=True)
        found = list(pool.map(lambda row: _quantiles(row, shares), kept))
    return LimitQuantiles(
        count=parts * part,
        chance=float(np.mean(chances)),
        chance_u=float(np.std(chances, ddof=1) / np.sqrt(parts)) if parts > 1 else float("nan"),
        broken=dict(zip(names, np.mean(broken, axis=0).tolist(), strict=True)),
        shares=tuple(shares),
        quantiles=dict(zip(names, found, strict=True)),
    )


def _check(count: int, threads: int, part: int, shares: Sequence[float]) -> None:
    if count < 1 or threads < 1:
        raise ValueError(f"count and threads must be at least 1, got {count} and {threads}")
    if part < 2 or part & (part - 1):
        raise ValueError(f"part must be a power of two, 2 or more, got {part}")
    if not all(0.0 <= share <= 1.0 for share in shares):
        raise ValueError(f"shares must lie in 0..1, got {list(shares)}; percentages?")


def _barrel(bench: Bench, nominal: float, t_mold: float) -> Barrel:
    geometry, material = part_geometry(bench), Material(bench)
    state = material.at(nominal)
    return Barrel(bench, material.blend, state, geometry, ram(bench, geometry), t_mold)


def _quantiles(values: Any, shares: Sequence[float]) -> Any:
    """Quantiles of values that may be reordered, shape (len(shares),).

    One selection for each share: numpy selects a single place many times faster than several.
    """
    if np.isnan(values).any():
        return np.full(len(shares), np.nan)
    return np.array([_quantile(values, share * (values.size - 1)) for share in shares])


def _quantile(values: Any, place: float) -> float:
    """The value at a place in rising order; next to an infinite one the lower of the two."""
    low = int(place)
    values.partition(low)
    below = values[low]
    if place == low:
        return float(below)
    above = values[low + 1 :].min()
    if np.isinf(above) or np.isinf(below):
        return float(below)
    return float(below + (place - low) * (above - below))


# ------------------------------------------------------------------------ the draws


@dataclass(frozen=True)
class _Shared:
    """What all parts have in common: ranks by column, values at the rising scores by quantity."""

    ranks: dict[str, Any] = field(default_factory=dict)
    values: dict[tuple[Quantity, float], Any] = field(default_factory=dict)


def _bench(whole: Bench, number: int, count: int, shared: _Shared) -> Bench:
    """The bench of one part."""
    draws = whole.draws
    bench = Bench(
        whole.job,
        seed=draws.seed,
        count=count,
        spread=draws.spread,
        spreads=draws.spreads,
        library=whole.library,
    )
    bench.draws = bench.fresh_draws = _PartDraws(bench.draws, number, shared)
    return bench


class _PartDraws(Draws):
    """The draws of one part; those of part 0 are the plain ones of the seed and count.

    A column holds the same rising scores in every part, in the plain order with a random digital
    shift: all ranks of a column change by one exclusive or. So scores become values once for all
    parts, and no part has to sort or shuffle anything.
    """

    def __init__(self, plain: Draws, number: int, shared: _Shared) -> None:
        super().__init__(plain.seed, plain.count, spread=plain.spread, spreads=plain.spreads)
        self._scores, self._number, self._shared = dict(plain._scores), number, shared

    def samples(self, quantity: Quantity, column: str | None = None) -> Any:
        name = column or quantity.name
        spread = self.spread * self.spreads.get(quantity.name, 1.0)
        if name in self._scores or quantity.exact or spread == 0.0:
            return super().samples(quantity, column)  # a measurement may have moved these scores
        values = self._shared.values
        if (quantity, spread) not in values:
            values[quantity, spread] = quantity.samples(normal_strata(self.count), spread)
        return values[quantity, spread].take(self._ranks(name))

    def copy(self) -> Draws:
        return _PartDraws(self, self._number, self._shared)

    def _fresh(self, name: str) -> Any:
        return normal_strata(self.count).take(self._ranks(name))

    def _ranks(self, name: str) -> Any:
        ranks = self._shared.ranks
        if name not in ranks:
            ranks[name] = super()._fresh(name).argsort().argsort()
        if self._number == 0:
            return ranks[name]
        text = f"{self.seed}: part {self._number} of {name}"
        digest = hashlib.blake2b(text.encode(), digest_size=8).digest()
        return ranks[name] ^ (int.from_bytes(digest, "little") % self.count)
