"""The range behind a fit, and the warning raised when an input leaves it."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any

__all__ = ["OutOfRangeWarning", "Range"]


class OutOfRangeWarning(UserWarning):
    """The answer is an extrapolation: an input lies outside the fitted range, both in ``unit``."""

    def __init__(
        self, model: str, name: str, worst: float, low: float, high: float, unit: str, source: str
    ) -> None:
        super().__init__(model, name, worst, low, high, unit, source)  # keeps pickle working
        self.model, self.name, self.worst = model, name, float(worst)
        self.low, self.high, self.unit, self.source = low, high, unit, source

    def __str__(self) -> str:
        return (
            f"{self.model}: {self.name} = {self.worst:g} {self.unit} is outside "
            f"{self.low:g} to {self.high:g} {self.unit} [{self.source}]"
        )


@dataclass(frozen=True)
class Range:
    """Where a fit holds, and who says so.

    Parameters
    ----------
    low, high : float
        Ends of the range. [as ``unit``]
    unit : str
        Unit of the ends, for the message.
    source : str
        Where the range is printed.

    Examples
    --------
    >>> fit = Range(273.15, 373.15, "K", "example")
    >>> bool(fit.outside(400.0))
    True
    """

    low: float
    high: float
    unit: str
    source: str

    def outside(self, values: Any) -> Any:
        """True where a value lies outside; NaN counts as inside, it is nobody's extrapolation."""
        import numpy as np

        values = np.asarray(values, dtype=float)
        return (values < self.low) | (values > self.high)

    def check(self, model: str, name: str, values: Any, *, stacklevel: int = 3) -> None:
        """Warn once, naming the value farthest outside."""
        import numpy as np

        values = np.asarray(values, dtype=float)
        out = self.outside(values)
        if not np.any(out):
            return
        beyond = np.where(out, np.maximum(self.low - values, values - self.high), -np.inf)
        worst = float(values.flat[int(np.argmax(beyond))])
        warnings.warn(
            OutOfRangeWarning(model, name, worst, self.low, self.high, self.unit, self.source),
            stacklevel=stacklevel,
        )
