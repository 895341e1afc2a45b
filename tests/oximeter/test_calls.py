"""The calls that are ready: also where the voice cannot make a sentence."""

from collections.abc import Callable

import numpy as np
import pytest

from assistant.audio.attention_tone import attention_tone
from assistant.audio.sound import Samples
from assistant.errors import BadInput
from assistant.oximeter.calls import ReadyCalls, call_texts
from assistant.oximeter.crossing import Call, CallKind, CrossingSettings
from assistant.oximeter.settings import CallWords

CROSSING, WORDS = CrossingSettings(recovery_call=True), CallWords()


def voice(fails: Callable[[str], bool]) -> Callable[[str], Samples]:
    """One whose sound is as long as its text."""

    def render(text: str) -> Samples:
        if fails(text):
            raise BadInput(f"no sound for {text!r}.")
        return np.ones(len(text), dtype=np.int16)

    return render


def ready(fails: Callable[[str], bool]) -> ReadyCalls:
    return ReadyCalls(CROSSING, WORDS, voice(fails))


@pytest.mark.parametrize(
    ("kind", "level", "instead"),
    [
        (CallKind.FELL, 61, "Saturation sixty-two."),
        (CallKind.FELL_AGAIN, 61, "Saturation sixty-two."),
        (CallKind.STARTED_LOW, 61, "Saturation at or below sixty-one."),
        (CallKind.FELL, 69, "Saturation sixty-nine."),
    ],
)
def test_a_sentence_that_fails_is_replaced_by_the_next_that_is_true(
    kind: CallKind, level: int, instead: str
) -> None:
    """Whoever has reached sixty-one is below sixty-two; all other calls are as they were."""
    calls = ready(lambda text: text == "Saturation sixty-one.")
    call = calls.of(Call(kind, 0.0, level))

    assert call.text == instead
    assert len(call.samples) > len(attention_tone()) + len(instead)
    assert calls.missing == ("Saturation sixty-one.",)


def test_one_loss_stands_for_the_other() -> None:
    """Both say that nobody sees the saturation."""
    calls = ready(lambda text: text == WORDS.signal_lost)

    assert calls.of(Call(CallKind.SIGNAL_LOST, 0.0)).text == WORDS.feed_lost


def test_where_nothing_true_can_be_said_the_tone_is_heard_alone() -> None:
    """Nothing is said of a recovery but that it is one."""
    calls = ready(lambda text: text.startswith("Saturation above"))
    call = calls.of(Call(CallKind.RECOVERED, 0.0, 93))

    tone = attention_tone()
    assert np.array_equal(call.samples[: len(tone)], tone)
    assert not call.samples[len(tone) :].any()


def test_a_voice_that_makes_no_sentence_is_refused() -> None:
    """As one that is not installed."""
    with pytest.raises(BadInput, match="no sound for"):
        ready(lambda _: True)


def test_with_a_voice_that_works_nothing_is_missing() -> None:
    """Every sentence that can be called is ready, word for word."""
    calls = ready(lambda _: False)

    assert calls.missing == ()
    assert calls.of(Call(CallKind.STARTED_LOW, 0.0, 53)).text in call_texts(CROSSING, WORDS)
