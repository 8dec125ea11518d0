"""What an experiment costs: minutes, evenings, days of waiting, grams."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from moldwin.learn.possible import Possible

__all__ = [
    "COOLING_DOWN_MIN",
    "EVENING_MIN",
    "HANDLING_MIN",
    "HEATING_MIN",
    "SETTLING_MIN",
    "Effort",
    "effort_of",
    "evenings_of",
]

#: An evening, cleaned up afterward (assumed). [min]
EVENING_MIN = 180.0
#: Each shot besides its soak and the cooling of its part: loading, pressing, cleaning, noting
#: (assumed). [min]
HANDLING_MIN = 20.0
#: Once an evening the barrel comes to its set point (assumed), [min]
HEATING_MIN = 25.0
#: and cools until it can be left alone (assumed). [min]
COOLING_DOWN_MIN = 30.0
#: The barrel goes to another set point and settles there (assumed). [min]
SETTLING_MIN = 10.0
#: Weighing pellets into a jar and out of it again (assumed). [min]
_JAR_MIN = 40.0


@dataclass(frozen=True)
class Effort:
    """What one experiment adds.

    Parameters
    ----------
    minutes : float
        At work. [min]
    wait : float
        Until the pellets have their moisture. [days]
    grams : float
        Pellets used up. [g]
    hot : bool
        At the press, which is heated and cooled every evening. [-]
    """

    minutes: float
    wait: float
    grams: float
    hot: bool = True

    @property
    def evenings(self) -> float:
        """The same as a share of an evening, heating up and cooling down aside."""
        return self.minutes / (EVENING_MIN - self.hot * (HEATING_MIN + COOLING_DOWN_MIN))


def effort_of(one: Possible, before: Sequence[Possible] = (), cooling: float = 0.0) -> Effort:
    """What a trial costs on top of others: pellets conditioned for one serve the next.

    Parameters
    ----------
    one : Possible
        The trial. [SI]
    before : sequence of Possible
        Trials already planned. [SI]
    cooling : float
        From pressing to opening the mold. [s]

    Returns
    -------
    Effort
        Minutes, days and grams.
    """
    there = one.wait == 0.0 or any(other.moisture == one.moisture for other in before)
    settled = not before or any(other.barrel == one.barrel for other in before)
    minutes = HANDLING_MIN + (one.soak + cooling) / 60.0
    minutes += (0.0 if there else _JAR_MIN) + (0.0 if settled else SETTLING_MIN)
    return Effort(minutes, 0.0 if there else one.wait, 1e3 * one.charge)


def evenings_of(efforts: Sequence[Effort]) -> int:
    """Whole evenings for experiments together. [-]

    Examples
    --------
    >>> evenings_of([Effort(30.0, 0.0, 3.0)] * 4), evenings_of([Effort(30.0, 0.0, 3.0)] * 5)
    (1, 2)
    """
    return math.ceil(sum(effort.evenings for effort in efforts) - 1e-9)
