"""From prior draws to posterior draws: the same columns, moved until they explain what was seen.

The likelihood is let in bit by bit. After each bit the samples that explain it are kept (copies of
the better ones take the place of the worse), a normal distribution is laid through them, and every
sample is moved a few times by proposals drawn towards that normal, taken or refused so that the
distribution is the right one whatever the normal misses. In the directions the data do not touch
the normal is the prior itself, so that nothing is shrunk there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.base.draws import Draws, effective_size

__all__ = ["UNTOUCHED", "Posterior", "posterior"]

#: A column whose spread stays above this share of the prior's was not touched by the data.
UNTOUCHED = 0.95
#: Share of the samples that must be left, by weights, when a bit of the likelihood is let in.
_KEEP = 0.5
#: Moves after each bit, and after the last: enough that copies part.
_MOVES, _LAST_MOVES = 2, 5
#: How far a proposal goes toward a fresh one, at first; and when too few or too many are taken.
_REACH, _SHORTER, _LONGER, _SHORTEST = 0.8, 0.7, 1.2, 0.1
_FEW, _MANY = 0.2, 0.5
#: Directions narrower than chance alone makes them are informed; by how many of its errors.
_ERRORS = 1.3
#: Widths of the proposal over the samples' own: heavier is safer.
_WIDER = 1.1
_STREAM = 7  # of the seed, apart from any other use of it


@dataclass(frozen=True)
class Posterior:
    """Draws that know of the data.

    Parameters
    ----------
    draws : Draws
        Equally weighted samples. [-]
    columns : tuple of str
        Those the data could have moved. [-]
    ratios : dict of str to float
        Spread after over spread before, by column. [-]
    shifts : dict of str to float
        How far the middle has moved, in standard deviations of the prior. [-]
    logs : array, shape (m, s)
        ln of the likelihood of each datum at each sample. [-]
    effective : float
        How many of as many fresh draws from the fitted normal its weights leave: the check. [-]
    disagreement : float
        Largest distance between the two ways' means, in posterior standard deviations, over what
        their sampling errors allow. [-]
    rounds : int
        How often the likelihood was worked out. [-]
    """

    draws: Draws
    columns: tuple[str, ...]
    ratios: dict[str, float]
    shifts: dict[str, float]
    logs: Any
    effective: float
    disagreement: float
    rounds: int

    def touched(self, column: str) -> bool:
        """Whether the data narrowed this column."""
        return self.ratios.get(column, 1.0) <= UNTOUCHED


class _Normal:
    """A normal through the samples that equals the prior wherever the data say nothing."""

    def __init__(self, z: Any, weights: Any) -> None:
        d = z.shape[1]
        effective = effective_size(weights)
        mean = weights @ z
        centered = z - mean
        values, vectors = np.linalg.eigh((centered * weights[:, None]).T @ centered)
        # chance alone narrows some direction of d by this much (Marchenko and Pastur)
        chance = max(1.0 - _ERRORS * np.sqrt(d / effective), 0.05) ** 2
        informed = values < chance
        self._v = vectors[:, informed]
        self._widths = np.sqrt(np.clip(_WIDER**2 * values[informed], 1e-8, 1.0))
        # a middle that moved without narrowing counts too, beyond its own error
        far = np.abs(mean) > 3.0 / np.sqrt(effective)
        inside = self._v @ (self._v.T @ mean)
        self.mean = inside + np.where(far, mean - inside, 0.0)

    def fresh(self, normals: Any) -> Any:
        """Deviations from the mean, from standard normals (s, d)."""
        along = normals @ self._v
        return normals + (along * (self._widths - 1.0)) @ self._v.T

    def log_prior_over(self, z: Any) -> Any:
        """ln of the prior's density over this one's, up to a constant, (s,)."""
        off = z - self.mean
        along = off @ self._v
        mine = (off**2).sum(1) + (along**2 * (self._widths**-2 - 1.0)).sum(1)
        return 0.5 * (mine - (z**2).sum(1))


def posterior(
    draws: Draws,
    columns: list[str],
    log_likelihood: Callable[[Draws], Any],
    told: Callable[[float], None] | None = None,
) -> Posterior:
    """Move the draws until they explain the data.

    Parameters
    ----------
    draws : Draws
        The prior; stays as it is. [-]
    columns : list of str
        Columns that the likelihood depends on. [-]
    log_likelihood : callable
        From draws to ln of the likelihood of each datum, shape (m, s). [-]
    told : callable, optional
        Hears the share of the likelihood that is let in. [-]

    Returns
    -------
    Posterior
        As many samples as the prior had; the same seed gives the same.

    Examples
    --------
    >>> prior = Draws(seed=1, count=1024)
    >>> def seen(draws):  # 1.0 was read with an error of 0.5
    ...     return -0.5 * ((draws.scores("a") - 1.0) / 0.5)[None] ** 2
    >>> found = posterior(prior, ["a", "b"], seen)
    >>> abs(found.shifts["a"] - 0.8) < 0.06, abs(found.ratios["a"] - 0.2**0.5) < 0.04
    (True, True)
    >>> found.touched("b")
    False
    """
    names = tuple(sorted(set(columns)))
    rng = np.random.default_rng([draws.seed, draws.count, _STREAM])
    prior = np.stack([draws.scores(name) for name in names], axis=1)

    def logs_at(z: Any) -> Any:
        return np.asarray(log_likelihood(draws.moved(dict(zip(names, z.T, strict=True)))))

    chain = _Chain(prior.copy(), logs_at(prior), logs_at, rng)
    share = 0.0
    while share < 1.0:
        step = _next_step(chain.logs.sum(0), 1.0 - share)
        share = min(share + step, 1.0)
        chain.let_in(step, share, _LAST_MOVES if share >= 1.0 else _MOVES)
        if told is not None:
            told(share)
    effective, disagreement = chain.check()
    z = chain.z
    return Posterior(
        draws=draws.moved(dict(zip(names, z.T, strict=True))),
        columns=names,
        ratios=dict(zip(names, map(float, z.std(0) / prior.std(0)), strict=True)),
        shifts=dict(zip(names, map(float, z.mean(0) - prior.mean(0)), strict=True)),
        logs=chain.logs,
        effective=effective,
        disagreement=disagreement,
        rounds=chain.rounds,
    )


class _Chain:
    """The samples on their way."""

    def __init__(self, z: Any, logs: Any, logs_at: Callable[[Any], Any], rng: Any) -> None:
        self.z, self.logs, self._logs_at, self._rng = z, logs, logs_at, rng
        self._reach, self.rounds = _REACH, 1
        self._normal: _Normal | None = None

    def let_in(self, step: float, share: float, moves: int) -> None:
        """One more bit of the likelihood: weigh, copy, move."""
        weights = _weights(step * self.logs.sum(0))
        self._normal = _Normal(self.z, weights)
        kept = _systematic(weights, self._rng)
        self.z, self.logs = self.z[kept], self.logs[:, kept]
        for _ in range(moves):
            self._move(share)

    def _move(self, share: float) -> None:
        normal, count = self._normal, len(self.z)
        assert normal is not None
        back = np.sqrt(1.0 - self._reach**2)
        fresh = normal.fresh(self._rng.standard_normal(self.z.shape))
        proposed = normal.mean + back * (self.z - normal.mean) + self._reach * fresh
        logs = self._logs_at(proposed)
        self.rounds += 1
        gain = share * (logs.sum(0) - self.logs.sum(0))
        gain += normal.log_prior_over(proposed) - normal.log_prior_over(self.z)
        taken = np.log(self._rng.random(count)) < gain
        self.z[taken], self.logs[:, taken] = proposed[taken], logs[:, taken]
        if taken.mean() < _FEW:
            self._reach = max(self._reach * _SHORTER, _SHORTEST)
        elif taken.mean() > _MANY:
            self._reach = min(self._reach * _LONGER, 0.95)

    def check(self) -> tuple[float, float]:
        """The other way to the same: fresh draws from the normal, weighed."""
        normal = _Normal(self.z, np.full(len(self.z), 1.0 / len(self.z)))
        z = normal.mean + normal.fresh(self._rng.standard_normal(self.z.shape))
        self.rounds += 1
        weights = _weights(self._logs_at(z).sum(0) + normal.log_prior_over(z))
        effective = effective_size(weights)
        spread = np.maximum(self.z.std(0), 1e-9)
        off = np.abs(weights @ z - self.z.mean(0)) / spread
        return effective, float(off.max() / np.sqrt(1.0 / effective + 4.0 / len(self.z)))


def _next_step(logs: Any, left: float) -> float:
    """The largest step that leaves enough samples, found by halving."""
    enough = _KEEP * len(logs)
    if effective_size(_weights(left * logs)) >= enough:
        return left
    low, high = 0.0, left
    for _ in range(30):
        middle = 0.5 * (low + high)
        if effective_size(_weights(middle * logs)) >= enough:
            low = middle
        else:
            high = middle
    return max(low, 1e-6)


def _weights(logs: Any) -> Any:
    found = np.exp(logs - logs.max())
    return found / found.sum()


def _systematic(weights: Any, rng: Any) -> Any:
    """Indices of the samples kept, each as often as its weight says, to less than one."""
    count = len(weights)
    places = (np.arange(count) + rng.random()) / count
    return np.minimum(np.searchsorted(np.cumsum(weights), places), count - 1)
