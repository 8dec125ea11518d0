"""One fixed set of low-discrepancy vectors; every uncertain number owns a column by its name."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from moldwin.base import _sobol
from moldwin.base.normal import normal_strata
from moldwin.base.quantities import Quantity

__all__ = ["DEFAULT_COUNT", "DEFAULT_SEED", "Draws", "effective_size", "importance_weights"]

DEFAULT_SEED = 20260
DEFAULT_COUNT = 2048

#: Columns that decide most answers, each with a Sobol' dimension of its own. Appending is safe;
#: reordering moves every answer a little.
_LEADING = (
    "starch.melt_viscosity",
    "starch.flow_plasticizer",
    "press.force_share",
    "starch.browning_limit",
    "starch.flow_index",
    "melt.tg_misfit",
    "glycerol.k_starch",
    "press.weld_offset",
    "melt.chi1",
    "press.heater_error",
    "pellets.moisture",
    "starch.flow_activation",
    "starch.flow_water",
    "starch.diffusivity_factor",
    "starch.tg_dry",
    "starch.browning_activation",
    "part.drying_drop",
    "jar.convection",
    "jar.isotherm_factor",
    "starch.rubber_modulus",
    "mold.eject_modulus",
    "brown-seaweed-powder.tg_dry",
    "brown-seaweed-powder.mannitol_dissolved_share",
    "brown-seaweed-powder.composition.mannitol",
    "brown-seaweed-powder.dissolved_share",
    "brown-seaweed-powder.melt_viscosity",
    "brown-seaweed-powder.browning_limit",
    "press.loose_diffusivity",
    "melt.solids_packing",
    "part.brittle_offset",
    "part.fuse_offset",
    "press.packing_share",
)
_OWN_DIMENSION = {name: dimension for dimension, name in enumerate(_LEADING)}


class Draws:
    """Standard-normal scores by name.

    A column depends on its name, the seed and the count only: neither the order in which columns
    are asked for nor the presence of others changes it. The names that move the answer most own a
    Sobol' dimension each, with a nested scramble; every other name gets a Latin hypercube column.
    Either way a column holds the middles of equal shares, each once, so that its mean is 0.

    Parameters
    ----------
    seed : int
        Same seed, same bytes. [-]
    count : int
        How many samples; a power of two keeps every column evenly stratified. [-]
    spread : float
        Multiplies every spread: 0 collapses all intervals, 2 doubles them. [-]
    spreads : mapping of str to float, optional
        The same for single names, on top of ``spread``. [-]

    Examples
    --------
    >>> draws = Draws(seed=1, count=256)
    >>> scores = draws.scores("corn-starch.tg_dry")
    >>> bool(abs(scores.mean()) < 0.01)
    True
    """

    def __init__(
        self,
        seed: int = DEFAULT_SEED,
        count: int = DEFAULT_COUNT,
        *,
        spread: float = 1.0,
        spreads: Mapping[str, float] | None = None,
    ) -> None:
        if count < 2:
            raise ValueError(f"count must be at least 2 samples, got {count}")
        self.seed, self.count = int(seed), int(count)
        self.spread, self.spreads = float(spread), dict(spreads or {})
        self._scores: dict[str, Any] = {}

    def scores(self, name: str) -> Any:
        """Scores of one column, shape (count,). [-]"""
        if name not in self._scores:
            self._scores[name] = self._fresh(name)
        return self._scores[name]

    def samples(self, quantity: Quantity, column: str | None = None) -> Any:
        """Samples of a quantity, shape (count,). [the quantity's unit]

        ``column`` names the column when several quantities share one.
        """
        name = column or quantity.name
        spread = self.spread * self.spreads.get(quantity.name, 1.0)
        if quantity.exact or spread == 0.0:
            return np.full(self.count, quantity.value)
        return quantity.samples(self.scores(name), spread)

    def shift(self, names: Iterable[str], predicted: Any, observed: float, u: float) -> None:
        """Move the columns toward a measurement by the linear (ensemble) update.

        Each sample gets its own copy of the reading, perturbed by its error, so the updated
        spread is the right one and not only the mean.

        Parameters
        ----------
        names : iterable of str
            Columns that the prediction depends on. [-]
        predicted : array, shape (count,)
            The reading that each sample expects. [unit of ``observed``]
        observed : float
            The reading. [any]
        u : float
            Standard uncertainty of the reading and of the law between. [as ``observed``]
        """
        error = u * self._fresh(f"reading of {observed!r} u {u!r}")
        centered = predicted - predicted.mean()
        variance = float(centered @ centered) / self.count + u * u
        if variance == 0.0:
            return
        innovation = observed + error - predicted
        for name in sorted(set(names)):
            scores = self.scores(name)
            covariance = float((scores - scores.mean()) @ centered) / self.count
            self._scores[name] = scores + covariance / variance * innovation

    def asked(self) -> list[str]:
        """Names of the columns that have been asked for, sorted."""
        return sorted(self._scores)

    def moved(self, scores: Mapping[str, Any]) -> Draws:
        """A copy with some columns put where a fit has led them.

        Parameters
        ----------
        scores : mapping of str to array, shape (count,)
            Scores by name of the column. [-]

        Returns
        -------
        Draws
            The others as they are here.
        """
        twin = self.copy()
        twin._scores.update(scores)
        return twin

    def copy(self) -> Draws:
        """The same columns, free to be shifted apart."""
        twin = Draws(self.seed, self.count, spread=self.spread, spreads=self.spreads)
        twin._scores = dict(self._scores)
        return twin

    def _fresh(self, name: str) -> Any:
        digest = hashlib.blake2b(f"{self.seed}:{name}".encode(), digest_size=8).digest()
        key = int.from_bytes(digest, "little")
        if name in _OWN_DIMENSION:
            points = _sobol.scramble(_sobol.points(_OWN_DIMENSION[name], self.count), key)
            order = points.argsort().argsort()  # one point in each of the equal shares
        else:
            order = np.random.Generator(np.random.PCG64(key)).permutation(self.count)
        return normal_strata(self.count)[order]


def importance_weights(predicted: Any, observed: float, u: float) -> Any:
    """Weights of samples after a measurement with a normal error, summing to 1.

    Parameters
    ----------
    predicted : array, shape (s,)
        The reading that each sample expects. [unit of ``observed``]
    observed : float
        The reading. [any]
    u : float
        Its standard uncertainty, above 0. [as ``observed``]

    Returns
    -------
    array, shape (s,)
        Weights. [-]

    Examples
    --------
    >>> importance_weights(np.array([0.0, 0.0]), 1.0, 1.0).tolist()
    [0.5, 0.5]
    """
    logs = -0.5 * ((np.asarray(predicted, dtype=float) - observed) / u) ** 2
    weights = np.exp(logs - logs.max())
    return weights / weights.sum()


def effective_size(weights: Any) -> float:
    """How many equally weighted samples the weights are worth (Kish). [-]

    Parameters
    ----------
    weights : array, shape (s,)
        Weights summing to 1. [-]

    Returns
    -------
    float
        Between 1 and s. [-]

    Examples
    --------
    >>> effective_size(np.array([0.5, 0.5]))
    2.0
    """
    weights = np.asarray(weights, dtype=float)
    return float(1.0 / np.sum(weights**2))
