"""The people of a rehearsal: what they say to what comes back to them."""

import pytest

from assistant.rehearsal.cast import Cast
from assistant.rehearsal.scenario import Person, Reply, Scenario
from assistant.speaking.mouth import Line
from assistant.speaking.voices import VoiceSettings


@pytest.mark.parametrize(
    ("read_back", "agrees"),
    [
        ("I heard eighty: eight zero, kilograms. Correct?", True),
        ("I heard eighteen: one eight, kilograms. Correct?", False),
    ],
)
def test_a_weight_in_kilos_is_read_back_in_kilograms(
    night_shift_scenario: Scenario, read_back: str, agrees: bool
) -> None:
    """Whoever said it knows it again, and another number not."""
    lead = Person(voice=VoiceSettings(engine="espeak", name="en-us"))
    reply = Reply(on="ask", item="weight", by="lead", say="eighty kilos")
    changed = {"people": {"lead": lead}, "replies": (reply,), "room_talk": ()}
    cast = Cast(night_shift_scenario.model_copy(update=changed))
    cast.hears(Line("Weight in kilograms?", "ask", "weight"), 1.0)
    cast.hears(Line(read_back, "read-back", "weight"), 5.0)
    for block in range(400):
        cast.pull(512, block * 0.032)

    assert cast.spoken[-1].reply.say == (lead.agrees if agrees else lead.disagrees)
