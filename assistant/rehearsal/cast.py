"""The people of a rehearsal: they listen to the assistant and answer out loud."""

from collections import Counter
from dataclasses import dataclass
from typing import Final

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples, scaled
from assistant.rehearsal.scenario import Reply, Scenario
from assistant.speaking.mouth import Line
from assistant.speaking.tags import Tag
from assistant.speaking.voices import open_voice

SPEECH_DBFS = -23.0
"""Level of a reply at 0 dB, over its voiced part."""
SOON_S = 0.6
MOST_REPEATS = 3
"""Somebody who is not understood says the same again, but not for ever."""
_SAY_AGAIN: Final[tuple[Tag, ...]] = ("again", "say-how")
"""Tags of lines that ask whoever spoke last to speak once more."""
_READ_BACK_AS = {"kilo": "kilogram", "kilos": "kilograms"}
"""What people say for short, and the assistant in full."""
_ASKS_BACK: Final[tuple[Tag, ...]] = ("read-back", "yes", "doubt")
"""Tags of lines that ask whoever spoke last whether that was meant."""


@dataclass(frozen=True, slots=True)
class SpokenReply:
    """One reply as it was said."""

    reply: Reply
    from_s: float
    to_s: float
    room_talk: bool


class Cast:
    """Everybody in the room; `pull` gives their sound, block by block."""

    def __init__(self, scenario: Scenario) -> None:
        self._scenario = scenario
        self._voices = {name: open_voice(person.voice) for name, person in scenario.people.items()}
        self._replies = list(scenario.replies)
        self._talk = list(scenario.room_talk)
        self._last: dict[tuple[str, str | None], Reply] = {}
        self._last_reply: Reply | None = None
        self._repeats = 0
        self._times: Counter[str] = Counter()
        self._spoke_over: tuple[str, str | None] | None = None
        self._due: list[tuple[float, Reply, bool]] = []
        self._sounding: list[tuple[int, Samples]] = []
        self.spoken: list[SpokenReply] = []

    @property
    def unused(self) -> list[Reply]:
        """Replies that nothing has called for."""
        return list(self._replies)

    @property
    def about_to_speak(self) -> bool:
        """Whether somebody speaks, or will without being asked again."""
        return bool(self._due or self._sounding)

    def hears_begin(self, tag: str, item: str | None, ends_s: float) -> None:
        """The assistant begins a line that will end then: somebody may speak over it."""
        fresh = next(
            (one for one in self._replies if one.before_end_s and self._is_about(one, tag, item)),
            None,
        )
        if fresh is not None and fresh.before_end_s is not None:
            self._replies.remove(fresh)
            self._last[tag, item] = self._last_reply = fresh
            self._repeats = 0
            self._spoke_over = tag, item
            self._due.append((ends_s - fresh.before_end_s, fresh, False))

    def hears(self, line: Line, at_s: float) -> None:
        """The assistant has just said a line to its end."""
        if not self.hears_tag(line.tag, line.item, at_s) and line.tag in _ASKS_BACK:
            self._answer_read_back(line, at_s)

    def hears_tag(self, tag: str, item: str | None, at_s: float) -> bool:
        """The same for a call of the watcher; returns whether anybody will answer."""
        self._times[tag] += 1
        if self._spoke_over == (tag, item):
            self._spoke_over = None
            return True
        for talk in [one for one in self._talk if self._answers(one, tag, item)][:1]:
            self._talk.remove(talk)
            self._due.append((at_s + talk.after_s, talk, True))
        fresh = next((one for one in self._replies if self._answers(one, tag, item)), None)
        if fresh is not None:
            self._replies.remove(fresh)
            self._repeats = 0
            self._last[tag, item] = self._last_reply = fresh
            self._due.append((at_s + fresh.after_s, fresh, False))
            return True
        again = self._last_reply if tag in _SAY_AGAIN else self._last.get((tag, item))
        if again is not None and self._repeats < MOST_REPEATS:
            self._repeats += 1
            self._due.append((at_s + again.after_s, again, False))
            return True
        return False

    def _answer_read_back(self, line: Line, at_s: float) -> None:
        """What somebody does who hears the own words, or others, come back."""
        if self._last_reply is not None:
            person = self._scenario.people[self._last_reply.by]
            # Read back in the site's own words: "we marked the neck" as "neck marked".
            said = [_READ_BACK_AS.get(word, word) for word in self._last_reply.say.split()]
            words = [word for word in said if len(word) > 2] or said
            found = sum(word in line.text.lower() for word in words)
            # A doubtful yes is read back by the name of its item, a vital word in words of its own.
            mine = found > len(words) / 2 or line.tag == "doubt"
            mine = mine or (line.tag == "yes" and line.item == self._last_reply.item)
            say = person.agrees if mine else person.disagrees
            answer = self._last_reply.model_copy(update={"on": line.tag, "say": say})
            self._due.append((at_s + SOON_S, answer, False))

    def pull(self, samples: int, at_s: float) -> Samples:
        """The sound of everybody during the block that begins at `at_s`, shape (samples,)."""
        for due in [one for one in self._due if one[0] < at_s + samples / RATE_HZ]:
            self._due.remove(due)
            self._speak(due[1], at_s, room_talk=due[2])
        block = np.zeros(samples, dtype=np.float64)
        still: list[tuple[int, Samples]] = []
        for position, sound in self._sounding:
            piece = sound[position : position + samples]
            block[: len(piece)] += piece
            if position + samples < len(sound):
                still.append((position + samples, sound))
        self._sounding = still
        return np.asarray(np.clip(block, -32768, 32767), dtype=np.int16)

    def _answers(self, reply: Reply, tag: str, item: str | None) -> bool:
        after = reply.before_end_s is None and self._times[tag] >= reply.nth
        return after and self._is_about(reply, tag, item)

    @staticmethod
    def _is_about(reply: Reply, tag: str, item: str | None) -> bool:
        return reply.on == tag and reply.item in (None, item)

    def _speak(self, reply: Reply, at_s: float, *, room_talk: bool) -> None:
        person = self._scenario.people[reply.by]
        sound = _levelled(self._voices[reply.by].render(reply.say), SPEECH_DBFS + person.level_db)
        self._sounding.append((0, sound))
        self.spoken.append(SpokenReply(reply, at_s, at_s + len(sound) / RATE_HZ, room_talk))


def _levelled(sound: Samples, dbfs: float) -> Samples:
    """Bring the voiced part of a sound to a level, so that signal-to-noise ratios are true."""
    wave = sound.astype(np.float64)
    voiced = wave[np.abs(wave) > 0.05 * np.abs(wave).max(initial=1.0)]
    rms = float(np.sqrt(np.mean(voiced**2))) if len(voiced) else 1.0
    return scaled(sound, dbfs - 20 * np.log10(rms / 32768))
