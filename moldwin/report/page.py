"""A page of plain text: headings, hanging paragraphs, rows; at most 80 columns, color optional."""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Sequence

from rich.cells import cell_len
from rich.console import Console
from rich.text import Text

from moldwin.base.remarks import Remark
from moldwin.report.words import SEVERITY_WORDS, clean

__all__ = ["Page", "together"]

_WIDEST, _NARROWEST = 80, 40
#: Holds words together while lines are broken; printed as a plain blank.
_GLUE = "\xa0"
#: A number and its unit belong on one line.
_UNITS = re.compile(r"(?<=\d) (?=(?:%|°C|g|s|min|h|kN|days?|hours?|MPa|mm)\b|%)")

#: An option and its value, too.
_OPTION = re.compile(r"(?<= -o) |(?<= --from) |(?<= --design) ")


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
        # rich writes into memory: the caller prints everything at once, or nothing
        on_terminal = sys.stdout is not None and sys.stdout.isatty()
        self._console = Console(
            file=io.StringIO(),
            force_terminal=on_terminal or None,
            highlight=False,
            emoji=False,
            markup=False,
            legacy_windows=False,
        )
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
        self,
        words: object,
        *,
        lead: str = "",
        strong: str = "",
        indent: int = 0,
        style: str = "",
    ) -> None:
        """Wrapped text; its later lines hang below the first letter behind the lead.

        Parameters
        ----------
        words : object
            What is said. [-]
        lead : str
            Stands before the first line: a number or a dash. [-]
        strong : str
            Bold words before the others. [-]
        indent : int
            Columns left free. [-]
        style : str
            Style of the strong words, or of all words where none are strong. [-]
        """
        hang = indent + cell_len(lead)
        first, rest = clean(strong), clean(words)
        pieces = _wrapped(f"{first} {rest}".strip(), self.width - hang)
        for number, piece in enumerate(pieces):
            text = Text(piece, style="" if first else style)
            if number == 0 and first:
                text.stylize(style or "bold", 0, len(first))
            self._lines.append(
                Text.assemble(" " * indent + lead if number == 0 else " " * hang, text)
            )

    def stops(self, warnings: Sequence[Remark]) -> bool:
        """Everything that stops the work, each a paragraph; whether there is any."""
        said = [remark for remark in warnings if remark.severity == "stop"]
        for remark in said:
            self.paragraph(remark.message, strong=f"{SEVERITY_WORDS[remark.severity]}:")
        return bool(said)

    def line(self, words: object, *, indent: int = 0, cut: bool = False, style: str = "") -> None:
        """One line, never wrapped: cut short with an ellipsis, or left whole to be copied."""
        text = Text(clean(words), style=style)
        if cut:
            text.truncate(self.width - indent, overflow="ellipsis")
        self._lines.append(Text.assemble(" " * indent, text))

    def command(self, words: str) -> None:
        """A command to copy, indented; on a narrow page it goes on behind a backslash.

        Examples
        --------
        >>> page = Page(width=40)
        >>> page.command("moldwin plan my-job.toml -o trials-to-do.csv")
        >>> print(page.text(), end="")
          moldwin plan my-job.toml \\
            -o trials-to-do.csv
        """
        pieces = [clean(words)]
        if cell_len(pieces[0]) > self.width - 2:
            pieces = _wrapped(_OPTION.sub(_GLUE, pieces[0]), self.width - 6)
        for number, piece in enumerate(pieces):
            more = " \\" if number < len(pieces) - 1 else ""
            self._lines.append(Text(("    " if number else "  ") + piece + more))

    def rows(
        self,
        rows: Sequence[tuple[str, ...]],
        *,
        right: tuple[int, ...] = (),
        below: Sequence[str] = (),
    ) -> None:
        """Columns as wide as their widest cell, two blanks apart.

        Where they are wider than the page every row is a wrapped line of its own, with a bar
        between its cells: no number is ever cut off.

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
        fits = sum(widths) + 2 * (len(widths) - 1) <= self.width
        for row, note in zip(cells, notes, strict=True):
            if not fits:
                self._stacked(row)
                if note:
                    self.paragraph(note, indent=4)
                continue
            padded = []
            for number, (cell, width) in enumerate(zip(row, widths, strict=True)):
                space = " " * (width - cell_len(cell))
                padded.append(space + cell if number in right else cell + space)
            self.line("  ".join(padded).rstrip())
            if note:
                self.paragraph(note, indent=4)

    def _stacked(self, row: Sequence[str]) -> None:
        """One row of a table that is too wide, its later lines indented."""
        words = " | ".join(cell.strip() or "-" for cell in row)
        first, *more = _wrapped(words, self.width)
        self._lines.append(Text(first))
        for piece in _wrapped(" ".join(more), self.width - 2) if more else ():
            self._lines.append(Text(f"  {piece}"))

    def text(self) -> str:
        """The whole page; with terminal codes only where stdout is a terminal that wants them."""
        memory = io.StringIO()
        self._console.file = memory
        for line in self._lines:
            self._console.print(line, soft_wrap=True)
        return memory.getvalue()


def together(words: str) -> str:
    """Words that a line break must not tear apart, such as a command to copy."""
    return words.replace(" ", _GLUE)


def _wrapped(text: str, width: int) -> list[str]:
    """Lines of at most this many columns; a single longer word stays whole."""
    lines: list[str] = []
    current = ""
    for word in _UNITS.sub(_GLUE, text).split(" "):
        longer = f"{current} {word}" if current else word
        if current and cell_len(longer) > width:
            lines.append(current)
            longer = word
        current = longer
    return [line.replace(_GLUE, " ") for line in [*lines, current]]
