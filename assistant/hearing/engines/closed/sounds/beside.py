"""The sounds of an utterance, heard by another core while its words are looked for."""

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass

from assistant.audio.sound import Samples
from assistant.grammar.grammar import Danger
from assistant.grammar.word_tree import Phrase
from assistant.hearing.engines.closed.sounds.model import Heard, SoundModel
from assistant.hearing.engines.closed.sounds.opinion import Opinion, PhrasesBySound


@dataclass(frozen=True, slots=True)
class HeardBeside:
    """What is being heard, and waited for only when it is needed."""

    said: PhrasesBySound
    heard: Future[Heard] | None
    """None where nothing that may be said is told by its sounds."""

    def opinion(self) -> Opinion | None:
        """The best plain answer; None where none may be given."""
        if self.heard is None or not self.said.has_answers:
            return None
        return self.said.opinion(self.heard.result())

    def has_another_number(self, phrase: Phrase) -> bool:
        """Whether a number that is checked sounds more like another: "fifty litres", of which noise
        made a "fifteen"."""
        if self.heard is None or phrase.pattern.danger is not Danger.SETTING:
            return False
        return self.said.lead_over_other_numbers(self.heard.result(), phrase) < 0


class Beside:
    """The model of sounds, on a thread of its own."""

    def __init__(self) -> None:
        """Raises BadInput where the model is not there."""
        self._model = SoundModel()
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="sounds")

    def hear(self, said: PhrasesBySound, samples: Samples) -> HeardBeside:
        """Begin to hear one utterance, with its noise: the words are looked for without."""
        needed = said.has_answers or said.has_numbers
        return HeardBeside(
            said, self._thread.submit(self._model.heard, samples) if needed else None
        )
