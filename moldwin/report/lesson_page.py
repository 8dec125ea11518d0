"""What weighings on the way say of an answer: the words that jar and oven share."""

from __future__ import annotations

from typing import Any

from moldwin.learn.weighed import Lesson
from moldwin.report.page import Page

__all__ = ["doubt"]


def doubt(page: Page, lesson: Lesson[Any] | None, parts: str) -> None:
    """Weighings that this job cannot give stand first: nothing below can be trusted then.

    Parameters
    ----------
    page : Page
        Written on. [-]
    lesson : Lesson or None
        What the weighings did, if there were any. [-]
    parts : str
        What to check in the job. [-]

    Examples
    --------
    >>> page = Page(80)
    >>> doubt(page, None, "pellets and jar")
    >>> page.text().strip()
    ''
    """
    if lesson is not None and lesson.far:
        page.paragraph(
            f"The weighings lie outside what this job allows: check {parts} in it before you "
            "trust the forecast.",
            strong="Caution:",
        )
