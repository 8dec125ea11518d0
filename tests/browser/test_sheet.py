"""The run sheet in a real browser: controls, print, console, network, accessibility."""

from __future__ import annotations

import base64
import io
import json
from importlib.resources import files
from pathlib import Path
from urllib.parse import urlsplit

import pytest

import moldwin.report.sheet as sheet_module
from moldwin.advice.advise import advise
from moldwin.report.numbers import duration, percent
from moldwin.report.sheet_style import STYLE
from tests.browser.conftest import COUNT, job_file

BAR, KELP, DRY = "starch-glycerol-bar", "kelp-plant-labels", "dry-starch-no-glycerol"
ALL = (BAR, KELP, DRY, "crowded")
A4, LETTER = (210 / 25.4, 297 / 25.4), (8.5, 11.0)
SERIOUS = ("serious", "critical")


class Sheet:
    """One sheet as it stands in the browser."""

    def __init__(self, browser, path: Path) -> None:
        self.browser = browser
        browser.get_log("performance")  # what other pages did is not this one's
        browser.get_log("browser")
        browser.get(path.as_uri())

    def element(self, name: str):
        return self.browser.find_element("id", name)

    def text(self, name: str) -> str:
        return self.element(name).text

    def seen(self, name: str) -> bool:
        return self.element(name).is_displayed()

    def data(self) -> dict:
        return json.loads(self.element("data").get_attribute("textContent"))

    def slide(self, name: str, place: int) -> None:
        """Move a control as a hand does: the value, then the event."""
        self.browser.execute_script(
            "arguments[0].value = arguments[1];"
            "arguments[0].dispatchEvent(new Event('input', {bubbles: true}));",
            self.element(name),
            str(place),
        )

    def type(self, words: str) -> None:
        field = self.element("typed")
        field.clear()
        field.send_keys(words + "\n")

    def choose(self, unit: str) -> None:
        self.browser.find_element("css selector", f"input[value='{unit}']").click()


@pytest.fixture
def opened(browser, sheet):
    """Opens the sheet of an example."""
    return lambda name: Sheet(browser, sheet(name))


# ------------------------------------------------------------------------------ controls


@pytest.mark.parametrize(("name", "moisture"), [(BAR, 12.0), (BAR, 9.0), (KELP, 11.0)])
def test_the_moisture_control_shows_what_advise_says(opened, name, moisture):
    sets = [f"pellets.moisture_pct={moisture:g}"]
    asked = advise(job_file(name), sets=sets, count=COUNT).now
    page = opened(name)
    before = page.text("status")
    page.slide("water", page.data()["moisture"].index(moisture))
    assert page.text("status") != before
    assert f"{moisture:g} % water, barrel {asked.barrel.best_c:.0f} °C" in page.text("status")
    assert f"chance {percent(asked.barrel.chance)}." in page.text("status")
    window = (
        f"{asked.barrel.low_c:.0f} to {asked.barrel.high_c:.0f} °C" if asked.barrel.open else ""
    )
    assert window in page.text("status")
    assert page.text("figure-barrel") == f"{asked.barrel.best_c:.0f} °C"
    assert page.text("figure-soak") == duration(asked.soak_s)
    assert page.text("figure-cool") == duration(asked.cooling_s)
    assert page.text("figure-mold") == f"{asked.mold.best_c:.0f} °C"
    assert duration(asked.soak_s) in page.text("step-load")
    assert page.seen("moved")


def test_the_barrel_control_moves_soak_chance_steps_and_warnings(opened):
    page = opened(BAR)
    data = page.data()
    column = data["columns"][data["advised"]]
    hot = max(i for i, cell in enumerate(column["cells"]) if cell["heat"])
    warned = page.text("warnings")
    page.slide("barrel", hot)
    cell = column["cells"][hot]
    assert page.text("figure-barrel") == f"{data['barrel'][hot]:.0f} °C"
    assert page.text("figure-soak") == duration(cell["soak_s"])
    assert f"chance {percent(cell['chance'])}. Outside the window." in page.text("status")
    assert f"{data['barrel'][hot]:.0f} °C" in page.text("step-heat")
    assert page.text("warnings") != warned
    assert "Browning and chain scission" in page.text("warnings")


@pytest.mark.parametrize("name", [BAR, KELP])
def test_back_brings_the_very_sheet_back(opened, name):
    page = opened(name)
    main = page.element("main").text
    page.slide("water", 0)
    page.slide("barrel", 1)
    assert page.element("main").text != main
    page.element("back").click()
    spoken = page.text("spoken")
    assert page.element("main").text.replace(spoken, "").split() == main.split()


@pytest.mark.parametrize("name", ALL)
def test_no_position_shows_a_setting_where_nobody_should_heat(opened, name):
    page = opened(name)
    data = page.data()
    for water, column in enumerate(data["columns"]):
        page.slide("water", water)
        places = range(len(column["cells"])) if column["best"] is not None else [None]
        for place in places:
            if place is not None:
                page.slide("barrel", place)
            heat = place is not None and column["cells"][place]["heat"]
            assert page.seen("cold") != heat
            assert page.seen("figure-soak") == page.seen("steps") == heat
            if not heat:
                assert not page.element("barrel").is_enabled() or "do not heat" in page.text(
                    "status"
                )


def test_where_nobody_should_heat_the_sheet_says_so(opened):
    page = opened(DRY)
    assert page.text("cold") == "DO NOT HEAT"
    assert page.seen("cold")
    assert not page.seen("figure-soak")
    assert not page.seen("steps")
    assert "--set ingredient.glycerol.mass_g=" in page.text("why")


@pytest.mark.parametrize(
    ("typed", "shown", "says"),
    [
        ("12", "12 % water", ""),
        ("11,5", "11.5 % water", ""),
        ("11.5 %", "11.5 % water", ""),
        ("11.7", "11.5 % water", "nearest"),
        ("1,234", "10 % water", "two ways"),
        ("12.5.1", "10 % water", "one number"),
        ("wet", "10 % water", "one number"),
        ("-3", "10 % water", "one number"),
        ("60", "10 % water", "reaches from"),
    ],
)
def test_a_typed_moisture_is_taken_where_it_can_be_read_one_way(opened, typed, shown, says):
    page = opened(BAR)
    page.type(typed)
    assert page.text("water-now") == shown
    assert says in page.text("typed-says")
    assert bool(says) == bool(page.text("typed-says"))


def test_units_switch_everywhere_and_back(opened):
    page = opened(KELP)
    main = page.element("main").text
    celsius = float(page.text("figure-barrel").split()[0])
    grams = float(page.text("figure-jar").split()[0])
    page.choose("°F")
    page.choose("oz")
    assert page.text("figure-barrel") == f"{celsius * 1.8 + 32:.0f} °F"
    assert float(page.text("figure-jar").split()[0]) == pytest.approx(grams / 28.3495, abs=6e-4)
    for part in ("status", "step-heat", "warnings", "controls"):
        assert "°C" not in page.text(part)
    assert " g plasticizer per 100 g" in page.text("warnings")  # a share, not a mass to weigh
    assert " g " not in page.text("step-load")
    page.slide("water", 0)
    assert "°F" in page.text("figure-barrel")
    page.element("back").click()
    page.choose("°C")
    page.choose("g")
    spoken = page.text("spoken")
    assert page.element("main").text.replace(spoken, "").split() == main.split()


def test_the_cross_hairs_stand_where_the_controls_do(opened):
    page = opened(BAR)
    data = page.data()
    page.slide("water", 1)
    page.slide("barrel", 3)
    assert page.element("hair-x").get_attribute("transform") == f"translate({data['x'][1]} 0)"
    assert page.element("hair-y").get_attribute("transform") == f"translate(0 {data['y'][3]})"


def test_keys_move_the_controls(opened):
    page = opened(BAR)
    before = page.text("water-now")
    page.element("water").send_keys("\ue014")  # arrow to the right
    assert page.text("water-now") != before
    assert page.text("spoken")


# ---------------------------------------------------------------------------- print


def pages(browser, size: tuple[float, float], **more) -> list[str]:
    """The text of each printed page."""
    from pypdf import PdfReader

    width, height = size
    printed = browser.execute_cdp_cmd(
        "Page.printToPDF", {"paperWidth": width, "paperHeight": height, **more}
    )
    reader = PdfReader(io.BytesIO(base64.b64decode(printed["data"])))
    return [page.extract_text() for page in reader.pages]


@pytest.mark.parametrize("size", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("name", ALL)
def test_it_prints_on_one_page(opened, browser, name, size):
    opened(name)
    (text,) = pages(browser, size)
    words = " ".join(text.split())
    assert "Beware" in words
    assert "Assumed" in words
    assert "Inputs" in words
    assert "What if" not in words
    assert "The press's own manual and local rules come first." in words


@pytest.mark.parametrize("name", [KELP, "crowded"])
def test_a_wide_font_does_not_push_it_off_its_page(browser, sheet, monkeypatch, name):
    """Where Arial and its kin are missing the system's own font is often a sixth wider."""
    family = '"Liberation Sans",Arial,Helvetica,system-ui'
    assert family in STYLE
    monkeypatch.setattr(sheet_module, "STYLE", STYLE.replace(family, '"DejaVu Sans",Verdana'))
    Sheet(browser, sheet(name, "wide"))
    assert len(pages(browser, LETTER)) == 1


def test_every_warning_and_step_is_on_the_printed_page(opened, browser):
    page = opened("crowded")
    shown = "".join((page.text("warnings") + page.text("steps")).split())
    (text,) = pages(browser, LETTER)
    printed = "".join(text.split())
    for sentence in filter(None, page.text("warnings").splitlines()):
        assert "".join(sentence.split()) in printed
    assert len(shown) > 2000  # it is a crowded sheet


def test_far_figures_are_large_on_paper(opened, browser):
    page = opened(BAR)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        for name in ("figure-soak", "figure-cool"):
            size = float(page.element(name).value_of_css_property("font-size").removesuffix("px"))
            assert 0.7 * size / 96 * 25.4 >= 10.0  # digits of 10 mm and more
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_without_a_script_it_is_the_printed_page(browser, sheet):
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        page = Sheet(browser, sheet(KELP))
        assert page.text("figure-soak")
        assert not page.seen("controls")
        assert not page.seen("units")
        assert "Dampen the pellets" in page.text("step-jar")
        assert len(pages(browser, A4)) == 1
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


# ------------------------------------------------------------------- quiet, closed, readable


@pytest.mark.parametrize("name", ALL)
def test_the_console_is_quiet_and_no_request_leaves_the_page(opened, browser, name):
    page = opened(name)
    page.slide("water", 0)
    page.choose("°F")
    assert browser.get_log("browser") == []
    asked = [
        message["params"]["request"]["url"]
        for entry in browser.get_log("performance")
        if (message := json.loads(entry["message"])["message"])["method"]
        == "Network.requestWillBeSent"
    ]
    assert asked, "the log saw nothing at all"
    assert {urlsplit(url).scheme for url in asked} <= {"file", "data"}
    assert len({url for url in asked if url.startswith("file:")}) == 1
    entries = browser.execute_script("return performance.getEntriesByType('resource').length")
    assert entries == 0


def test_the_policy_holds_against_what_slips_in(opened, browser):
    """The page's own policy, not only its escaping, stops foreign code and loads."""
    opened(BAR)
    ran = browser.execute_script(
        "const s = document.createElement('script'); s.textContent = 'window.slipped = 1';"
        "document.body.append(s); const i = new Image(); i.src = 'https://example.invalid/x.png';"
        "document.body.append(i); return window.slipped === undefined"
    )
    assert ran
    assert any("Content Security Policy" in row["message"] for row in browser.get_log("browser"))


def test_a_script_in_a_title_shows_as_text(opened, browser):
    page = opened("crowded")
    heading = browser.find_element("tag name", "h1").text
    assert heading.startswith("<script>alert(1)</script>")
    assert browser.title.startswith("Run sheet: <script>")
    assert browser.find_elements("tag name", "img") == []
    assert "<b>may & june</b>" in page.element("main").text


@pytest.mark.parametrize("width", [320, 390, 1280])
@pytest.mark.parametrize("name", ALL)
def test_it_fits_the_screen(opened, browser, name, width):
    opened(name)
    size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 500}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    try:
        assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    finally:
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@pytest.mark.parametrize("mode", ["light", "dark"])
@pytest.mark.parametrize("name", ALL)
def test_axe_finds_no_serious_fault(opened, browser, name, mode):
    axe = files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    scheme = [{"name": "prefers-color-scheme", "value": mode}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": scheme})
    try:
        opened(name)
        browser.execute_script(axe)
        found = browser.execute_async_script("axe.run().then(arguments[0])")
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})
    assert len(found["passes"]) > 20, "axe looked at nothing"
    faults = [(v["id"], v["impact"], v["nodes"][0]["target"]) for v in found["violations"]]
    assert [fault for fault in faults if fault[1] in SERIOUS] == []


def test_axe_would_find_a_fault(opened, browser):
    axe = files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    opened(BAR)
    browser.execute_script("document.querySelector('label[for=typed]').remove();")
    browser.execute_script("document.querySelector('.lede').style.color = '#ccc';" + axe)
    found = browser.execute_async_script("axe.run().then(arguments[0])")
    assert {"label", "color-contrast"} <= {v["id"] for v in found["violations"]}
