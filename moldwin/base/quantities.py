"""A number that knows its unit, its spread, its origin, and how to become samples."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

__all__ = ["STATUSES", "Quantity"]

STATUSES = ("measured", "read", "memory", "derived", "assumed")

#: A 90 % band reaches this many standard deviations either way.
_Z90 = 1.6448536269514722


@dataclass(frozen=True)
class Quantity:
    """One uncertain number of a card or a job.

    The spread is one of: ``u`` (normal), ``factor`` (lognormal, the 90 % band is value / factor to
    value * factor), ``low`` and ``high`` (hard ends, half of the samples either side of the value,
    evenly spread in the value or, with ``log``, in its logarithm). ``u`` together with ``low`` or
    ``high`` is a normal cut at those ends. None of them: the number is taken as exact.

    Parameters
    ----------
    name : str
        Stable name, ``card.key`` or ``section.key``. [-]
    value : float
        The likely value. [``unit``]
    unit : str
        SI unit, ``"1"`` for a pure number. [-]
    u, low, high : float, optional
        Standard uncertainty and hard ends. [``unit``]
    factor : float, optional
        Half width of the 90 % band as a ratio, at least 1. [-]
    log : bool
        Spread a range evenly in the logarithm. [-]
    floor, ceiling : float
        What is possible at all; samples beyond are set to it. [``unit``]
    status, source, where, conditions, u_from, printed : str
        Where the number comes from, in words. [-]

    Examples
    --------
    >>> import numpy as np
    >>> tg = Quantity("corn-starch.tg_dry", 523.0, "K", u=10.0)
    >>> [float(x) for x in tg.samples(np.array([-1.0, 0.0, 1.0]))]
    [513.0, 523.0, 533.0]
    """

    name: str
    value: float
    unit: str
    u: float | None = None
    low: float | None = None
    high: float | None = None
    factor: float | None = None
    log: bool = False
    status: str = "assumed"
    source: str = ""
    where: str = ""
    conditions: str = ""
    u_from: str = ""
    printed: str = ""
    floor: float = -math.inf
    ceiling: float = math.inf

    @property
    def exact(self) -> bool:
        """True where the number has no spread at all."""
        return not (self.u or (self.factor or 1.0) > 1.0 or self._has_range())

    def samples(self, z: Any, spread: float = 1.0) -> Any:
        """Values at standard-normal scores.

        Parameters
        ----------
        z : array, shape (s,)
            Standard-normal scores, one a sample. [-]
        spread : float
            Multiplies the distance from the likely value: 0 is exact, 2 twice as wide. [-]

        Returns
        -------
        array, shape (s,)
            The quantity. [``unit``]
        """
        import numpy as np

        z = np.asarray(z, dtype=float)
        if self.factor is not None:
            drawn = self.value * np.exp(spread * z * (math.log(self.factor) / _Z90))
            return np.clip(drawn, self.floor, self.ceiling)
        if self.u is not None:
            drawn = self.value + self.u * self._cut(z)
        elif self._has_range():
            drawn = self._between(z)
        else:
            return np.full_like(z, self.value)
        if self.log:
            drawn = self.value * (drawn / self.value) ** spread
        else:
            drawn = self.value + spread * (drawn - self.value)
        return np.clip(drawn, self.floor, self.ceiling)

    def _has_range(self) -> bool:
        return self.low is not None and self.high is not None and self.high > self.low

    def _cut(self, z: Any) -> Any:
        """Normal scores squeezed between the hard ends, if there are any."""
        import numpy as np

        from moldwin.base.normal import normal_cdf, normal_quantile

        if not self.u or (self.low is None and self.high is None):
            return z
        below = 0.0 if self.low is None else normal_cdf((self.low - self.value) / self.u)
        above = 1.0 if self.high is None else normal_cdf((self.high - self.value) / self.u)
        share = below + normal_cdf(z) * (above - below)
        return normal_quantile(np.clip(share, 1e-300, 1.0 - 1e-16))

    def _between(self, z: Any) -> Any:
        """Low end, value and high end at the shares 0, 1/2 and 1, straight in between."""
        import numpy as np

        from moldwin.base.normal import normal_cdf

        ends = [float(self.low or 0.0), self.value, float(self.high or 0.0)]
        share = normal_cdf(z)
        if self.log:
            return np.exp(np.interp(share, [0.0, 0.5, 1.0], np.log(ends)))
        return np.interp(share, [0.0, 0.5, 1.0], ends)
