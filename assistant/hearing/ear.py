"""The ear: the stream of the microphone in, utterances read against the grammar out."""

import math
from collections import deque
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

import numpy as np

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, Samples, silence
from assistant.grammar.grammar import Danger, Grammar
from assistant.grammar.readings import NOT_FOR_ME, Engine, Heard, Reading, Verdict
from assistant.grammar.word_tree import WordTree
from assistant.hearing.endpointing import Endpointer, Utterance
from assistant.hearing.steady_tone import is_steady_tone

BEGINNING_LOST = "its beginning was lost"
END_LOST = "its end may be lost"
SPOKEN_OVER = "spoken over"
"""Why something counts for no more than ASK: the assistant or the watcher began to speak."""
ENDED_S = 0.45
"""Who has been silent for so long when the assistant or the watcher begins was not spoken over, but
may not have come to the end of a number."""
SOMEBODY_S = 0.3
"""So much voice before the assistant spoke was somebody talking, and goes on record."""
_QUIET_S = 1.5
"""Silence around a recording, as a live room would have it."""
_RECOGNISER = ThreadPoolExecutor(max_workers=1, thread_name_prefix="recogniser")
"""Recognisers take in what may be said, and read, while sound goes on; one thing after the other,
so that what comes of it does not depend on how busy the machine is."""
_A_TONE = "a steady tone"
_NOT_READ = "the recogniser failed"
_NOT_TAKEN_IN = "the recogniser could not take in what may be said"
_AFTER_ECHO_BLOCKS = 5
"""The ear stays shut for so long after the last echo of the assistant's own voice
(`live.session.TAIL_MARGIN_S`): what is heard then is the room, and a quick answer begins there."""


class Ear:
    """End-points the stream and has the engine read each utterance.

    Half duplex: while the assistant or the watcher speaks, nothing is heard.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._endpointer = Endpointer()
        self._muted = False
        self._overheard: deque[tuple[Samples, float]] = deque(maxlen=_AFTER_ECHO_BLOCKS)
        self._listens_since_s = -math.inf
        self._not_taken_in = ""
        self._unread = ""
        self._unread_times = 0
        self._grammar = Grammar(())
        self._prepared: Future[WordTree] | None = None
        self._ahead: tuple[Utterance, Future[Reading]] | None = None
        """What is being read while the speaker pauses."""

    @property
    def fault(self) -> str:
        """Why nothing is understood; empty when all is well. One utterance that could not be read
        may be followed by others that can."""
        return self._not_taken_in or (self._unread if self._unread_times > 1 else "")

    @property
    def steady_noise(self) -> bool:
        """The room's own noise passes for a voice and has to be held back: tell somebody."""
        return self._endpointer.steady_noise

    @property
    def somebody_speaks(self) -> bool:
        """Whether there is a voice in the room that has not ended, as far as is heard."""
        return self._endpointer.voiced_s > 0

    def expect(self, grammar: Grammar) -> None:
        """From now on, only this may be said; an utterance in progress is read against it.

        Returns at once: the recogniser takes the grammar in while the question is being asked.
        """
        self._grammar = grammar
        self._ahead = None
        self._take_in()

    def _take_in(self) -> None:
        self._prepared = _RECOGNISER.submit(self._prepare, self._grammar)

    def hear(self, block: Samples, at_s: float, *, muted: bool) -> Heard | None:
        """Take one block of 512 samples that begins at `at_s`.

        Returns an utterance when it has ended: after as much silence as `Endpointing` asks for,
        and the time that the engine needs. `muted` says that the assistant is speaking.
        """
        self._look_after_the_recogniser()
        if muted:
            heard = None if self._muted else self._spoken_over(at_s)
            self._muted = True
            self._overheard.append((block, at_s))
            return heard
        if self._muted:
            self._muted = False
            self._listen_anew(at_s)
        utterance = self._endpointer.feed(block, at_s)
        if utterance is None and self._endpointer.pauses:
            self._read_ahead(self._endpointer.so_far())
        if utterance is None and self._endpointer.may_be_over and self._decided():
            utterance = self._endpointer.end()
        if utterance is None or utterance.ended_s <= self._listens_since_s:
            return None
        return self._read(utterance)

    def _look_after_the_recogniser(self) -> None:
        """Notice what it could not take in: it would go on to listen for what was said before."""
        if self._prepared is not None and self._prepared.done():
            failed = self._prepared.exception()
            self._not_taken_in = "" if failed is None else _in_words(failed)

    def _listen_anew(self, at_s: float) -> None:
        """From the end of the assistant's own voice on: an answer may have begun by now."""
        self._endpointer.reset()
        for block, began_s in self._overheard:
            self._endpointer.feed(block, began_s)
        self._overheard.clear()
        self._listens_since_s = at_s

    def flush(self) -> Heard | None:
        """End the utterance in progress: the stream is over."""
        utterance = self._endpointer.end()
        return None if utterance is None else self._read(utterance)

    def _read_ahead(self, utterance: Utterance | None) -> None:
        """Begin to read what may be the whole utterance: the same samples, if no voice comes."""
        if utterance is not None and not utterance.too_long:
            self._ahead = utterance, self._reading_of(utterance.samples)

    def _decided(self) -> bool:
        """Whether the speaker, who pauses, is at the end; else how much longer to wait for more.

        Nobody is waited for who was understood, without a number or name, where no phrase that
        means something else goes on from there: whoever thinks better of it says so in a sentence
        of its own. What is only a yes is given a little longer, for "yes … but not yet"; who tells
        of the item has looked before.
        """
        if self._ahead is None:
            return False
        reading = _outcome(self._ahead[1])
        if reading.verdict is Verdict.IGNORE:
            return False
        goes_on = self._words.leads_elsewhere(reading.text.split())
        if goes_on and reading.values:
            self._endpointer.wait_longer()  # more would make another number, or dose, of it
        elif reading.verdict is Verdict.ACCEPT:
            self._endpointer.wait_less()
            said = [one for one in self._grammar.patterns if one.words == reading.text]
            only_yes = any(one.only_yes for one in said)
            return bool(said) and not only_yes and not goes_on
        return False

    def _prepare(self, grammar: Grammar) -> WordTree:
        self._engine.listen_for(grammar)
        return WordTree(grammar)

    @property
    def _words(self) -> WordTree:
        """The phrases that may be said now, word by word. Raises what the engine has raised."""
        return WordTree(self._grammar) if self._prepared is None else self._prepared.result()

    def _may_end_a_longer_phrase(self, reading: Reading) -> bool:
        """Whether a lost word may have stood before it: "confirmed" may end "not confirmed".

        A number may always end a longer one, and what says no says so whatever stood before it.
        """
        longer = any(
            pattern.words.endswith(f" {reading.text}") and pattern.meaning != reading.meaning
            for pattern in self._grammar.patterns
        )
        longer &= not any(
            pattern.words == reading.text and pattern.danger is Danger.LOW
            for pattern in self._grammar.patterns
        )
        return longer or any(isinstance(value, float) for value in reading.values.values())

    def _settles_at_once(self, reading: Reading) -> bool:
        """Whether it matters that a lost word may have been an "if" or a "don't"."""
        return any(
            pattern.danger.settles_at_once and pattern.words == reading.text
            for pattern in self._grammar.patterns
        )

    def _spoken_over(self, at_s: float) -> Heard | None:
        """What of an utterance in progress was heard, now that nobody is heard any more.

        It counts for little, unless it had ended. A number that may have gone on is asked back.
        """
        somebody = self._endpointer.voiced_s >= SOMEBODY_S
        utterance = self._endpointer.end()
        self._endpointer.reset()
        if utterance is None or not somebody:
            return None
        heard = self._read(utterance)
        reading = heard.reading
        understood = reading.verdict is not Verdict.IGNORE
        ended = at_s - utterance.ended_s >= ENDED_S
        if ended and understood and not reading.values:
            return heard
        verdict = Verdict.ASK if understood else Verdict.IGNORE
        why = END_LOST if ended and understood else SPOKEN_OVER
        return replace(heard, reading=replace(reading, verdict=verdict, why=why))

    def _read(self, utterance: Utterance) -> Heard:
        ahead, self._ahead = self._ahead, None
        if utterance.too_long:
            reading = Reading(text="", meaning="", why="talk that did not stop")
        else:
            is_whole = ahead is not None and ahead[0].ended_s == utterance.ended_s
            read = ahead[1] if ahead and is_whole else self._reading_of(utterance.samples)
            reading = _outcome(read)
            self._look_after_the_recogniser()  # before what it means has another grammar taken in
            self._mind_failures(read)
        lost = (
            utterance.clipped_start
            or (utterance.early_start and self._may_end_a_longer_phrase(reading))
            or (utterance.hidden_start and self._settles_at_once(reading))
        )
        if lost and reading.verdict is not Verdict.IGNORE:
            reading = replace(reading, verdict=Verdict.ASK, why=BEGINNING_LOST)
        return Heard(
            utterance.started_s,
            utterance.ended_s,
            reading,
            level_dbfs=utterance.level_dbfs,
            noise_dbfs=utterance.noise_dbfs,
            samples=utterance.samples,
            cut_start=utterance.clipped_start and reading.why != _A_TONE,
            early_start=utterance.early_start and reading.why not in (_A_TONE, NOT_FOR_ME),
        )

    def _mind_failures(self, read: Future[Reading]) -> None:
        failed = read.exception()
        self._unread_times = 0 if failed is None else self._unread_times + 1
        self._unread = "" if failed is None else _in_words(failed)

    def _reading_of(self, samples: Samples) -> Future[Reading]:
        if self._not_taken_in:  # it may have passed, as a lack of memory does
            self._take_in()
        return _RECOGNISER.submit(self._read_sound, samples, self._prepared)

    def _read_sound(self, samples: Samples, prepared: Future[WordTree] | None) -> Reading:
        if is_steady_tone(samples):
            return Reading(text="", meaning="", why=_A_TONE)
        if prepared is not None and prepared.exception() is not None:  # it was done before this
            return Reading(text="", meaning="", why=_NOT_TAKEN_IN)
        return self._engine.read(samples)


def _outcome(read: Future[Reading]) -> Reading:
    """What was read; an utterance that the recogniser failed at was not understood, and goes on
    record with why."""
    failed = read.exception()
    if failed is None:
        return read.result()
    return Reading(text="", meaning="", why=f"{_NOT_READ}: {_in_words(failed)}")


def _in_words(failed: BaseException) -> str:
    return str(failed) or type(failed).__name__


def hear_file(ear: Ear, samples: Samples) -> list[Heard]:
    """Stream a recording through the ear, as if it came from the microphone.

    Times count from the recording's first sample.
    """
    lead = round(_QUIET_S / BLOCK_S) * BLOCK_SAMPLES
    stream = np.concatenate([np.zeros(lead, np.int16), samples, silence(_QUIET_S)])
    stream = np.pad(stream, (0, -len(stream) % BLOCK_SAMPLES))
    start_s = -lead / BLOCK_SAMPLES * BLOCK_S
    heard = [
        ear.hear(block, start_s + number * BLOCK_S, muted=False)
        for number, block in enumerate(stream.reshape(-1, BLOCK_SAMPLES))
    ]
    return [one for one in (*heard, ear.flush()) if one is not None]
