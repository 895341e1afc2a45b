"""Vosk behind the same protocol: for a site that has a model of its own language on disk.

A grammar of Vosk is a bigram model over its words, not a list of sentences: a result may mix and
repeat phrases, so only a whole utterance that is exactly one phrase counts. Its confidences say
little (they are relative to what the grammar allows), so they only ever reject.
"""

import json
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from assistant.audio.noise import pink
from assistant.audio.sound import RATE_HZ, Samples
from assistant.errors import BadInput
from assistant.grammar.grammar import NEAR_ITS_DENIAL, Danger, Grammar, spoken_parts
from assistant.grammar.readings import NOT_FOR_ME, Reading, Verdict
from assistant.grammar.word_tree import Phrase, WordTree
from assistant.hearing.engines.vosk.respelling import vocabulary

UNKNOWN = "[unk]"
"""Models that can say "none of these" have this word. Some have "<UNK>" or "<SPOKEN_NOISE>" in its
place: the Korean one never answers with them, whatever it hears (docs/hearing.md), so they do not
count."""
STRICT = 0.9
"""Where that much is asked for, a model without `[unk]` has to hear a telling phrase besides."""
ACCEPT_FROM = {
    Danger.LOW: 0.6,
    Danger.USUAL: 0.75,
    Danger.OPTION: 0.75,
    Danger.NUMBER: STRICT,
    Danger.READ_BACK: STRICT,
    Danger.ANSWERED: STRICT,
    Danger.SETTING: STRICT,
    Danger.HIGH: STRICT,
    Danger.PLAIN: STRICT,
}
ASK_FROM = 0.5
"""Confidence of the least sure word, Vosk's own scale; docs/hearing.md has what they come to."""
ROOM_DB = 30.0
"""So far below the voice an ordinary room's own noise lies."""
_FRAME = RATE_HZ // 100
TELLING_WORDS = 3
"""A model without `UNKNOWN` is believed in dangerous things only for a phrase of so many words.

All words of the grammar, decoys included, compete for every stretch of sound: that talk makes one
word of a phrase is likely; that it makes all of them, in order and nothing else, is less so with
each further word."""


class VoskEngine:
    """Vosk with a grammar of the words that may be said now."""

    name = "vosk"

    def __init__(self, model_path: Path) -> None:
        if not model_path.is_dir():
            raise BadInput.in_file(
                model_path, found="no such folder", allowed="the folder of a Vosk model"
            )
        import vosk

        vosk.SetLogLevel(-1)
        try:
            # By its path only: by name, Vosk would go to the network.
            self._model = vosk.Model(model_path=str(model_path))
        except Exception as fault:  # Vosk raises a bare Exception
            raise BadInput.in_file(
                model_path, found="a folder that is no Vosk model", allowed="a Vosk model"
            ) from fault
        self._path = model_path
        self.knows = lru_cache(maxsize=None)(self._finds)
        """Whether a word is in the model's vocabulary."""
        self._make_recogniser = vosk.KaldiRecognizer
        self._recogniser: Any = None
        self._words: WordTree | None = None

    def listen_for(self, grammar: Grammar) -> None:
        """From now on, only this may be said; phrases with words that the model lacks cannot be."""
        spellings = (spelling for _, written in _parts(grammar) for spelling in written)
        phrases = [one for one in dict.fromkeys(spellings) if self._knows_all(one)]
        self._hears_unknown = self.knows(UNKNOWN)
        if self._hears_unknown:
            phrases.append(UNKNOWN)
        if not phrases:
            raise BadInput("The Vosk model knows no word that may be said now; allowed: some.")
        # A new recogniser each time: changing the grammar of a running one may end the process.
        # Its parser does not read escaped letters: plain UTF-8.
        words = json.dumps(phrases, ensure_ascii=False)
        self._recogniser = self._make_recogniser(self._model, RATE_HZ, words)
        self._recogniser.SetWords(True)
        self._words = WordTree(grammar)

    def missing_words(self, grammar: Grammar) -> tuple[str, ...]:
        """The words of the grammar that the model does not know: nobody can say them to it.

        Not those of a drug or number with a respelling that it knows.
        """
        unheard = [
            one for one, written in _parts(grammar) if not any(map(self._knows_all, written))
        ]
        words = {word for part in unheard for word in part.split()}
        return tuple(sorted(word for word in words if not self.knows(word)))

    def vocabulary(self) -> tuple[str, ...]:
        """Every word that the model knows. Raises BadInput when its folder does not tell."""
        return vocabulary(self._path)

    def read(self, samples: Samples) -> Reading:
        """Read one whole utterance."""
        if self._words is None:
            raise RuntimeError("the engine was not told what may be said")
        return judge(self._words, self._said(samples), rejects=self._hears_unknown)

    def _said(self, samples: Samples) -> list[dict[str, Any]]:
        samples = in_a_room(samples)
        parts = []
        if self._recogniser.AcceptWaveform(samples.tobytes()):
            parts.append(self._recogniser.Result())
        parts.append(self._recogniser.FinalResult())
        return [word for part in parts for word in json.loads(part).get("result", ())]

    def _knows_all(self, phrase: str) -> bool:
        return all(map(self.knows, phrase.split()))

    def _finds(self, word: str) -> bool:
        return bool(self._model.vosk_model_find_word(word) >= 0)


def in_a_room(samples: Samples) -> Samples:
    """The utterance with a trace of pink noise where it has less of its own than a room has.

    Such a model was trained on rooms: in the perfect silence that digital filters leave, it
    understands half as much. The same samples always come out the same.
    """
    frames = samples[: len(samples) // _FRAME * _FRAME].astype(np.float64).reshape(-1, _FRAME)
    if not len(frames):
        return samples
    levels = np.sqrt(np.mean(frames**2, axis=1))
    wanted = np.percentile(levels, 80) * 10 ** (-ROOM_DB / 20)
    lacking = wanted**2 - np.percentile(levels, 10) ** 2
    if lacking <= 0:
        return samples
    noise = pink(len(samples), np.random.default_rng(0))
    noisy = samples + noise / noise.std() * np.sqrt(lacking)
    return np.asarray(np.clip(noisy, -32768, 32767), dtype=np.int16)


def _parts(grammar: Grammar) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each part of the grammar with all its spellings, its own first."""
    respelt = {filler.words: filler.respellings for of in grammar.fillers.values() for filler in of}
    for part in spoken_parts(grammar):
        yield part, (part, *respelt.get(part, ()))


def judge(tree: WordTree, said: list[dict[str, Any]], *, rejects: bool) -> Reading:
    """Read Vosk's words, each with `word` and `conf`, against the grammar.

    `rejects` says whether the model can answer "none of these"; one that cannot is believed where
    a wrong acceptance is dangerous only for a phrase of `TELLING_WORDS`.
    """
    words = [str(one["word"]) for one in said]
    phrases = tree.match(words)
    if not words or not phrases:
        return Reading(text="", meaning="", why="nothing that may be said now")
    sureness = min(float(one["conf"]) for one in said)
    verdict, why = _verdict(phrases, sureness, telling=rejects or len(words) >= TELLING_WORDS)
    best = phrases[0]
    return Reading(best.words, best.pattern.meaning, best.values, sureness, verdict, why)


def _verdict(phrases: list[Phrase], sureness: float, *, telling: bool) -> tuple[Verdict, str]:
    pattern = phrases[0].pattern
    unsure = f"not clear enough (confidence {sureness:.2f})"
    if not all(phrase.pattern.for_me for phrase in phrases):
        return Verdict.IGNORE, NOT_FOR_ME
    if sureness < ASK_FROM:
        return Verdict.IGNORE, unsure
    meanings = [(phrase.pattern.meaning, phrase.values) for phrase in phrases]
    if any(other != meanings[0] for other in meanings):
        return Verdict.ASK, "may mean more than one thing"
    why = ""
    if sureness < ACCEPT_FROM[pattern.danger]:
        why = unsure
    elif pattern.is_asked_back:
        why = NEAR_ITS_DENIAL
    elif ACCEPT_FROM[pattern.danger] >= STRICT and not telling:
        why = "this model cannot tell room talk apart, and the phrase is short"
    return (Verdict.ASK, why) if why else (Verdict.ACCEPT, "")
