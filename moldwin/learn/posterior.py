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
from moldwin.base.memory import keep_memory

__all__ = ["UNTOUCHED", "Posterior", "posterior"]

#: A column whose spread stays above this share of the prior's was not touched by the data.
UNTOUCHED = 0.95
#: Share of the samples that must be left, by weights, when a bit of the likelihood is let in. At
#: 0.35 a fit takes a fifth less time, and of 100 makers it misses one or two more of the truths.
_KEEP = 0.5
#: Moves after each bit, so that copies part: until proposals have been taken so often for each
#: sample, at least and at most so many.
_TAKEN, _MOVES, _MOST_MOVES = 0.45, 2, 3
#: Moves after the last bit: until the samples are worth this share of their number, or so many.
_WORTH, _LAST_MOVES, _MOST_LAST_MOVES = 0.3, 8, 10
#: How far a proposal goes toward a fresh one, at first; and when too few or too many are taken.
_REACH, _SHORTER, _LONGER, _SHORTEST = 0.8, 0.7, 1.2, 0.1
_FEW, _MANY = 0.12, 0.3
#: A middle, and a width or tie, that chance alone does not make, in errors.
_FAR, _TIE = 3.0, 2.0
#: Widths of the proposal over the samples' own: heavier is safer.
_WIDER = 1.1
#: The check: at most so many rounds of fresh draws, and how many they must be worth to be enough.
#: Where two are not, five seldom are.
_CHECKS, _ENOUGH = 2, 100.0
#: Samples after one move and the next are worth this much less than as many apart.
_LATE_SHARE = 2.0
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
        How many independent samples these are worth, by the worst column. [-]
    weighed : float
        The same of the check: fresh draws from a normal, weighed. [-]
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
    weighed: float
    disagreement: float
    rounds: int

    def shown_from(self, disagreement: float) -> float:
        """How far off a mean must be for the check to disagree so much. [standard deviations]"""
        return disagreement * _allowed(self.weighed, self.draws.count)

    def touched(self, column: str) -> bool:
        """Whether the data narrowed this column."""
        return self.ratios.get(column, 1.0) <= UNTOUCHED


class _Normal:
    """A normal through the samples that equals the prior wherever the data say nothing."""

    def __init__(self, z: Any, weights: Any, effective: float | None = None) -> None:
        effective = effective_size(weights) if effective is None else effective
        error = 1.0 / np.sqrt(effective)
        mean = weights @ z
        centered = z - mean
        covariance = (centered * weights[:, None]).T @ centered
        active = _active(mean, covariance, error)
        values, vectors = np.linalg.eigh(covariance[np.ix_(active, active)])
        variances = _true_variances(values, min(float(active.sum()) * error**2, 0.9))
        informed = variances < 1.0
        self._v = np.zeros((len(mean), int(informed.sum())))
        self._v[active] = vectors[:, informed]
        self._widths = np.sqrt(np.clip(_WIDER**2 * variances[informed], 1e-8, 1.0))
        # a middle that moved without narrowing counts too, beyond its own error
        far = np.abs(mean) > _FAR * error
        inside = self._v @ (self._v.T @ mean)
        self.mean = inside + np.where(far, mean - inside, 0.0)

    def fresh(self, normals: Any) -> Any:
        """Deviations from the mean, from standard normals (s, d)."""
        along = normals @ self._v
        return normals + (along * (self._widths - 1.0)) @ self._v.T

    def log_prior_over(self, z: Any) -> Any:
        """ln of the prior's density over this one's, (s,)."""
        off = z - self.mean
        along = off @ self._v
        mine = (off**2).sum(1) + (along**2 * (self._widths**-2 - 1.0)).sum(1)
        return 0.5 * (mine - (z**2).sum(1)) + np.log(self._widths).sum()


def _true_variances(values: Any, crowded: float) -> Any:
    """What the variance along each direction of a sample covariance really is, (d,).

    Of so many directions some come out narrow by chance. A normal that believes them holds the
    samples together there, move after move, and intervals come out 5 to 15 % too narrow. All true
    ones but a few are those of the prior, 1; the others are told from how far they stand out of
    what chance makes (Benaych-Georges & Nadakuditi 2011, Donoho, Gavish & Johnstone 2018, from
    memory).

    Parameters
    ----------
    values : array, shape (d,)
        Eigenvalues of the covariance of the samples. [-]
    crowded : float
        Directions over independent samples, below 1. [-]
    """
    seen = np.clip(values, 1e-12, 1.0)
    edge = (1.0 - np.sqrt(crowded)) ** 2
    stands_out = seen < edge
    seen = np.where(stands_out, seen, 0.5 * edge)
    middle = 1.0 + seen - crowded
    spike = 0.5 * (middle - np.sqrt(middle**2 - 4.0 * seen))
    # how much of the true direction lies in the one that was found
    found = (1.0 - crowded / (1.0 - spike) ** 2) / (1.0 - crowded / (1.0 - spike))
    return np.where(stands_out, 1.0 - (1.0 - spike) * np.clip(found, 0.0, 1.0), 1.0)


def _active(mean: Any, covariance: Any, error: float) -> Any:
    """Columns that the data reach: moved, narrowed or tied to another beyond what chance does.

    Most columns are not reached; left in, their noise would hide what the others learned.
    """
    ties = np.abs(covariance - np.diag(np.diag(covariance))).max(axis=1, initial=0.0)
    narrow = 1.0 - np.diag(covariance)
    return (
        (np.abs(mean) > _FAR * error)
        | (narrow > _TIE * np.sqrt(2.0) * error)
        | (ties > _TIE * error)
    )


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
    keep_memory()
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
        chain.let_in(step, share)
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
        effective=chain.worth(),
        weighed=effective,
        disagreement=disagreement,
        rounds=chain.rounds,
    )


class _Chain:
    """The samples on their way."""

    def __init__(self, z: Any, logs: Any, logs_at: Callable[[Any], Any], rng: Any) -> None:
        self.z, self.logs, self._logs_at, self._rng = z, logs, logs_at, rng
        self._reach, self.rounds = _REACH, 1
        self._normal: _Normal | None = None
        self._late: list[Any] = []
        #: The prior sample that each comes from.
        self._eve = np.arange(len(z))

    def let_in(self, step: float, share: float) -> None:
        """One more bit of the likelihood: weigh, copy, move."""
        weights = _weights(step * self.logs.sum(0))
        self._normal = _Normal(self.z, weights)
        kept = _systematic(weights, self._rng)
        self.z, self.logs, self._eve = self.z[kept], self.logs[:, kept], self._eve[kept]
        self._late, taken = [], 0.0
        while not self._parted(taken, last=share >= 1.0):
            taken += self._move(share)
            self._late.append(self.z.copy())

    def _parted(self, taken: float, *, last: bool) -> bool:
        """Whether copies have been moved apart, or as long as there is time for."""
        moves = len(self._late)
        if last:
            enough = moves >= _LAST_MOVES and self.worth() >= _WORTH * len(self.z)
            return enough or moves >= _MOST_LAST_MOVES
        return (moves >= _MOVES and taken >= _TAKEN) or moves >= _MOST_MOVES

    def _move(self, share: float) -> float:
        """One proposal for every sample; the share of them that was taken."""
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
        return float(taken.mean())

    def worth(self) -> float:
        """How many independent samples these are worth for the mean of the worst column.

        Samples of one origin that still lie together make the mean less sure than their number
        says (Lee and Whiteley 2018, from memory).
        """
        count, off = len(self.z), self.z - self.z.mean(0)
        by_origin = np.zeros_like(off)
        np.add.at(by_origin, self._eve, off)
        error = (by_origin**2).sum(0) / count**2
        return float((off.var(0) / np.maximum(error, 1e-300)).min())

    def check(self) -> tuple[float, float]:
        """The other way to the same: fresh draws from normals through the samples, weighed.

        Each normal is laid through all that is known by then, and all draws are weighed against
        the mixture they came from, so that none of them is lost to a bad start (adaptive multiple
        importance sampling: Cornuet, Marin, Mira & Robert 2012, from memory).
        """
        states = np.concatenate(self._late)
        normals: list[_Normal] = []
        drawn = np.empty((0, self.z.shape[1]))
        logs = np.empty(0)
        effective, weights = 0.0, np.empty(0)
        for _ in range(_CHECKS):
            normals.append(_laid_through(states, drawn, weights, effective))
            fresh = normals[-1].fresh(self._rng.standard_normal(self.z.shape))
            z = normals[-1].mean + fresh
            drawn, logs = np.vstack([drawn, z]), np.append(logs, self._logs_at(z).sum(0))
            self.rounds += 1
            over = [-normal.log_prior_over(drawn) for normal in normals]
            weights = _weights(logs - np.logaddexp.reduce(over, axis=0))
            effective = effective_size(weights)
            if effective >= _ENOUGH:
                break
        spread = np.maximum(self.z.std(0), 1e-9)
        off = np.abs(weights @ drawn - self.z.mean(0)) / spread
        return effective, float(off.max() / _allowed(effective, len(self.z)))


def _laid_through(states: Any, drawn: Any, weights: Any, effective: float) -> _Normal:
    """A normal through the samples on their last moves, and through weighed draws beside them."""
    own = len(states) / _LATE_SHARE  # one after the other they resemble each other
    both = np.append(np.full(len(states), own / len(states)), effective * weights)
    whole = own + effective
    return _Normal(np.vstack([states, drawn]), both / both.sum(), whole)


def _allowed(effective: float, count: int) -> float:
    """What chance lets the two ways' means differ by. [standard deviations]"""
    return float(np.sqrt(1.0 / effective + 4.0 / count))


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
