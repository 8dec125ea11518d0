"""A new card to be filled in: the values of a card like it, each marked as nobody's measurement."""

from __future__ import annotations

import re
from collections.abc import Iterator

from moldwin.base.quantities import Quantity
from moldwin.inputs.cards import Card
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.text_files import printable
from moldwin.inputs.toml_value import toml_value

__all__ = ["card_template"]

_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")
_FROM = "Taken over from the card {name}, not measured on this material"
_SPREADS = ("u", "low", "high", "factor")


def card_template(card: Card, name: str) -> str:
    """The text of a card for a material that has none.

    Parameters
    ----------
    card : Card
        The card whose values stand in until there are better ones. [-]
    name : str
        Of the new material: small letters, digits and dashes. [-]

    Returns
    -------
    str
        A whole card that can be used at once; every value in it is marked as assumed. [-]

    Raises
    ------
    InputError
        A name that no card can have, or a card that is of no material.
    """
    if not _NAME.fullmatch(name):
        message = f"got '{printable(name)}', allowed: small letters, digits and dashes"
        raise InputError([Fault("--template", "", message)])
    if card.role in ("bench", "humidity-source", "mold"):
        message = f"{card.name} is no material: take the card that yours is most like"
        raise InputError([Fault("--template", "", message)])
    title = name.replace("-", " ").capitalize()
    lines = [
        f"# {title}: save as cards/{name}.toml beside your job. Replace what you have measured or",
        '# read, and say so: status = "measured" or "read", with the source under [sources].',
        f"name = {toml_value(name)}",
        f"title = {toml_value(title)}",
        f"role = {toml_value(card.role)}",
        f"family = {toml_value(card.family)}",
        f"about = {toml_value(f'A template: every value is that of {card.title.lower()}.')}",
        f"missing = [{toml_value(f'everything: the values of {card.name} stand in')}]",
        "",
        "[sources]",
        f"like = {toml_value(_FROM.format(name=card.name))}",
    ]
    for key, quantity in card.quantities.items():
        lines += _quantity(key, quantity)
    for group in card.groups:
        if all(member in card.quantities for member in group.members):
            lines += [
                "",
                f"[group.{group.name}]",
                f"members = {toml_value(group.members)}",
                f"correlation = {toml_value(group.correlation)}",
                f"why = {toml_value(f'as on the card {card.name}')}",
            ]
    return "\n".join(lines) + "\n"


def _quantity(key: str, quantity: Quantity) -> Iterator[str]:
    yield from (
        "",
        f"[{key}]",
        f"value = {toml_value(quantity.value)}",
        f"unit = {toml_value(quantity.unit)}",
    )
    for name in _SPREADS:
        value = getattr(quantity, name)
        if value is not None:
            yield f"{name} = {toml_value(value)}"
    if quantity.log:
        yield "log = true"
    yield from ('source = "like"', 'status = "assumed"')
