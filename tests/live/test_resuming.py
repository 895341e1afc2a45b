"""A case that goes on after a restart, by the program's or by the machine's own."""

from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.audio.sound import BLOCK_S, silence
from assistant.clock import SoundClock, WallReading
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts, SoundPath
from assistant.hearing.ear import Ear
from assistant.journal import journal
from assistant.journal.folder import new_case
from assistant.journal.journal import read_case
from assistant.live import resuming
from assistant.live.in_case import InCase
from assistant.live.resuming import OpenCase, open_case, resume_case
from assistant.oximeter.messages import Watching
from assistant.site.folder import files_of
from assistant.site.site import load_site
from tests.live.test_pedal import SITE, DeafEngine, ShortVoice


class Machine:
    """A machine that can be switched off: its identity, its clock and its wall clock."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.boot = "first"
        self.clock = SoundClock()
        self.clock.move_to(5000.0)
        self.wall = WallReading("2026-03-01T10:00:00.000Z", trusted=True)
        for module in (journal, resuming):
            monkeypatch.setattr(module, "boot_id", lambda: self.boot)
            monkeypatch.setattr(module, "read_wall", lambda: self.wall)

    def off_and_on(self, wall: WallReading) -> None:
        """Another run, whose clock begins anew."""
        self.boot += "-next"
        self.clock = SoundClock()
        self.clock.move_to(12.0)
        self.wall = wall


@pytest.fixture
def machine(monkeypatch) -> Machine:
    return Machine(monkeypatch)


@pytest.fixture
def converse(machine) -> Callable[[OpenCase], Conversation]:
    """A conversation in a silent room, with that case."""

    def begun(case: OpenCase) -> Conversation:
        return Conversation(
            case.site,
            Parts(case.clock, Ear(DeafEngine()), ShortVoice(), case.journal),
            resumed=case.resumed,
        )

    return begun


def pass_time(conversation: Conversation, machine: Machine, case: OpenCase, for_s: float) -> None:
    for _ in range(round(for_s / BLOCK_S)):
        machine.clock.move_to(machine.clock.now_s() + BLOCK_S)
        conversation.step(silence(BLOCK_S), case.clock.now_s())


def said(folder: Path) -> list[str]:
    return [row.text for row in read_case(folder)[1] if row.kind == "said"]


def test_a_reboot_makes_running_clocks_unknown(tmp_path, machine, converse):
    """The attempt's is told at once, all when asked; none ends by itself; the timed item is asked
    anew."""
    folder = new_case(tmp_path, files_of(SITE))
    case = open_case(folder, load_site(SITE), machine.clock)
    conversation = converse(case)
    conversation.pressed("start")
    conversation.pressed("confirm")  # the pedal cannot, a test can: oxygen is on
    conversation.pressed("go_now")
    conversation.pressed("attempt_start")
    pass_time(conversation, machine, case, 5.0)
    # Killed here: nothing is closed.

    machine.off_and_on(WallReading("2026-03-01T10:04:00.000Z", trusted=True))
    resumed = resume_case(folder, machine.clock)
    assert resumed.resumed.rebooted
    conversation = converse(resumed)
    before = len(said(folder))
    pass_time(conversation, machine, resumed, 20.0)  # the wall clock has gone on by four minutes

    assert said(folder)[before:][:2] == ["Restarted.", "Attempt: unknown since the restart."]
    assert "Oxygen on: unknown since the restart." not in said(folder)[before:]
    events = [row.data.get("event") for row in read_case(folder)[1]]
    assert "clock-ended" not in events
    conversation.pressed("elapsed")
    pass_time(conversation, machine, resumed, 5.0)
    assert said(folder)[-2:] == [
        "Oxygen on: unknown since the restart.",
        "Attempt: unknown since the restart.",
    ]


@pytest.mark.parametrize("trusted", [True, False])
def test_a_case_that_is_killed_again_in_the_same_run_goes_on_by_the_same_clock(
    tmp_path, machine, converse, *, trusted
):
    """What was started after the reboot stays known, and elapsed time is not counted anew."""
    folder = new_case(tmp_path, files_of(SITE))
    converse(open_case(folder, load_site(SITE), machine.clock))
    machine.off_and_on(WallReading("2026-03-01T10:10:00.000Z", trusted=trusted))
    first = resume_case(folder, machine.clock)
    conversation = converse(first)
    conversation.pressed("go_now")
    conversation.pressed("attempt_start")
    pass_time(conversation, machine, first, 10.0)

    second = resume_case(folder, machine.clock)

    assert not second.resumed.rebooted
    assert second.clock.now_s() == pytest.approx(first.clock.now_s())
    again = converse(second)
    assert again.case.known.clocks["attempt"].running


@pytest.mark.parametrize(
    ("wall", "away_s"),
    [
        (WallReading("2026-03-01T10:04:00.000Z", trusted=True), 240.0),
        (WallReading("2026-03-02T08:00:00.000Z", trusted=True), 79_200.0),
        (WallReading("2026-03-01T10:04:00.000Z", trusted=False), None),
        (WallReading("2026-03-01T09:00:00.000Z", trusted=True), None),
    ],
)
def test_for_how_long_a_machine_was_off_is_told_by_clocks_that_can_be_trusted(
    tmp_path, machine, converse, wall, away_s
):
    """And after more than a few minutes, or when nobody knows, the patient is asked for."""
    folder = new_case(tmp_path, files_of(SITE))
    case = open_case(folder, load_site(SITE), machine.clock)
    pass_time(converse(case), machine, case, 5.0)

    machine.off_and_on(wall)
    resumed = resume_case(folder, machine.clock)
    before = len(said(folder))
    pass_time(converse(resumed), machine, resumed, 5.0)

    assert resumed.resumed.away_s == away_s
    is_asked = said(folder)[before].endswith("Same patient?")
    assert is_asked == (away_s != 240.0)


def test_a_program_that_was_away_for_long_asks_for_the_patient_too(tmp_path, machine, converse):
    """Its clock has gone on, whatever the wall clock says."""
    folder = new_case(tmp_path, files_of(SITE))
    case = open_case(folder, load_site(SITE), machine.clock)
    pass_time(converse(case), machine, case, 5.0)
    for away_s, is_asked in ((60.0, False), (3600.0, True)):
        machine.clock.move_to(machine.clock.now_s() + away_s)
        resumed = resume_case(folder, machine.clock)
        before = len(said(folder))
        pass_time(converse(resumed), machine, resumed, 5.0)
        assert not resumed.resumed.rebooted
        assert said(folder)[before].endswith("Same patient?") == is_asked


def test_the_clock_of_a_case_never_steps_back(tmp_path, machine, converse):
    """Whatever the wall clock says after a reboot, later rows have later times."""
    folder = new_case(tmp_path, files_of(SITE))
    case = open_case(folder, load_site(SITE), machine.clock)
    pass_time(converse(case), machine, case, 5.0)
    last_s = read_case(folder)[1][-1].mono_s

    machine.off_and_on(WallReading("2020-01-01T00:00:00.000Z", trusted=True))

    assert resume_case(folder, machine.clock).clock.now_s() >= last_s


def test_a_saturation_is_as_old_as_it_is_after_a_reboot(tmp_path, machine):
    """The watcher's times are the machine's, and the case's are shifted: its age is right."""
    folder = new_case(tmp_path, files_of(SITE))
    open_case(folder, load_site(SITE), machine.clock)
    machine.off_and_on(WallReading("2026-03-01T10:10:00.000Z", trusted=True))
    resumed = resume_case(folder, machine.clock)
    assert abs(resumed.clock.shift_s) > 100
    in_case = InCase(
        resumed,
        DeafEngine(),
        ShortVoice(),
        sound=SoundPath(0.2),
        on_voice=lambda *_: None,
    )

    def pass_some_time() -> None:
        for _ in range(20):
            machine.clock.move_to(machine.clock.now_s() + BLOCK_S)
            in_case.step(silence(BLOCK_S), machine.clock.now_s())

    pass_some_time()
    in_case.take(Watching(97, machine.clock.now_s() - 2.0))
    in_case.pressed("saturation")
    pass_some_time()

    assert "Saturation ninety-seven percent." in said(folder)
