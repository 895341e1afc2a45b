"""A case that has begun, for tests that need one at hand at once; and its record, to wait for."""

import shutil
from contextlib import suppress
from pathlib import Path

from assistant.clock import MonotonicClock
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts
from assistant.grammar.readings import Reading
from assistant.hearing.ear import Ear
from assistant.journal.at_hand import take_in_hand
from assistant.journal.folder import new_case
from assistant.journal.journal import read_case
from assistant.journal.rows import Row
from assistant.live.resuming import open_case
from assistant.site.folder import files_of
from assistant.site.site import load_site
from tests.live.box import SITE, Box
from tests.live.test_pedal import DeafEngine, ShortVoice
from tests.waiting import wait_for

LONG_S = 60.0
"""A machine that is busy with other things needs so long to start a listener."""


def brisk_site(folder: Path) -> Path:
    """The example site, speaking fast and briefly after a restart, so that ten fit in a minute.

    A pseudo-terminal takes odd parity only once, and the watcher opens it anew after each kill.
    """
    site = folder / "site"
    shutil.copytree(SITE, site)
    wording = site / "wording.yaml"
    lines = [
        '  restarted: "Restarted."' if line.startswith("  restarted:") else line
        for line in wording.read_text().splitlines()
    ]
    text = "\n".join(lines).replace("words_per_minute: 165", "words_per_minute: 240")
    wording.write_text(text.replace("ask_again_after_s: 7", "ask_again_after_s: 20"))
    oximeter = site / "oximeter.yaml"
    oximeter.write_text(oximeter.read_text().replace("parity: odd", "parity: none"))
    return site


def begun_case(cases: Path, site: Path) -> Path:
    """A case at hand, of the planned brief: its weight is confirmed, and allergies are asked."""
    case = open_case(new_case(cases, files_of(site)), load_site(site), MonotonicClock())
    conversation = Conversation(
        case.site, Parts(case.clock, Ear(DeafEngine()), ShortVoice(), case.journal)
    )

    def hears(meaning: str, **values: float | str) -> None:
        conversation._run(conversation._caller.heard(Reading(meaning, meaning, values)))

    conversation.pressed("start")
    hears("brief", brief="planned")
    for _ in conversation.case.brief.items():
        item = conversation.case.current
        if item.id == "allergies":
            break
        if item.kind == "number":
            hears("number", number=82.0)
            conversation.pressed("confirm")
        else:
            hears("no_feature" if item.kind == "features" else "confirm")
    assert conversation.case.current.id == "allergies"
    conversation.close()
    folder = next(path for path in cases.iterdir() if path.is_dir())
    take_in_hand(cases, folder)
    return folder


class CaseRecord:
    """What is on disk of a case, while somebody else writes it."""

    def __init__(self, case: Path) -> None:
        self._case = case

    def rows(self) -> tuple[Row, ...]:
        return read_case(self._case)[1]

    def wait_row(self, after: int, what: str, fits) -> int:
        """Wait for a row beyond the first `after` that fits; returns its place."""
        found: list[int] = []

        def there() -> bool:
            found[:] = [n for n, row in enumerate(self.rows()) if n >= after and fits(row)]
            return bool(found)

        wait_for(there, LONG_S, what)
        return found[0]

    def wait_said(self, after: int, words: str) -> int:
        """Wait until a line with these words has begun."""
        return self.wait_row(after, words, lambda row: row.kind == "said" and words in row.text)


def confirm_the_weight(box: Box, record: CaseRecord, place: int) -> None:
    """Say yes to the read-back at that place; whatever is said goes on record."""
    box.wait_spoken(record.rows()[place].text)
    answer(box, record, lambda row: row.data.get("event") == "fact-taken")


def answer(box: Box, record: CaseRecord, taken, words: str = "yes confirmed") -> None:
    """Say it, again when asked to, or when it was said over the assistant, until a row fits."""
    before = len(record.rows())
    for _ in range(5):
        box.say(words)
        with suppress(AssertionError):
            wait_for(lambda: any(taken(row) for row in record.rows()[before:]), 8.0, "it taken")
            return
    raise AssertionError(f"not taken: {record.rows()[before:]}")
