"""The calls, rendered beforehand: when one is due nothing is left to compute."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from assistant.audio.attention_tone import attention_tone
from assistant.audio.sound import Samples, silence
from assistant.oximeter.crossing import Call, CallKind, CrossingSettings
from assistant.oximeter.settings import CallWords

AFTER_TONE_S = 0.1
LOSSES = (CallKind.SIGNAL_LOST, CallKind.FEED_LOST)


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
        """A sentence that cannot be rendered is replaced by the nearest that is true as well, or
        by the tone alone. Raises what `render` raises when none of them can be.
        """
        texts = call_texts(crossing, words)
        rendered, faults = _rendered(texts, render)
        if not rendered:
            raise faults[texts[0]]
        self.missing = tuple(faults)
        """The sentences that could not be rendered."""
        tone = np.concatenate([attention_tone(), silence(AFTER_TONE_S)])
        ready = {text: ReadyCall(text, np.concatenate([tone, rendered[text]])) for text in rendered}
        self._ready: dict[tuple[CallKind, int | None], ReadyCall] = {}
        for kind, level in _calls(crossing):
            near = (ready[text] for text in _near(kind, level, crossing, words) if text in ready)
            self._ready[kind, level] = next(near, ReadyCall(words.say(kind, level), tone))

    def of(self, call: Call) -> ReadyCall:
        """The sound of this call."""
        return self._ready[call.kind, call.level_percent]


def call_texts(crossing: CrossingSettings, words: CallWords) -> tuple[str, ...]:
    """Every sentence that can be called, each once: two kinds of fall are said alike."""
    return tuple(dict.fromkeys(words.say(kind, level) for kind, level in _calls(crossing)))


def _calls(crossing: CrossingSettings) -> Iterator[tuple[CallKind, int | None]]:
    for kind in CallKind:
        for level in _levels(kind, crossing):
            yield kind, level


def _levels(kind: CallKind, crossing: CrossingSettings) -> tuple[int | None, ...]:
    """The levels that one kind of call can be about."""
    if kind in LOSSES:
        return (None,)
    if kind is CallKind.RECOVERED:
        return (crossing.threshold_percent,) if crossing.recovery_call else ()
    if kind is CallKind.FELL_AGAIN:
        return tuple(range(crossing.lowest_level_percent, crossing.threshold_percent + 1))
    return crossing.levels_percent()


def _near(
    kind: CallKind, level: int | None, crossing: CrossingSettings, words: CallWords
) -> Iterator[str]:
    """The call's own sentence, then those that are true too: of a fall those of the levels above
    it, of one loss that of the other."""
    yield words.say(kind, level)
    if level is None:
        yield from (words.say(loss, None) for loss in LOSSES)
    elif kind is not CallKind.RECOVERED:
        for higher in range(level, crossing.threshold_percent + 1):
            yield words.say(kind, higher)
            yield words.say(CallKind.FELL, higher)


def _rendered(
    texts: tuple[str, ...], render: Callable[[str], Samples]
) -> tuple[dict[str, Samples], dict[str, Exception]]:
    """The sounds of those that can be rendered, and why the others cannot."""
    sounds: dict[str, Samples] = {}
    faults: dict[str, Exception] = {}
    for text in texts:
        try:
            sounds[text] = render(text)
        except Exception as fault:  # noqa: BLE001 - whatever a synthesiser's runtime may raise
            faults[text] = fault
    return sounds, faults
