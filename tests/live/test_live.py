"""A live case in real time, through a loop-back sound device and a pseudo-terminal."""

from pathlib import Path

import pytest

from assistant.journal.at_hand import case_at_hand
from assistant.journal.journal import read_case
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME
from tests.live.begun import LONG_S, brisk_site
from tests.live.box import Box
from tests.oximeter.sound_server import SoundServer
from tests.waiting import wait_for

pytestmark = [
    pytest.mark.slow,
    pytest.mark.timeout(900),
    pytest.mark.needs("pulseaudio", "libasound2-plugins"),
]

SAID = {
    *("begin the brief", "we saw the mask held on", "yes confirmed", "eighty two kilos"),
    *("yes correct", "nothing special", "end the case"),
}


@pytest.fixture(scope="module")
def box(tmp_path_factory):
    """A listener that has tested itself and waits for a case."""
    folder = tmp_path_factory.mktemp("box")
    server = SoundServer(folder)
    started = Box(folder, server, site=brisk_site(folder))
    started.start()
    yield started
    started.close()
    server.close()


def calls(case: Path) -> list[str]:
    """What the watcher has called in a case."""
    rows = read_record(case / RECORD_NAME).rows
    return [row.text for row in rows if row.kind == "said"]


def test_a_live_case(box):
    """Opened by voice, asked, answered, killed, resumed, called once, and ended by voice.

    One test, because each step needs the ones before it.
    """
    box.wait_ready(within_s=LONG_S)
    log = box.log.read_text()
    assert "microphone" not in log, "the self-test hears its own loudspeaker in this room"
    assert "No saturation" not in log, "and the watcher has told it of a saturation"
    assert case_at_hand(box.cases) is None, "its own voice opens no case"

    box.open_a_case()
    case = case_at_hand(box.cases)
    box.wait_said("New case")

    box.tell("begin the brief")
    box.wait_said("Flush oxygen")
    box.tell("we saw the mask held on")
    box.wait_said("Bag and peep valve")
    box.tell("yes confirmed")
    box.wait_said("Weight in kilograms")
    box.tell("eighty two kilos")
    box.wait_said("eight two")
    box.tell("yes correct")
    box.wait_said("Anything special")
    box.tell("nothing special")
    box.wait_said("Allergies told")

    box.kill()
    box.spo2_percent = 92
    wait_for(
        lambda: calls(case) == ["Saturation ninety-three."], LONG_S, "a call while nobody listens"
    )
    box.spo2_percent = 98
    box.start()

    box.wait_said("Restarted", within_s=LONG_S)
    assert case_at_hand(box.cases) == case
    box.wait_said("eight two", times=2)  # the weight has to be confirmed again
    box.tell("yes correct")
    box.wait_said("allergic to")  # in full, after the restart
    box.tell("yes confirmed")
    box.wait_said("First attempt: who")
    box.tell("end the case")
    box.wait_said("end this case")
    box.tell("yes confirmed")
    wait_for(lambda: case_at_hand(box.cases) is None, LONG_S, "the case laid down")
    assert calls(case) == ["Saturation ninety-three."]
    heard = [row.text for row in read_case(case)[1] if row.kind == "heard"]
    assert set(heard) == SAID, "nothing was heard that nobody said"
