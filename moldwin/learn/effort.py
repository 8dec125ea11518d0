"""What a trial costs: minutes, evenings, days of waiting, grams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from moldwin.learn.possible import Possible

__all__ = ["EVENING_MIN", "Effort", "effort_of", "evenings_of"]

#: An evening at the press, cleaned up afterward (assumed). [min]
EVENING_MIN = 180.0
#: Each shot besides its soak: loading, pressing, cooling, cleaning, noting (assumed). [min]
_HANDLING_MIN = 25.0
#: The barrel comes to its set point and settles there (assumed); once an evening. [min]
_HEATING_MIN = 25.0
#: Weighing pellets into a jar and out of it again (assumed). [min]
_JAR_MIN = 40.0


@dataclass(frozen=True)
class Effort:
    """What one trial adds.

    Parameters
    ----------
    minutes : float
        At work. [min]
    wait : float
        Until the pellets have their moisture. [days]
    grams : float
        Pellets used up. [g]
    """

    minutes: float
    wait: float
    grams: float

    @property
    def evenings(self) -> float:
        """The same as a share of an evening that has its heating up behind it."""
        return self.minutes / (EVENING_MIN - _HEATING_MIN)


def effort_of(one: Possible, before: Sequence[Possible] = ()) -> Effort:
    """What a trial costs on top of others: pellets conditioned for one serve the next.

    Parameters
    ----------
    one : Possible
        The trial. [SI]
    before : sequence of Possible
        Trials already planned. [SI]

    Returns
    -------
    Effort
        Minutes, days and grams.
    """
    there = one.wait == 0.0 or any(other.moisture == one.moisture for other in before)
    return Effort(
        minutes=_HANDLING_MIN + one.soak / 60.0 + (0.0 if there else _JAR_MIN),
        wait=0.0 if there else one.wait,
        grams=1e3 * one.charge,
    )


def evenings_of(efforts: Sequence[Effort]) -> int:
    """Whole evenings for trials together.

    Examples
    --------
    >>> evenings_of([Effort(35.0, 0.0, 3.0)] * 4), evenings_of([Effort(35.0, 0.0, 3.0)] * 5)
    (1, 2)
    """
    minutes = sum(effort.minutes for effort in efforts)
    return int(-(-minutes // (EVENING_MIN - _HEATING_MIN)))
