"""A patient monitor beside it: neither its pulse tone nor its alarm is ever an answer."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from assistant.audio.sound import RATE_HZ, Samples
from assistant.site.site import Site, load_site
from tests.conversation.conftest import ROOT, Live
from tests.live.monitor_sounds import desaturation, high_priority_alarm, pulse_tone

MINUTE_S = 40.0
SOUNDS: dict[str, Callable[[], Samples]] = {
    "pulse 60": lambda: pulse_tone(MINUTE_S, 60, 100),
    "pulse 100": lambda: pulse_tone(MINUTE_S, 100, 94),
    "pulse 140": lambda: pulse_tone(MINUTE_S, 140, 82),
    "desaturation": lambda: desaturation(MINUTE_S),
    "alarm 262 Hz": lambda: high_priority_alarm(MINUTE_S, 262),
    "alarm 523 Hz": lambda: high_priority_alarm(MINUTE_S, 523),
    "alarm 880 Hz": lambda: high_priority_alarm(MINUTE_S, 880),
    "both": lambda: desaturation(MINUTE_S) + high_priority_alarm(MINUTE_S),
}


@pytest.fixture(scope="module")
def site() -> Site:
    """The example site with a yes-or-no item, then a number, which is what beeps might count."""
    whole = load_site(ROOT / "configs" / "tarn-hollow")
    items = {item.id: item for item in whole.brief.items()}
    section = whole.brief.sections[0].model_copy(
        update={"items": (items["bag-and-valve"], items["weight"])}
    )
    return replace(whole, brief=whole.brief.model_copy(update={"sections": (section,)}))


@pytest.mark.parametrize("name", SOUNDS)
def test_a_monitor_answers_nothing(name: str, begin: Callable[..., Live], phrase: Any) -> None:
    """During and between the questions, to a yes-or-no item and to a number: nothing is taken.

    In a minute of it, one sound at the most is asked back.
    """
    live = begin()
    sound = SOUNDS[name]()
    live.people_say(sound)
    live.until_said("opened")
    live.wait(2.0)
    live.people_say(np.zeros(0, np.int16))
    live.wait(1.0)
    live.answer(phrase("begin the brief"))
    for answer in ("yes confirmed", None):
        live.until_said("ask")
        item = live.conversation.case.known.current
        live.people_say(sound)
        live.wait(len(sound) / RATE_HZ + 2.0)
        assert live.conversation.case.known.current == item
        if answer is not None:
            live.answer(phrase(answer))

    heard = [row for row in live.rows if row.kind == "heard"]
    taken = [row.text for row in heard if row.data["verdict"] == "accept"]
    assert taken == ["begin the brief", "yes confirmed"]
    assert len(heard) - len(taken) <= 1
    assert live.conversation.case.known.weight_kg is None
