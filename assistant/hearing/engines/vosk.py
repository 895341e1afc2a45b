"""Vosk behind the same protocol: for a site that has a model of its own language on disk.

A grammar of Vosk is a bigram model over its words, not a list of sentences: a result may mix and
repeat phrases, so only a whole utterance that is exactly one phrase counts. Its confidences say
little (they are relative to what the grammar allows), so they only ever reject.
"""

import json
from pathlib import Path
from typing import Any

from assistant.errors import BadInput
from assistant.hearing.engines.phrases import Phrase, WordTree
from assistant.hearing.grammar import Danger, Grammar, spoken_parts
from assistant.hearing.heard import Reading, Verdict
from assistant.sound import RATE_HZ, Samples

UNKNOWN = "[unk]"
ACCEPT_FROM = {Danger.LOW: 0.6, Danger.USUAL: 0.75, Danger.HIGH: 0.9}
ASK_FROM = 0.5
"""Confidence of the least sure word; no measurement behind these, Vosk's own scale."""


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
        self._make_recogniser = vosk.KaldiRecognizer
        self._recogniser: Any = None
        self._words: WordTree | None = None

    def listen_for(self, grammar: Grammar) -> None:
        """From now on, only this may be said; phrases with words that the model lacks cannot be."""
        phrases = [one for one in spoken_parts(grammar) if all(map(self._knows, one.split()))]
        self._hears_unknown = self._knows(UNKNOWN)
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
        """The words of the grammar that the model does not know: nobody can say them to it."""
        words = {word for phrase in spoken_parts(grammar) for word in phrase.split()}
        return tuple(sorted(word for word in words if not self._knows(word)))

    def read(self, samples: Samples) -> Reading:
        """Read one whole utterance."""
        if self._words is None:
            raise RuntimeError("the engine was not told what may be said")
        parts = []
        if self._recogniser.AcceptWaveform(samples.tobytes()):
            parts.append(self._recogniser.Result())
        parts.append(self._recogniser.FinalResult())
        said = [word for part in parts for word in json.loads(part).get("result", ())]
        return judge(self._words, said, rejects=self._hears_unknown)

    def _knows(self, word: str) -> bool:
        return bool(self._model.vosk_model_find_word(word) >= 0)


def judge(tree: WordTree, said: list[dict[str, Any]], *, rejects: bool) -> Reading:
    """Read Vosk's words, each with `word` and `conf`, against the grammar.

    `rejects` says whether the model can answer "none of these"; one that cannot is never believed
    where a wrong acceptance is dangerous.
    """
    words = [str(one["word"]) for one in said]
    phrases = tree.match(words)
    if not words or not phrases:
        return Reading(text="", meaning="", why="nothing that may be said now")
    sureness = min(float(one["conf"]) for one in said)
    verdict, why = _verdict(phrases, sureness, rejects=rejects)
    best = phrases[0]
    return Reading(best.words, best.pattern.meaning, best.values, sureness, verdict, why)


def _verdict(phrases: list[Phrase], sureness: float, *, rejects: bool) -> tuple[Verdict, str]:
    pattern = phrases[0].pattern
    unsure = f"not clear enough (confidence {sureness:.2f})"
    if not all(phrase.pattern.for_me for phrase in phrases):
        return Verdict.IGNORE, "not for me"
    if sureness < ASK_FROM:
        return Verdict.IGNORE, unsure
    meanings = [(phrase.pattern.meaning, phrase.values) for phrase in phrases]
    if any(other != meanings[0] for other in meanings):
        return Verdict.ASK, "may mean more than one thing"
    if sureness < ACCEPT_FROM[pattern.danger]:
        return Verdict.ASK, unsure
    if pattern.danger is Danger.HIGH and not rejects:
        return Verdict.ASK, "this model cannot tell room talk apart"
    return Verdict.ACCEPT, ""
