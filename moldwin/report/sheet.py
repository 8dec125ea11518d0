"""The run sheet: one HTML file to print and pin up beside the press, or to read on a phone.

Nothing in it is fetched, and a strict policy in its head forbids fetching: only this very style and
this very script may run, by their checksums. Without a script it is the printed page.
"""

from __future__ import annotations

import base64
import hashlib
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

import moldwin
from moldwin.advice.answer import Advice
from moldwin.advice.sheet_grid import SheetGrid
from moldwin.inputs.job import Job
from moldwin.report.numbers import interval, percent
from moldwin.report.sheet_controls import controls, units_switch
from moldwin.report.sheet_data import embedded, sheet_data
from moldwin.report.sheet_parts import (
    assumed_lines,
    box,
    boxes,
    choice,
    figure,
    input_lines,
    lines_markup,
    say,
    text,
    unknowns_line,
)
from moldwin.report.sheet_picture import sheet_picture
from moldwin.report.sheet_script import SCRIPT
from moldwin.report.sheet_style import STYLE
from moldwin.report.sheet_words import (
    Told,
    advised_status,
    figures,
    jar_figure,
    told,
    warning_lead,
    warnings_of,
)
from moldwin.report.steps_page import moisture_words, shown
from moldwin.report.words import clean, first_up, job_heading

__all__ = ["Origin", "run_sheet"]

#: Longer, a title would push the sheet off its page.
_LONGEST_TITLE = 110
#: From so many characters on, small print counted by a third, print is set a size smaller.
_DENSE, _TIGHT = 2500, 3600


@dataclass(frozen=True)
class Origin:
    """Where a sheet comes from, so that it can be made again.

    Parameters
    ----------
    name : str
        The job file as the user named it; empty for the bundled example. [-]
    text : str
        All that stands in it; empty where it was not read from a file. [-]
    sets : tuple of str
        What-ifs, each ``KEY=VALUE``. [-]
    """

    name: str = ""
    text: str = ""
    sets: tuple[str, ...] = ()

    def command(self, advice: Advice) -> str:
        """The command line that makes the sheet again."""
        words = ["moldwin", "setup-sheet", *([self.name] if self.name else [])]
        for pair in self.sets:
            words += ["--set", pair]
        words += ["--seed", str(advice.seed), "--confidence", f"{advice.confidence:g}"]
        return shlex.join([*words, "-o", "sheet.html"])


def run_sheet(advice: Advice, grid: SheetGrid, job: Job, origin: Origin) -> str:
    """The whole page.

    Parameters
    ----------
    advice : Advice
        The answer. [-]
    grid : SheetGrid
        Results for the controls. [-]
    job : Job
        The job, for its inputs. [-]
    origin : Origin
        File, its text and the what-ifs. [-]

    Returns
    -------
    str
        HTML; the same answer gives the same bytes.
    """
    said = told(advice, origin.name or None)
    title = _title(advice)
    return "".join(
        [
            "<!DOCTYPE html>\n",
            '<html lang="en">\n<head>\n<meta charset="utf-8">\n',
            f'<meta http-equiv="Content-Security-Policy" content="{_policy()}">\n',
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n',
            '<meta name="referrer" content="no-referrer">\n',
            '<link rel="icon" href="data:,">\n',
            f"<title>Run sheet: {text(title)}</title>\n<style>{STYLE}</style>\n</head>\n",
            f'<body class="{_size(advice, said, job)}">\n',
            '<a class="skip screen" href="#main">To the sheet</a>\n',
            *_header(advice, title),
            '\n<main id="main">\n',
            *_settings(advice),
            *controls(advice, grid),
            '<div class="cols">\n<div>\n',
            *_why(advice, said),
            *_steps(advice, said),
            *_warnings(advice),
            "</div>\n<div>\n",
            *_picture(advice, grid),
            *_result(advice),
            "</div>\n</div>\n",
            *_small_print(advice, job, origin),
            "\n</main>\n",
            *_footer(advice, origin),
            f'<script type="application/json" id="data">{embedded(sheet_data(advice, grid))}'
            f"</script>\n<script>{SCRIPT}</script>\n</body>\n</html>\n",
        ]
    )


def _policy() -> str:
    """Nothing may be loaded or sent; this style and this script, by checksum, may run."""
    return (
        f"default-src 'none'; style-src {_checksum(STYLE)}; script-src {_checksum(SCRIPT)};"
        " img-src data:; base-uri 'none'; form-action 'none'"
    )


def _checksum(source: str) -> str:
    digest = hashlib.sha256(source.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


def _size(advice: Advice, said: Told, job: Job) -> str:
    """How large the print may be, so that all of it stays on one page and nothing is left out."""
    large = [sentence for step in said.steps for sentence in step]
    large += [f"{note.strong} {note.words} {note.options}" for note in said.notes]
    large += [remark.message for remark in advice.warnings]
    small = assumed_lines(advice.assumptions) + input_lines(job.raw)
    length = sum(map(len, large)) + sum(len(a) + len(b) for a, b in small) / 3.0
    return "tight" if length > _TIGHT else "dense" if length > _DENSE else ""


def _title(advice: Advice) -> str:
    title = job_heading(advice.job, False)
    if len(title) > _LONGEST_TITLE:
        title = title[: _LONGEST_TITLE - 1] + "…"
    return f"{job_heading('', True)}: {title}" if advice.bundled else title


def _header(advice: Advice, title: str) -> Iterator[str]:
    now = moisture_words(advice.moisture.now_pct)
    yield f"<header>\n<h1>{text(title)}</h1>\n"
    tg = interval(advice.now.tg_c, "°C", most=1)
    words = f"Pellets as they are now: {now} water, glass transition {tg}, 9 times in 10."
    yield say("p", words, more=' class="lede"')
    yield boxes(box("Date"), box("Batch"), box("Water measured", "%"), box("By"))
    yield f"{units_switch()}</header>"


def _settings(advice: Advice) -> Iterator[str]:
    """The few numbers that are read from afar."""
    known = figures(shown(advice), advice.heat)
    cold = " hidden" if advice.heat else ""
    hot = "" if advice.heat else " hidden"
    yield '<section aria-labelledby="set-title">\n<h2 id="set-title">In short</h2>\n'
    yield f'<p class="stop" id="cold"{cold}>DO NOT HEAT</p>\n'
    yield f'<dl class="figures hot"{hot}>'
    jar = jar_figure(advice)
    if jar is not None:
        yield figure("jar", *jar, mass=True)
    yield figure("barrel", "Barrel", known["barrel"])
    yield figure("soak", "Soak", known["soak"], far=True)
    yield figure("mold", "Mold", known["mold"])
    yield figure("cool", "Cool", known["cool"], far=True)
    yield "</dl>\n"
    yield say("p", advised_status(advice), more=' class="status" id="status"')
    moved = "The controls were moved: this is not the setting that the sheet was made for."
    yield f'<p id="moved" hidden>{moved}</p>'
    now = moisture_words(advice.moisture.now_pct)
    yield (
        f'<p id="elsewhere" hidden>It holds for pellets of that moisture; yours are at {now}:'
        " bring them there first, <code>moldwin condition</code> says how.</p>\n</section>\n"
    )


# ---------------------------------------------------------------------------- steps


def _why(advice: Advice, said: Told) -> Iterator[str]:
    """Why nobody should heat this, and what would help."""
    hidden = " hidden" if advice.heat else ""
    yield f'<section id="why" aria-labelledby="why-title"{hidden}>\n'
    yield '<h2 id="why-title">Why not, and what would help</h2>\n'
    if not advice.heat:
        yield from _notes(said)
        yield _measure_next(advice)
    yield "</section>\n"


def _measure_next(advice: Advice) -> str:
    """What would teach the most, in one line."""
    if not advice.measure_next:
        return ""
    row = advice.measure_next[0]
    return say("p", f"Measure next: {first_up(row.what)}: {row.how.strip().rstrip('.')}.")


def _notes(said: Told) -> Iterator[str]:
    """What is said beside the steps, in its order; remedies as a list."""
    listed = False
    for note in said.notes:
        if note.remedy != listed:
            yield "<ul>" if note.remedy else "</ul>\n"
            listed = note.remedy
        if note.remedy:
            options = f"<br><code>{text(note.options)}</code>" if note.options else ""
            yield f"<li>{say('span', note.words)}{options}</li>\n"
            continue
        lead = f"<strong>{text(note.strong)}</strong> " if note.strong else ""
        yield f"<p>{lead}{say('span', note.words)}</p>\n"
    if listed:
        yield "</ul>\n"


def _steps(advice: Advice, said: Told) -> Iterator[str]:
    """In order, each with boxes for what was measured."""
    hot = "" if advice.heat else " hidden"
    yield f'<section id="steps" class="hot" aria-labelledby="steps-title"{hot}>\n'
    yield '<h2 id="steps-title">What to do, and what you measured</h2>\n'
    steps = list(said.steps)
    if advice.heat and said.notes:
        yield f'<div class="advised">{"".join(_notes(said))}</div>\n'
    yield '<ol class="steps">\n'
    if len(steps) > 3:
        yield _step("jar", steps.pop(0), box("Mass reached", "g"), box("after", "days"))
    steps += [[]] * (3 - len(steps))
    yield _step("heat", steps[0], box("Barrel", "°C"), box("Mold", "°C"))
    yield _step("load", steps[1], box("Loaded", "g"), box("Soaked", "min"), box("Force", "kN"))
    yield _step("cool", steps[2], box("Cooled", "s"))
    yield "</ol>\n</section>\n"


def _step(name: str, sentences: list[str], *write: str) -> str:
    words = "".join(say("p", sentence, mass=True) for sentence in sentences)
    return f'<li><div id="step-{name}">{words}</div>{boxes(*write)}</li>\n'


def _result(advice: Advice) -> Iterator[str]:
    """What came out, in the words that ``moldwin trial add`` takes."""
    hot = "" if advice.heat else " hidden"
    yield f'<section class="hot" aria-labelledby="out-title"{hot}>\n'
    yield '<h2 id="out-title">What came out <small>(moldwin trial add keeps it)</small></h2>\n'
    yield boxes(
        box("Part", "g"),
        box("Filled", "%"),
        box("Color 0 to 5"),
        box("Bends to", "mm radius"),
        choice("Bubbles:", ["none", "skin", "heart", "all"]),
        choice("It:", ["stuck", "cracked"]),
        box("Note", wide=True),
    )
    yield f"{_measure_next(advice)}</section>\n"


# ------------------------------------------------------------------ picture and warnings


def _picture(advice: Advice, grid: SheetGrid) -> Iterator[str]:
    picture = sheet_picture(advice, grid)
    if not picture:
        return
    asked = percent(advice.confidence)
    yield '<section class="pic" aria-labelledby="pic-head">\n<h2 id="pic-head">The window</h2>\n'
    yield f"<figure>{picture}<figcaption>Outlined and dark: the chance reaches {asked};"
    yield " lighter: less; blank: do not heat. Each place at its best soak.</figcaption></figure>"
    yield "\n</section>\n"


def _warnings(advice: Advice) -> Iterator[str]:
    remarks = list(warnings_of(advice.warnings, advice.heat))
    hidden = "" if remarks else " hidden"
    yield f'<section id="warned" aria-labelledby="warn-title"{hidden}>\n'
    yield '<h2 id="warn-title">Beware</h2>\n<ul id="warnings">'
    for remark in remarks:
        lead = f"<strong>{text(warning_lead(remark))}</strong>"
        yield f'<li class="{remark.severity}">{lead} {say("span", remark.message)}</li>\n'
    yield "</ul>\n</section>\n"


# -------------------------------------------------------------------------- small print


def _small_print(advice: Advice, job: Job, origin: Origin) -> Iterator[str]:
    numbers = [row for row in advice.assumptions if row.value is not None]
    lines = assumed_lines(advice.assumptions)
    count = sum(row.status in ("assumed", "memory") for row in numbers)
    mostly = unknowns_line(advice)
    yield '<section class="small" aria-labelledby="as-title">\n'
    yield f'<h2 id="as-title">Assumed: {count} of {len(numbers)} numbers behind this</h2>\n'
    yield "<p>(* from memory; SI units, differences in K). "
    yield f"The answer hangs mostly on: {text(mostly)}. </p>" if mostly else "</p>"
    yield from lines_markup(lines)
    yield '</section>\n<section class="small" aria-labelledby="in-title">\n'
    yield '<h2 id="in-title">Inputs</h2>\n'
    yield from lines_markup(input_lines(job.raw))
    if origin.text:
        yield '<details class="screen"><summary>The job file as it was read</summary>'
        yield f"<pre>{escape(_whole(origin.text))}</pre></details>\n"
    yield "</section>\n"


def _whole(words: str) -> str:
    """Many lines without control characters."""
    return "\n".join(clean(line) for line in words.splitlines())


def _footer(advice: Advice, origin: Origin) -> Iterator[str]:
    yield '<footer class="small">'
    own = f" Own cards used: {text(', '.join(advice.overrides))}." if advice.overrides else ""
    digest = hashlib.sha256(origin.text.encode()).hexdigest()[:12] if origin.text else ""
    file = f" Job file sha256 {digest}." if digest else ""
    yield (
        f"<p>moldwin {moldwin.__version__}.{file}{own} Made again by"
        f" <code>{text(origin.command(advice))}</code>"
        "</p>"
    )
    yield "<p> The press's own manual and local rules come first.</p></footer>\n"
