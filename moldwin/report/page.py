"""A page of plain text: headings, hanging paragraphs, rows; at most 80 columns, color optional."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from rich.cells import cell_len
from rich.console import Console
from rich.text import Text

from moldwin.report.words import clean

__all__ = ["Page"]

_WIDEST, _NARROWEST = 80, 40


class Page:
    """Lines of text in the order they are added.

    Nothing on it depends on color: style only helps the eye. Text is taken as it is, never as
    markup, and control characters are dropped, because much of it comes from files.

    Parameters
    ----------
    width : int, optional
        Columns; left out, the terminal's own, within 40 to 80. [-]

    Examples
    --------
    >>> page = Page(width=40)
    >>> page.paragraph("Soak for four minutes and hold no longer than twelve.", lead="2. ")
    >>> print(page.text(), end="")
    2. Soak for four minutes and hold no
       longer than twelve.
    """

    def __init__(self, width: int | None = None) -> None:
        self._console = Console(file=sys.stdout, highlight=False, emoji=False, markup=False)
        self.width = max(_NARROWEST, min(width or self._console.width, _WIDEST))
        self._lines: list[Text] = []

    def heading(self, words: str) -> None:
        """A heading, with an empty line before it unless it is the first."""
        if self._lines:
            self.gap()
        self.paragraph(words, style="bold")

    def gap(self) -> None:
        """An empty line."""
        self._lines.append(Text())

    def paragraph(
        self, words: object, *, lead: str = "", indent: int = 0, style: str = "", after: str = ""
    ) -> None:
        """Wrapped text; its later lines hang below the first letter behind the lead.

        Parameters
        ----------
        words : object
            What is said. [-]
        lead : str
            Stands before the first line: a number, a dash, a name. [-]
        indent : int
            Columns left free. [-]
        style, after : str
            Style of the words; more words in plain style behind them. [-]
        """
        hang = indent + cell_len(lead)
        text = Text(clean(words), style=style)
        if after:
            text = Text.assemble(text, Text(" " + clean(after)))
        pieces = text.wrap(self._console, max(self.width - hang, 20), tab_size=1)
        for number, piece in enumerate(pieces):
            piece.rstrip()
            start = " " * indent + lead if number == 0 else " " * hang
            self._lines.append(Text.assemble(start, piece))

    def line(self, words: object, *, indent: int = 0, cut: bool = False, style: str = "") -> None:
        """One line, never wrapped: cut short with an ellipsis, or whole so that it can be copied."""
        text = Text(clean(words), style=style)
        if cut:
            text.truncate(self.width - indent, overflow="ellipsis")
        self._lines.append(Text.assemble(" " * indent, text))

    def rows(
        self,
        rows: Sequence[tuple[str, ...]],
        *,
        right: tuple[int, ...] = (),
        below: Sequence[str] = (),
    ) -> None:
        """Columns as wide as their widest cell, two blanks apart; no cell is ever wrapped.

        Parameters
        ----------
        rows : sequence of tuple of str
            Cells, every row as long as the first. [-]
        right : tuple of int
            Columns aligned to the right. [-]
        below : sequence of str
            A wrapped note under each row, indented; empty for none. [-]
        """
        cells = [tuple(clean(cell) for cell in row) for row in rows]
        widths = [max(cell_len(cell) for cell in column) for column in zip(*cells, strict=True)]
        notes = list(below) + [""] * (len(cells) - len(below))
        for row, note in zip(cells, notes, strict=True):
            padded = []
            for number, (cell, width) in enumerate(zip(row, widths, strict=True)):
                space = " " * (width - cell_len(cell))
                padded.append(space + cell if number in right else cell + space)
            self.line("  ".join(padded).rstrip(), cut=True)
            if note:
                self.paragraph(note, indent=4)

    def text(self) -> str:
        """The whole page; with terminal codes only where stdout is a terminal that wants them."""
        with self._console.capture() as captured:
            for line in self._lines:
                self._console.print(line, soft_wrap=True)
        return captured.get()
