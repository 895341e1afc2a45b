"""The page of a case: whole in itself, and seen in a real browser on a desk, a phone and paper."""

import base64
import re
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.commands.main import main
from assistant.debrief.beginning import up_to_the_airway
from assistant.debrief.definitions import DEFINITIONS
from assistant.debrief.drawing import draw
from assistant.debrief.entries import TimelineEntry
from assistant.debrief.lanes import NARROW, WIDE
from assistant.debrief.measures import measure
from assistant.debrief.timeline import read_timeline
from assistant.debrief.wall_times import wall_times, zone

OUTSIDE = """
return [...document.querySelectorAll("body *")]
  .filter((one) => one.getBoundingClientRect().right > innerWidth + 1)
  .map((one) => one.tagName + ": " + one.textContent.slice(0, 40));
"""
SHOWN = """
return [...document.querySelectorAll("#said tbody tr")]
  .filter((row) => row.checkVisibility()).map((row) => row.className.split(" ")[0]);
"""
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}


@pytest.fixture(scope="session")
def page(whole_case, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of the whole case, written by the command."""
    path = tmp_path_factory.mktemp("page") / "debrief.html"
    assert main(["debrief", str(whole_case.folder), "--html", str(path)]) == 0
    return path


def test_the_page_loads_nothing(page: Path) -> None:
    """No address in it leads anywhere but into itself; so it opens without a network."""
    text = page.read_text("utf-8")
    assert re.findall(r'(?:src|href|srcset)="(?!data:image/svg|#)', text) == []
    assert "url(" not in re.sub(r"base64,[^\"]*", "", text)
    drawn = [base64.b64decode(one) for one in re.findall(r'svg\+xml;base64,([^"]*)"', text)]
    assert len(drawn) == 2
    assert all(b"<script" not in one and b"<svg" in one for one in drawn)


def test_all_that_was_said_and_measured_stands_in_it(page: Path, whole_case) -> None:
    """Without the drawing and without a script: every line, every item, every definition."""
    text = page.read_text("utf-8")
    for one in read_timeline(whole_case.folder).entries:
        if one.kind in ("said", "heard"):
            assert one.text.replace("'", "&#39;") in text
    for name, told in DEFINITIONS.items():
        assert (told.title in text) is (name != "expected_in_time_percent")  # no scenario was given
    assert "did not match: “sixty kilograms”" in text
    assert "Never reached" not in text
    assert "84 mg" not in text  # the small site asked for eighty kilograms
    assert "96 mg" in text


def test_what_was_said_is_words_and_not_markup(new_case: Callable, tmp_path: Path) -> None:
    """A sentence that looks like a part of a page is shown as it was said."""
    case = new_case()
    case.journal.append("assistant", "said", "<script>alert('no')</script> & <b>bold</b>")
    assert main(["debrief", str(case.folder), "--html", str(tmp_path / "x.html")]) == 0
    text = (tmp_path / "x.html").read_text("utf-8")
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert" in text


def test_only_its_owner_can_read_the_page(page: Path) -> None:
    """It holds what a record holds."""
    assert page.stat().st_mode & 0o077 == 0


def test_an_empty_case_has_a_page(new_case: Callable, tmp_path: Path) -> None:
    """One line was said and nothing measured; nothing fails for want of it."""
    case = new_case()
    assert main(["debrief", str(case.folder), "--html", str(tmp_path / "x.html")]) == 0
    assert "Say: begin." in (tmp_path / "x.html").read_text("utf-8")


def test_a_page_that_cannot_be_written_is_refused(
    whole_case, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence and exit code 2."""
    assert main(["debrief", str(whole_case.folder), "--html", str(tmp_path / "no" / "x")]) == 2
    assert "allowed: a file that can be written" in capsys.readouterr().err


def test_without_its_libraries_only_the_page_is_missing(
    whole_case,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The sentence names what to install, and all else of the debrief works."""
    monkeypatch.setitem(sys.modules, "jinja2", None)
    assert main(["debrief", str(whole_case.folder), "--html", str(tmp_path / "x.html")]) == 2
    assert "[debrief]" in capsys.readouterr().err
    assert main(["debrief", str(whole_case.folder)]) == 0


def test_the_same_case_is_drawn_the_same(whole_case) -> None:
    """No time of drawing and no chance is in it, so that two reports can be compared."""
    timeline = read_timeline(whole_case.folder)
    for shape in (WIDE, NARROW):
        first, second = (draw(timeline, measure(timeline), shape) for _ in range(2))
        assert first == second


def test_a_clock_with_a_name_of_another_script_is_drawn_by_that_name(
    new_case: Callable, recwarn: pytest.WarningsRecorder
) -> None:
    """Its letters stand in the drawing as letters, whatever fonts this machine has."""
    case = new_case()
    event = {"event": "clock-started", "version": 1, "clock": "산소", "lasts_s": 30}
    case.hear(1.0, "go now", "go_now")
    case.journal.append("clock", "event", "산소: 30 s", data=event)
    case.hear(9.0, "we gave the drugs", "drugs_in")
    timeline = read_timeline(case.folder)
    assert "산소" in draw(timeline, measure(timeline), WIDE).decode()
    assert len(recwarn) == 0


def test_a_long_case_has_the_part_up_to_the_airway_drawn_as_well(two_hours, tmp_path: Path) -> None:
    """Two minutes after the tube that drawing ends, with the calls numbered as in the whole."""
    timeline = read_timeline(two_hours.folder)
    part = up_to_the_airway(timeline, measure(timeline))
    assert part is not None
    assert part[1].duration_s == 240.0
    assert [one.text for one in part[0].entries if one.who == "watcher"] == ["Saturation 93."]
    path = tmp_path / "long.html"
    assert main(["debrief", str(two_hours.folder), "--html", str(path)]) == 0
    text = path.read_text("utf-8")
    assert text.index("Up to the airway") < text.index("The whole case")


def test_a_short_case_has_one_drawing(whole_case) -> None:
    """All of it can be read."""
    timeline = read_timeline(whole_case.folder)
    assert up_to_the_airway(timeline, measure(timeline)) is None


@pytest.fixture
def two_hours(new_case: Callable):
    """A tube at 120 s, and a second call an hour later."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(10.0, "we gave the drugs", "drugs_in")
    case.hear(60.0, "attempt begins", "attempt_start")
    case.call(90.0, "fell", 93, 93)
    case.hear(120.0, "the tube went through", "tube_in")
    case.call(3600.0, "fell", 90, 90)
    case.hear(7200.0, "confirmed", "confirm")
    return case


@pytest.mark.parametrize("width", [1280, 390, 360])
def test_nothing_runs_out_of_the_page(page: Path, browser: Any, width: int) -> None:
    """On a desk and on a telephone: no part of it lies to the right of what is seen."""
    browser.get(page.as_uri())
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False},
    )
    assert browser.execute_script(OUTSIDE) == []
    shown = browser.execute_script("return document.querySelector('figure img').currentSrc.length")
    assert shown > 10_000
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def test_on_a_telephone_what_was_said_is_not_far_below(page: Path, browser: Any) -> None:
    """Three remarks with two lines each, where a desk's and a paper's have eight."""
    browser.get(page.as_uri())
    high_px = {}
    for width in (1280, 360):
        browser.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500},
        )
        high_px[width] = browser.execute_script(
            "return document.querySelector('.remarks div').offsetHeight"
        )
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert high_px[360] < 60
    assert high_px[1280] > 180


def test_its_beginning_is_told_to_the_minute(page: Path, whole_case) -> None:
    """By the day and the minute, and not as a stamp for programs."""
    wall = read_timeline(whole_case.folder).meta.started_wall
    text = page.read_text("utf-8")
    assert f"Started {wall[:10]}, {wall[11:16]} UTC by" in text
    assert f"Started {wall}" not in text


def test_the_list_can_be_narrowed(page: Path, browser: Any) -> None:
    """To who spoke, which needs no script, and to words, which does."""
    browser.get(page.as_uri())
    everything = browser.execute_script(SHOWN)
    assert set(everything) == {"assistant", "team", "talk", "watcher", "clock"}
    browser.execute_script("document.getElementById('f-assistant').click()")
    assert set(browser.execute_script(SHOWN)) == {"team", "talk", "watcher", "clock"}
    browser.execute_script("document.getElementById('f-step').click()")
    assert "step" in browser.execute_script(SHOWN)
    words = browser.find_element("css selector", "#sought input")
    words.send_keys("EIGHTY KILOS")
    assert browser.execute_script(SHOWN) == ["team"]


def test_the_local_time_of_everything_can_be_seen(page: Path, browser: Any) -> None:
    """Hidden until it is asked for; and tables have captions and heads for whoever hears them."""
    browser.get(page.as_uri())
    seen = "return document.querySelector('#said td.wall').checkVisibility()"
    assert browser.execute_script(seen) is False
    browser.execute_script("document.getElementById('f-wall').click()")
    assert browser.execute_script(seen) is True
    bare = "return document.querySelectorAll('table:not(:has(> caption)), th:not([scope])').length"
    assert browser.execute_script(bare) == 0


def entry(wall: str, *, trusted: bool = True, lasts_s: float | None = None) -> TimelineEntry:
    return TimelineEntry(0.0, wall, trusted, "team", "heard", "yes", lasts_s=lasts_s)


def test_local_times_name_both_days_and_their_trust(monkeypatch: pytest.MonkeyPatch) -> None:
    """Over a midnight that is another one there; what was heard began before it was written."""
    monkeypatch.setenv("TZ", "XST-9")
    time.tzset()
    try:
        entries = [
            entry("2026-11-29T14:59:59.000Z"),
            entry("2026-11-29T15:00:02.000Z", lasts_s=1.5),
            entry("2026-11-29T15:00:03.000Z", trusted=False),
            entry(""),
        ]
        told = [one.replace("\N{NON-BREAKING HYPHEN}", "-") for one in wall_times(entries)]
        assert told == ["2026-11-29 23:59:59", "2026-11-30 00:00:00", "00:00:03 ?", ""]
        assert zone(entries) == "UTC+09:00"
    finally:
        monkeypatch.undo()
        time.tzset()


def test_of_a_long_list_only_what_matters_is_printed(
    new_case: Callable, browser: Any, tmp_path: Path
) -> None:
    """Six hundred remarks are for the screen; on paper stands what happened."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(2.0, "attempt begins", "attempt_start")
    for number in range(600):
        case.ignore(10.0 + number, "confirmed")
    path = tmp_path / "long.html"
    assert main(["debrief", str(case.folder), "--html", str(path)]) == 0
    browser.get(path.as_uri())
    assert len(browser.execute_script(SHOWN)) > 600
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    printed = browser.execute_script(SHOWN)
    note = browser.execute_script("return document.querySelector('.printed').innerText")
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert "talk" not in printed
    assert 2 <= len(printed) < 20
    assert note.startswith(f"On paper stand the {len(printed)} rows that matter most")


@pytest.mark.parametrize("paper", PAPERS)
def test_it_prints_on_both_papers(page: Path, browser: Any, paper: str) -> None:
    """Every page has that paper's size, and what is only for a screen is not printed."""
    width, height = PAPERS[paper]
    browser.get(page.as_uri())
    printed = browser.execute_cdp_cmd(
        "Page.printToPDF", {"paperWidth": width, "paperHeight": height}
    )
    pdf = base64.b64decode(printed["data"])
    sizes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    assert 2 <= len(sizes) <= 8
    for across, along in sizes:
        assert abs(float(across) / 72 - width) < 0.02
        assert abs(float(along) / 72 - height) < 0.02


def test_a_dollar_in_a_name_is_a_dollar(whole_case) -> None:
    """Two of them enclose mathematics to the library that draws: a case was not drawn at all."""
    timeline = read_timeline(whole_case.folder)
    drawn = draw(timeline, measure(timeline), WIDE, "svg", "Bay $5, room $x_{")
    assert b"Bay $5, room $x_{" in drawn


@pytest.mark.parametrize(
    ("ending", "begins"), [(".svg", b"<?xml"), (".png", b"\x89PNG"), (".pdf", b"%PDF")]
)
def test_the_drawing_can_be_had_alone(
    whole_case, tmp_path: Path, ending: str, begins: bytes
) -> None:
    """In each form of picture, for its owner only, the same when it is drawn again."""
    drawn = []
    for name in ("one", "two"):
        path = tmp_path / f"{name}{ending}"
        assert main(["debrief", str(whole_case.folder), "--plot", str(path)]) == 0
        assert path.stat().st_mode & 0o077 == 0
        drawn.append(path.read_bytes())
    assert drawn[0].startswith(begins)
    assert drawn[0] == drawn[1]


def test_a_drawing_of_no_known_kind_is_refused(
    whole_case, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By its ending, in one sentence; and of all cases there is no such drawing."""
    case, cases = str(whole_case.folder), str(whole_case.folder.parent)
    assert main(["debrief", case, "--plot", str(tmp_path / "x.gif")]) == 2
    assert "allowed: a file ending in .png, .svg, .pdf" in capsys.readouterr().err
    assert main(["debrief", "--all", cases, "--plot", str(tmp_path / "x.png")]) == 2
    assert "one case's option" in capsys.readouterr().err
