"""What the fuzz feeds: one kind for each thing a user can hand over, fed the way the tool does."""

from __future__ import annotations

import contextlib
import io
import math
import os
import random
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from moldwin.inputs.cards import load_card
from moldwin.inputs.files import shipped
from moldwin.inputs.humidity_weighings import read_humidity_weighings
from moldwin.inputs.jar_weighings import read_jar_weighings
from moldwin.inputs.read_job import read_job
from moldwin.inputs.typed_part import RUNNER_SHAPES, read_gate, read_solids
from moldwin.inputs.weighings import read_weighings
from tests.hardening.answers import check_numbers, try_answer
from tests.hardening.random_jobs import random_job, without_faults
from tests.hardening.spoiling import NUMBERS, WORDS, garbage, spoil
from tests.jobs import BAR, EXAMPLES, job
from tests.meshes import BOX, text_stl, torus, write_stl

__all__ = ["KINDS", "Case", "at_the_command_line"]

#: One case in so many goes on from reading to an answer, which takes a hundred times as long.
ANSWERED, AT_THE_COMMAND_LINE = 40, 60
_EXIT_CODES = (0, 2, 3, 4)

_HUMIDITY = (
    b"sample,humidity_pct,dish_g,gross_g\na,0,20.00,30.00\na,33,20.00,30.81\n"
    b"a,54,20.00,31.22\na,75,20.00,32.05\n"
)
_JAR = b"hours,gross_g\n0,120.0\n24,121.4\n48,122.6\n96,124.1\n"
_SETS = (b"pellets.moisture_pct=12", b"ingredient.glycerol.mass_g=90", b"press.force_kn=2.5",
         b'jar.sources=["NaCl"]', b"blend.cooked=false", b"part.solid.0.length_mm=40",
         b'ingredient.agar={card="agar",mass_g=4}', b'mold.material="brass"')  # fmt: skip
_SOLIDS = (
    b"plate:80x10x4",
    b"plate:60x15x3-2*disc:4x3",
    b"cone:20x10x30",
    b"tube:20x10x30+dome:20x8",
)
_PARTS = (*_SOLIDS, b"rod:4x20", b"trapezoid:5x4x4x30", b"10,0,2", b"0 0 0")


class Case:
    """One thing to feed: its kind, its bytes, and the random numbers that go on from there."""

    def __init__(self, kind: str, seed: int, number: int) -> None:
        self.kind, self.rng = kind, random.Random(f"{kind}-{seed}-{number}")
        self.data = b""

    def answered(self, one_in: int = ANSWERED) -> bool:
        return self.rng.randrange(one_in) == 0

    def file(self, folder: Path, ending: str, originals: tuple[bytes, ...]) -> Path:
        """The spoiled file; what was written is kept for the report."""
        rng = self.rng
        self.data = garbage(rng) if rng.random() < 0.1 else spoil(rng.choice(originals), rng)
        path = folder / f"spoiled{ending}"
        path.write_bytes(self.data)
        return path

    def text(self, originals: tuple[bytes, ...]) -> str:
        self.data = spoil(self.rng.choice(originals), self.rng)
        return self.data.decode("utf-8", "surrogateescape")


# ------------------------------------------------------------------ jobs


@cache
def _job_texts() -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for path in EXAMPLES)


def _job_text(case: Case, folder: Path) -> None:
    path = case.file(folder, ".toml", _job_texts())
    if case.answered(AT_THE_COMMAND_LINE):
        at_the_command_line(["check", str(path)])
    read = read_job(path)
    if case.answered(ANSWERED // 4):
        try_answer(read, case.rng)


def _job_values(case: Case, folder: Path) -> None:
    made = random_job(case.rng)
    case.data = repr(made).encode()
    read_job(made)


def _job_answer(case: Case, folder: Path) -> None:
    """A job of odd values that are allowed, all the way to an answer."""
    made = without_faults(random_job(case.rng))
    case.data = repr(made).encode()
    try_answer(read_job(made), case.rng)


def _job_garbage(case: Case, folder: Path) -> None:
    made = _nested(case.rng, 0)
    case.data = repr(made).encode()[:4000]
    read_job(made if isinstance(made, dict) else {"ingredient": made})


def _nested(rng: random.Random, depth: int) -> Any:
    """Tables, lists and values of every type, under keys a job has and keys it has not."""
    names = ("ingredient", "pellets", "part", "solid", "card", "mass_g", "moisture_pct", "price",
             "glycerol", "jar", "sources", "title", "", "é", "shape", "\0", "mesh")  # fmt: skip
    way = rng.random()
    if depth < 4 and way < 0.45:
        return {rng.choice(names): _nested(rng, depth + 1) for _ in range(rng.randrange(6))}
    if depth < 4 and way < 0.65:
        return [_nested(rng, depth + 1) for _ in range(rng.randrange(4))]
    values: tuple[Any, ...] = (0, -1, 10**400, math.nan, math.inf, 5.0, True, None, "",
                               "corn-starch", "x" * 999, b"bytes", object, (1, 2), {3: 4}, "NaCl",
                               1j, "\ud800")  # fmt: skip
    return rng.choice(values)


def _sets(case: Case, folder: Path) -> None:
    sets = [case.text(_SETS) for _ in range(case.rng.choice((1, 1, 1, 2, 4)))]
    case.data = repr(sets).encode()
    read = read_job(BAR, sets)
    if case.answered():
        try_answer(read, case.rng)


# ------------------------------------------------------------------ cards


@cache
def _cards() -> tuple[tuple[str, bytes], ...]:
    found = shipped("material_cards").rglob("*.toml")
    return tuple((path.stem, path.read_bytes()) for path in sorted(found))


def _card(case: Case, folder: Path) -> None:
    name, text = case.rng.choice(_cards())
    path = case.file(folder, ".toml", (text,))
    cards = folder / "cards"
    cards.mkdir(exist_ok=True)
    own = cards / f"{name}.toml"
    path.replace(own)
    try:
        card = load_card(own)
        if case.answered(ANSWERED // 4) or case.answered(ANSWERED // 4):
            _answer_with(case, folder, name, card.role)
    finally:
        own.unlink()


def _answer_with(case: Case, folder: Path, name: str, role: str) -> None:
    """A job that uses the user's own card."""
    made = job(sheet={"spread_mm": 5.0}, use={"humidity_low_pct": 35.0, "humidity_high_pct": 70.0})
    if role not in ("bench", "mold", "humidity-source"):
        made["ingredient"].append({"card": name, "mass_g": 60})
    elif role == "mold":
        made["mold"]["material"] = name
    elif role == "humidity-source" and name != "plain-water":
        made["jar"]["sources"] = [name.replace("glycerol-bath", "glycerol")]
    before = os.environ.get("MOLDWIN_CARDS")
    os.environ["MOLDWIN_CARDS"] = str(folder / "cards")
    try:
        try_answer(read_job(made), case.rng)
    finally:
        os.environ.pop("MOLDWIN_CARDS")
        if before is not None:
            os.environ["MOLDWIN_CARDS"] = before


# ------------------------------------------------------------------ tables


def _weighings(case: Case, folder: Path) -> None:
    original = (shipped("examples") / "weighings-invented.csv").read_bytes()
    short = b"sample,minutes,dish_g,gross_g\na,0,10,15.3\na,60,10,14.7\n"
    path = case.file(folder, ".csv", (original, short))
    if case.answered(AT_THE_COMMAND_LINE):
        oven = str(case.rng.choice((60, 105, 130, 250)))
        at_the_command_line(["moisture", str(path), "--oven-c", oven, "--json"])
    table = read_weighings(path)
    check_numbers({"moisture": table.moisture, "resolution": table.resolution})
    if case.answered():
        from moldwin.report.moisture_data import moisture_data
        from moldwin.stages.bench import Bench
        from moldwin.stages.weighing import weigh

        check_numbers(moisture_data(weigh(Bench(read_job(BAR)), table, None), None))


def _humidity(case: Case, folder: Path) -> None:
    table = read_humidity_weighings(case.file(folder, ".csv", (_HUMIDITY,)))
    if case.answered(4):
        from moldwin.stages.isotherm_reading import read_isotherm

        cards = shipped("material_cards")
        heat_factor = load_card(cards / "bench" / "jar.toml")["sorption_heat_factor"]
        reading = read_isotherm(load_card(cards / "corn-starch.toml"), table, 298.0, heat_factor)
        check_numbers({key: value.to_dict() for key, value in reading.now.items()}, "isotherm")
        check_numbers(reading.fitted, "isotherm")


def _jar(case: Case, folder: Path) -> None:
    table = read_jar_weighings(case.file(folder, ".csv", (_JAR,)))
    if case.answered(ANSWERED // 4):
        from moldwin.advice.conditioned import condition_job

        pellets = {
            "moisture_pct": 5.0,
            "diameter_mm": 3,
            "length_mm": 4,
            "shape": "cylinder",
            "mass_g": 100,
        }
        made = read_job(job(pellets=pellets))
        check_numbers(condition_job(made, measured=table, count=64).to_dict(), "condition")


def _trials(case: Case, folder: Path) -> None:
    from moldwin.learn.trial_table import read_trial_table, trial_table

    original = (shipped("examples") / "trials-invented.csv").read_bytes()
    path = case.file(folder, ".csv", (original,))
    (folder / BAR.name).write_bytes(BAR.read_bytes())  # the job that the table names
    trials = read_trial_table(path, BAR, folder)
    again = folder / "again.csv"
    again.write_bytes(trial_table(trials).encode())
    assert read_trial_table(again, BAR, folder) == trials


@cache
def _book_bytes() -> bytes:
    from moldwin.learn.book import add_trials
    from tests.learn.sample import FULL, trial

    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "trials.sqlite"
        add_trials(place, [trial(**FULL), trial(barrel_c=130.0, filled=True)])
        return place.read_bytes()


def _book(case: Case, folder: Path) -> None:
    from moldwin.learn.book import read_trials

    read_trials(case.file(folder, ".sqlite", (_book_bytes(),)))


# ------------------------------------------------------------------ parts


@cache
def _meshes() -> dict[str, bytes]:
    import trimesh

    body = trimesh.creation.box((10, 20, 5))
    made = {kind: body.export(file_type=kind) for kind in ("obj", "ply", "3mf")}
    made["ascii.ply"] = body.export(file_type="ply", encoding="ascii")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "p.stl"
        made["stl"] = write_stl(path, BOX).read_bytes()
        made["ring.stl"] = write_stl(path, torus(8, 6)).read_bytes()
        made["text.stl"] = text_stl(path, BOX).read_bytes()
    return {kind: data.encode() if isinstance(data, str) else data for kind, data in made.items()}


def _mesh(case: Case, folder: Path) -> None:
    from moldwin.physics.mesh import measure, mesh_part
    from moldwin.physics.mesh_file import MeshError

    kind = case.rng.choice(tuple(_meshes()))
    path = case.file(folder, f".{kind.rpartition('.')[2]}", (_meshes()[kind],))
    try:
        size = measure(path, "mm")
        numbers = (size.volume, size.volume_low, size.volume_high, size.area, *size.extent)
        check_numbers(dict(enumerate(numbers)), "mesh")
        if case.answered():
            found = mesh_part(path, "mm")
            check_numbers(
                [found.volume, found.projected_area, found.wall, found.flow_length], "part"
            )
    except MeshError:
        pass
    finally:
        path.unlink(missing_ok=True)


def _typed(case: Case, folder: Path) -> None:
    """What is typed behind ``--solid``, ``--runner`` and ``--gate``."""
    from moldwin.stages.part import sum_of

    text = case.text(_PARTS)
    if case.answered(3):
        read_gate("--gate", text)
    shapes = {"shapes": RUNNER_SHAPES} if case.answered(2) else {}
    found = sum_of("--solid", read_solids("--solid", text, **shapes))
    check_numbers([float(found.volume), float(found.projected_area)], "solids")


# ------------------------------------------------------------------ the command line


def _command_line(case: Case, folder: Path) -> None:
    """Options nobody meant: the command line itself is a file people type."""
    words = (*NUMBERS, *WORDS, b"--json", b"--set", b"--help", b"advise", b"pellets.moisture_pct=",
             b"--to-moisture-pct", b"--seed", b"--confidence", b"-o", b"--strict",
             b"no-such.toml")  # fmt: skip
    commands = (
        "moisture",
        "check",
        "shot",
        "isotherm",
        "cards",
        "recipe",
        "trial list",
        "trial add",
    )
    picked = [case.rng.choice(words) for _ in range(case.rng.randrange(1, 5))]
    typed = [word.decode("utf-8", "replace").replace("\0", "") for word in picked]
    arguments = [*case.rng.choice(commands).split(), *typed]
    case.data = repr(arguments).encode()
    if {"-o", "add", "recipe", "shot"} & set(arguments) and not {"no-such.toml"} & set(arguments):
        arguments.append("no-such.toml")  # nothing is written, and nothing slow begins
    at_the_command_line(arguments)


def at_the_command_line(arguments: list[str]) -> int:
    """Run one command in this process: it leaves by a documented code, or a sentence on stderr."""
    from moldwin.cli.app import run

    out, said = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(said):
        code = run(arguments)
    assert code in _EXIT_CODES, f"exit code {code} for {arguments}"
    assert "Traceback" not in said.getvalue()
    if code in (2, 3):
        assert out.getvalue() == "", f"an error left {out.getvalue()[:80]!r} on stdout"
        assert said.getvalue().strip(), f"an error without a word for {arguments}"
    return code


Feed = Callable[[Case, Path], None]

#: Kinds by name, and how often each is drawn.
KINDS: dict[str, tuple[Feed, int]] = {
    "job-text": (_job_text, 22),
    "job-values": (_job_values, 12),
    "job-answer": (_job_answer, 1),
    "job-garbage": (_job_garbage, 8),
    "sets": (_sets, 8),
    "card": (_card, 14),
    "weighings": (_weighings, 6),
    "humidity": (_humidity, 6),
    "jar": (_jar, 5),
    "trials": (_trials, 6),
    "book": (_book, 2),
    "mesh": (_mesh, 8),
    "typed": (_typed, 6),
    "command-line": (_command_line, 1),
}
