"""What goes wrong with the sound while it listens: noticed, and told once each."""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from assistant.audio.line_check import LineCheck, LineFault
from assistant.audio.sound import BLOCK_S, Samples
from assistant.clock import Clock
from assistant.live.soundcard import SoundCard
from assistant.speaking.says import LiveSays

LOOK_EVERY_S = 1.0
BRIEF_S = 1.0
"""A microphone that is back within this was not unplugged: nobody is told that it is gone."""
KEPT_S = 10.0
"""Longer than any utterance is."""
DEAD_AFTER_S = 10.0
"""So long a line gives one value only before it is called dead. Longer than the line check needs:
a device's own noise gate does the same in a quiet room."""
LONGEST_DEAD_AFTER_S = 120.0
LASTING_S = 10.0
"""A hum, a clipped or a faint voice has to last so long before anybody is told."""
NOT_AGAIN_S = 1800.0
"""A hum and the like that comes and goes is told once in this time: it disturbs, too …"""
MISSED_NOT_AGAIN_S = 300.0
"""… and sound that was missed, which somebody may have to say again, once in this."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing to tell."""

    text: str
    """For the record."""
    say: str | None = None
    buzz: bool = False
    """Sound the buzzer: the loudspeaker may be gone."""


class Troubles:
    """Watches the sound card and the microphone's line."""

    def __init__(self, card: SoundCard, says: LiveSays, clock: Clock) -> None:
        self._card = card
        self._says = says
        self._clock = clock
        self._line = LineCheck()
        self._kept: deque[tuple[float, Samples]] = deque(maxlen=round(KEPT_S / BLOCK_S))
        self._fed = False
        self._looked_s = clock.now_s()
        self._since_s: dict[LineFault, float] = {}
        self._told_s: dict[str, float] = {}
        self._dead_after_s = DEAD_AFTER_S
        self._card_fault = ""
        self._deaf_at_s = float("inf")
        self._overruns = card.overruns
        self.dead = False
        """The microphone is there, and gives no sound: told from a quiet room by its noise."""

    def hear(self, block: Samples, at_s: float) -> None:
        """Take a block of the microphone in which nobody of ours speaks."""
        self._line.feed(block)
        self._kept.append((at_s, block))
        self._fed = True

    def voice(self, started_s: float, ended_s: float) -> None:
        """Somebody was heard between these moments, and taken to speak to the assistant."""
        spoken = [block for at_s, block in self._kept if started_s <= at_s < ended_s]
        if spoken:
            self._line.voice(np.concatenate(spoken))

    def news(self) -> Iterator[Trouble]:
        """What has changed; call it once a block."""
        yield from self._of_the_card()
        now_s = self._clock.now_s()
        if now_s - self._looked_s >= LOOK_EVERY_S:
            self._looked_s = now_s
            yield from self._of_lost_sound(now_s)
            if self._fed and self._card.open:
                self._fed = False
                yield from self._of_the_line(now_s)

    def _of_the_card(self) -> Iterator[Trouble]:
        card, now_s = self._card, self._clock.now_s()
        if card.fault and not self._card_fault:
            self._line = LineCheck()
            self._since_s.clear()
            self.dead = False
            self._dead_after_s = DEAD_AFTER_S
            self._deaf_at_s = now_s + BRIEF_S
            yield Trouble(f"sound lost: {card.fault}", buzz=True)
        elif self._card_fault and not card.fault:
            yield Trouble("sound is back", self._says.sound_back)
        elif card.fault and card.speaks and now_s >= self._deaf_at_s:
            self._deaf_at_s = float("inf")
            yield Trouble("the loudspeaker is left", self._says.microphone_lost)
        self._card_fault = card.fault

    def _of_lost_sound(self, now_s: float) -> Iterator[Trouble]:
        more, self._overruns = self._card.overruns - self._overruns, self._card.overruns
        if more:
            say = (
                self._says.sound_missed
                if self._is_news("overrun", now_s, MISSED_NOT_AGAIN_S)
                else None
            )
            yield Trouble(f"sound missed: the microphone's buffer ran over {more} times", say)

    def _of_the_line(self, now_s: float) -> Iterator[Trouble]:
        faults = self._line.faults
        self._since_s = {fault: self._since_s.get(fault, now_s) for fault in faults}
        dead_s = now_s - self._since_s.get(LineFault.DEAD, now_s)
        if not self.dead and dead_s >= self._dead_after_s:
            self.dead = True
            yield Trouble(LineFault.DEAD.value, self._says.microphone_silent, buzz=True)
        elif self.dead and LineFault.DEAD not in faults:
            self.dead = False
            # It came back by itself: perhaps a noise gate that a quiet room had shut.
            self._dead_after_s = min(2 * self._dead_after_s, LONGEST_DEAD_AFTER_S)
            yield Trouble("the microphone gives sound again", self._says.sound_back)
        words = {
            LineFault.CLIPPED: self._says.microphone_clipped,
            LineFault.HUM: self._says.line_hums,
            LineFault.FAINT: self._says.voice_faint,
        }
        for fault, say in words.items():
            lasted_s = now_s - self._since_s.get(fault, now_s)
            if lasted_s >= LASTING_S and self._is_news(fault.name, now_s, NOT_AGAIN_S):
                yield Trouble(fault.value, say)

    def _is_news(self, what: str, now_s: float, again_after_s: float) -> bool:
        if now_s - self._told_s.get(what, float("-inf")) < again_after_s:
            return False
        self._told_s[what] = now_s
        return True
