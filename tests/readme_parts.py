"""The parts of the README that the tool writes: ``python -m tests.readme_parts`` renews them."""

from __future__ import annotations

from pathlib import Path

README = Path(__file__).parents[1] / "README.md"


def answer() -> str:
    """The start of the page for the bundled example, up to what to measure next."""
    from moldwin.advice.advise import advise
    from moldwin.report.terminal import advice_page

    page = advice_page(advise(), width=80)
    return "```text\n" + page[: page.index("\nMEASURE NEXT")].rstrip() + "\n...\n```"


def cases() -> str:
    """Hits and misses on published moldings."""
    from moldwin.advice.cases import judge_cases
    from moldwin.report.cases_table import cases_summary

    return cases_summary(judge_cases()).strip()


def evidence() -> str:
    """What is held against published values, and what is missed."""
    from moldwin.advice.evidence.gather import gather
    from moldwin.report.evidence_page import evidence_summary

    return evidence_summary(gather()).strip()


PARTS = {"answer": answer, "cases": cases, "evidence": evidence}


def renewed(text: str) -> str:
    """The README with every part as the tool says it now."""
    for name, make in PARTS.items():
        begin, end = f"<!-- {name} -->\n", f"<!-- end of {name} -->"
        if text.count(begin) != 1 or text.count(end) != 1:
            raise ValueError(f"README.md must hold one part named {name}")
        before, rest = text.split(begin)
        text = before + begin + make() + "\n" + end + rest.split(end)[1]
    return text


if __name__ == "__main__":
    README.write_text(renewed(README.read_text(encoding="utf-8")), encoding="utf-8")
