"""Material cards: published knowledge as data, read strictly and only when asked for."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from moldwin.base.quantities import Quantity
from moldwin.inputs.card_reader import read_card
from moldwin.inputs.errors import CardError, Fault, InputError, nearest
from moldwin.inputs.files import shipped
from moldwin.inputs.job_values import nearest_name
from moldwin.inputs.text_files import printable

__all__ = ["Card", "Group", "Library", "counted_by", "knows_only", "library_for", "load_card"]

#: Where cards lie inside a folder of cards.
_PLACES = ("", "humidity", "mold", "bench")


@dataclass(frozen=True)
class Group:
    """Values that were fitted together and so are drawn together.

    Parameters
    ----------
    name : str
        Name within the card. [-]
    members : tuple of str
        Keys of the card. [-]
    correlation : tuple of tuple of float, shape (n, n)
        Correlation of the members, in their order. [-]
    why : str
        Where the correlation comes from. [-]
    """

    name: str
    members: tuple[str, ...]
    correlation: tuple[tuple[float, ...], ...]
    why: str = ""


@dataclass(frozen=True)
class Card:
    """One material, humidity source, or set of typical bench values.

    Parameters
    ----------
    name, title, role, family, about : str
        As the file states them. [-]
    missing : tuple of str
        What nobody has published about it, in words. [-]
    sources : mapping of str to str
        Short name and full source. [-]
    quantities : mapping of str to Quantity
        Values by key; composition as ``composition.alginate``. [each its own]
    groups : tuple of Group
        Values drawn jointly. [-]
    alternatives : mapping of str to tuple
        Other published values by key, not used. [-]
    path : Path
        The file. [-]
    shipped : bool
        True for a card that came with the package. [-]
    facts : mapping
        Fitness, safety and the like of a humidity source. [-]

    Examples
    --------
    >>> card = library_for(None).card("corn-starch")
    >>> card["tg_dry"].name, card.for_lot("spring")["tg_dry"].name
    ('corn-starch.tg_dry', 'corn-starch@spring.tg_dry')
    """

    name: str
    title: str
    role: str
    family: str
    about: str
    missing: tuple[str, ...]
    sources: Mapping[str, str]
    quantities: Mapping[str, Quantity]
    groups: tuple[Group, ...]
    alternatives: Mapping[str, tuple[Mapping[str, Any], ...]]
    path: Path
    shipped: bool
    facts: Mapping[str, Any] = field(default_factory=dict)

    def get(self, key: str) -> Quantity | None:
        """The value under a key, or None where nobody has published one.

        Parameters
        ----------
        key : str
            Key of the card, ``composition.alginate`` for a share. [-]

        Returns
        -------
        Quantity or None
            The value. [its own]
        """
        return self.quantities.get(key)

    def __getitem__(self, key: str) -> Quantity:
        quantity = self.quantities.get(key)
        if quantity is None:
            message = f"this card does not state it{nearest(key, self.quantities)}"
            raise CardError([Fault(str(self.path), key, message)])
        return quantity

    def for_lot(self, lot: str | None) -> Card:
        """The same card for one bought lot: its values are drawn apart from other lots'.

        Parameters
        ----------
        lot : str or None
            Name of the lot; None or empty leaves the card as it is. [-]

        Returns
        -------
        Card
            A copy whose values are named ``card@lot.key``.
        """
        if not lot:
            return self
        renamed = {
            key: replace(quantity, name=f"{self.name}@{lot}.{key}")
            for key, quantity in self.quantities.items()
        }
        return replace(self, quantities=renamed)


def load_card(path: Path, *, is_shipped: bool = False) -> Card:
    """One card from its file.

    Parameters
    ----------
    path : Path
        The TOML file. [-]
    is_shipped : bool
        Whether it came with the package. [-]

    Returns
    -------
    Card
        The card.

    Raises
    ------
    CardError
        Everything wrong in the file, at once.
    """
    raw = read_card(path)
    return Card(
        name=raw.name,
        title=raw.texts["title"],
        role=raw.texts["role"],
        family=raw.texts["family"],
        about=raw.texts.get("about", ""),
        missing=raw.missing,
        sources=raw.sources,
        quantities=raw.quantities,
        groups=tuple(Group(*group) for group in raw.groups),
        alternatives=raw.alternatives,
        path=path,
        shipped=is_shipped,
        facts=raw.facts,
    )


class Library:
    """All cards at hand: the user's first, then those that ship. Files are read when asked for.

    Parameters
    ----------
    folders : sequence of Path
        The user's own folders of cards, the first one winning. [-]
    fits : str
        ``"used"``, or ``"behind"`` to see the cards as they were before any trials. [-]
    others : collection of str
        Ids of trials that may count all the same, for they are another lot's or recipe's: a card
        that knows of these alone is seen as it is. [-]

    Examples
    --------
    >>> Library([]).card("water").role
    'water'
    """

    def __init__(
        self,
        folders: Sequence[Path] = (),
        *,
        fits: str = "used",
        others: Collection[str] = (),
    ) -> None:
        self.folders = tuple(Path(folder) for folder in folders)
        #: "used"; "behind": a fitted card gives way to the one it was fitted from.
        self.fits, self.others = fits, frozenset(others)
        self._loaded: dict[str, Card] = {}
        self._shipped = dict(_card_files(shipped("material_cards")))
        self._own: dict[str, Path] = {}
        for folder in self.folders:
            for name, path in _card_files(folder):
                self._own.setdefault(name, path)

    def card(self, name: str) -> Card:
        """A card by name.

        Parameters
        ----------
        name : str
            File name without its ending. [-]

        Returns
        -------
        Card
            The user's card where there is one, else the shipped one.

        Raises
        ------
        InputError
            There is no such card; the nearest name is offered.
        CardError
            The card is there, but something in it is wrong.
        """
        if name not in self._loaded:
            own = self._own.get(name)
            path = own or self._shipped.get(name)
            if path is None:
                offer = nearest_name(name, self.names()) or "; `moldwin cards` lists them"
                message = f"no card is named {printable(name)!r}{offer}"
                raise InputError([Fault("cards", "", message)])
            self._loaded[name] = self._before(load_card(path, is_shipped=own is None))
        return self._loaded[name]

    def with_card(self, name: str, card: Card) -> Library:
        """The same cards, with this one under a name whatever lies there on disk.

        Parameters
        ----------
        name : str
            File name without its ending. [-]
        card : Card
            What is known under it. [-]

        Returns
        -------
        Library
            A copy.
        """
        twin = Library(self.folders, fits=self.fits, others=self.others)
        twin._loaded = {**self._loaded, name: card}
        twin._own[name] = card.path
        return twin

    def place(self, name: str) -> str:
        """Where the card that is seen under a name lies, beside the file of that name.

        Parameters
        ----------
        name : str
            File name of one of the user's cards, without its ending. [-]

        Returns
        -------
        str
            Empty for that very file, ``"shipped"``, or the path of an older one from its folder.
        """
        return self._behind(load_card(self._own[name]))[0]

    def _before(self, card: Card) -> Card:
        """The card itself, or where fits do not count the one it was fitted from."""
        return card if self.fits == "used" else self._behind(card)[1]

    def _behind(self, card: Card) -> tuple[str, Card]:
        """The first of a card and those it was fitted from that knows of no trial but others'."""
        root, place = card.path.parent, ""
        while "fitted" in card.facts:
            behind = str(card.facts["fitted"]["behind"])
            # nothing behind: weighings alone, or another lot's fit widened
            if not behind or knows_only(card, self.others):
                break
            place = behind
            if place == "shipped":
                name = card.name.partition("@")[0]
                return place, load_card(self._shipped[name], is_shipped=True)
            card = load_card(root / place)
        return place, card

    def names(self, role: str | None = None) -> tuple[str, ...]:
        """Sorted names of all cards, or of those with one role (which reads every card).

        Parameters
        ----------
        role : str, optional
            Such as ``"polymer"`` or ``"humidity-source"``. [-]

        Returns
        -------
        tuple of str
            Names. [-]
        """
        every = sorted({*self._own, *self._shipped})
        return tuple(name for name in every if role is None or self.card(name).role == role)

    def overrides(self) -> tuple[str, ...]:
        """Sorted names for which a user's card wins over a shipped one.

        Returns
        -------
        tuple of str
            Names. [-]
        """
        return tuple(sorted(self._own.keys() & self._shipped.keys()))


def counted_by(card: Card) -> list[str]:
    """Short ids of the trials that taught a card; none for one that no trial taught.

    Parameters
    ----------
    card : Card
        The card. [-]

    Returns
    -------
    list of str
        In the order in which they were learned from. [-]
    """
    return str(card.facts.get("fitted", {}).get("counted", "")).split()


def knows_only(card: Card, others: Collection[str]) -> bool:
    """Whether a fitted card was taught by trials, and by none but these.

    Parameters
    ----------
    card : Card
        The card. [-]
    others : collection of str
        Ids of trials. [-]

    Returns
    -------
    bool
        False for one that was not taught by trials, or that does not say by which. [-]
    """
    counted = counted_by(card)
    return bool(counted) and set(counted) <= set(others)


def library_for(
    job_folder: Path | None, *, fits: str = "used", others: Collection[str] = ()
) -> Library:
    """The library a job sees.

    Parameters
    ----------
    job_folder : Path or None
        Folder of the job file, whose ``cards/`` comes first. [-]
    fits, others
        As for `Library`. [-]

    Returns
    -------
    Library
        ``cards/`` beside the job, then the folder named by ``MOLDWIN_CARDS``, then what ships.

    Raises
    ------
    InputError
        ``MOLDWIN_CARDS`` names no folder.
    """
    folders = []
    if job_folder is not None and (Path(job_folder) / "cards").is_dir():
        folders.append(Path(job_folder) / "cards")
    named = os.environ.get("MOLDWIN_CARDS")
    if named:
        if not Path(named).is_dir():
            raise InputError([Fault(named, "", "MOLDWIN_CARDS names it, but it is no folder")])
        folders.append(Path(named))
    return Library(folders, fits=fits, others=others)


def _card_files(folder: Path) -> Iterator[tuple[str, Path]]:
    """Name and path of every card in a folder; what is not a plain file is passed over."""
    for place in _PLACES:
        inside = folder / place
        if inside.is_dir():
            for path in sorted(inside.glob("*.toml")):
                if path.is_file():
                    yield path.stem, path
