"""A live case in real time, through a loop-back sound device and a pseudo-terminal."""

from pathlib import Path

import pytest

from assistant.journal.at_hand import case_at_hand
from assistant.oximeter.record import RECORD_NAME, read_record
from tests.live.box import Box, wait_for
from tests.oximeter.sound_server import SoundServer

pytestmark = [pytest.mark.slow, pytest.mark.needs("pulseaudio", "libasound2-plugins")]


@pytest.fixture(scope="module")
def box(tmp_path_factory):
    """A listener that has tested itself and waits for a case."""
    folder = tmp_path_factory.mktemp("box")
    server = SoundServer(folder)
    started = Box(folder, server)
    started.start()
    yield started
    started.close()
    server.close()


def calls(case: Path) -> list[str]:
    """What the watcher has called in a case."""
    rows = read_record(case / RECORD_NAME).rows
    return [row.text for row in rows if row.kind == "said"]


def test_a_live_case(box):
    """Opened by voice, asked, answered, killed, gone on with, called once, and ended by voice.

    One test, because each step needs the ones before it.
    """
    box.says("Say: open a new case.", within_s=60)
    log = box.log.read_text()
    assert "microphone" not in log, "the self-test hears its own loudspeaker in this room"
    assert "No saturation" not in log, "and the watcher has told it of a saturation"
    box.wait_spoken(log.strip().splitlines()[-1])
    assert case_at_hand(box.cases) is None, "its own voice opens no case"

    box.say("open a new case")
    wait_for(lambda: case_at_hand(box.cases) is not None, 10, "a case at hand")
    case = case_at_hand(box.cases)
    box.wait_said("A new case")

    box.say("begin the brief")
    box.wait_said("oxygen on at flush rate")
    box.say("we saw the mask held on")
    box.wait_said("nasal oxygen running")
    box.say("yes confirmed")
    box.wait_said("bag connected")
    box.say("yes confirmed")
    box.wait_said("patient weigh")
    box.say("eighty two kilos")
    box.wait_said("eight two")
    box.say("yes correct")
    box.wait_said("allergic")

    box.kill()
    box.spo2_percent = 92
    wait_for(lambda: calls(case) == ["Saturation ninety-three."], 15, "a call while nobody listens")
    box.spo2_percent = 98
    box.start()

    box.wait_said("I was restarted", within_s=60)
    assert case_at_hand(box.cases) == case
    box.wait_said("eight two", times=2)  # the weight has to be confirmed again
    box.say("yes correct")
    box.wait_said("allergic", times=2)
    box.say("yes confirmed")
    box.wait_said("Circulation")
    box.say("end the case")
    box.wait_said("end this case")
    box.say("yes confirmed")
    wait_for(lambda: case_at_hand(box.cases) is None, 15, "the case laid down")
    assert calls(case) == ["Saturation ninety-three."]
