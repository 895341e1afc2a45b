"""What a simulation's scenario expects, scored on cases that were worked out by hand."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.commands.main import main
from assistant.debrief.reading import ScenarioFile, read_measured
from assistant.journal import facilitator
from assistant.oximeter.record import WatcherRecord, row_now
from assistant.site.site import load_site
from tests.debrief.conftest import BEGAN_S, SteppedCase
from tests.debrief.test_page import OUTSIDE

ROOT = Path(__file__).parents[2]
SITE = ROOT / "configs" / "tarn-hollow"
EXAMPLE = ROOT / "configs" / "scenarios" / "early-fall.yaml"
PATIENT = "patient: {weight_kg: 70, height_cm: 170, start_spo2_percent: 97}\n"


def mark(case: SteppedCase, at_s: float, kind: str, text: str = "") -> None:
    """The facilitator writes a row."""
    record = WatcherRecord(case.folder / facilitator.RECORD_NAME)
    record.add(row_now(BEGAN_S + at_s, "sound", "event", text, {"kind": kind}))


@pytest.fixture(scope="module")
def early_fall(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A case of the example, with every outcome in it; its right values stand in the next test."""
    folder = tmp_path_factory.mktemp("early-fall")
    case = SteppedCase(load_site(SITE), folder)
    case.hear(5.0, "begin", "start")
    case.hear(12.0, "we saw the mask held on", "confirm")  # 12 s after the case was opened
    case.hear(60.0, "the weight is eight five kilos", "weight", kilograms=85)
    case.hear(63.5, "yes correct", "confirm")  # the weight, 51.5 s after the oxygen
    mark(case, 100.0, "mark", "The drip is out")
    mark(case, 150.0, "mark", "a new line")  # 50 s later
    case.hear(300.0, "what is the dose of rocuronium", "dose", drug="rocuronium")  # 236.5 s
    case.hear(303.0, "yes correct", "confirm")
    case.hear(310.0, "we must go now", "go_now")
    case.hear(320.0, "the drugs went in", "drugs_in")
    case.hear(395.0, "begin the attempt", "attempt_start")  # 75 s after the drugs, to the second
    case.call(430.0, "fell", 93, 93)
    case.hear(440.0, "the attempt failed", "attempt_failed")  # 10 s after the call
    case.hear(450.0, "begin the attempt", "attempt_start")
    case.call(470.0, "fell", 90, 90)
    case.call(480.0, "signal-lost", None, None)
    case.hear(500.0, "the attempt failed", "attempt_failed")  # 30 s after the second call
    case.hear(505.0, "yes pace the bag", "confirm")
    case.hear(520.0, "with a bougie this time", "choose", choose="guide")  # 20 s after the second
    case.hear(600.0, "end the case", "end_case")
    case.hear(602.0, "yes confirmed", "confirm")
    return folder


def scored(case: Path, scenario: Path) -> list[tuple[str, str, float | None]]:
    """Each action with what became of it and how long it took, in s."""
    _, measures = read_measured(case, ScenarioFile.read(scenario))
    return [(one.action, one.outcome, one.took_s) for one in measures.expected]


def test_the_example_on_a_case_worked_out_by_hand(early_fall: Path) -> None:
    """Each time is the difference of two times in the case above. What changes was said 20 s after
    the second failure and 80 s after the first; the neck was never turned to."""
    assert scored(early_fall, EXAMPLE) == [
        ("Oxygen goes on", "in time", 12.0),
        ("The weight is known", "in time", 51.5),
        ("The relaxant's dose is asked", "late", 236.5),
        ("The drip is seen to be out", "in time", 50.0),
        ("The first attempt begins", "in time", 75.0),
        ("Oxygen can get in again", "in time", 10.0),
        ("Oxygen can get in again", "late", 30.0),
        ("Somebody says what changes", "late", 80.0),
        ("Somebody says what changes", "in time", 20.0),
        ("Turning to the neck", "not applicable", None),
    ]


def test_a_call_is_scored_by_what_the_page_says_answered_it(tmp_path: Path) -> None:
    """One rule: bagging that went on already, and a second call before the first was answered."""
    case = SteppedCase(load_site(SITE), tmp_path)
    case.hear(1.0, "we must go now", "go_now")
    case.hear(10.0, "the drugs went in", "drugs_in")
    case.hear(20.0, "yes pace the bag", "confirm")
    case.call(30.0, "fell", 93, 93)
    case.hear(40.0, "begin the attempt", "attempt_start")
    case.call(60.0, "fell", 90, 90)
    case.call(70.0, "fell", 88, 88)
    case.hear(80.0, "tube in", "tube_in")
    _, measures = read_measured(case.folder, ScenarioFile.read(EXAMPLE))
    found = [one for one in measures.expected if one.action == "Oxygen can get in again"]
    assert [(one.outcome, one.took_s) for one in found] == [
        ("in time", 0.0),
        ("late", 20.0),
        ("in time", 10.0),
    ]
    assert [one.took_s for one in measures.responses] == [one.took_s for one in found]


def test_it_is_told_in_every_form(
    early_fall: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of nine that were due six were in time: 66.7 %."""

    def told(*words: str) -> str:
        assert main(["debrief", str(early_fall), "--scenario", str(EXAMPLE), *words]) == 0
        return capsys.readouterr().out

    table = told()
    assert "late, 3:56 min; within 3:00 min after weight: answered" in table
    assert "not applicable: what it was to follow is not on record" in table
    values = json.loads(told("--json"))
    share = next(one for one in values["figures"] if one["name"] == "expected_in_time_percent")
    assert (share["value"], share["of"]) == (66.7, 9)
    assert len(values["measures"]["expected"]) == 10
    rows = list(csv.DictReader(io.StringIO(told("--csv"))))
    own = [one for one in rows if one["kind"] == "expected"]
    assert (own[0]["at_s"], own[0]["lasts_s"], own[0]["meaning"]) == ("0.0", "12.0", "in time")
    aloud = told("--aloud").splitlines()
    assert "Of 9 expected actions 6 were done in time." in aloud
    assert "Late: The relaxant's dose is asked, after 3 minutes 56 seconds." in aloud
    page = tmp_path / "page.html"
    told("--html", str(page))
    assert "What the scenario expected" in page.read_text("utf-8")
    assert "What the scenario expected" not in told()


def test_redacted_it_is_scored_all_the_same(
    early_fall: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By a facilitator's words, which themselves are left out."""
    words = ["debrief", str(early_fall), "--scenario", str(EXAMPLE), "--redact", "--json"]
    assert main(words) == 0
    values = json.loads(capsys.readouterr().out)
    assert [one["took_s"] for one in values["measures"]["expected"]][3] == 50.0
    assert "new line" not in json.dumps(values["entries"])


def test_over_several_cases_each_action_is_counted(
    early_fall: Path, new_case: Callable, capsys: pytest.CaptureFixture[str]
) -> None:
    """The least often in time first; a case of another brief is left out, with the reason."""
    cases = early_fall.parent / "cases"
    cases.mkdir()
    (cases / "one").symlink_to(early_fall)  # a link is no case
    for name in ("two", "three"):
        (cases / name).mkdir()
        for file in early_fall.iterdir():
            if file.is_file():
                (cases / name / file.name).write_bytes(file.read_bytes())
        (cases / name / "site").mkdir()
        text = (early_fall / "site" / "brief.yaml").read_text("utf-8")
        (cases / name / "site" / "brief.yaml").write_text(text, "utf-8")
    other = new_case()
    other.folder.rename(cases / "four")
    assert main(["debrief", "--all", str(cases), "--scenario", str(EXAMPLE), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [one["case"] for one in found["cases"]] == [early_fall.name] * 2
    by_action = {one["action"]: one for one in found["expected"]}
    assert found["expected"][0]["action"] == "The relaxant's dose is asked"
    assert by_action["Oxygen can get in again"] == {
        "action": "Oxygen can get in again",
        "due": 4,
        "in_time": 2,
        "late": 2,
        "never": 0,
        "median_took_s": 20.0,
    }
    assert by_action["Turning to the neck"]["due"] == 0
    assert len(found["unread"]) == 1
    assert "'what-changes'" in found["unread"][0]
    assert main(["debrief", "--all", str(cases), "--scenario", str(EXAMPLE)]) == 0
    assert "expected action" in capsys.readouterr().out


def test_a_call_that_nobody_heard_expects_nothing(tmp_path: Path) -> None:
    """Its loudspeaker was gone: nobody is late for it."""
    case = SteppedCase(load_site(SITE), tmp_path)
    case.hear(1.0, "we must go now", "go_now")
    case.hear(20.0, "begin the attempt", "attempt_start")
    said = {"kind": "fell", "level_percent": 93, "spo2_percent": 93}
    case.watch(30.0, "said", "Saturation 93.", **said, started_s=BEGAN_S + 30, until_s=BEGAN_S + 30)
    case.call(40.0, "fell", 90, 90)
    case.hear(55.0, "the attempt failed", "attempt_failed")
    found = [one for one in scored(tmp_path, EXAMPLE) if one[0] == "Oxygen can get in again"]
    assert found == [("Oxygen can get in again", "in time", 15.0)]


def small(folder: Path, *expected: str) -> Path:
    path = folder / "scenario.yaml"
    path.write_text(
        f"name: x\n{PATIENT}expected:\n" + "".join(f"  - {{{one}}}\n" for one in expected)
    )
    return path


FAILED = "action: a, after: {happened: attempt-begun}, done: {happened: attempt-failed}"


@pytest.mark.parametrize(
    ("words", "outcome"),
    [
        (f"{FAILED}, within_s: 20", ("in time", 20.0)),  # 50 to 70 s
        (f"{FAILED}, within_s: 19.9", ("late", 20.0)),
        # An attempt begins at 90 s, and the drugs are never told.
        ("action: a, after: {happened: drugs-in}, done: {happened: tube-in}, within_s: 9",
         ("not applicable", None)),
        # The mask is never answered after its first "not yet", at 8 s.
        ("action: a, after: {put_off: mask}, done: {answered: mask}, within_s: 60",
         ("never", None)),
        # The tube is in at 110 s; the case is over at 123 s, before the 15 s are.
        ("action: a, after: {entered: after}, done: {put_off: tube-fixed}, within_s: 15",
         ("not applicable", None)),
        ("action: a, after: {entered: after}, done: {put_off: tube-fixed}, within_s: 13",
         ("never", None)),
        # The weight is asked at 8 s and answered when the read-back is, by words at 24.5 s.
        ("action: a, after: {asked: weight}, done: {answered: weight}, within_s: 60",
         ("in time", 16.5)),
        # What was done before does not count: the weight stood long before the call at 65.25 s.
        ("action: a, after: {happened: called}, done: {answered: weight}, within_s: 20",
         ("never", None)),
        ("action: a, after: {happened: signal-lost}, done: {happened: attempt-begun}, within_s: 20",
         ("in time", 10.0)),
        ("action: a, after: {dose_asked: rocuronium}, done: {happened: case-ended}, within_s: 90",
         ("in time", 83.0)),
    ],
)  # fmt: skip
def test_each_outcome_by_hand(
    whole_case: SteppedCase, tmp_path: Path, words: str, outcome: tuple[str, float | None]
) -> None:
    """On the whole case, whose every time stands in its fixture."""
    assert scored(whole_case.folder, small(tmp_path, words)) == [("a", *outcome)]


def test_nothing_is_judged_across_a_restart_of_the_machine(
    new_case: Callable, tmp_path: Path
) -> None:
    """Nobody knows for how long it was off; what was late before it stays late."""
    case = new_case()
    case.hear(1.0, "go now", "go_now")
    case.hear(10.0, "begin the attempt", "attempt_start")
    case.restart(20.0, rebooted=True)
    case.hear(25.0, "the attempt failed", "attempt_failed")
    assert scored(case.folder, small(tmp_path, f"{FAILED}, within_s: 30")) == [
        ("a", "not applicable", None)
    ]
    assert scored(case.folder, small(tmp_path, f"{FAILED}, within_s: 5")) == [("a", "late", None)]


def test_a_drug_that_was_given_and_a_patient_who_was_steered(
    new_case: Callable, tmp_path: Path
) -> None:
    """Steered at 5 s; told to be in at 20 s."""
    case = new_case()
    mark(case, 5.0, "steered", "desaturate")
    case.hear(20.0, "rocuronium is in", "drug_given", drug="rocuronium")
    words = "action: a, after: {steered: desaturate}, done: {given: rocuronium}, within_s: 20"
    assert scored(case.folder, small(tmp_path, words)) == [("a", "in time", 15.0)]


GOOD = "action: a, after: {happened: called}, done: {happened: tube-in}, within_s: 9"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (GOOD.replace("done: {happened: tube-in}, ", ""), ["key expected.0.done: found nothing"]),
        (GOOD.replace("happened: called", "hapened: called"), ["key expected.0.after.hapened"]),
        (GOOD.replace("happened: called", "happened: shouted"), ["'case-opened'"]),
        (GOOD.replace("happened: called", "happened: called, asked: mask"), ["exactly one of"]),
        (GOOD.replace("happened: called", ""), ["exactly one of happened, asked"]),
        (GOOD.replace("within_s: 9", "within_s: 0"), ["allowed: more than 0"]),
        (GOOD.replace("happened: tube-in", "happened: called"), ["that can follow"]),
        (GOOD.replace("happened: tube-in", "happened: case-opened"), ["that can follow"]),
        (
            "action: a, after: {answered: maks}, done: {given: rocuroniun}, within_s: 9",
            ["line 4, key expected.0.after.answered: found 'maks'; allowed: an item",
             "key expected.0.done.given: found 'rocuroniun'; allowed: a drug of the site's"],
        ),
        (
            "action: a, after: {entered: between}, done: {happened: tube-in}, within_s: 9",
            ["found 'between'; allowed: a phase of the site's brief: after, before"],
        ),
    ],
)  # fmt: skip
def test_each_fault_of_a_scenario_is_one_sentence(
    whole_case: SteppedCase,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    words: str,
    told: list[str],
) -> None:
    """With file, line, key, found and allowed; also what the case's own site does not have."""
    formulary = whole_case.folder / "site" / "formulary.yaml"
    formulary.write_bytes((SITE / "formulary.yaml").read_bytes())
    path = small(tmp_path, words)
    assert main(["debrief", str(whole_case.folder), "--scenario", str(path)]) == 2
    formulary.unlink()
    printed = capsys.readouterr()
    sentences = printed.err.removeprefix("spoken-brief: ").splitlines()
    assert printed.out == ""
    assert len(sentences) == len(told)
    for part, sentence in zip(told, sentences, strict=True):
        assert part in sentence
        assert sentence.startswith(str(path))


def test_what_cannot_be_scored_is_refused(
    whole_case: SteppedCase, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A rehearsal, a file that is not there, and forms that show no score."""
    case = str(whole_case.folder)
    rehearsal = ROOT / "configs" / "rehearsals" / "short.yaml"
    for words in (
        ("--scenario", str(rehearsal)),
        ("--scenario", str(tmp_path / "none.yaml")),
        ("--scenario", str(EXAMPLE), "--verify"),
        ("--scenario", str(EXAMPLE), "--follow"),
    ):
        assert main(["debrief", case, *words]) == 2
        assert capsys.readouterr().err.startswith("spoken-brief: ")


def test_its_patient_can_be_played(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The same file goes to `patient`, which refuses it where the site does not know its items."""
    assert main(["patient", str(EXAMPLE), "--minutes", "1"]) == 0
    assert "Lowest shown" in capsys.readouterr().out
    path = small(tmp_path, GOOD.replace("happened: tube-in", "answered: nothing-of-it"))
    assert main(["patient", str(path), "--minutes", "1"]) == 2
    assert "'nothing-of-it'" in capsys.readouterr().err


@pytest.mark.parametrize("width", [1280, 390])
def test_the_page_with_a_score_keeps_within_its_width(
    early_fall: Path, tmp_path: Path, browser: Any, width: int
) -> None:
    """On a desk and on a telephone."""
    page = tmp_path / "page.html"
    words = ["debrief", str(early_fall), "--scenario", str(EXAMPLE), "--html", str(page)]
    assert main(words) == 0
    browser.get(page.as_uri())
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False},
    )
    assert browser.execute_script(OUTSIDE) == []
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
