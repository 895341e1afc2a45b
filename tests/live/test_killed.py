"""kill -9 of the listener or the watcher at random moments: nothing is lost, the case goes on.

`SPOKEN_BRIEF_KILL_SEEDS="1 2 3"` runs it with more seeds than the one.
"""

import os
import random
import shutil
import time
from pathlib import Path

import pytest

from assistant.brief.case import Case
from assistant.clock import MonotonicClock
from assistant.conversation import Conversation
from assistant.hearing.heard import Reading
from assistant.journal.at_hand import take_in_hand
from assistant.journal.folder import new_case
from assistant.journal.journal import read_case
from assistant.journal.rows import Row
from assistant.live.resuming import open_case
from assistant.oximeter.record import RECORD_NAME, read_record
from assistant.site.site import load_site
from tests.live.box import SITE, Box, wait_for
from tests.live.test_pedal import DeafEngine, ShortVoice
from tests.oximeter.sound_server import SoundServer

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("pulseaudio") is None, reason="needs PulseAudio"),
]
KILLS = 10
SEEDS = [int(seed) for seed in os.environ.get("SPOKEN_BRIEF_KILL_SEEDS", "1").split()]
CALM, CROSSED = 96, 93
"""Per cent; a fall that is no jump to be doubted."""
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
    """A case at hand whose weight is confirmed and whose allergies are asked for."""
    case = open_case(new_case(cases, site), load_site(site), MonotonicClock())
    conversation = Conversation(
        case.site,
        clock=case.clock,
        engine=DeafEngine(),
        voice=ShortVoice(),
        journal=case.journal,
    )
    conversation.pressed("start")
    while conversation.case.known.current != "allergies":
        item = conversation.case.current
        values = {"number": 82.0} if item.kind == "number" else {}
        said = Reading(item.id, "number" if values else "confirm", values)
        conversation._run(conversation._caller.heard(said))
        if values:
            conversation.pressed("confirm")
    conversation.close()
    folder = next(path for path in cases.iterdir() if path.is_dir())
    take_in_hand(cases, folder)
    return folder


class Killing:
    """Kills, and looks at what is left."""

    def __init__(self, box: Box, case: Path, seed: int) -> None:
        self.box, self.case = box, case
        self.random = random.Random(seed)
        self.brief = load_site(case / "site").brief

    def rows(self) -> tuple[Row, ...]:
        return read_case(self.case)[1]

    def wait_row(self, after: int, what: str, fits) -> int:
        """Wait for a row beyond the first `after` that fits; returns its place."""
        found: list[int] = []

        def there() -> bool:
            found[:] = [n for n, row in enumerate(self.rows()) if n >= after and fits(row)]
            return bool(found)

        wait_for(there, LONG_S, what)
        return found[0]

    def listener(self) -> None:
        """Kill the listener at some moment, perhaps while somebody speaks; see it go on."""
        time.sleep(self.random.uniform(0.0, 2.5))
        if self.random.random() < 0.6:
            self.box.say("say that again", wait=False)
            time.sleep(self.random.uniform(0.0, 2.5))
        seen = self.rows()
        self.box.kill()
        on_disk = self.rows()
        assert on_disk[: len(seen)] == seen, "what was on record before the kill is lost"
        before = Case.rebuilt(self.brief, on_disk)

        self.box.start("--no-watcher")
        place = self.wait_row(
            len(on_disk), "restarted", lambda row: row.data.get("event") == "restarted"
        )
        assert self.rows()[: len(on_disk)] == on_disk
        assert Case.rebuilt(self.brief, self.rows()).known.weight_in_doubt
        place = self.wait_row(
            place, "weight read back", lambda row: row.kind == "said" and "eight two" in row.text
        )
        self.confirm_the_weight(place)
        self.wait_row(
            place,
            "the open item asked again",
            lambda row: row.kind == "said" and row.item == before.known.current,
        )

    def confirm_the_weight(self, place: int) -> None:
        """Say yes to the read-back, again when asked to; whatever is said goes on record."""
        self.box.wait_spoken(self.rows()[place].text)
        for _ in range(4):
            before = len(self.rows())
            self.box.say("yes confirmed")
            heard = self.wait_row(before, "it on record", lambda row: row.who == "team")
            time.sleep(0.5)
            if any(row.data.get("event") == "fact-taken" for row in self.rows()[heard:]):
                return
            time.sleep(3.0)  # it asks to say it again
        raise AssertionError(f"the weight was not confirmed: {self.rows()[place:]}")

    def watcher(self) -> None:
        """Kill the watcher in calm; its successor calls the next crossing, once."""
        time.sleep(self.random.uniform(0.0, 1.5))
        self.box.kill_watcher()
        calls = self.calls()
        time.sleep(self.random.uniform(0.0, 1.0))
        self.box.start_watcher()
        beats = self.watched()
        wait_for(lambda: self.watched() > beats, LONG_S, "a saturation on the watcher's record")
        self.box.spo2_percent = CROSSED
        wait_for(lambda: len(self.calls()) > len(calls), LONG_S, "the call")
        time.sleep(1.0)
        assert self.calls() == [*calls, "Saturation ninety-three."]
        self.box.spo2_percent = CALM

    def calls(self) -> list[str]:
        rows = read_record(self.case / RECORD_NAME).rows
        return [row.text for row in rows if row.kind == "said"]

    def watched(self) -> int:
        rows = read_record(self.case / RECORD_NAME).rows
        return sum(row.text == "saturation" for row in rows)


@pytest.mark.parametrize("seed", SEEDS)
def test_ten_kills(seed, tmp_path):
    """Each row that was on disk stays, what is heard goes on record, and the open item is asked.

    The weight is confirmed again each time; and a watcher that was killed calls the next crossing
    once.
    """
    site = brisk_site(tmp_path)
    (tmp_path / "cases").mkdir()
    case = begun_case(tmp_path / "cases", site)
    server = SoundServer(tmp_path)
    box = Box(tmp_path, server, site=site)
    box.spo2_percent = CALM
    try:
        box.start_watcher()
        box.start("--no-watcher")
        killing = Killing(box, case, seed)
        place = killing.wait_row(
            0, "weight read back", lambda row: row.kind == "said" and "eight two, kilo" in row.text
        )
        killing.confirm_the_weight(place)
        whom = ["listener", "watcher"] * (KILLS // 2)
        killing.random.shuffle(whom)
        for one in whom:
            getattr(killing, one)()
    finally:
        box.close()
        server.close()
