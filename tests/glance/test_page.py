"""The page in a real browser: seen from afar, by shape as by colour, and never old unseen."""

import re
import time
from collections.abc import Callable
from typing import Any

import pytest

from assistant.glance.settings import SMALLEST_UNITS
from assistant.glance.view import Mark
from tests.glance.conftest import Bedside, RecordedTable
from tests.waiting import wait_for

OLD_AFTER_S = 3.0

TEXTS = """
const shown = [];
for (const element of document.querySelectorAll("#page *")) {
  const own = [...element.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
  if (!own || !element.checkVisibility()) continue;
  const style = getComputedStyle(element);
  const groundOf = (one) => {
    const color = getComputedStyle(one).backgroundColor;
    return color === "rgba(0, 0, 0, 0)" ? groundOf(one.parentElement) : color;
  };
  const box = element.getBoundingClientRect();
  shown.push({
    text: element.textContent.trim(), px: parseFloat(style.fontSize), color: style.color,
    ground: groundOf(element),
    cut: element.scrollWidth > element.clientWidth + 1 && element.clientWidth > 0,
    outside: Math.min(box.left, box.top) < 0
      || box.right > innerWidth + 1 || box.bottom > innerHeight + 1,
  });
}
return shown;
"""
ASK = """
const done = arguments[0];
fetch("now.json").then((answer) => answer.json()).then((view) => { show(view); done(); });
"""
AGE = """
const opacity = parseFloat(getComputedStyle(document.getElementById('old')).opacity);
return [(performance.now() - renewed_ms) / 1000, opacity];
"""
OPACITY = "return parseFloat(getComputedStyle(document.getElementById('old')).opacity)"


class Page:
    """The page as the browser shows it."""

    def __init__(self, browser: Any, bedside: Bedside) -> None:
        self.browser = browser
        browser.get(bedside.address)
        self.wait_for(lambda: self.opacity_of_old == 0.0, "a first answer")

    def resize(self, width: int, height: int) -> None:
        """Make the picture this large."""
        self.browser.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False},
        )
        assert self.browser.execute_script("return [innerWidth, innerHeight]") == [width, height]

    def text(self, name: str) -> str:
        """What stands there, as it is seen."""
        return str(self.browser.find_element("id", name).text)

    def shape(self, name: str) -> str:
        """The outline of a mark."""
        use = self.browser.find_element("id", name).get_attribute("href")
        return str(self.browser.find_element("css selector", use).get_attribute("innerHTML"))

    def ask_at_once(self) -> None:
        """Have the page ask the server and show the answer, without waiting for its turn."""
        self.browser.execute_async_script(ASK)

    @property
    def state(self) -> str:
        """The mark of the upper part."""
        return str(self.browser.find_element("id", "page").get_attribute("data-state"))

    @property
    def opacity_of_old(self) -> float:
        """0 while the page is renewed, 1 when it covers itself."""
        return float(self.browser.execute_script(OPACITY))

    def texts(self) -> list[dict[str, Any]]:
        """Every text that is seen, with its size, colours and place."""
        return list(self.browser.execute_script(TEXTS))

    def wait_for(self, comes_true: Callable[[], Any], what: str) -> None:
        """Wait until the page shows something."""
        wait_for(comes_true, 10.0, what)


def luminance(color: str) -> float:
    """Relative luminance of an sRGB colour, by the definition in WCAG 2.2."""
    parts = [int(part) / 255 for part in re.findall(r"\d+", color)[:3]]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, by the definition in WCAG 2.2."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_is_the_published_one() -> None:
    """Black on white is 21:1, and #767676 is the lightest grey of 4.5:1 on white (WCAG 2.2)."""
    assert contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21.0)
    assert contrast("rgb(118, 118, 118)", "rgb(255, 255, 255)") == pytest.approx(4.54, abs=0.01)


@pytest.fixture
def page(browser: Any, served: Bedside) -> Page:
    """Between cases, on a common screen."""
    opened = Page(browser, served)
    opened.resize(1920, 1080)
    return opened


def run_long(table: RecordedTable, clock: str) -> None:
    """A clock that has run for more than ten minutes: five figures."""
    table.journal.append(
        "clock",
        "event",
        f"{clock}: counting",
        data={"event": "clock-started", "clock": clock, "lasts_s": None},
        mono_s=time.monotonic() - 754.0,
    )


def stages(bedside: Bedside) -> list[tuple[str, Callable[[], Any]]]:
    """The steps of one case, each with the headline that it leads to."""
    opened: list[Any] = []
    return [
        ("idle", lambda: bedside.sees(98)),
        ("waiting", lambda: opened.append(bedside.open_case())),
        ("asked", lambda: (opened[0].hear("start"), run_long(opened[0], "oxygen on"))),
        (
            "read-back",
            lambda: (opened[0].answer_until("weight"), opened[0].hear("number", number=110.0)),
        ),
        ("asked", lambda: (opened[0].hear("confirm"), bedside.sees(88))),
        ("asked", lambda: (opened[0].answer_until("first-laryngoscope"), bedside.sees(None))),
        ("holding", lambda: opened[0].hear("hold")),
        ("open", lambda: (opened[0].hear("resume"), opened[0].hear("go_now"), bedside.sees(100))),
        ("attempt", lambda: (opened[0].hear("drugs_in"), opened[0].hear("attempt_start"))),
        ("fault", bedside.hang_up),
    ]


@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (1280, 1024), (1024, 600)])
def test_everything_is_seen_from_four_metres(
    page: Page, served: Bedside, width: int, height: int
) -> None:
    """In each state of a case: every letter as tall as settings.py promises, none cut or outside,
    and each with the contrast of WCAG's strictest level (7:1 and more)."""
    page.resize(width, height)
    unit_px = min(width, height * 16 / 9) / 100
    seen = set()
    for mark, step in stages(served):
        step()
        page.ask_at_once()
        assert page.state == mark
        seen.add(mark)
        texts = page.texts()
        assert len(texts) >= 2
        for one in texts:
            assert one["px"] >= SMALLEST_UNITS * unit_px - 0.1, (mark, one)
            assert contrast(one["color"], one["ground"]) >= 7.0, (mark, one)
            assert not one["outside"], (mark, one)
            assert not one["cut"], (mark, one)
    assert {one.value for one in Mark} - seen == {"done"}


def test_every_meaning_has_a_shape_of_its_own(page: Page, served: Bedside) -> None:
    """Told apart without colours: no two marks have the same outline."""
    marks = [one.value for one in Mark] + ["sat-above", "sat-low", "sat-none"]
    outlines = [
        page.browser.find_element("css selector", f"symbol#{mark}").get_attribute("innerHTML")
        for mark in marks
    ]
    assert len(set(outlines)) == len(marks)
    served.open_case()
    shapes = []
    for percent in (97, 93, None):
        served.sees(percent)
        wanted = "no signal" if percent is None else str(percent)
        page.wait_for(lambda wanted=wanted: page.text("percent") == wanted, wanted)
        shapes.append(page.shape("saturation-mark"))
    assert len(set(shapes)) == 3


def test_a_low_saturation_is_unlike_a_good_one_in_grey_too(page: Page, served: Bedside) -> None:
    """Its ground is turned from dark to light, and it has words of its own; no alarm's colour."""
    served.open_case()
    grounds = []
    for percent in (97, 93):
        served.sees(percent)
        page.wait_for(lambda percent=percent: page.text("percent") == str(percent), "the figure")
        (figure,) = (one for one in page.texts() if one["text"] == str(percent))
        grounds.append(figure["ground"])
    assert contrast(*grounds) >= 7.0
    assert page.text("threshold") == "93 or less"
    parts = [int(part) for part in re.findall(r"\d+", grounds[-1])[:3]]
    assert max(parts) - min(parts) < 20


def test_no_figure_outlives_its_watcher(page: Page, served: Bedside) -> None:
    """Where nobody watches, no number is left where the saturation stood."""
    served.open_case()
    served.sees(98)
    page.wait_for(lambda: page.text("percent") == "98", "the figure")
    served.watches_no_more()
    page.wait_for(lambda: page.text("percent") == "not watched", "its end")
    assert not re.search(r"\d", page.text("saturation"))


@pytest.mark.parametrize("how", ["killed", "stopped"])
def test_without_its_server_the_page_says_that_it_is_old(
    page: Page, served: Bedside, how: str
) -> None:
    """Within seconds, over everything; a page that is old shows no figure at all."""
    served.open_case()
    served.sees(98)
    page.wait_for(lambda: page.text("percent") == "98", "the figure")
    (served.server_dies if how == "killed" else served.server_stops)()
    page.wait_for(lambda: page.opacity_of_old == 1.0, "the page grown old")
    assert page.browser.execute_script(AGE)[0] >= OLD_AFTER_S - 0.1
    covered = page.browser.execute_script(
        "const all = [...document.querySelectorAll('#page p, #page b')];"
        "return all.every((one) => { const box = one.getBoundingClientRect();"
        "const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);"
        "return !box.width || document.getElementById('old').contains(top); })"
    )
    assert covered
    page.wait_for(lambda: re.fullmatch(r"nothing new for 0:\d\d", page.text("old-since")), "since")


def test_it_comes_back_with_its_server(page: Page, served: Bedside) -> None:
    """By itself."""
    served.server_dies()
    page.wait_for(lambda: page.opacity_of_old == 1.0, "the page grown old")
    served.serve()
    page.wait_for(lambda: page.opacity_of_old == 0.0, "the page renewed")


def test_it_grows_old_without_its_script_too(page: Page, served: Bedside) -> None:
    """Whatever happens to the script, what nobody renews covers itself."""
    served.sees(98)
    page.wait_for(lambda: page.text("percent") == "98", "the figure")
    page.browser.execute_script("for (let at = 0; at < 100000; at++) clearTimeout(at);")
    page.wait_for(lambda: page.opacity_of_old == 1.0, "the page grown old")


def test_it_is_never_quietly_old_while_it_is_renewed(page: Page, served: Bedside) -> None:
    """Nor does it flicker: renewed in time, it is never covered."""
    served.open_case()
    clock = {page.text("clocks")}
    while len(clock) < 6:
        age_s, opacity = page.browser.execute_script(AGE)
        assert opacity == 0.0 or age_s > OLD_AFTER_S - 0.1
        clock.add(page.text("clocks"))
        time.sleep(0.05)


def test_nothing_is_loaded_from_elsewhere(page: Page, served: Bedside) -> None:
    """Style, script and answers come from the server, and the browser found nothing forbidden."""
    loaded = page.browser.execute_script(
        "return performance.getEntriesByType('resource').map((one) => one.name)"
    )
    assert all(name.startswith(served.address) for name in loaded)
    assert {name.removeprefix(served.address) for name in loaded} == {
        "glance.css",
        "glance.js",
        "now.json",
    }
    assert [
        one for one in page.browser.get_log("browser") if "Security Policy" in one["message"]
    ] == []


def test_a_site_s_own_words_are_only_words(browser: Any, bedside: Bedside) -> None:
    """What looks like markup in glance.yaml is shown as it stands."""
    bedside.write_settings('words: {saturation: "<b>산소</b>", between_cases: "사례 없음"}\n')
    bedside.serve()
    page = Page(browser, bedside)
    bedside.sees(98)
    page.wait_for(lambda: page.text("percent") == "98", "the figure")
    assert page.browser.find_element("css selector", "h2").text == "<b>산소</b>"
    assert page.text("title") == "사례 없음"
    assert page.browser.execute_script("return document.documentElement.lang") == "en"
