"""Every answer a job can have, on few samples, searched for numbers that are none."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Callable, Mapping
from typing import Any

from moldwin.inputs.job import Job
from moldwin.report.json_out import to_json

__all__ = ["ANSWERS", "check_numbers", "check_page", "try_answer"]

_COUNT = 16
#: What may be infinite, null in JSON and words on the page: a time, and how stiff jammed fiber is.
_ENDLESS = re.compile(r"days|hours|_s\b|minutes|times_thicker_melt")
_NO_NUMBER = re.compile(r"(?<![\w-])(nan|-?inf)(?![\w-])", re.IGNORECASE)


def _advise(job: Job) -> tuple[Any, str]:
    from moldwin.advice.advise import advise
    from moldwin.report.terminal import advice_page
    from moldwin.report.verbose_page import verbose_section

    told = advise(job, count=_COUNT)
    return told.to_dict(), advice_page(told, None) + verbose_section(told)


def _condition(job: Job) -> tuple[Any, str]:
    from moldwin.advice.conditioned import condition_job
    from moldwin.report.condition_page import condition_page

    told = condition_job(job, count=_COUNT)
    return told.to_dict(), condition_page(told)


def _dry(job: Job) -> tuple[Any, str]:
    from moldwin.advice.dried import dry_job
    from moldwin.report.dry_page import dry_page

    told = dry_job(job, count=_COUNT)
    return told.to_dict(), dry_page(told)


def _film(job: Job) -> tuple[Any, str]:
    from moldwin.advice.film import film_job
    from moldwin.report.film_page import film_page

    told = film_job(job, count=_COUNT)
    return told.to_dict(), film_page(told)


def _service(job: Job) -> tuple[Any, str]:
    from moldwin.advice.in_service import service_job
    from moldwin.report.service_page import service_page

    told = service_job(job, count=_COUNT)
    return told.to_dict(), service_page(told)


def _shot(job: Job) -> tuple[Any, str]:
    from moldwin.advice.shot import shot_job
    from moldwin.report.shot_page import shot_page

    told = shot_job(job, count=_COUNT)
    return told.to_dict(), shot_page(told)


def _recipe(job: Job) -> tuple[Any, str]:
    from moldwin.advice.recipe import recipe_job
    from moldwin.report.recipe_page import recipe_page

    told = recipe_job(job, count=_COUNT)
    return told.to_dict(), recipe_page(told)


def _map(job: Job) -> tuple[Any, str]:
    from moldwin.advice.mapped import map_job

    told = map_job(job, grid=8, count=_COUNT)
    return told.to_dict(), ""


ANSWERS: dict[str, Callable[[Job], tuple[Any, str]]] = {
    "advise": _advise,
    "condition": _condition,
    "dry": _dry,
    "film": _film,
    "map": _map,
    "recipe": _recipe,
    "service": _service,
    "shot": _shot,
}


def try_answer(job: Job, rng: random.Random, name: str | None = None) -> str:
    """One answer to the job, checked; which one is told."""
    name = name or rng.choice(tuple(ANSWERS))
    data, page = ANSWERS[name](job)
    check_numbers(data, name)
    check_page(page, name)
    to_json(data)
    return name


def check_numbers(data: Any, where: str = "answer") -> None:
    """No number of an answer is NaN; a time without end may be infinite, and is null in JSON."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            check_numbers(value, f"{where}.{key}")
    elif isinstance(data, list | tuple):
        for place, value in enumerate(data):
            check_numbers(value, f"{where}[{place}]")
    elif isinstance(data, float) and not math.isfinite(data):
        assert data > 0, f"{where} is {data}"
        assert _ENDLESS.search(where), f"{where} is {data}"
    elif hasattr(data, "tolist"):
        check_numbers(data.tolist(), where)
    elif isinstance(data, str):
        check_page(data, where)


def check_page(page: str, where: str = "page") -> None:
    """No number on a page is NaN or infinite: an endless time stands there in words."""
    found = _NO_NUMBER.search(page)
    assert found is None, f"{where} says {page[max(0, found.start() - 60) : found.end() + 20]!r}"
