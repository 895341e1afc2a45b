"""Microphone, loudspeaker and oximeter are unplugged in the middle of a case, and put back."""

import time

import pytest

from assistant.journal.at_hand import case_at_hand
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME
from tests.live.begun import (
    LONG_S,
    CaseRecord,
    answer,
    begun_case,
    brisk_site,
    confirm_the_weight,
)
from tests.live.box import Box
from tests.oximeter.sound_server import SoundServer
from tests.waiting import wait_for

pytestmark = [
    pytest.mark.slow,
    pytest.mark.timeout(900),
    pytest.mark.needs("pulseaudio", "libasound2-plugins"),
]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("box")


@pytest.fixture(scope="module")
def servers(folder):
    """The microphone's and the loudspeaker's, each a device of its own."""
    both = []
    for name in ("microphone", "loudspeaker"):
        (folder / name).mkdir()
        both.append(SoundServer(folder / name))
    yield both
    for server in both:
        server.close()


@pytest.fixture(scope="module")
def live(folder, servers):
    """A listener in a case, with the weight confirmed; each test answers its open item."""
    microphone, loudspeaker = servers
    site = brisk_site(folder)
    (folder / "cases").mkdir()
    record = CaseRecord(begun_case(folder / "cases", site))
    box = Box(folder, loudspeaker, site=site, microphone=microphone)
    devices = ("--microphone", "box_microphone", "--loudspeaker", "box_loudspeaker")
    try:
        box.start_watcher()
        box.start("--no-watcher", *devices)
        confirm_the_weight(box, record, record.wait_said(0, "eight two, kilo"))
        wait_asked(box, record, 0)
        yield box, record
    finally:
        box.close()


def wait_asked(box: Box, record: CaseRecord, after: int) -> None:
    """Wait until the open item has been asked after that row, to its end."""
    (*_, item) = [row.item for row in record.rows() if row.data.get("event") == "asked"]
    asked = record.wait_row(
        after, "the open item", lambda row: row.item == item and row.meaning == "ask"
    )
    box.wait_spoken(record.rows()[asked].text)


def answer_open_item(box: Box, record: CaseRecord) -> None:
    """Name somebody where a name is asked for, else say yes, until that item is answered."""
    (*_, item) = [row.item for row in record.rows() if row.data.get("event") == "asked"]
    words = "the registrar" if item in ("first-attempt", "next-attempt") else "yes confirmed"
    answer(box, record, lambda row: row.data.get("event") == "answered", words)


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
    wait_asked(box, record, back)
    answer_open_item(box, record)


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
    wait_asked(box, record, back)
    answer_open_item(box, record)


def test_a_loudspeaker_that_goes_dead_without_an_error(live, servers):
    """It takes no sound for some seconds: noticed, on record, and the open question comes again."""
    (box, record), (_, loudspeaker) = live, servers
    before = len(record.rows())

    loudspeaker.sleep(asleep=True)
    record.wait_row(before, "sound lost", lambda row: "sound lost" in row.text)
    time.sleep(5.0)
    loudspeaker.sleep(asleep=False)
    back = record.wait_said(before, "I can hear again")
    wait_asked(box, record, back)
    answer_open_item(box, record)


def test_an_oximeter_that_is_unplugged_and_back(folder, live):
    """One call for the loss, the case goes on, and the next crossing is called."""
    box, record = live
    case = case_at_hand(folder / "cases")

    def watcher_said() -> list[str]:
        return [row.text for row in read_record(case / RECORD_NAME).rows if row.kind == "said"]

    box.unplug_oximeter()
    wait_for(watcher_said, LONG_S, "the call for the loss")
    time.sleep(6.0)
    assert watcher_said() == ["Oximeter not connected. Nobody is calling the saturation."]

    answer_open_item(box, record)

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
