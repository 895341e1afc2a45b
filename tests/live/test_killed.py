"""kill -9 of the listener or the watcher at random moments: nothing is lost, the case goes on.

`SPOKEN_BRIEF_KILL_SEEDS="1 2 3"` runs it with more seeds than the one.
"""

import os
import random
import time
from pathlib import Path

import pytest

from assistant.brief.case import Case
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME
from assistant.site.site import load_site
from tests.live.begun import LONG_S, CaseRecord, begun_case, brisk_site, confirm_the_weight
from tests.live.box import Box
from tests.oximeter.sound_server import SoundServer
from tests.waiting import wait_for

pytestmark = [
    pytest.mark.slow,
    pytest.mark.timeout(900),
    pytest.mark.needs("pulseaudio", "libasound2-plugins"),
]
KILLS = 10
SEEDS = [int(seed) for seed in os.environ.get("SPOKEN_BRIEF_KILL_SEEDS", "1").split()]
CALM, CROSSED = 96, 93
"""Per cent; a fall that is no jump to be doubted."""


class Killing:
    """Kills, and looks at what is left."""

    def __init__(self, box: Box, case: Path, seed: int) -> None:
        self.box, self.case = box, case
        self.record = CaseRecord(case)
        self.random = random.Random(seed)
        self.brief = load_site(case / "site").brief

    def listener(self) -> None:
        """Kill the listener at some moment, perhaps while somebody speaks; see it go on."""
        time.sleep(self.random.uniform(0.0, 2.5))
        if self.random.random() < 0.6:
            self.box.say("say that again", wait=False)
            time.sleep(self.random.uniform(0.0, 2.5))
        seen = self.record.rows()
        self.box.kill()
        on_disk = self.record.rows()
        assert on_disk[: len(seen)] == seen, "what was on record before the kill is lost"
        before = Case.rebuilt(self.brief, on_disk)

        self.box.start("--no-watcher")
        place = self.record.wait_row(
            len(on_disk), "restarted", lambda row: row.data.get("event") == "restarted"
        )
        assert self.record.rows()[: len(on_disk)] == on_disk
        assert Case.rebuilt(self.brief, self.record.rows()).known.weight_in_doubt
        place = self.record.wait_row(
            place, "weight read back", lambda row: row.kind == "said" and "eight two" in row.text
        )
        confirm_the_weight(self.box, self.record, place)
        self.record.wait_row(
            place,
            "the open item asked again",
            lambda row: row.kind == "said" and row.item == before.known.current,
        )

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
        place = killing.record.wait_row(
            0, "weight read back", lambda row: row.kind == "said" and "eight two, kilo" in row.text
        )
        confirm_the_weight(box, killing.record, place)
        whom = ["listener", "watcher"] * (KILLS // 2)
        killing.random.shuffle(whom)
        for one in whom:
            getattr(killing, one)()
    finally:
        box.close()
        server.close()
