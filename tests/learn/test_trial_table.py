"""Trials out as a table and in again: exact, all or nothing, and no formula for a spreadsheet."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldwin.inputs.errors import InputError
from moldwin.inputs.files import shipped
from moldwin.learn.book import add_trials, read_trials
from moldwin.learn.trial_table import TABLE, read_trial_table, trial_table
from moldwin.learn.trials import COLUMNS
from tests.jobs import BAR
from tests.learn.sample import FULL, trial

#: All that a note may hold: no zero character, no lone surrogate.
NOTES = st.text(st.characters(exclude_characters="\0", exclude_categories=("Cs",)), max_size=60)
FORMULAS = st.text("'=+-@\t\r\n a1,;\"", max_size=8)


def back(text: str, folder: Path) -> list:
    path = folder / "trials.csv"
    path.write_bytes(text.encode())
    return read_trial_table(path, None, folder)


def table(folder: Path, text: str, job: Path | None = BAR) -> list:
    path = folder / "own.csv"
    path.write_bytes(text.encode())
    return read_trial_table(path, job, folder)


def faults(folder: Path, text: str, job: Path | None = BAR) -> list[str]:
    with pytest.raises(InputError) as caught:
        table(folder, text, job)
    return [str(fault).removeprefix(str(folder / "own.csv")) for fault in caught.value.faults]


# -------------------------------------------------------------------------- exact


def test_every_fact_survives_and_the_second_export_is_the_first(tmp_path):
    trials = [trial(**FULL), trial(), trial(undone="2026-03-02T08:00:00Z", note="'=1")]
    text = trial_table(trials)
    assert back(text, tmp_path) == trials
    assert trial_table(back(text, tmp_path)) == text


@settings(deadline=None, derandomize=True)  # a file is written each time, on whatever disk there is
@given(NOTES | FORMULAS, NOTES | FORMULAS)
def test_any_text_survives_and_none_is_left_for_a_spreadsheet_to_run(tmp_path_factory, note, lot):
    folder = tmp_path_factory.getbasetemp()
    given_ = trial(note=note, lot=lot)
    text = trial_table([given_])
    assert back(text, folder) == [given_]
    for cell in next(csv.DictReader(io.StringIO(text, newline=""))).values():
        assert not cell.startswith(tuple("=+-@\t\r\n＝＋－＠"))


def test_a_formula_typed_by_hand_and_a_plain_apostrophe_stay(tmp_path):
    (one, two, three) = table(tmp_path, "note\n-5 mm short\n'tis brown\n''\n")
    assert (one.note, two.note, three.note) == ("-5 mm short", "'tis brown", "''")


def test_into_another_book_and_out_again(tmp_path):
    one, other = tmp_path / "a.sqlite", tmp_path / "b.sqlite"
    add_trials(one, [trial(**FULL), trial(), trial(note="x")])
    text = trial_table(read_trials(one, undone=True))
    added = add_trials(other, back(text, tmp_path))
    assert (len(added.trials), len(added.known)) == (3, 0)
    assert read_trials(other) == read_trials(one)
    again = add_trials(other, back(text, tmp_path))
    assert (len(again.trials), len(again.known)) == (0, 3)


def test_ten_thousand_rows(tmp_path):
    trials = [trial(barrel_c=100.0 + n / 100, note=f"no. {n}") for n in range(10_000)]
    text = trial_table(trials)
    assert len(text) > 1_000_000
    assert back(text, tmp_path) == trials


def test_a_job_longer_than_a_cell_commonly_is(tmp_path):
    before = csv.field_size_limit()
    long = trial(then=type(trial().then).read('{"title":"' + "t" * 200_000 + '"}'))
    assert back(trial_table([long]), tmp_path) == [long]
    assert csv.field_size_limit() == before


# ------------------------------------------------------------------- as others save it


ROWS = 'barrel_c,moisture_pct,filled,note\n130,9.5,yes,fine\n140,10,no,"a, b; c"\n'


@pytest.mark.parametrize(
    "text",
    [
        ROWS,
        "\ufeff" + ROWS,
        ROWS.replace("\n", "\r\n"),
        "\n\n" + ROWS + "\n ,,,\n",
        'barrel_c, moisture_pct, filled, note\n130, 9.5, yes, fine\n140, 10, no, "a, b; c"\n',
        'barrel_c;moisture_pct;filled;note\n130;9,5;yes;fine\n140,0;10;no;"a, b; c"\n',
        'barrel_c\tmoisture_pct\tfilled\tnote\n130\t9,5\tyes\tfine\n140\t10\tno\t"a, b; c"\n',
        'note,filled,moisture_pct,barrel_c\nfine,YES,9.50,130.0\n"a, b; c",n,10,1.4e2\n',
        ROWS.replace("\n", ",,\n"),
        "\ufeffsep=,\r\n" + ROWS,
        'sep=;\nbarrel_c;moisture_pct;filled;note\n130;9,5;yes;fine\n140,0;10;no;"a, b; c"\n',
    ],
    ids=[
        "plain",
        "byte order mark",
        "crlf",
        "empty rows",
        "blanks",
        "semicolons",
        "tabs",
        "order",
        "empty columns behind",
        "separator told",
        "separator told, semicolons",
    ],
)
def test_ways_to_save_the_same_table(tmp_path, text):
    one, two = table(tmp_path, text)
    assert one.noted() == {"barrel_c": 130.0, "moisture_pct": 9.5, "filled": True, "note": "fine"}
    assert two.noted()["note"] == "a, b; c"
    assert two.noted()["moisture_pct"] == 10.0


def test_the_same_table_twice_gives_the_same_trials_and_a_repeated_row_two(tmp_path):
    text = "barrel_c,filled\n130,yes\n130,yes\n140,no\n"
    ids = [t.id for t in table(tmp_path, text)]
    assert len(set(ids)) == 3
    assert [t.id for t in table(tmp_path, text)] == ids
    book = tmp_path / "trials.sqlite"
    add_trials(book, table(tmp_path, text))
    added = add_trials(book, table(tmp_path, text + "150,no\n"))
    assert ([t.barrel_c for t in added.trials], len(added.known)) == ([150.0], 3)


def test_a_job_that_changed_since_does_not_make_the_same_row_another_trial(tmp_path):
    job, book = tmp_path / "job.toml", tmp_path / "trials.sqlite"
    job.write_bytes(BAR.read_bytes())
    add_trials(book, table(tmp_path, "barrel_c\n130\n", job))
    job.write_text(BAR.read_text(encoding="utf-8") + "\n[price]\nglycerol = 3\n")
    added = add_trials(book, table(tmp_path, "barrel_c\n130\n", job))
    assert (len(added.trials), len(added.known)) == (0, 1)


def test_a_row_may_name_its_job_from_the_tables_own_folder(tmp_path):
    folder = tmp_path / "jobs"
    folder.mkdir()
    (folder / "mine.toml").write_bytes(BAR.read_bytes())
    (folder / "t.csv").write_text("job,barrel_c,lot\nmine.toml,130,bag 2\n")
    (one,) = read_trial_table(folder / "t.csv", None, tmp_path)
    assert one.job == "jobs/mine.toml"
    assert one.materials == (("corn-starch", "bag 2"), ("glycerol", ""))


def test_settings_count_for_the_job_named_on_the_command_line(tmp_path):
    path = tmp_path / "own.csv"
    path.write_text("barrel_c\n130\n")
    (one,) = read_trial_table(path, BAR, tmp_path, ["pellets.moisture_pct=7"])
    assert one.then.tables["pellets"]["moisture_pct"] == 7


def test_the_invented_trials_are_labelled_so_and_can_be_read(tmp_path):
    trials = read_trial_table(shipped("examples") / "trials-invented.csv", None, tmp_path)
    assert len(trials) == 12
    assert all(t.note.startswith("invented trial") for t in trials)
    assert {t.then.title for t in trials} == {
        "Starch, glycerol and water 70/20/10: a small tensile bar"
    }


# ------------------------------------------------------------------- what is wrong in it


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", ": is empty"),
        ("\n\n", ": is empty"),
        ("barrel_c,filled\n", ": holds no trial"),
        ("barrel_c,barel_c\n1,2\n", ", row 1: barel_c: is no column of trials; did you mean"),
        ("barrel_c,barrel_c\n1,2\n", ", row 1: barrel_c: column stands there twice"),
        ("130,yes\n", ", row 1: 130: is no column of trials; allowed: job, date"),
        (
            "barrel_c\n\n403\n",
            ", row 3: barrel_c: got 403; allowed: 20 to 400 °C; did you mean 129",
        ),
        ('note,color\n"two\nlines",1\nx,brown\n', ', row 3: color: got the text "brown"'),
        ("barrel_c,note\n130,5,x\n", ", row 2: has more cells than the first row has names; a dec"),
        ("barrel_c;note\n130;5;x\n", ", row 2: has more cells than the first row has names"),
        ("filled,fill_pct\nyes,60\n", ", row 2: fill_pct: got 60 beside filled = yes"),
        ("id,note\nx,\n", ", row 2: id: got 'x'; leave it as it was exported, or empty"),
        ("added,note\nyesterday,\n", ", row 2: added: got 'yesterday'; allowed: as exported"),
        ("job_tables,note\n7,\n", ", row 2: job_tables: is not the JSON of a job"),
        ("lot,note\nagar=x,\n", ", row 2: lot: got 'agar=x'"),
        ("note\nx\n", ", row 2: job: is empty, and no job is named"),
        ("barrel_c\n=A1+20\n", ", row 2: barrel_c: got the formula =A1+20; save the table with"),
        ('note\n"x\ny\n', ", row 3: is not a readable table: a quotation mark is opened somewhere"),
        ('note\n"x\ny\n"z"\n', ", row 4: is not a readable table: a quotation mark inside a cell"),
        ('note\n"1/2" plate\n', ", row 2: is not a readable table: a quotation mark inside a cell"),
        ("sep=;\nbarrel_c;color\n\n403;1\n", ", row 4: barrel_c: got 403"),
    ],
)
def test_a_fault_names_row_column_what_came_and_what_is_allowed(tmp_path, text, said):
    found = faults(tmp_path, text, None if "no job" in said else BAR)
    assert found[0].startswith(said), found


def test_every_fault_is_told_at_once_and_the_list_ends(tmp_path):
    text = "barrel_c,color\n" + "".join(f"{n},{n}\n" for n in range(1000, 1100))
    found = faults(tmp_path, text)
    assert len(found) == 51
    assert found[-1].endswith("and more; mend these first")


def test_an_id_twice_in_a_table(tmp_path):
    row = trial_table([trial()]).splitlines(keepends=True)
    with pytest.raises(InputError, match=r"row 3: id: is that of row 2 too; empty it"):
        back("".join([*row, row[1]]), tmp_path)


def test_a_job_that_cannot_be_read_is_told_once(tmp_path):
    found = faults(tmp_path, "job,barrel_c\nno.toml,130\nno.toml,140\n")
    assert len(found) == 1
    assert "row 2: job: " in found[0]
    assert "no such file" in found[0]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"PK\x03\x04\0\0", "save the table as CSV"),
        ("note\né\n".encode("latin-1"), "UTF-8"),
        ("note\nx\n".encode("utf-16"), "UTF-16"),
        (b"note\n" + b"x\n" * 600_000 + b"\xe9", "UTF-8"),
    ],
)
def test_other_kinds_of_file(tmp_path, data, said):
    path = tmp_path / "own.csv"
    path.write_bytes(data)
    with pytest.raises(InputError, match=said):
        read_trial_table(path, BAR, tmp_path)


def test_a_table_that_is_not_there(tmp_path):
    for path in (tmp_path / "own.csv", tmp_path):
        with pytest.raises(InputError, match=r"no such file|is a folder"):
            read_trial_table(path, BAR, tmp_path)


def test_every_column_a_maker_may_fill_is_in_the_table():
    assert set(COLUMNS) < set(TABLE)
