"""Whether the mass of drying samples has settled, and what a steady loss tells of the glycerol."""

from __future__ import annotations

import math

import numpy as np

from moldwin.base.draws import effective_size, importance_weights
from moldwin.inputs.weighings import DriedSample, Weighings
from moldwin.physics.loss_on_drying import DryingCurve, fit_drying_curve
from moldwin.stages.evaporation import Evaporation
from moldwin.stages.weighing_methods import CONSTANT_MASS

__all__ = ["STATES", "Settling"]

#: What a curve can be: flat, flat but for a steady loss, not to be told, falling; the worst last.
STATES = ("leveled", "tail", "unclear", "falling")

#: Slow water and browning sit in a measured tail too: this share of it is doubt (assumed).
_TAIL_DOUBT = 0.3
#: Draws that must count after a measured tail was heard, as a share of all.
_FEWEST = 1 / 16
#: A tail outside these quantiles of the estimate contradicts it.
_INSIDE = (0.01, 0.99)


class Settling:
    """The drying curves of a table.

    Parameters
    ----------
    table : Weighings
        Samples with every weighing. [kg]
    """

    def __init__(self, table: Weighings) -> None:
        self._samples = table.samples
        found = [_curve(sample, table.resolution) for sample in table.samples]
        #: State of each sample, None for a single dry weighing; fitted curve or None.
        self.states = [state for state, _ in found]
        self.curves = [curve for _, curve in found]
        self._fitted = [curve for curve in self.curves if curve]

    @property
    def state(self) -> str | None:
        """The worst state of all samples; None where none was weighed dry twice."""
        known = [state for state in self.states if state]
        return max(known, key=STATES.index, default=None)

    @property
    def rest(self) -> float:
        """What is still to dry off, mean over the curves, of the wet mass. [kg/kg]"""
        return _mean([curve.rest for curve in self._fitted])

    @property
    def tail(self) -> tuple[float, float] | None:
        """Mean steady loss and its standard uncertainty, of the wet mass. [1/s]"""
        if not self._fitted:
            return None
        n = len(self._fitted)
        tails = np.array([curve.tail for curve in self._fitted])
        spread = float(tails.std(ddof=1)) / math.sqrt(n) if n > 1 else 0.0
        alone = math.sqrt(sum(curve.tail_u**2 for curve in self._fitted)) / n
        return float(tails.mean()), max(alone, spread)

    @property
    def constant(self) -> bool | None:
        """Whether the last two weighings of every sample agree; None where one has no second."""
        if any(len(sample.curve) < 2 for sample in self._samples):
            return None
        return all(_last_step(sample) <= CONSTANT_MASS for sample in self._samples)

    def tell(self, evaporation: Evaporation) -> bool:
        """Weigh the draws of an estimate by how well they agree with the measured tail.

        Parameters
        ----------
        evaporation : Evaporation
            The estimate; each of its draws is kept as often as it deserves. [-]

        Returns
        -------
        bool
            Whether the tail lies inside the estimate. Where it does not, it is doubted until enough
            draws can follow it: the estimate moves toward it, not onto it.
        """
        tail = self.tail
        if tail is None:
            return True
        seen = [s for s, curve in zip(self._samples, self.curves, strict=True) if curve]
        expected = sum(evaporation.rate(sample) for sample in seen) / len(seen)
        low, high = np.quantile(expected, _INSIDE)
        u = math.hypot(tail[1], _TAIL_DOUBT * tail[0])
        weights = importance_weights(expected, tail[0], u)
        while effective_size(weights) < _FEWEST * len(weights):
            u *= 1.2
            weights = importance_weights(expected, tail[0], u)
        steps = (np.arange(len(weights)) + 0.5) / len(weights)
        order = np.searchsorted(np.cumsum(weights), steps)
        evaporation.keep(np.minimum(order, len(weights) - 1))
        return bool(low - 2 * tail[1] <= tail[0] <= high + 2 * tail[1])


def _curve(sample: DriedSample, step: float) -> tuple[str | None, DryingCurve | None]:
    """Whether the mass has settled, and the fitted curve where there are points for one."""
    u = step / math.sqrt(12) / sample.net
    if len(sample.curve) < 2:
        return None, None
    if len(sample.curve) == 2:
        return _settled(_last_step(sample), math.sqrt(2) * u), None
    times = [time for time, _ in sample.curve]
    losses = [sample.lost_at(gross) for _, gross in sample.curve]
    curve = fit_drying_curve(times, losses, u)
    state = _settled(curve.rest, curve.rest_u)
    return ("tail" if state == "leveled" and curve.tail_is_seen else state), curve


def _settled(left: float, u: float) -> str:
    if left > CONSTANT_MASS:
        return "falling" if left > 2 * u else "unclear"
    return "leveled" if u <= CONSTANT_MASS else "unclear"


def _last_step(sample: DriedSample) -> float:
    """Mass lost between the last two weighings, of the wet mass. [kg/kg]"""
    (_, before), (_, last) = sample.curve[-2:]
    return (before - last) / sample.net


def _mean(values: list[float]) -> float:
    return sum(values) / len(values) if values else 0.0
