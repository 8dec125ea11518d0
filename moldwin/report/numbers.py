"""Numbers for the page: never more digits than their interval allows."""

from __future__ import annotations

import math

from moldwin.base.percentiles import Triple, digits_for

__all__ = ["around", "days", "duration", "interval", "of_samples", "percent", "rounded"]

#: A plan that takes longer than this is no plan. [days]
_TOO_LONG = 2000.0
#: From here nobody counts in hours. [days]
_LONG_FOR_HOURS = 4.5


def around(low: float, best: float, high: float, unit: str, most: int = 2) -> str:
    """A best value with its range.

    Parameters
    ----------
    low, best, high : float
        Range and the value in it. [``unit``]
    unit : str
        Printed once. [-]
    most : int
        Decimals never exceeded. [-]

    Returns
    -------
    str
        One value alone where the range has no width at these digits. [-]

    Examples
    --------
    >>> around(121.3, 135.2, 158.9, "°C"), around(3.061, 3.142, 3.22, "g")
    ('135 °C (121 to 159)', '3.14 g (3.06 to 3.22)')
    >>> around(120.0, 120.0, 120.0, "°C")
    '120 °C'
    >>> around(-9.6, -0.2, 9.1, "°C")  # no zero with a sign
    '0 °C (-10 to 9)'
    """
    places = min(digits_for(high - low), most)
    first, middle, last = (f"{value:z.{places}f}" for value in (low, best, high))
    if high == low:
        middle = first = last = f"{best:z.{most}f}".rstrip("0").rstrip(".")
    return f"{middle} {unit}" if first == last else f"{middle} {unit} ({first} to {last})"


def interval(triple: Triple, unit: str, most: int = 2) -> str:
    """The likely value with its 90 % interval; an end without limit says so.

    Parameters
    ----------
    triple : Triple
        In the unit to be written. [-]
    unit : str
        That unit. [-]
    most : int
        Digits that are shown at the most. [-]

    Examples
    --------
    >>> interval(Triple(29.6, 35.2, 41.8), "°C")
    '35 °C (30 to 42)'
    >>> interval(Triple(0.4, 4.0, float("inf")), "kN")
    '4 kN (0 to no limit)'
    """
    if math.isfinite(triple.high) and math.isfinite(triple.low):
        return around(triple.low, triple.likely, triple.high, unit, most)
    low, likely, high = (
        f"{value:.0f}" if math.isfinite(value) else "no limit"
        for value in (triple.low, triple.likely, triple.high)
    )
    return f"{likely} {unit} ({low} to {high})"


def days(triple: Triple) -> str:
    """A time in days, in hours where it is short; two digits at most.

    Parameters
    ----------
    triple : Triple
        A time. [days]

    Examples
    --------
    >>> days(Triple(1.2, 4.0, 31.0)), days(Triple(0.1, 0.4, 1.1))
    ('4 days (1 to 31)', '10 hours (2 to 26)')
    >>> days(Triple(20.0, 300.0, float("inf"))), days(Triple(0.01, 0.02, 6.0))
    ('300 days (20 to years)', 'under 1 hour (under 1 hour to 6 days)')
    """
    hours = triple.likely < 1.0
    scale, unit = (24.0, "hour") if hours else (1.0, "day")
    low, likely, high = (
        _two_digits(v * scale) if v < _TOO_LONG else "years"
        for v in (triple.low, triple.likely, triple.high)
    )
    if hours and _LONG_FOR_HOURS <= triple.high < _TOO_LONG:
        low, high = f"{low} {_plural(unit, low)}", f"{_two_digits(triple.high)} days"
    middle = likely if likely == "years" else f"{likely} {_plural(unit, likely)}"
    return middle if low == likely == high else f"{middle} ({low} to {high})"


def _plural(unit: str, number: str) -> str:
    return unit if number in ("1", "under 1") else f"{unit}s"


def duration(seconds: float) -> str:
    """A time at the press, as rounded as a kitchen timer.

    Parameters
    ----------
    seconds : float
        A time. [s]

    Examples
    --------
    >>> duration(42.0), duration(260.0), duration(1500.0), duration(9000.0)
    ('40 s', '4.5 min', '25 min', '2.5 h')
    """
    if not math.isfinite(seconds):
        return "without limit"
    if seconds < 97.5:
        step = 1.0 if seconds < 10.0 else 5.0
        return f"{step * round(seconds / step):.0f} s"
    minutes = seconds / 60.0
    if minutes < 120.0:
        step = 0.5 if minutes < 10.0 else 1.0
        return f"{step * round(minutes / step):g} min"
    return f"{round(minutes / 30.0) / 2.0:g} h"


def percent(share: float) -> str:
    """A share in whole percent, never rounded to certainty.

    Parameters
    ----------
    share : float
        0 to 1. [-]

    Examples
    --------
    >>> percent(0.744), percent(0.999), percent(0.001), percent(0.0)
    ('74 %', 'over 99 %', 'under 1 %', '0 %')
    """
    if 0.0 < share < 0.01:
        return "under 1 %"
    if 0.99 < share < 1.0:
        return "over 99 %"
    return f"{100.0 * share:.0f} %"


def of_samples(share: float) -> str:
    """A chance told by samples, in whole percent: that it goes well in all makes nothing certain.

    Parameters
    ----------
    share : float
        0 to 1. [-]

    Examples
    --------
    >>> of_samples(0.744), of_samples(1.0)
    ('74 %', 'over 99 %')
    """
    return percent(min(share, 1.0 - 1e-9))


def _two_digits(value: float) -> str:
    if value < 0.95:
        return "under 1"
    if value < 95.0:
        return f"{value:.0f}"
    return f"{float(f'{value:.2g}'):.0f}"


def rounded(triple: Triple) -> str:
    """Of a wide interval one digit, of a narrower one two.

    Parameters
    ----------
    triple : Triple
        Of any unit. [-]

    Examples
    --------
    >>> rounded(Triple(12.0, 118.0, 2100.0)), rounded(Triple(1.12, 1.48, 1.9))
    ('100 (10 to 2000)', '1.5 (1.1 to 1.9)')
    """
    if not math.isfinite(triple.high):
        return f"{triple.likely:.2g} ({triple.low:.2g} to no limit)"
    digits = 1 if triple.high > 10.0 * max(triple.low, 1e-12) else 2
    low, likely, high = (_significant(v, digits) for v in (triple.low, triple.likely, triple.high))
    return likely if low == likely == high else f"{likely} ({low} to {high})"


def _significant(value: float, digits: int) -> str:
    near = float(f"{value:.{digits}g}")
    if near == 0.0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(near))))
    return f"{near:.{places}f}"
