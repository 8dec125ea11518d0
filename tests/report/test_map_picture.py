"""The map as a picture: the same bytes each time, readable in gray, nothing on top of another."""

from __future__ import annotations

import itertools
import struct
import subprocess
import sys
import warnings
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import matplotlib
import numpy as np
import pytest
from matplotlib.colors import to_rgb

from moldwin.base.remarks import Remark
from moldwin.report import map_picture as module
from moldwin.report.map_picture import COLORS, map_picture
from tests.report.map_sample import NOW, TARGET, sample_advice, sample_map

SVG = "{http://www.w3.org/2000/svg}"


def lightness(color: str) -> float:
    """CIELAB L* of an sRGB color."""
    parts = np.array(to_rgb(color))
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    y = float(linear @ (0.2126, 0.7152, 0.0722))
    return 116.0 * y ** (1 / 3) - 16.0 if y > 0.008856 else 903.3 * y


def labels_of(monkeypatch, advice) -> module.Labels:
    """The labels as they were put on one picture."""
    made = []

    class Watched(module.Labels):
        def __init__(self, *arguments):
            super().__init__(*arguments)
            made.append(self)

    monkeypatch.setattr(module, "Labels", Watched)
    map_picture(advice, "png")
    (labels,) = made
    return labels


def texts(advice) -> list[str]:
    """Every text on the picture."""
    with matplotlib.rc_context(), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        figure = module._figure(advice)
    axes = figure.axes[0]
    found = [text.get_text() for text in axes.texts] + [axes.get_title(loc="left")]
    legend = axes.get_legend()
    found += [text.get_text() for text in legend.get_texts()] if legend else []
    return [*found, axes.get_xlabel(), axes.get_ylabel(), figure.axes[1].get_ylabel()]


def test_png_is_a_png_of_useful_size():
    data = map_picture(sample_advice(), "png")
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", data[16:24])
    assert 1000 <= width <= 2400
    assert 700 <= height <= 2000


def test_svg_is_well_formed_with_the_same_shape():
    root = ElementTree.fromstring(map_picture(sample_advice(), "svg"))
    assert root.tag == f"{SVG}svg"


@pytest.mark.parametrize("kind", ["png", "svg"])
def test_the_same_map_gives_the_same_bytes(kind):
    assert map_picture(sample_advice(), kind) == map_picture(sample_advice(), kind)
    assert map_picture(sample_advice(sample_map(top=0.8)), kind) != map_picture(
        sample_advice(), kind
    )


def test_it_carries_no_date_and_no_program():
    svg, png = (map_picture(sample_advice(), kind) for kind in ("svg", "png"))
    assert b"<dc:date>" not in svg
    assert b"tEXtSoftware" not in png


def test_the_users_own_looks_do_not_matter():
    plain = map_picture(sample_advice(), "svg")
    with matplotlib.rc_context({"font.size": 20, "lines.linewidth": 9, "axes.grid": True}):
        assert map_picture(sample_advice(), "svg") == plain
        assert matplotlib.rcParams["font.size"] == 20


# ----------------------------------------------------------------------------- readable


def test_colors_fall_evenly_in_lightness():
    steps = np.diff([lightness(color) for color in COLORS])
    assert len(COLORS) == 10
    assert steps.max() < 0
    assert steps.min() > 1.25 * steps.mean()
    assert steps.max() < 0.75 * steps.mean()


def test_black_is_readable_on_every_color():
    for color in COLORS:
        luminance = ((lightness(color) + 16.0) / 116.0) ** 3
        assert (luminance + 0.05) / 0.05 >= 4.5  # contrast ratio asked of small text (WCAG 2)


def test_dash_patterns_differ_and_none_is_unbroken():
    patterns = [dash for _, dash in module._DASHES.values()]
    assert len(set(patterns)) == len(patterns)
    assert all(patterns)
    uprights = [dash for _, dash in module._UPRIGHT_DASHES]
    assert len(set(uprights)) == len(uprights)


def test_limits_places_and_axes_are_labeled():
    found = texts(sample_advice())
    for words in (
        "above: browns",
        "below: too stiff to fill",
        "below: pellets do not weld",
        "drier: brittle",
        "wetter: mold grows",
        "now",
        "target",
        "Plant labels",
    ):
        assert words in found
    assert [text for text in found if "%" in text and "water" in text]
    assert [text for text in found if "°C" in text]
    assert not [text for text in found if "vapor" in text or "sticks" in text]


def crowd(number: int):
    """Many limits close together, and the two places nearly on one another."""
    rng = np.random.default_rng(number)
    base = sample_map()
    lines = [
        replace(line, name=name, at=380.0 + 6 * i + rng.normal(0, 1, len(base.moisture)))
        for i, (line, name) in enumerate(
            zip([base.lines[0]] * 8, sorted(module._DASHES), strict=True)
        )
    ]
    uprights = [
        replace(base.uprights[0], name=name, at=0.10 + 0.004 * i)
        for i, name in enumerate(("brittle", "hot-core", "mold-growth", "sticky"))
    ]
    now = replace(NOW, moisture=0.118 + 0.002 * number, barrel=401.0)
    return sample_advice(sample_map(lines=lines, uprights=uprights, now=now))


@pytest.mark.parametrize("number", range(4))
def test_no_label_covers_another(monkeypatch, number):
    labels = labels_of(monkeypatch, crowd(number))
    assert len(labels.boxes) > 6
    # two markers may touch where the places do; labels never touch anything
    for (i, one), (j, other) in itertools.combinations(enumerate(labels.boxes), 2):
        assert (i, j) == (0, 1) or not one.overlaps(other)


@pytest.mark.parametrize("number", range(4))
def test_every_limit_is_named_once_on_its_line_or_in_the_legend(number):
    advice = crowd(number)
    found = texts(advice)
    for name in (line.name for line in advice.map.lines):
        assert found.count(module.limit_label(name, "high")) == 1
    for limit in advice.map.uprights:
        assert found.count(module.moisture_label(limit.name, limit.side)) == 1


def test_the_name_of_a_place_stands_clear_of_lines_where_there_is_room(monkeypatch):
    upright = replace(sample_map().uprights[0], at=TARGET.moisture - 0.0005)
    advice = sample_advice(sample_map(lines=[], uprights=[upright], now=TARGET), heat_now=False)
    labels = labels_of(monkeypatch, advice)
    _, name, _ = labels.boxes  # the marker, its name, that of the line
    for _, points in labels._lines:
        assert name.count_contains(points) == 0


def arrows(advice) -> list:
    """Of the main axes of a picture."""
    with matplotlib.rc_context():
        texts_ = module._figure(advice).axes[0].texts
    return [text.arrow_patch for text in texts_ if text.arrow_patch is not None]


def test_an_arrow_leads_from_now_to_the_target():
    (arrow,) = arrows(sample_advice())
    (start, end) = arrow._posA_posB
    assert start[0] < end[0]  # the sample's target is wetter
    assert arrows(sample_advice(sample_map(now=TARGET))) == []
    assert arrows(sample_advice(heat_target=False)) == []


# --------------------------------------------------------------------------- odd maps


def test_a_closed_map_says_so():
    found = "\n".join(texts(sample_advice(sample_map(top=0.05))))
    assert "Nowhere does the chance reach the 70 % asked for; the best is 5 %." in found


def test_a_map_open_everywhere_is_drawn():
    everywhere = np.full(sample_map().chance.shape, 1.0)
    assert map_picture(sample_advice(sample_map(chance=everywhere)), "png")


def test_no_setting_is_named_where_nobody_should_heat():
    stop = Remark("not-polysaccharide", "stop", "Mostly protein.", "blend", "assumed")
    found = "\n".join(texts(sample_advice(heat_now=False, heat_target=False, warnings=[stop])))
    assert "STOP: Mostly protein." in found
    assert "soak" not in found.replace("best soak", "")
    assert found.count("do not heat") == 2


def test_pellets_at_their_target_are_marked_once():
    assert "now = target" in texts(sample_advice(sample_map(now=TARGET)))


@pytest.mark.parametrize(
    "title",
    [
        r"$\frac{1}{0}$ and $unclosed",
        "<script>alert('x')</script> & more -- >",
        "\x1b[2Jcontrol\x00 characters",
        "海藻とでんぷんの札 🌱",
        "",
        "word " * 200,
        "unbroken" * 100,
    ],
)
def test_any_title_is_drawn_as_it_is(title):
    advice = sample_advice(job=title)
    svg = map_picture(advice, "svg")
    ElementTree.fromstring(svg)  # well-formed whatever the title holds
    assert b"<script" not in svg
    assert b"\x1b" not in svg
    assert map_picture(advice, "png")


def test_no_window_system_is_touched():
    code = (
        "import sys\n"
        "from moldwin.report.map_picture import map_picture\n"
        "sys.exit('matplotlib.pyplot' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=False, env={"DISPLAY": ":9"})
    assert done.returncode == 0
