"""A case in text: what is typed is taken as heard, what is said can be read; there is no sound.

The conversation with its gate and patience, the caller, the case and the journal are the real
ones, and the clock goes on block by block. Microphone, end-pointer, recogniser, voice and watcher
are not there: hearing is not exercised.
"""

from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from assistant.audio.sound import BLOCK_S, silence
from assistant.brief.case import Case
from assistant.clock import SoundClock
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts, ResumedCase
from assistant.conversation.watchkeeper import Watchkeeper
from assistant.journal.journal import Journal, read_case
from assistant.journal.rows import TYPED, Row
from assistant.oximeter.crossing import CallKind
from assistant.oximeter.messages import Calling, Watching
from assistant.oximeter.record import RECORD_NAME, WatcherRecord, row_now
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.typed import WORD_S, SilentVoice, TypedEar, TypedPhrases, duration_s
from assistant.site.site import Site
from assistant.speaking.mouth import Line

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
        show: Callable[[Row | Calling], None] = lambda _: None,
    ) -> None:
        """A new case in a folder that holds none; without one, in memory until `close`.

        `phrases` may be built once and shared by many cases of a site. `word_s` is how long each
        word lasts, said and heard: 0 for tests that only look at what is decided. `show` is told
        of every row of the record and every call, once it is on disk.
        """
        self.site = site
        self.rows: list[Row] = []
        """The record so far."""
        self.lines: list[Line] = []
        """What was said to its end, in order."""
        self._phrases = phrases or TypedPhrases(Phrasebook(site))
        self._word_s = word_s
        self._show = show
        self._clock = SoundClock()
        self._blocks = 0
        self._said_at = 0
        self._beat_s = 0.0
        self._spo2_percent: int | None = None
        self._in_memory: TemporaryDirectory[str] | None = None
        if folder is None:
            self._in_memory = _folder_in_memory()
            folder = Path(self._in_memory.name)
        self.folder = folder
        self._calls = WatcherRecord(self.folder / RECORD_NAME)
        journal = Journal(self.folder, self._clock, site.brief.name)
        self._told(journal.append("clock", "event", TYPED))
        self._converse(journal, None)

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
        """The row of the words said last, of kind heard or ignored; None when they were lost."""
        kinds = ("heard", "ignored")
        return next((row for row in self.rows[self._said_at :] if row.kind in kinds), None)

    @property
    def now_s(self) -> float:
        """Since the case was opened, in s."""
        return self._blocks * BLOCK_S

    def hears(self, words: str, *, sure: bool = True) -> list[Line]:
        """Somebody says these words; return what is said to them.

        Not `sure`: they are taken for that, but with the verdict ASK. What may not be said now
        goes on record as ignored.
        """
        before, self._said_at = len(self.lines), len(self.rows)
        self._ear.say(words, self.now_s, sure=sure)
        while self._ear.busy:
            self._step()
        self._until_it_waits()
        return self.lines[before:]

    def waits(self, seconds: float) -> list[Line]:
        """Nobody says anything for that long; return what was said meanwhile to its end."""
        before, until_s = len(self.lines), self.now_s + seconds
        while self.now_s < until_s:
            self._step()
        self._until_it_waits()
        return self.lines[before:]

    def called(self, percent: int) -> list[Line]:
        """The watcher calls that saturation, and sees it from now on; return what is said then."""
        before, now_s = len(self.lines), self.now_s
        text = self.site.oximeter.words.say(CallKind.FELL, percent)
        ends_s = now_s + TONE_S + duration_s(text, self._word_s)
        calling = Calling(CallKind.FELL.value, text, percent, percent, now_s, ends_s)
        self._spo2_percent = percent
        self._watchkeeper.take(calling)
        self._calls.add(row_now(now_s, self._clock.name, "said", text, asdict(calling)))
        self._show(calling)
        self._until_it_waits()
        return self.lines[before:]

    def sees(self, percent: int) -> None:
        """The watcher sees that saturation from now on, and calls nothing."""
        self._spo2_percent = percent

    def restarts(self, *, rebooted: bool = False, away_s: float | None = None) -> list[Line]:
        """The program dies and goes on with the case; return what it says then.

        With `rebooted` as after a new start of the whole machine. Nobody knows then for how long
        it was off, unless `away_s` says so; a program alone was away for a moment.
        """
        before = len(self.lines)
        self.conversation.close()
        past = read_case(self.folder)[1]
        away_s = 0.0 if away_s is None and not rebooted else away_s
        resumed = ResumedCase(past, rebooted, away_s)
        self._converse(Journal(self.folder, self._clock, None), resumed)
        return self.lines[before:]

    def may_be_said(self) -> dict[str, tuple[str, ...]]:
        """What is listened for now: by each meaning its phrases, with slots in braces."""
        found: dict[str, list[str]] = {}
        for one in self._phrases.may_be_said(self.case):
            found.setdefault(one.meaning, []).append(one.words)
        return {meaning: tuple(dict.fromkeys(words)) for meaning, words in found.items()}

    def any_words(self, random: Random) -> str:
        """Something that may be said now, chosen and filled at random; "" if nothing may."""
        return self._phrases.any_words(self.case, random)

    def close(self) -> None:
        """End the record; one in memory is gone then."""
        self.conversation.close()
        self._calls.close()
        if self._in_memory is not None:
            self._in_memory.cleanup()

    def _converse(self, journal: Journal, resumed: ResumedCase | None) -> None:
        """Begin, or go on, and let it say what it has to say."""
        self._ear = TypedEar(self._phrases, self._word_s)
        self.conversation = Conversation(
            self.site,
            Parts(self._clock, self._ear, SilentVoice(self._word_s), journal),
            resumed=resumed,
            phrasebook=self._phrases.phrasebook,
            on_row=self._told,
            on_said=self.lines.append,
        )
        self._watchkeeper = Watchkeeper(self.conversation, self._clock)
        self._until_it_waits()

    def _until_it_waits(self) -> None:
        """Let it say what it has to say, and the watcher call, until somebody would be heard."""
        until_s = self.now_s + LONGEST_S
        while not self.conversation.awaits(self.now_s) and self.now_s < until_s:
            self._step()

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
        self._show(row)


def _folder_in_memory() -> "TemporaryDirectory[str]":
    """A folder whose files reach no disk, where this machine has one: a journal waits for disks."""
    return TemporaryDirectory(dir=_SHARED_MEMORY if _SHARED_MEMORY.is_dir() else None)
