"""What weighings at several humidities say of a material's isotherm, joined with its card."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.base.percentiles import Triple
from moldwin.base.quantities import Quantity
from moldwin.inputs.cards import Card, Group
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.humidity_weighings import HumidityPoint, HumidityWeighings
from moldwin.physics.isotherm_fit import fit_gab, gab_log_spread
from moldwin.physics.sorption import gab, net_sorption_heat, shift_water_activity

__all__ = ["CONSTANTS", "Edge", "IsothermReading", "read_isotherm", "with_isotherm"]

CONSTANTS = ("xm", "c", "k")
#: Short name of the source of an isotherm of the user's own.
OWN_WEIGHINGS = "own_weighings"
#: Where the isotherm is told, as it is drawn at. [-, K]
_HUMIDITIES = (0.30, 0.40, 0.50, 0.60, 0.70, 0.75)
_T = 298.15
#: What a sample that has not quite settled, and the isotherm's own form, may miss (assumed).
_SHARE, _LEAST = 0.03, 0.002
#: Standard uncertainty of a humidity nobody gave one for (assumed). [-]
_AW_U = 0.02
#: A 90 % band reaches this many standard deviations either way.
_Z90 = 1.6448536269514722
#: From here the salt of a seaweed draws water that its isotherm does not hold. [-]
_SALT_FROM = 0.70
#: Points and card together that miss by more than this per point do not agree (judgment).
_FAR = 4.0
#: Further than this from the nearest point the card still carries the curve (judgment). [-]
_NEAR = 0.12


@dataclass(frozen=True)
class Edge:
    """Moisture at one humidity, dry basis: by the points, and by the card alone. [kg/kg]"""

    aw: float
    now: Triple
    before: Triple
    measured_near: bool


@dataclass(frozen=True)
class IsothermReading:
    """A material's isotherm from its own weighings.

    Parameters
    ----------
    card : Card
        What was known before. [-]
    t : float
        Of the weighings. [K]
    used, left_out : tuple of HumidityPoint
        Points, at the humidities of the table. [-]
    fitted : tuple of float
        Moisture of the fitted curve at the used points, dry basis. [kg/kg]
    now, before : dict of str to Triple
        xm [kg/kg], C, K [-] with 90 % intervals. [SI]
    correlation : array, shape (3, 3)
        Of the logarithms of the three. [-]
    factors : dict of str to float
        Half width of each 90 % band as a ratio. [-]
    edges : tuple of Edge
        The curve. [-]
    notes : tuple of str
        What to beware of. [-]
    """

    card: Card
    t: float
    used: tuple[HumidityPoint, ...]
    left_out: tuple[HumidityPoint, ...]
    fitted: tuple[float, ...]
    now: dict[str, Triple]
    before: dict[str, Triple]
    correlation: Any
    factors: dict[str, float]
    edges: tuple[Edge, ...]
    notes: tuple[str, ...]


def read_isotherm(
    card: Card, table: HumidityWeighings, t: float, heat_factor: Quantity
) -> IsothermReading:
    """Fit the GAB isotherm of a card to points of the user's own.

    Parameters
    ----------
    card : Card
        The material; its isotherm is the prior. [-]
    table : HumidityWeighings
        The points. [SI]
    t : float
        Temperature they were taken at; moved to 25 °C by the heat of sorption. [K]
    heat_factor : Quantity
        What that heat is unsure by; ``sorption_heat_factor`` of the jar's card. [-]

    Returns
    -------
    IsothermReading
        [SI]

    Raises
    ------
    InputError
        A card without an isotherm; points that leave none to fit.

    Notes
    -----
    Each point carries what the scale leaves open, 3 % of itself and 0.002 kg/kg for a sample that
    has not quite settled (assumed), and an unsure humidity, 2 points unless the table says
    otherwise (assumed). Where points and card together miss by more than that allows, all
    intervals widen by the root of how much more. What the move to 25 °C is unsure by counts as
    one error, the same in all points. Moved back by a heat drawn anew, to the room they were
    weighed in, it counts twice instead of not at all: on the wide side.
    """
    if card.get("xm") is None:
        message = f"{card.name} has no isotherm to start from; name a polymer or a fiber"
        raise InputError([Fault("isotherm", "", message)])
    salty = card.get("composition.ash") is not None
    left_out = tuple(p for p in table.points if salty and p.aw > _SALT_FROM)
    used = tuple(p for p in table.points if p not in left_out)
    if len({p.aw for p in used}) < 2:
        message = (
            f"above {100 * _SALT_FROM:.0f} % the salt of {card.title} takes up water of its own: "
            "two humidities below it are needed"
        )
        raise InputError([Fault(table.file, "humidity_pct", message)])
    mean, covariance = _prior(card)
    x = np.array([p.x for p in used])
    # at the likely heat, and where that is one standard deviation higher
    aw, aw_off = _moved(used, x, t, np.array([[1.0], [math.exp(_log_spread(heat_factor))]]))
    u_x = np.sqrt(np.array([p.x_u for p in used]) ** 2 + (_SHARE * x) ** 2 + _LEAST**2)
    u_aw = np.array([_AW_U if p.aw_u is None else p.aw_u for p in used])
    fit, off = (fit_gab(a, x, u_x, mean, covariance, u_aw=u_aw) for a in (aw, aw_off))
    # points that miss by more than they should are less sure than they claim (Birge's ratio)
    covariance_now = fit.covariance * max(1.0, float(fit.misfit) / len(used))
    # the heat moves all points together: more of them make it no surer
    covariance_now = covariance_now + np.outer(off.mean - fit.mean, off.mean - fit.mean)
    spread = np.sqrt(np.diag(covariance_now))
    fitted = gab(aw, *np.exp(fit.mean))
    notes = _notes(card, used, left_out, fit)
    return IsothermReading(
        card=card,
        t=t,
        used=used,
        left_out=left_out,
        fitted=tuple(float(value) for value in fitted),
        now=_constants(fit.mean, covariance_now),
        before=_constants(mean, covariance),
        correlation=covariance_now / np.outer(spread, spread),
        factors={name: float(np.exp(_Z90 * s)) for name, s in zip(CONSTANTS, spread, strict=True)},
        edges=tuple(_edge(a, fit.mean, covariance_now, mean, covariance, aw) for a in _HUMIDITIES),
        notes=tuple(notes),
    )


def _moved(used: tuple[HumidityPoint, ...], x: Any, t: float, factor: Any) -> Any:
    """Water activity of points at 25 °C, for factors (..., 1) on their heat, (..., n). [-]"""
    heat = factor * net_sorption_heat(x, check=False)
    aw = shift_water_activity(np.array([p.aw for p in used]), t, _T, heat, check=False)
    return np.minimum(aw, 0.98)


def with_isotherm(reading: IsothermReading) -> Card:
    """The card with the isotherm as weighed in place of its own.

    Parameters
    ----------
    reading : IsothermReading
        What the weighings say. [SI]

    Returns
    -------
    Card
        A copy; what is not of the isotherm stays.
    """
    card = reading.card

    def measured(name: str, value: float, factor: float | None) -> Quantity:
        bare = replace(card[name], u=None, low=None, high=None, log=False)
        own = replace(bare, status="measured", source=OWN_WEIGHINGS, where="")
        return replace(own, value=value, factor=factor)

    made = {
        name: measured(name, t.likely, reading.factors[name]) for name, t in reading.now.items()
    }
    made["isotherm_t"] = measured("isotherm_t", _T, None)
    rows = tuple(tuple(float(x) for x in row) for row in reading.correlation)
    apart = tuple(group for group in card.groups if not set(CONSTANTS) & set(group.members))
    gab_group = Group("gab", CONSTANTS, rows, "fit of the weighings, joined with the card before")
    return replace(card, quantities={**card.quantities, **made}, groups=(*apart, gab_group))


def _prior(card: Card) -> tuple[Any, Any]:
    """Logarithms of the card's constants as a normal distribution."""
    quantities = [card[name] for name in CONSTANTS]
    spread = np.array([_log_spread(quantity) for quantity in quantities])
    correlation = np.eye(3)
    for group in card.groups:
        if set(CONSTANTS) <= set(group.members):
            order = [group.members.index(name) for name in CONSTANTS]
            correlation = np.asarray(group.correlation)[np.ix_(order, order)]
    correlation = 0.999 * correlation + 0.001 * np.eye(3)  # never quite singular
    mean = np.log([quantity.value for quantity in quantities])
    return mean, correlation * np.outer(spread, spread)


def _log_spread(quantity: Quantity) -> float:
    """Standard uncertainty of the logarithm; 1 % at the least, so that points can move it."""
    if quantity.factor is not None:
        spread = math.log(quantity.factor) / _Z90
    elif quantity.u is not None:
        spread = quantity.u / quantity.value
    elif quantity.low is not None and quantity.high is not None:
        spread = (quantity.high - quantity.low) / math.sqrt(12.0) / quantity.value
    else:
        spread = 0.0
    return max(spread, 0.01)


def _constants(mean: Any, covariance: Any) -> dict[str, Triple]:
    spread = np.sqrt(np.diag(covariance))
    return {
        name: _around(float(np.exp(m)), float(s))
        for name, m, s in zip(CONSTANTS, mean, spread, strict=True)
    }


def _edge(aw: float, mean: Any, covariance: Any, old_mean: Any, old: Any, points: Any) -> Edge:
    now, before = (
        _around(float(gab(aw, *np.exp(m))), float(gab_log_spread(aw, m, v)))
        for m, v in ((mean, covariance), (old_mean, old))
    )
    return Edge(aw, now, before, bool(np.min(np.abs(points - aw)) <= _NEAR))


def _around(value: float, log_spread: float) -> Triple:
    factor = math.exp(_Z90 * log_spread)
    return Triple(value / factor, value, value * factor)


def _notes(card: Card, used: Any, left_out: Any, fit: Any) -> list[str]:
    notes = []
    if left_out:
        notes.append(
            f"{len(left_out)} point{'s' * (len(left_out) > 1)} above {100 * _SALT_FROM:.0f} % "
            f"humidity left out: there the salt of {card.title} draws water that is counted "
            "apart from its isotherm"
        )
    if not fit.settled or fit.misfit > _FAR * len(used):
        notes.append(
            "the points do not agree with each other or lie far from what the card allows: was "
            "each sample left until its mass stayed, is the humidity checked (75 % over wet table "
            "salt), is it this material alone?"
        )
    if card["xm"].status == "measured":
        notes.append(
            "the card before holds weighings already: give it new ones only, for the same points "
            "counted twice look surer than they are"
        )
    if card.get("composition.mannitol") is not None:
        notes.append("mannitol and salt differ from harvest to harvest: this holds for this lot")
    return notes
