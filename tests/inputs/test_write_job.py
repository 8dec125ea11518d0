"""Two numbers put into the text of a job: the forms a maker may have written it in."""

from __future__ import annotations

import tomllib

import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.write_job import with_pellets, write_moisture
from tests.jobs import BAR

VALUES = {"moisture_pct": "9.62", "moisture_u_pct": "0.51"}


M, U = "moisture_pct = 9.62", "moisture_u_pct = 0.51"
BOTH = f"{M}\n{U}\n"
OLD = "moisture_pct = 3\nmoisture_u_pct = 1\n"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("[pellets]\nmoisture_pct = 10.0  # now\n", f"[pellets]\n{M}  # now\n{U}\n"),
        (
            "[pellets]\n\tmoisture_u_pct=+1_0.5e0#a\n\tmoisture_pct=9\n",
            "[pellets]\n\tmoisture_u_pct=0.51#a\n\tmoisture_pct=9.62\n",
        ),
        (
            f"[ pellets ] # {OLD[:16]}\nshape = 'flake'\n",
            f"[ pellets ] # {OLD[:16]}\n{BOTH}shape = 'flake'\n",
        ),
        (
            "['pellets']\n\"moisture_pct\" = 9\nmoisture_u_pct = 1",
            f"['pellets']\n\"moisture_pct\" = 9.62\n{U}",
        ),
        ("pellets.moisture_pct = 10\n[press]\n", f"pellets.{M}\npellets.{U}\n[press]\n"),
        ("pellets = { moisture_pct = 1e1 }\n", f"pellets = {{ {U}, {M} }}\n"),
        ("[press]\nforce_kn = 3", f"[press]\nforce_kn = 3\n\n[pellets]\n{BOTH}"),
        (
            "[press]\r\nforce_kn = 3\r\n",
            f"[press]\r\nforce_kn = 3\r\n\r\n[pellets]\r\n{M}\r\n{U}\r\n",
        ),
        (
            f"[blend]\nsoftening_moisture_pct = 5\n[pellets]\n{OLD}",
            f"[blend]\nsoftening_moisture_pct = 5\n[pellets]\n{BOTH}",
        ),
        (
            f"title = '''\n[pellets]\n{OLD}'''\n[pellets]\n{OLD}",
            f"title = '''\n[pellets]\n{OLD}'''\n[pellets]\n{BOTH}",
        ),
        (
            "[pellets]\nweighings = 'a.csv' # mine\n",
            f"[pellets]\n{BOTH}# weighings = 'a.csv' # mine\n",
        ),
    ],
)
def test_the_two_numbers_change_and_nothing_else(before, after):
    assert with_pellets(before, VALUES) == after


@pytest.mark.parametrize(
    "text",
    [
        "[pellets]\nmoisture_pct = '12'\n",
        "pellets = {}\n",
        "pellets = { shape = 'moisture_pct = 3', moisture_pct = 4 }\n",
        "pellets = { weighings = 'a.csv' }\n",
        "pellets.weighings = '''\na.csv'''\n",
    ],
)
def test_what_cannot_be_changed_safely_is_left_to_the_maker(text):
    assert with_pellets(text, VALUES) is None


def test_the_maker_is_told_which_lines_to_write(tmp_path):
    text = BAR.read_text(encoding="utf-8").replace("moisture_pct = 10.0 ", "moisture_pct = '10' ")
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"moisture_pct = 9\.62 and moisture_u_pct = 0\.51"):
        write_moisture(str(path), 0.0962, 0.0051)
    assert path.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("u", "shown", "u_shown"),
    [
        (0.0151, "9.6", "1.5"),
        (0.0051, "9.62", "0.51"),
        (0.00051, "9.623", "0.051"),
        (0.000051, "9.6235", "0.0051"),
        (0.0000051, "9.6235", "0.0005"),
    ],
)
def test_no_more_digits_than_the_uncertainty_allows(tmp_path, u, shown, u_shown):
    path = tmp_path / "job.toml"
    path.write_bytes(BAR.read_bytes())
    write_moisture(str(path), 0.0962345, u)
    text = path.read_text(encoding="utf-8")
    assert f"moisture_pct = {shown} " in text
    assert f"moisture_u_pct = {u_shown}\n" in text
    assert tomllib.loads(text)["pellets"]["moisture_pct"] == float(shown)


def test_a_measured_moisture_ends_the_guess():
    text = "[pellets]\nmoisture_pct = 11\nmoisture_guessed = true  # so far\nmass_g = 90\n"
    new = with_pellets(text, {"moisture_pct": "9.2"})
    assert new is not None
    assert tomllib.loads(new) == {"pellets": {"moisture_pct": 9.2, "mass_g": 90}}
    assert "# moisture_guessed = true  # so far" in new.splitlines()
