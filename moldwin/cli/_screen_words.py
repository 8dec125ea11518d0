"""What is said of rows that were read from surfaces."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from moldwin.advice.screening.lay import Reported
    from moldwin.cli._screen_run import Tally

__all__ = ["lines_of"]

#: Groups told one by one.
_MOST = 5


def lines_of(tally: Tally) -> list[str]:
    """How many rows were read, and how far off they are; nothing where none might be.

    Parameters
    ----------
    tally : Tally
        What came of a table. [-]

    Returns
    -------
    list of str
        One line or more a group. [-]
    """
    if not tally.between:
        return []
    found = [f"note: {tally.interpolated} of {tally.rows} rows are interpolated"]
    for group in tally.between[:_MOST]:
        found.extend(_of_group(group))
    if len(tally.between) > _MOST:
        found.append(f"note: and {len(tally.between) - _MOST} more groups; --json tells all")
    return found


def _of_group(group: Reported) -> Iterator[str]:
    if not group.used:
        yield f"note: {group.rows} rows alike but for numbers are worked out: {group.why}"
        return
    assert group.check is not None
    least = ", ".join(f"{name} {100 * v:.0f} %" for name, v in group.check.within.items())
    yield (
        f"note: {group.rows} rows alike but for numbers, read from {group.through} of them; of"
        f" {group.check.rows} others worked out to check: {least}"
    )
    yield (
        f"note: warnings are the same in {100 * group.check.same_warnings:.0f} % of those; the"
        " others are warned of more, and warnings_unsure names what may not hold"
    )
