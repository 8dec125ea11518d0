"""The maker's bench: one job, its cards and the draws, and every number taken from them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED, Draws
from moldwin.base.quantities import Quantity
from moldwin.inputs.cards import Card, Library, library_for
from moldwin.inputs.fitted_cards import card_of_lot, is_fitted
from moldwin.inputs.job import Job

__all__ = ["Bench", "UsedNumber"]


@dataclass(frozen=True)
class UsedNumber:
    """One number the answer rests on, in its own unit and the words of the assumptions list."""

    name: str
    value: float
    unit: str
    status: str
    source: str


class Bench:
    """Samples of every uncertain number of one job, by name.

    Two benches with the same seed share their draws: what differs between them is the job alone.

    Parameters
    ----------
    job : Job
        What the user has. [-]
    seed, count : int
        Of the draws. [-]
    spread : float
        Multiplies every spread; 0 collapses all intervals. [-]
    spreads : mapping of str to float, optional
        The same for single quantities, by name. [-]
    """

    def __init__(
        self,
        job: Job,
        *,
        seed: int = DEFAULT_SEED,
        count: int = DEFAULT_COUNT,
        spread: float = 1.0,
        spreads: Mapping[str, float] | None = None,
        library: Library | None = None,
    ) -> None:
        self.job = job
        self.library = library or library_for(job.folder)
        self.draws = Draws(seed, count, spread=spread, spreads=spreads)
        #: The draws before any measurement of this job moved them; other jobs start from these.
        self.fresh_draws = self.draws
        self.used: dict[str, UsedNumber] = {}
        self.columns: dict[str, str] = {}
        self._samples: dict[str, Any] = {}

    @property
    def count(self) -> int:
        """How many samples."""
        return self.draws.count

    def card(self, name: str, lot: str = "") -> Card:
        """A card, with the user's own lot in the names of its quantities."""
        return card_of_lot(self.library, name, lot)

    def with_job(self, job: Job) -> Bench:
        """A bench for a changed job on the very same draws."""
        twin = Bench(
            job,
            seed=self.draws.seed,
            count=self.draws.count,
            spread=self.draws.spread,
            spreads=self.draws.spreads,
            library=self.library,
        )
        twin.draws = twin.fresh_draws = self.fresh_draws
        return twin

    def with_draws(self, draws: Draws) -> Bench:
        """A bench for the same job on other draws, such as those that weighings moved."""
        twin = self.with_job(self.job)
        twin.draws = twin.fresh_draws = draws
        return twin

    def columns_of(self, endings: tuple[str, ...]) -> list[str]:
        """Columns behind the numbers used so far whose names end so."""
        return [column for name, column in self.columns.items() if name.endswith(endings)]

    def of(self, card: Card, key: str, default: float | None = None) -> Any:
        """Samples of a card's number, shape (s,). [the quantity's unit]

        Raises ``KeyError`` where the card has none and no default is given.
        """
        quantity = card.get(key)
        if quantity is None:
            if default is None:
                raise KeyError(f"{card.name} has no {key}")
            return np.full(self.count, default)
        if quantity.name not in self._samples:
            self._samples[quantity.name] = self._draw(card, key, quantity)
            self._note(quantity)
        return self._samples[quantity.name]

    def typical(self, card: str, key: str) -> Any:
        """Samples of a bench card's number (press, mold, jar, part, room, melt)."""
        return self.of(self.library.card(card), key)

    def given(
        self,
        name: str,
        value: float | None,
        unit: str,
        *,
        u: float | None = None,
        typical: tuple[str, str] | None = None,
        origin: tuple[str, str] = ("measured", "your job file"),
    ) -> Any:
        """Samples of a number of the job, or of the typical value where it was left out.

        Parameters
        ----------
        name : str
            Dotted name in the job. [-]
        value : float or None
            What the job says. [``unit``]
        unit : str
            SI unit. [-]
        u : float, optional
            Standard uncertainty. [``unit``]
        typical : tuple of str, optional
            Bench card and key to fall back on. [-]
        origin : tuple of str
            Status and source of what the job says. [-]
        """
        if value is None:
            if typical is None:
                raise KeyError(f"the job has no {name}")
            return self.typical(*typical)
        status, source = origin
        quantity = Quantity(name, value, unit, u=u, status=status, source=source)
        if name not in self._samples:
            self._samples[name] = self.draws.samples(quantity)
            self.columns[name] = name
            self._note(quantity)
        return self._samples[name]

    def forget(self) -> None:
        """Drop the samples, not the draws: after the draws were shifted by a measurement."""
        self._samples.clear()

    def _note(self, quantity: Quantity) -> None:
        self.used[quantity.name] = UsedNumber(
            quantity.name, quantity.value, quantity.unit, quantity.status, quantity.source
        )

    def _draw(self, card: Card, key: str, quantity: Quantity) -> Any:
        column = _column(card, key, quantity)
        self.columns[quantity.name] = column
        spread = self.draws.spread * self.draws.spreads.get(quantity.name, 1.0)
        for group in card.groups:
            if key in group.members and not quantity.exact and spread > 0.0:
                return quantity.samples(self._joint_scores(card, group, key), spread)
        return self.draws.samples(quantity, column)

    def _joint_scores(self, card: Card, group: Any, key: str) -> Any:
        """Scores of one member of a correlated group, through the Cholesky factor."""
        factor = np.linalg.cholesky(
            np.asarray(group.correlation) + 1e-12 * np.eye(len(group.members))
        )
        row = factor[group.members.index(key)]
        columns = [self._member_column(card, member) for member in group.members]
        for column in columns:  # what moves a number's draws has to move these too
            self.columns.setdefault(column, column)
        return sum(weight * self.draws.scores(c) for weight, c in zip(row, columns, strict=True))

    def _member_column(self, card: Card, member: str) -> str:
        """A member's column; a fit may tie a card to values of other cards, which go first."""
        other, key = card, member
        if card.get(member) is None:
            name, _, key = member.partition(".")
            other = self.library.card(name)
        return _column(other, key, other[key])


def _column(card: Card, key: str, quantity: Quantity) -> str:
    """The column behind a card's number.

    The starches share theirs: one law stands behind all their cards, and what is wrong about it is
    wrong for all of them. Averaging over two starches must not look like knowing more.
    """
    if card.family == "starch" and (card.shipped or is_fitted(card)):
        return f"starch.{key}"
    return quantity.name
