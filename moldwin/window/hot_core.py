"""Where the core of a thick part is too hot to open, a cooler barrel may mend it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from moldwin.stages.melting import Barrel
from moldwin.stages.molding import Cavity
from moldwin.window import judge
from moldwin.window.cells import Stretch

__all__ = ["Core", "chances_that_cool", "worth_cooling"]

#: A cooler barrel is worth it where it raises the chance of barrel and core together by this much.
_WORTH = 0.1


@dataclass(frozen=True)
class Core:
    """The core of a part at one moisture, in a mold at one temperature [K].

    ``longest`` is how long anyone waits for it, (s,). [s]
    """

    barrel: Barrel
    cavity: Cavity
    t_mold: float
    longest: Any
    _told: dict[tuple[float, ...], Any] = field(default_factory=dict, compare=False, repr=False)

    def cooling(self, places: Any) -> Any:
        """Time until it is below its steam onset, by set points (t,) [K], shape (t, s). [s]"""
        asked = tuple(places)  # the place chosen is asked again
        if asked not in self._told:
            t_melt = self.barrel.true_temperature(places)[:, 0]
            self._told[asked] = self.cavity.core_cooling(t_melt, self.t_mold)
        return self._told[asked]

    def margin(self, places: Any) -> Any:
        """Time left of the longest then, shape (t, s). [s]"""
        return self.longest - self.cooling(places)

    def holds(self, places: Any) -> Any:
        """Verdict of that margin, shape (t, s). [-]"""
        return judge.holds({"hot-core": self.margin(places)})


def chances_that_cool(
    core: Core, stretch: Stretch, places: Any, cells: Any, best: tuple[int, int]
) -> Any:
    """Chances that count the core too, where that is worth a cooler barrel.

    Parameters
    ----------
    core : Core
        Of that barrel. [-]
    stretch : Stretch
        Where its samples work. [-]
    places : array, shape (t,)
        Its set points. [K]
    cells : array, shape (t, k)
        Chance of the barrel alone by set point and soak. [-]
    best : tuple of int
        Set point and soak chosen by those. [-]

    Returns
    -------
    array, shape (t, k), or None
        Share of samples that every barrel limit and the core's margin hold for; None where another
        set point gains little or is hopeless too. [-]

    Notes
    -----
    A charge that is colder than its steam onset when it fills has no core to wait for. Most parts
    are thin: only the core at the best set point is looked at for them.
    """
    i, _ = best
    return worth_cooling(
        float(judge.chance({"": core.margin(places[i : i + 1])[0]})),
        lambda: stretch.chances_with(core.holds(places)),
        best,
    )


def worth_cooling(cools: float, count: Callable[[], Any], best: tuple[int, int]) -> Any:
    """The rule behind `chances_that_cool`, for chances that are known already.

    Parameters
    ----------
    cools : float
        Share of samples whose core cools at the best set point. [-]
    count : callable
        Gives the chances that count the core, shape (t, k); asked only where it may matter. [-]
    best : tuple of int
        Set point and soak chosen without the core. [-]

    Returns
    -------
    array, shape (t, k), or None
        Those chances; None where another set point gains little or is hopeless too. [-]

    Examples
    --------
    >>> import numpy as np
    >>> worth_cooling(0.95, lambda: np.zeros((2, 1)), (0, 0)) is None
    True
    >>> worth_cooling(0.50, lambda: np.array([[0.8], [0.4]]), (1, 0)).max().item()
    0.8
    """
    if cools > 1.0 - _WORTH:
        return None
    together = count()
    worth = max(judge.HOPELESS, together[best] + _WORTH)
    return together if together.max() >= worth else None
