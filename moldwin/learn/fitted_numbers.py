"""Two benches of one job, before the data and after them, compared number by number.

What was learned is written as numbers of cards: each with its own spread, and one correlation that
runs through all cards, so that whoever draws from them sees what the fit saw. The cards stand in
one order, bench first and the main polymer last; each holds how it hangs on those before it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.base.quantities import Quantity
from moldwin.inputs.cards import Card, Group
from moldwin.inputs.fitted_cards import OWN_TRIALS, fitted_name
from moldwin.learn.stating import Learnt, by_rank, changed, compared, possible
from moldwin.stages.bench import Bench
from moldwin.stages.melting import heater_error

__all__ = ["FittedCard", "fitted_cards", "main_card", "names_looked_at"]

#: Cards of the bench that a fit may move: not the room, which is another one tomorrow.
_BENCH = ("press", "melt", "mold", "part", "jar", "trial")
#: Materials that a job holds without naming them.
_COME_ALONG = ("plasticizer", "water")
#: Kept though hardly changed: numbers at least so correlated with one that was learned.
_TIED = 0.15
#: What the mixing rule misses is the material's own once trials have told it.
_MISFIT = "tg_misfit"


@dataclass(frozen=True)
class FittedCard:
    """A card and lot with what was learned of it.

    Parameters
    ----------
    card : Card
        Before. [-]
    lot : str
        Empty where none is named. [-]
    learnt : tuple of Learnt
        Its numbers. [each its own]
    fixed : dict of str to Quantity
        What has no spread and yet is another one now: the temperature of an isotherm. [its own]
    group : Group, optional
        How the numbers hang together, and with those of other cards. [-]
    """

    card: Card
    lot: str
    learnt: tuple[Learnt, ...]
    fixed: dict[str, Quantity]
    group: Group | None

    @property
    def values(self) -> dict[str, Quantity]:
        """All that the fitted card states anew, by key."""
        return {**{learnt.key: learnt.quantity for learnt in self.learnt}, **self.fixed}

    @property
    def name(self) -> str:
        """Of the fitted card's file."""
        return fitted_name(self.card.name, self.lot)

    def as_card(self) -> Card:
        """The card as it will be read back."""
        made = {
            key: replace(quantity, status="measured", source=OWN_TRIALS)
            for key, quantity in self.values.items()
        }
        apart = tuple(g for g in self.card.groups if not set(g.members) & set(made))
        groups = apart if self.group is None else (*apart, self.group)
        return replace(self.card, quantities={**self.card.quantities, **made}, groups=groups)

    @property
    def of_bench(self) -> bool:
        """Whether it tells of the maker's bench and not of a material."""
        return self.card.role == "bench"


@dataclass(frozen=True)
class _Number:
    """One number of one card: its column of the draws, and its samples before and after."""

    card: Card
    lot: str
    key: str
    column: str
    quantity: Quantity
    before: Any
    after: Any

    @property
    def far_name(self) -> str:
        """Its name in another card's group; empty where it can have none."""
        plain = not self.lot and "." not in self.key
        return f"{self.card.name}.{self.key}" if plain and self.key != _MISFIT else ""


def fitted_cards(
    before: Bench, after: Bench, columns: set[str], data: Callable[[str], str]
) -> tuple[FittedCard, ...]:
    """Every card that the data changed.

    Parameters
    ----------
    before, after : Bench
        One job, on the draws and cards before and after. [-]
    columns : set of str
        Columns that the data could move. [-]
    data : callable
        From the name of a column to what moved it, in words. [-]

    Returns
    -------
    tuple of FittedCard
        Bench first, the main polymer last.
    """
    kept = _wanted(list(_known_numbers(before, after, columns)))
    if not kept:
        return ()
    matrix, places = _correlation(kept)
    found: list[FittedCard] = []
    seen: dict[tuple[str, str], list[_Number]] = {}
    for one in kept:
        seen.setdefault((one.card.name, one.lot), []).append(one)
    passed: dict[str, str] = {}
    for (_, lot), own in seen.items():
        learnt = tuple(compared(n.key, n.quantity, n.before, n.after, data(n.column)) for n in own)
        group = _group(own, passed, matrix, places)
        fixed = _fixed(own[0].card, after.card(own[0].card.name, lot))
        found.append(FittedCard(own[0].card, lot, learnt, fixed, group))
        for number in own:
            if number.far_name:
                passed.setdefault(number.column, number.far_name)
    return tuple(found)


def names_looked_at(bench: Bench, columns: set[str]) -> tuple[str, ...]:
    """Names of the files of all cards that a fit could write.

    Parameters
    ----------
    bench : Bench
        The job. [-]
    columns : set of str
        Columns of the draws that the data could move. [-]

    Returns
    -------
    tuple of str
        Of bench and materials, learned of or not.
    """
    return (*_BENCH, *(fitted_name(*one) for one in sorted(_materials(bench, columns))))


def _known_numbers(before: Bench, after: Bench, columns: set[str]) -> Iterator[_Number]:
    """Numbers of cards behind the columns that data could move, in the order they are kept."""
    for name in _BENCH:
        card = before.library.card(name)
        for key in card.quantities:
            if name != "melt" or key != _MISFIT:
                yield from _number(card, "", key, before, after, columns)
    main = main_card(before)
    materials = sorted(_materials(before, columns))
    cards = [(before.card(name, lot), lot) for name, lot in materials]
    for card, lot in sorted(cards, key=lambda one: one[0].name == main.name):
        for key in card.quantities:
            yield from _number(card, lot, key, before, after, columns)
        if card.name == main.name and card.get(_MISFIT) is None:
            quantity = before.library.card("melt")[_MISFIT]
            samples = (bench.typical("melt", _MISFIT) for bench in (before, after))
            yield _Number(card, lot, _MISFIT, f"melt.{_MISFIT}", quantity, *samples)


def main_card(bench: Bench) -> Card:
    """The card that keeps what the mixing rule misses: the seaweed's, else the first polymer's."""
    cards = [bench.card(row.card, row.lot) for row in bench.job.ingredients]
    polymers = sorted((c for c in cards if c.role == "polymer"), key=lambda card: card.name)
    seaweed = [card for card in polymers if card.family == "seaweed"]
    return (seaweed or polymers)[0]


def _materials(bench: Bench, columns: set[str]) -> set[tuple[str, str]]:
    """Card and lot of what the job names, and of what comes along with it: water, mannitol."""
    named = {(row.card, row.lot) for row in bench.job.ingredients}
    known = set(bench.library.names())
    others = {name.partition(".")[0] for name in columns} & known - {card for card, _ in named}
    along = {name for name in others if bench.library.card(name).role in _COME_ALONG}
    return named | {(name, "") for name in along}


def _number(
    card: Card, lot: str, key: str, before: Bench, after: Bench, columns: set[str]
) -> Iterator[_Number]:
    """One number of a card, where the draws could move it or weighings have changed its law."""
    now, quantity = after.card(card.name, lot), card[key]
    if quantity.exact or now[key].exact:
        return
    weighed = now[key] != quantity
    if key == "heater_error" and before.job.press.heater_u is not None:
        quantity = replace(quantity, u=before.job.press.heater_u)  # the job knows its heater better
        samples = heater_error(before), heater_error(after)
    else:
        samples = before.of(card, key), after.of(now, key)
    column = before.columns[quantity.name]
    if column in columns or weighed:
        yield _Number(card, lot, key, column, now[key] if weighed else quantity, *samples)


def _fixed(card: Card, now: Card) -> dict[str, Quantity]:
    return {
        key: quantity
        for key, quantity in now.quantities.items()
        if quantity.exact and quantity != card.get(key)
    }


def _wanted(numbers: list[_Number]) -> list[_Number]:
    """Those that were learned, those tied to them, and what the card draws jointly with either."""
    if not numbers:
        return []
    learned = np.array([changed(n.quantity, n.before, n.after) for n in numbers])
    scores = np.stack([by_rank(n.after) for n in numbers])
    ties = np.abs(np.corrcoef(scores)).reshape(len(numbers), -1)
    tied = (ties[:, learned] > _TIED).any(axis=1)
    names = {(n.card.name, n.lot, n.key) for n, is_in in zip(numbers, tied, strict=True) if is_in}
    for number in numbers:
        for group in number.card.groups:
            of_it = {(number.card.name, number.lot, key) for key in group.members}
            names |= of_it if names & of_it else set()
    return [n for n in numbers if (n.card.name, n.lot, n.key) in names]


def _correlation(numbers: list[_Number]) -> tuple[Any, dict[str, int]]:
    """Of all columns, once each, in the order of the cards; and each column's place."""
    places: dict[str, int] = {}
    scores: list[Any] = []
    for number in numbers:
        if number.column not in places:
            places[number.column] = len(scores)
            scores.append(by_rank(number.after))
    # small ones are kept too: many of them together carry a tenth of the chance of a setting
    return possible(np.corrcoef(np.stack(scores)).reshape(len(scores), -1)), places


def _group(
    own: list[_Number], passed: dict[str, str], matrix: Any, places: dict[str, int]
) -> Group | None:
    """A card's numbers with those of the cards before it, in one order for all cards.

    Every card takes the leading part of one matrix, so that all draw the same joint numbers.
    """
    members = {**passed, **{number.column: number.key for number in own}}
    if len(members) < 2:
        return None
    order = sorted(members, key=lambda column: places[column])
    at = [places[column] for column in order]
    rows = tuple(tuple(float(x) for x in row) for row in matrix[np.ix_(at, at)])
    return Group("trials", tuple(members[column] for column in order), rows, "one fit of all data")
