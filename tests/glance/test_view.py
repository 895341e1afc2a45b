"""What is shown of a case, read back from its own record."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.clock import boot_id
from assistant.errors import BadInput
from assistant.glance.case_reader import CaseReader
from assistant.glance.settings import GlanceWords
from assistant.glance.view import Mark, View, case_view
from assistant.glance.watcher_line import Kind, SeenSaturation
from assistant.journal.at_hand import take_in_hand
from assistant.journal.folder import new_case
from assistant.journal.journal import FILE_NAME, look_on
from tests.glance.conftest import RecordedTable
from tests.tarn_hollow import SITE

WORDS = GlanceWords()
SEEN = SeenSaturation(Kind.ABOVE, 93, 98)


class Looked:
    """A case, and the reader that follows its record."""

    def __init__(self, cases: Path) -> None:
        self.folder = new_case(cases, SITE.files)
        self.table = RecordedTable(SITE, self.folder)
        take_in_hand(cases, self.folder)
        self.reader = CaseReader(cases)
        self.began_s = self.table.journal.meta.started_mono_s

    def at(self, seconds: float = 0.0, *, listened: bool = True) -> View:
        """The page so long after the case was opened."""
        case = self.reader.case()
        assert case is not None
        return case_view(case, WORDS, SEEN, self.began_s + seconds, listened=listened)


@pytest.fixture
def looked(tmp_path: Path) -> Iterator[Looked]:
    made = Looked(tmp_path / "cases")
    yield made
    made.table.journal.close()


def test_the_open_item_and_whom_it_is_put_to(looked: Looked) -> None:
    """In the words in which it is asked."""
    looked.table.hear("start")
    looked.table.hear("confirm")
    headline = looked.at().headline

    item = looked.table.case.current
    assert item is not None
    assert (headline.mark, headline.title, headline.text) == (Mark.ASKED, "Bag", item.ask)


def test_a_plan_is_shown_by_its_question(looked: Looked) -> None:
    """What is read aloud before it is too long to be read from afar."""
    looked.table.hear("start")
    plan = next(item for item in SITE.brief.items() if item.kind == "plan")
    looked.table.answer_until(plan.id)

    assert looked.at().headline.text == plan.ask


def test_an_item_whose_clock_has_run_is_asked_again(looked: Looked) -> None:
    """With its other question."""
    looked.table.hear("start")
    timed = next(item for item in SITE.brief.items() if item.kind == "timed")
    looked.table.answer_until(timed.id)
    looked.table.hear("confirm")
    while looked.table.case.current is not None:
        looked.table.answer()
    assert looked.at().headline.mark is Mark.WAITING
    assert looked.at().headline.text == timed.clock
    looked.table.now_s = looked.began_s
    looked.table.pass_time(10_000.0)

    assert looked.at().headline.text == timed.ask_again


def test_a_weight_that_awaits_its_yes_is_in_figures(looked: Looked) -> None:
    """17 and 70 look different; it does not look like an answer that counts."""
    looked.table.hear("start")
    looked.table.answer_until("weight")
    looked.table.hear("number", number=70.0)
    headline = looked.at().headline

    assert (headline.mark, headline.text) == (Mark.READ_BACK, "70 kilograms?")


def test_no_dose_is_shown(looked: Looked) -> None:
    """Only what was read back; the dose itself is spoken only."""
    looked.table.hear("start")
    looked.table.hear("dose", drug="rocuronium", weight_kg=70.0)
    assert looked.at().headline.text.startswith("Rocuronium, not vecuronium, for seventy")
    looked.table.hear("confirm")

    assert "milligrams" not in str(looked.at())


def test_what_is_left_is_what_the_assistant_would_say(looked: Looked) -> None:
    """The same count, and those that somebody said not yet to."""
    looked.table.hear("start")
    looked.table.answer_until("weight")
    before = looked.at()
    looked.table.answer()
    looked.table.hear("decline")
    after = looked.at()

    assert before.left is not None
    assert after.left is not None
    assert int(after.left) == int(before.left) - 1
    assert (before.not_yet, after.not_yet) == ("", "1 not yet")


def test_open_items_are_named_when_nothing_is_asked(looked: Looked) -> None:
    """As the assistant names them when it is asked what is left."""
    looked.table.hear("start")
    looked.table.hear("go_now")
    headline = looked.at().headline

    assert headline.mark is Mark.OPEN
    assert len(headline.listed) == int(looked.at().left or 0)
    assert "saturation call" in headline.listed


def test_an_attempt_shows_its_clock(looked: Looked) -> None:
    """And the clocks that run, the latest first, the case's own last."""
    looked.table.hear("start")
    looked.table.hear("go_now")
    looked.table.hear("drugs_in")
    looked.table.hear("attempt_start")
    view = looked.at(125.0)

    assert (view.headline.mark, view.headline.title) == (Mark.ATTEMPT, "Attempt 1")
    assert view.headline.text in ("2:03", "2:04", "2:05")  # opened a moment before it
    assert [clock.name for clock in view.clocks] == ["attempt", "drugs in", "case"]
    assert view.clocks[-1].time == "2:05"


def test_a_held_case_says_so(looked: Looked) -> None:
    """With what it will go on with."""
    looked.table.hear("start")
    looked.table.hear("hold")
    headline = looked.at().headline

    assert headline.mark is Mark.HOLDING
    assert headline.text == SITE.brief.sections[0].items[0].ask


def test_nobody_waits_for_an_answer_that_nobody_hears(looked: Looked) -> None:
    """The item gives way; clocks and what is left stay true."""
    looked.table.hear("start")
    view = looked.at(listened=False)

    assert (view.headline.mark, view.headline.text) == (Mark.FAULT, "")
    assert view.left is not None
    assert view.clocks


def test_clocks_across_a_reboot_are_unknown(looked: Looked) -> None:
    """Those that ran then, the case's too; one that was started since is known."""
    looked.table.hear("start")
    looked.table.hear("go_now")
    looked.table.hear("drugs_in")
    looked.table.journal.append(
        "assistant", "event", "another run", data={"boot": "another", "shift_s": 500.0}
    )
    assert [clock.known for clock in looked.at().clocks] == [False, False]  # nobody is there yet
    looked.table.journal.append(
        "assistant", "event", "another run", data={"boot": boot_id(), "shift_s": 0.0}
    )
    looked.table.run(looked.table.caller.restarted(rebooted=True))
    looked.table.hear("attempt_start")
    known = {clock.name: clock.known for clock in looked.at(60.0).clocks}

    assert known["attempt"]
    assert not known["drugs in"]


def test_a_shifted_clock_is_followed(looked: Looked) -> None:
    """After a reboot the case's clock is the machine's with the shift that the record notes."""
    looked.table.journal.append(
        "assistant", "event", "another run", data={"boot": boot_id(), "shift_s": 40.0}
    )
    case = looked.reader.case()

    assert case is not None
    assert case.now_s(100.0) == 140.0
    assert not case.rebooted  # the test cannot be another run of the machine


def test_looking_on_changes_nothing(looked: Looked) -> None:
    """The writer was killed: its log stays as it was, so that the case can be continued."""
    looked.table.hear("start")
    log = looked.folder / f"{FILE_NAME}-wal"
    before = log.read_bytes()
    for _ in range(3):
        looked.at()
    _, rows = look_on(looked.folder, 0)

    assert log.read_bytes() == before
    assert len(look_on(looked.folder, len(rows) - 1)[1]) == 1


def test_a_record_that_cannot_be_read_is_refused_and_tried_again(looked: Looked) -> None:
    """A damaged file is one sentence; when it is whole again it is read from its start."""
    looked.table.hear("start")
    good = looked.at()
    record = looked.folder / FILE_NAME
    aside = record.rename(record.with_name("aside"))
    with pytest.raises(BadInput):
        looked.reader.case()
    aside.rename(record)

    assert looked.at().headline == good.headline
