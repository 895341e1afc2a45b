"""The calls, rendered beforehand: when one is due nothing is left to compute."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from assistant.audio.attention_tone import attention_tone
from assistant.audio.sound import Samples, silence
from assistant.oximeter.crossing import Call, CallKind, CrossingSettings
from assistant.oximeter.settings import CallWords

AFTER_TONE_S = 0.1


@dataclass(frozen=True, slots=True)
class ReadyCall:
    """One call as it will be heard: the tone, then the words."""

    text: str
    samples: Samples


class ReadyCalls:
    """Every call that the site's settings can make."""

    def __init__(
        self, crossing: CrossingSettings, words: CallWords, render: Callable[[str], Samples]
    ) -> None:
        self._ready: dict[tuple[CallKind, int | None], ReadyCall] = {}
        tone = np.concatenate([attention_tone(), silence(AFTER_TONE_S)])
        spoken: dict[str, ReadyCall] = {}
        for kind in CallKind:
            for level in _levels(kind, crossing):
                text = words.say(kind, level)
                if text not in spoken:  # two kinds of fall are said alike
                    spoken[text] = ReadyCall(text, np.concatenate([tone, render(text)]))
                self._ready[kind, level] = spoken[text]

    def of(self, call: Call) -> ReadyCall:
        """The sound of this call."""
        return self._ready[call.kind, call.level_percent]


def _levels(kind: CallKind, crossing: CrossingSettings) -> tuple[int | None, ...]:
    """The levels that one kind of call can be about."""
    if kind in (CallKind.SIGNAL_LOST, CallKind.FEED_LOST):
        return (None,)
    if kind is CallKind.RECOVERED:
        return (crossing.threshold_percent,) if crossing.recovery_call else ()
    if kind is CallKind.FELL_AGAIN:
        return tuple(range(crossing.lowest_level_percent, crossing.threshold_percent + 1))
    return crossing.levels_percent()
