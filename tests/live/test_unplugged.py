"""Microphone, loudspeaker and oximeter are unplugged in the middle of a case, and put back."""

import shutil
import time

import pytest

from assistant.oximeter.record import RECORD_NAME, read_record
from tests.live.begun import (
    LONG_S,
    CaseRecord,
    answer,
    begun_case,
    brisk_site,
    confirm_the_weight,
)
from tests.live.box import Box, wait_for
from tests.oximeter.sound_server import SoundServer

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("pulseaudio") is None, reason="needs PulseAudio"),
]


@pytest.fixture
def servers(tmp_path):
    """The microphone's and the loudspeaker's, each a device of its own."""
    both = []
    for name in ("microphone", "loudspeaker"):
        (tmp_path / name).mkdir()
        both.append(SoundServer(tmp_path / name))
    yield both
    for server in both:
        server.close()


@pytest.fixture
def live(tmp_path, servers):
    """A listener in a case, with the weight confirmed and the allergies asked for."""
    microphone, loudspeaker = servers
    site = brisk_site(tmp_path)
    (tmp_path / "cases").mkdir()
    record = CaseRecord(begun_case(tmp_path / "cases", site))
    box = Box(tmp_path, loudspeaker, site=site, microphone=microphone)
    devices = ("--microphone", "box_microphone", "--loudspeaker", "box_loudspeaker")
    try:
        box.start_watcher()
        box.start("--no-watcher", *devices)
        confirm_the_weight(box, record, record.wait_said(0, "eight two, kilo"))
        asked = record.wait_said(0, "allergic")
        box.wait_spoken(record.rows()[asked].text)
        yield box, record
    finally:
        box.close()


def texts(record: CaseRecord) -> list[str]:
    return [row.text for row in record.rows()]


def test_a_microphone_that_is_unplugged_and_back(live, servers):
    """Said aloud at once, on record, looked for again; then the open question, and its answer."""
    (box, record), (microphone, _) = live, servers
    before = len(record.rows())

    microphone.unplug()
    record.wait_said(before, "the microphone is gone")
    time.sleep(6.0)
    assert box.process.poll() is None
    assert sum("sound lost" in text for text in texts(record)) == 1
    assert sum("microphone is gone" in text for text in texts(record)) == 1

    microphone.plug_in()
    box.make_noise()
    back = record.wait_said(before, "I can hear again")
    asked = record.wait_said(back, "allergic")
    box.wait_spoken(record.rows()[asked].text)
    answer(box, record, lambda row: row.data.get("event") == "answered")


def test_a_loudspeaker_that_is_unplugged_and_back(live, servers):
    """On record; nothing is said into the void, and the open question comes when it is back."""
    (box, record), (_, loudspeaker) = live, servers
    before = len(record.rows())

    loudspeaker.unplug()
    lost = record.wait_row(before, "sound lost", lambda row: "sound lost" in row.text)
    time.sleep(8.0)
    assert box.process.poll() is None
    assert [row.text for row in record.rows()[lost + 1 :] if row.kind == "said"] == []

    loudspeaker.plug_in()
    back = record.wait_said(before, "I can hear again")
    asked = record.wait_said(back, "allergic")
    box.wait_spoken(record.rows()[asked].text)
    answer(box, record, lambda row: row.data.get("event") == "answered")


def test_an_oximeter_that_is_unplugged_and_back(tmp_path, live):
    """One call for the loss, the case goes on, and the next crossing is called."""
    box, record = live
    case = next(path for path in (tmp_path / "cases").iterdir() if path.name != "current")

    def watcher_said() -> list[str]:
        return [row.text for row in read_record(case / RECORD_NAME).rows if row.kind == "said"]

    box.unplug_oximeter()
    wait_for(watcher_said, LONG_S, "the call for the loss")
    time.sleep(6.0)
    assert watcher_said() == ["Oximeter not connected. Nobody is calling the saturation."]

    answer(box, record, lambda row: row.data.get("event") == "answered")

    box.spo2_percent = 96
    box.plug_in_oximeter()
    wait_for(
        lambda: any(
            row.text == "saturation restored" for row in read_record(case / RECORD_NAME).rows
        ),
        LONG_S,
        "the saturation",
    )
    box.spo2_percent = 93
    wait_for(lambda: len(watcher_said()) > 1, LONG_S, "the call")
    assert watcher_said()[1:] == ["Saturation ninety-three."]
