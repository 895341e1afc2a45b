"""A case in text: what is typed is taken as heard, what is said can be read; there is no sound.

The conversation, its gate and patience, the caller, the case and the journal are the real ones,
and a clock goes on block by block. Microphone, end-pointer, recogniser and voice are not there:
hearing is not exercised.
"""

from collections.abc import Callable
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from assistant.audio.sound import BLOCK_S, silence
from assistant.brief.case import Case
from assistant.clock import SoundClock
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts
from assistant.conversation.watchkeeper import Watchkeeper
from assistant.journal.journal import Journal
from assistant.journal.rows import Row
from assistant.oximeter.crossing import CallKind
from assistant.oximeter.messages import Calling, Watching
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.typed import (
    WORD_S,
    SilentVoice,
    TypedEar,
    TypedPhrases,
    duration_s,
)
from assistant.site.site import Site
from assistant.speaking.mouth import Line

MARK = "a case in text: hearing and voice were not exercised"
"""On record first of all."""
BEAT_S = 1.0
"""The watcher tells once a second what it sees."""
TONE_S = 0.7
"""The attention tone before a call, and the pause after it."""
LONGEST_S = 300.0
"""Nobody waits longer for it to fall silent."""
_BLOCK = silence(BLOCK_S)
_SHARED_MEMORY = Path("/dev/shm")  # noqa: S108 - a folder of a name of its own is made in it


class TextCase:
    """One case; time passes only while something is said, and while somebody waits."""

    def __init__(
        self,
        site: Site,
        folder: Path | None = None,
        *,
        phrases: TypedPhrases | None = None,
        word_s: float = WORD_S,
        on_row: Callable[[Row], None] = lambda _row: None,
    ) -> None:
        """A new case in a folder that holds none; without one, in memory until `close`.

        `phrases` may be built once and shared by many cases of a site. `word_s` is how long each
        word lasts, said and heard: 0 for tests that only look at what is decided. `on_row` is told
        of each row once it is on disk.
        """
        self.site = site
        self.rows: list[Row] = []
        """The record so far."""
        self.lines: list[Line] = []
        """What was said to its end, in order."""
        self._phrases = phrases or TypedPhrases(Phrasebook(site))
        self._word_s = word_s
        self._on_row = on_row
        self._clock = SoundClock()
        self._blocks = 0
        self._beat_s = 0.0
        self._spo2_percent: int | None = None
        self._call_until_s = 0.0
        self._ear = TypedEar(self._phrases, word_s)
        self._in_memory = _folder_in_memory() if folder is None else None
        self.folder = folder or Path(str(self._in_memory and self._in_memory.name))
        journal = Journal(self.folder, self._clock, site.brief.name)
        self._told(journal.append("clock", "event", MARK))
        self.conversation = Conversation(
            site,
            Parts(self._clock, self._ear, SilentVoice(word_s), journal),
            phrasebook=self._phrases.phrasebook,
            on_row=self._told,
            on_said=self.lines.append,
        )
        self._watchkeeper = Watchkeeper(self.conversation, self._clock)
        self._until_quiet()

    @property
    def case(self) -> Case:
        """The case as it stands."""
        return self.conversation.case

    @property
    def said(self) -> list[str]:
        """The texts of what was said to its end, in order."""
        return [line.text for line in self.lines]

    @property
    def heard(self) -> Row | None:
        """The row of what was last taken in, of kind `heard` or `ignored`; None when none was."""
        return next((row for row in reversed(self.rows) if row.who == "team"), None)

    @property
    def now_s(self) -> float:
        """Since the case was opened, in s."""
        return self._blocks * BLOCK_S

    def hears(self, words: str, *, sure: bool = True) -> list[Line]:
        """Somebody says these words once it is silent; return what is said to them.

        Not `sure`: they are taken for that with the verdict ASK. What may not be said now goes on
        record as ignored.
        """
        before = len(self.lines)
        self._ear.say(words, self.now_s, sure=sure)
        while self._ear.busy:
            self._step()
        self._until_quiet()
        return self.lines[before:]

    def waits(self, seconds: float) -> list[Line]:
        """Nobody says anything for that long; return what is said meanwhile."""
        before, until_s = len(self.lines), self.now_s + seconds
        while self.now_s < until_s:
            self._step()
        return self.lines[before:]

    def called(self, percent: int) -> list[Line]:
        """The watcher calls that saturation; return what is said after the call."""
        before = len(self.lines)
        text = self.site.oximeter.words.say(CallKind.FELL, percent)
        until_s = self.now_s + TONE_S + duration_s(text, self._word_s)
        self._spo2_percent = percent
        self._call_until_s = until_s
        self._watchkeeper.take(
            Calling(CallKind.FELL.value, text, percent, percent, self.now_s, until_s)
        )
        self._until_quiet()
        return self.lines[before:]

    def may_be_said(self) -> tuple[str, ...]:
        """What is listened for now, a slot in braces."""
        return tuple(dict.fromkeys(one.words for one in self._phrases.may_be_said(self.case)))

    def any_words(self, random: Random) -> str:
        """Something that may be said now, chosen and filled at random; "" if nothing may."""
        return self._phrases.any_words(self.case, random)

    def close(self) -> None:
        """End the record."""
        self.conversation.close()
        if self._in_memory is not None:
            self._in_memory.cleanup()

    def _until_quiet(self) -> None:
        """Let it say what it has to say, and the call end, until the microphone is open again."""
        until_s = self.now_s + LONGEST_S
        tail = round(self.site.wording.timing.tail_s / BLOCK_S) + 2
        quiet = 0
        while quiet < tail and self.now_s < until_s:
            self._step()
            busy = self.conversation.speaking or self.now_s < self._call_until_s
            quiet = 0 if busy else quiet + 1

    def _step(self) -> None:
        at_s = self.now_s
        self._clock.move_to(at_s)
        if at_s >= self._beat_s:
            self._beat_s = at_s + BEAT_S
            self._watchkeeper.take(Watching(self._spo2_percent, at_s))
        self.conversation.step(_BLOCK, at_s)
        self._blocks += 1

    def _told(self, row: Row) -> None:
        self.rows.append(row)
        self._on_row(row)


def _folder_in_memory() -> "TemporaryDirectory[str]":
    """A folder whose files reach no disk, where this machine has one: a journal waits for disks."""
    return TemporaryDirectory(dir=_SHARED_MEMORY if _SHARED_MEMORY.is_dir() else None)
