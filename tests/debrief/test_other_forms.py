"""The other forms of a debrief: read aloud, as values, without people, followed, and over cases."""

import csv
import io
import json
import re
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.debrief.aloud import spoken
from assistant.debrief.comparing import ItemOver, all_cases, items_over, spreads
from assistant.debrief.definitions import DEFINITIONS
from assistant.debrief.following import follow
from assistant.debrief.measures import measure
from assistant.debrief.redaction import redacted
from assistant.debrief.timeline import read_timeline
from assistant.journal.journal import FILE_NAME
from tests.debrief.test_page import OUTSIDE


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(["debrief", *words]) == 0
    return capsys.readouterr().out


def test_a_case_in_sentences(whole_case, capsys: pytest.CaptureFixture[str]) -> None:
    """Every sentence can be read aloud, and the numbers are those of the case."""
    lines = told(capsys, str(whole_case.folder), "--aloud").splitlines()
    assert all(line.endswith(".") for line in lines)
    assert "The case lasted 2 minutes 3 seconds. It was ended aloud." in lines[0]
    assert "The brief before the attempt took 35 seconds." in lines
    assert "Attempt 1 began 50 seconds into the case, lasted 20 seconds and failed." in lines
    (called,) = [one for one in lines if one.startswith("The watcher called")]
    assert called.endswith("; 4.8 seconds later the attempt was given up.")
    assert "Left open: mask." in lines


def test_cases_are_compared_in_the_order_in_which_they_began(
    whole_case, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By their own records and not by a folder's name; what was not synchronised stands last and is
    in no date, and each number of the drawing has its name."""
    cases = tmp_path / "cases"
    began = {
        "a": ("2026-03-02T10:00:00.000Z", True),
        "b": ("1970-01-01T00:00:30.000Z", False),
        "c": ("2026-03-01T10:00:00.000Z", True),
    }
    for name, (wall, trusted) in began.items():
        shutil.copytree(whole_case.folder, cases / name)
        with closing(sqlite3.connect(cases / name / FILE_NAME)) as record, record:
            fixed = {"case": name, "started_wall": wall, "started_wall_trusted": trusted}
            for key, value in fixed.items():
                record.execute("UPDATE meta SET value = ? WHERE key = ?", (json.dumps(value), key))
    assert [one.case for one in all_cases(cases, [])] == ["c", "a", "b"]
    page = tmp_path / "all.html"
    told(capsys, "--all", str(cases), "--html", str(page))
    text = page.read_text("utf-8")
    assert "2026-03-01 to 2026-03-02" in text
    assert "1 of them by a clock that was not synchronised" in text
    assert re.findall(r"<li>(\w)", text.partition('class="key"')[2]) == ["c", "a", "b"]


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0.6, "0.6 seconds"), (60.0, "1 minute"), (61.2, "1 minute 1 second"), (119.7, "2 minutes")],
)
def test_lengths_for_the_ear(seconds: float, words: str) -> None:
    """Rounded before they are split; no nought is said."""
    assert spoken(seconds) == words


def test_a_case_as_values(whole_case, capsys: pytest.CaptureFixture[str]) -> None:
    """A row for every entry and every sample, in order of time, under a header."""
    rows = list(csv.DictReader(io.StringIO(told(capsys, str(whole_case.folder), "--csv"))))
    timeline = read_timeline(whole_case.folder)
    assert len(rows) == len(timeline.entries) + len(timeline.saturation)
    times = [float(row["at_s"]) for row in rows]
    assert times == sorted(times)
    assert [row["text"] for row in rows if row["kind"] == "sample"][-1] == "91 %"
    assert "eighty kilos" in [row["text"] for row in rows]


def test_from_how_near_somebody_spoke_is_shown_where_hearing_could_tell(
    new_case: Callable, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As near or other and no more; unknown shows nothing, as in records from before."""
    case = new_case()
    for voice in ("near", "other", "unknown"):
        data = {"verdict": "accept", "why": "", "values": {}, "voice": voice}
        case.journal.append("team", "heard", f"said by {voice}", data=data)
    case.journal.append("team", "heard", "from before", data={"verdict": "accept"})
    rows = list(csv.DictReader(io.StringIO(told(capsys, str(case.folder), "--csv"))))
    assert [row["voice"] for row in rows if row["who"] == "team"] == ["near", "other", "", ""]
    table = told(capsys, str(case.folder))
    spoke = re.findall(r"(team(?:, \w+)?) +heard", table)
    assert spoke == ["team, near", "team, other", "team", "team"]
    page = tmp_path / "page.html"
    told(capsys, str(case.folder), "--html", str(page))
    text = page.read_text("utf-8")
    assert text.count("<span>team, other</span>") == 1
    assert text.count("<span>team</span>") == 2


def test_each_case_is_read_with_the_brief_that_it_keeps(whole_case, tmp_path: Path) -> None:
    """What many cases keep alike is read once; one that keeps another has another."""
    for number, label in ((1, "mask held"), (2, "mask held"), (3, "mask sealed")):
        case = shutil.copytree(whole_case.folder, tmp_path / "cases" / str(number))
        kept = case / "site" / "brief.yaml"
        brief = json.loads(kept.read_text("utf-8"))
        brief["sections"][0]["items"][1]["called"] = label
        kept.write_text(json.dumps(brief), "utf-8")
    found = list(all_cases(tmp_path / "cases", []))
    assert [one.askings[1][0] for one in found] == ["mask held", "mask held", "mask sealed"]


def test_a_cell_is_never_a_formula(new_case: Callable, capsys: pytest.CaptureFixture[str]) -> None:
    """A sentence that begins as a formula does is text to a spreadsheet."""
    case = new_case()
    case.journal.append("assistant", "said", '=HYPERLINK("x")')
    assert "'=HYPERLINK" in told(capsys, str(case.folder), "--csv")


def test_redacted_nobody_nowhere_and_no_day_is_named(
    whole_case, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In none of its forms; and what was measured is the same."""
    plain = read_timeline(whole_case.folder)
    hidden = redacted(plain)
    assert measure(hidden).attempts == measure(plain).attempts
    assert [one.at_s for one in hidden.entries] == [one.at_s for one in plain.entries]
    page = tmp_path / "page.html"
    texts = [
        told(capsys, str(whole_case.folder), "--redact", *form)
        for form in ((), ("--json",), ("--csv",), ("--aloud",), ("--html", str(page)))
    ]
    for text in (*texts, page.read_text("utf-8")):
        assert plain.meta.case not in text.replace(str(page), "")
        assert "Small brief" not in text
        assert re.search(r"20\d\d-\d\d-\d\d", text.replace(str(page), "")) is None


def test_people_become_what_they_were_named_for(
    new_case: Callable, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whoever was named is a person with a letter, everywhere alike, and a note says for what."""
    case = new_case()
    event = {"event": "answered", "version": 1, "item": "mask", "value": "registrar"}
    event["spoken"] = "the registrar"
    case.journal.append("team", "heard", "the registrar", data={"values": {"name": "registrar"}})
    case.journal.append("assistant", "event", "mask: the registrar", item="mask", data=event)
    case.journal.append("assistant", "said", "The registrar.")
    text = told(capsys, str(case.folder), "--redact", "--json")
    assert "registrar" not in text.casefold()
    assert "Person A was named for: mask." in json.loads(text)["notes"]


def test_a_case_is_followed_while_it_goes_on(new_case: Callable) -> None:
    """What is on record, then each thing as it comes, from both records, until it is ended; and
    nothing of the record is changed by it."""
    case = new_case()
    case.hear(1.0, "start the brief", "start")
    seen = follow(case.folder, every_s=0.0)
    first = [next(seen).text for _ in range(4)]
    assert first[0].endswith("Say: begin.")
    assert first[1] == "start the brief"
    case.call(2.0, "fell", 92, 92)
    case.saturation(2.5, 92)
    case.hear(3.0, "confirmed", "confirm")
    case.hear(9.0, "end the case", "end_case")
    case.hear(10.0, "yes", "confirm")
    rest = [one.text for one in seen]
    assert rest[0] == "Saturation 92."
    assert rest[1] == "confirmed"
    assert rest[-1].endswith("on record.")
    assert "saturation" not in rest


def test_one_thing_at_a_time(whole_case, capsys: pytest.CaptureFixture[str]) -> None:
    """What does not go together is refused in one sentence."""
    for words in ((), ("--all", "--aloud"), (str(whole_case.folder), "--follow", "--redact")):
        assert main(["debrief", *words]) == 2
        assert capsys.readouterr().err.count("\n") == 1


# Several cases.


@pytest.fixture(scope="session")
def cases(whole_case, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three cases of the same kind, one that cannot be read, and what else lies beside cases."""
    made = tmp_path_factory.mktemp("cases")
    for name in ("one", "two", "three"):
        shutil.copytree(whole_case.folder, made / name)
    (made / "torn").mkdir()
    (made / "torn" / FILE_NAME).write_text("torn", encoding="utf-8")
    (made / "idle").mkdir()
    (made / "current").symlink_to("one", target_is_directory=True)
    return made


def test_cases_are_compared_by_median_and_spread(cases: Path) -> None:
    """Each case once; the one that cannot be read is named; three equal cases have no spread."""
    refused: list[str] = []
    found = list(all_cases(cases, refused))
    assert len(found) == 3
    assert len(refused) == 1
    assert "torn" in refused[0]
    brief = next(one for one in spreads(found) if one.name == "brief_s")
    assert (brief.known, brief.lowest, brief.median, brief.highest) == (3, 35.0, 35.0, 35.0)
    assert items_over(found)[0] == ItemOver("mask", 6, 6, 0, 3.0)  # 4 s and 2 s in each
    assert next(one for one in items_over(found) if one.label == "weight").amiss == 3


def test_the_comparison_in_all_its_forms(
    cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], browser
) -> None:
    """Lines, JSON, values and a page that loads nothing and does not run out of a telephone."""
    assert "3 cases" in told(capsys, str(cases), "--all")
    whole = json.loads(told(capsys, str(cases), "--all", "--json"))
    assert [one["case"] for one in whole["cases"]] == ["whole-case0"] * 3
    rows = list(csv.DictReader(io.StringIO(told(capsys, str(cases), "--all", "--csv"))))
    assert [float(row["drugs_to_tube_s"] or -1) for row in rows] == [-1.0] * 3
    assert set(DEFINITIONS) <= set(rows[0])
    page = tmp_path / "all.html"
    told(capsys, str(cases), "--all", "--html", str(page))
    assert re.findall(r'(?:src|href)="(?!data:image/svg|#)', page.read_text("utf-8")) == []
    browser.get(page.as_uri())
    for width in (1280, 390):
        browser.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False},
        )
        assert browser.execute_script(OUTSIDE) == []
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def test_compared_and_redacted_no_case_is_named(
    cases: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Cases have numbers, and no day."""
    text = told(capsys, str(cases), "--all", "--csv", "--redact")
    assert "whole-case" not in text
    assert re.search(r"20\d\d-\d\d", text) is None


def test_a_folder_without_cases_compares_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No made-up figure; and a folder that is not there is refused."""
    assert told(capsys, str(tmp_path), "--all").startswith("0 cases")
    told(capsys, str(tmp_path), "--all", "--html", str(tmp_path / "x.html"))
    assert main(["debrief", str(tmp_path / "no"), "--all"]) == 2
