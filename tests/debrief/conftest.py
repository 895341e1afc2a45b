"""A case stepped by hand: the real caller, case, journal and watcher's record, without the sound.

Rows are written in the order in which a conversation writes them, by its own recorder.
"""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from assistant.brief.brief import Brief
from assistant.brief.caller import Caller
from assistant.brief.case import Case
from assistant.brief.moment import Happened, Steps
from assistant.clock import SoundClock
from assistant.conversation.recorder import CaseRecorder
from assistant.grammar.readings import Heard, Reading, Verdict
from assistant.journal.journal import Journal
from assistant.oximeter.record import RECORD_NAME, WatcherRecord, row_now
from assistant.site.site import Site, load_site

BEGAN_S = 100.0
"""The clock's time when the case begins: no test may pass by taking it for nought."""


def _item(id_: str, kind: str, **more: Any) -> dict[str, Any]:
    plain = {"id": id_, "kind": kind, "ask": f"Is {id_} so?", "why": "Because."}
    return {**plain, "sources": ["common-practice"], **more}


BRIEF = {
    "name": "Small brief",
    "roster": [{"id": "registrar", "called": "the registrar", "said": ["registrar"]}],
    "sections": [
        {
            "id": "bag",
            "phase": "before",
            "to": "Bag",
            "items": [
                _item("oxygen-on", "timed", lasts_s=30, clock="oxygen on", ask_again="Throughout?"),
                _item("mask", "confirm"),
            ],
        },
        {
            "id": "leader",
            "phase": "before",
            "to": "Leader",
            "items": [
                _item(
                    "weight",
                    "number",
                    unit="kilograms",
                    unit_said=["kilos"],
                    low=30,
                    high=250,
                    sets="weight_kg",
                ),
                _item("suction", "confirm"),
            ],
        },
        {"id": "after", "phase": "after", "to": "Head", "items": [_item("tube-fixed", "confirm")]},
    ],
    "attempts": {"after_failure": ["Bag now."]},
}


class SteppedCase:
    """One case in a folder; every time is in seconds from its beginning."""

    def __init__(self, site: Site, folder: Path, line_s: float = 0.0) -> None:
        """Every line that is said takes `line_s`; they are said one after the other."""
        self.folder = folder
        self._line_s = line_s
        self.clock = SoundClock()
        self.clock.move_to(BEGAN_S)
        self.journal = Journal(folder, self.clock, site.brief.name)
        (folder / "site").mkdir()
        (folder / "site" / "brief.yaml").write_text(site.brief.model_dump_json(), "utf-8")
        self.case = Case(site.brief)
        self._caller = Caller(site, self.case)
        self._recorder = CaseRecorder(
            self.journal, self.case, on_row=lambda _: None, on_loss=lambda: None
        )
        self._watcher = WatcherRecord(folder / RECORD_NAME)
        self._run(self._caller.opened())

    def hear(self, at_s: float, text: str, meaning: str, **values: Any) -> None:
        """Something is said, taken for sure, and acted upon."""
        reading = Reading(text, meaning, values, 0.9, Verdict.ACCEPT)
        self._record(at_s, reading)
        self._run(self._caller.heard(reading))

    def doubt(self, at_s: float, text: str, meaning: str, **values: Any) -> None:
        """Something is said that is probably this."""
        reading = Reading(text, meaning, values, 0.5, Verdict.ASK, "not sure enough")
        self._record(at_s, reading)
        self._run(self._caller.unsure(reading))

    def ignore(self, at_s: float, nearest: str) -> None:
        """Something is said that is not for the assistant."""
        self._record(at_s, Reading(nearest, "", why="room talk"))

    def pass_time(self, at_s: float) -> None:
        """Clocks that have run out by then are ended."""
        self.clock.move_to(BEGAN_S + at_s)
        self._run(self._caller.passed(self.clock.now_s()))
        self._run(self._caller.ask_what_is_due(unasked=True))

    def restart(self, at_s: float, *, rebooted: bool) -> None:
        """The program was killed, or the machine was off; the case goes on."""
        self.clock.move_to(BEGAN_S + at_s)
        self._run(self._caller.restarted(rebooted))

    def watch(self, at_s: float, row_kind: Any, text: str, **data: Any) -> None:
        """The watcher writes a row."""
        self._watcher.add(row_now(BEGAN_S + at_s, "sound", row_kind, text, data))

    def call(self, at_s: float, kind: str, level: int | None, spo2: int | None) -> None:
        """The watcher calls, for two seconds."""
        self.watch(
            at_s,
            "said",
            f"Saturation {level}.",
            kind=kind,
            level_percent=level,
            spo2_percent=spo2,
            started_s=BEGAN_S + at_s,
            until_s=BEGAN_S + at_s + 2.0,
        )

    def saturation(self, at_s: float, spo2: int) -> None:
        """The watcher records a sample."""
        self.watch(at_s, "event", "saturation", spo2_percent=spo2, pulse_bpm=90)

    def _record(self, at_s: float, reading: Reading) -> None:
        self.clock.move_to(BEGAN_S + at_s)
        ended_s = BEGAN_S + at_s + self._line_s / 2
        self._recorder.heard(Heard(BEGAN_S + at_s, ended_s, reading))
        self.clock.move_to(ended_s)

    def ask_again(self, at_s: float) -> None:
        """Nobody has answered."""
        self.clock.move_to(BEGAN_S + at_s)
        self._run(self._caller.nobody_answered(1))

    def _run(self, steps: Steps) -> None:
        """Events are written at once, as a conversation writes them; its lines follow, in time."""
        lines = []
        for step in steps:
            if isinstance(step, Happened):
                self._recorder.event(step)
            else:
                lines.append(step)
        for line in lines:
            self._recorder.said(line, lasts_s=self._line_s)
            self.clock.move_to(self.clock.now_s() + self._line_s)


@pytest.fixture(scope="session")
def site() -> Site:
    """The example site with a brief of five items."""
    folder = Path(__file__).parents[2] / "configs" / "tarn-hollow"
    return replace(load_site(folder), brief=Brief.model_validate_json(json.dumps(BRIEF)))


@pytest.fixture
def new_case(site: Site, tmp_path: Path) -> Callable[..., SteppedCase]:
    """Makes a case that has just begun; with `line_s` every line takes that long."""

    def made(line_s: float = 0.0) -> SteppedCase:
        folder = tmp_path / "case"
        folder.mkdir()
        return SteppedCase(site, folder, line_s)

    return made


@pytest.fixture(scope="session")
def whole_case(site: Site, tmp_path_factory: pytest.TempPathFactory) -> SteppedCase:
    """A whole case, with everything in it that a debrief measures; only to be read."""
    case = SteppedCase(site, tmp_path_factory.mktemp("whole-case"))
    case.saturation(0.5, 97)
    case.hear(1.0, "start the brief", "start")  # asks oxygen-on
    case.hear(4.0, "confirmed", "confirm")  # the clock runs, from 4 to 34; asks mask
    case.ignore(5.0, "confirmed")
    case.doubt(6.0, "not yet", "decline")
    case.hear(8.0, "not yet", "decline")  # deferred; asks weight
    case.hear(14.0, "sixty kilos", "number", number=60)
    case.hear(16.0, "no", "decline")
    case.hear(20.0, "eighty kilos", "number", number=80)
    case.hear(24.5, "yes", "confirm")  # asks suction
    case.hear(26.0, "confirmed", "confirm")  # asks mask again
    case.hear(28.0, "not yet", "decline")  # outstanding
    case.pass_time(34.0)  # asks oxygen-on again
    case.hear(36.0, "confirmed", "confirm")  # the phase is done, the mask left open
    case.hear(40.0, "dose for eighty", "dose", drug="rocuronium", weight_kg=80)
    case.hear(43.0, "yes", "confirm")
    case.hear(50.0, "attempt begins", "attempt_start")
    case.saturation(55.0, 95)
    case.saturation(65.0, 92)
    case.call(65.25, "fell", 92, 92)
    case.saturation(66.25, 91)
    case.hear(70.0, "the attempt failed", "attempt_failed")
    case.call(80.0, "signal-lost", None, None)
    case.hear(90.0, "attempt begins", "attempt_start")
    case.hear(110.0, "the tube went through", "tube_in")  # asks tube-fixed
    case.hear(112.0, "confirmed", "confirm")
    case.hear(120.0, "end the case", "end_case")
    case.hear(123.0, "yes", "confirm")
    case.watch(130.0, "event", "watch ended")
    return case
