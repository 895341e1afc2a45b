"""One trial after the other: a sentence, a voice, a room and a noise, through the ear.

What is kept of each is the evidence, not the verdict: so thresholds can be fitted and judged
without hearing everything again.
"""

import json
import random
import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from itertools import islice
from pathlib import Path
from typing import Any

from assistant.audio.sound import RATE_HZ, Samples
from assistant.fitting import voices
from assistant.fitting.corpus import (
    DECLINES,
    NOT_FOR_ME,
    Said,
    grammars,
    sentences,
    written,
)
from assistant.fitting.room import DISTANCES_M, NOISES, SNR_DB, blocks, in_noise, in_room
from assistant.grammar.grammar import Danger, Grammar
from assistant.grammar.readings import Heard, Reading, Verdict
from assistant.hearing.ear import BEGINNING_LOST, Ear
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.hearing.engines.closed.evidence import Evidence
from assistant.hearing.engines.closed.judging import Found, Told, verdict_on
from assistant.hearing.engines.closed.looks import Weighed
from assistant.hearing.engines.closed.sounds.opinion import SoundEvidence
from assistant.hearing.engines.closed.verdicts import Fitted
from assistant.site.site import Site
from assistant.speaking.wording import Wording

_SAME_ITEM = 8
"""So many trials one after the other are of the same item, where a sentence is said at any: the
engine keeps but the trees of the last few."""
_FAR = 1e9
"""Stands for infinity in the files."""


@dataclass(frozen=True, slots=True)
class Condition:
    """How a sentence reaches the microphone."""

    voice: str
    distance: str
    noise: str
    snr_db: float | None
    """Of those who speak to the assistant; who is farther away is fainter over the same noise."""
    level_db: float = 0.0
    """How much louder or fainter than those who speak to the assistant."""


@dataclass(frozen=True, slots=True)
class Utterance:
    """What the engine made of one stretch of voice, unjudged."""

    evidence: Evidence
    meaning: str
    values: dict[str, Any]
    danger: Danger
    for_me: bool
    rival: str
    lost: bool
    """Its beginning was lost: at most asked back."""
    level_dbfs: float | None = None
    noise_dbfs: float | None = None
    sounds: SoundEvidence | None = None
    """Of the best plain answer by its sounds."""
    number_sounds: SoundEvidence | None = None
    """Of the best short number by its sounds, where one is asked for."""
    number: float | None = None
    """That number."""

    def verdict(self, by: Fitted) -> Verdict:
        """What the live engine and the ear would have said."""
        found, _, _ = verdict_on(by, self._found())
        return Verdict.ASK if self.lost and found is Verdict.ACCEPT else found

    def taken(self, by: Fitted) -> "Utterance":
        """As what it was taken: by its sounds it can only be a plain answer, or a number."""
        told = self.told(by)
        if told is Told.ANSWER:
            return replace(self, meaning="plain_yes", values={}, danger=Danger.PLAIN, for_me=True)
        if told is Told.NUMBER:
            said = {"number": self.number}
            return replace(self, meaning="number", values=said, danger=Danger.NUMBER, for_me=True)
        return self

    def told(self, by: Fitted) -> Told:
        """What told what was said."""
        return verdict_on(by, self._found())[2]

    def _found(self) -> Found:
        return Found(
            words=self.evidence,
            danger=self.danger,
            for_me=self.for_me,
            rival=self.rival,
            answer=self.sounds,
            number=self.number_sounds,
            number_agrees=self.danger is Danger.NUMBER and self.values == {"number": self.number},
        )


@dataclass(frozen=True, slots=True)
class Trial:
    """A sentence under a condition, and what was heard of it."""

    said: Said
    condition: Condition
    heard: tuple[Utterance, ...]
    worked_s: float
    sound_s: float

    def meant(self, utterance: Utterance) -> bool:
        """Whether that is what was said; a decline in other words is a decline all the same."""
        if self.said.kind in DECLINES and utterance.meaning in ("decline", "denied"):
            return True
        found = (utterance.meaning, utterance.values)
        return utterance.for_me and found == (self.said.meaning, self.said.values)


class Weigher:
    """The engine, and what it weighed, for the trial to take.

    What it would ignore is handed on as doubtful: another fit may take it.
    """

    name = "weigher"

    def __init__(self, engine: ClosedGrammarEngine) -> None:
        self._engine = engine
        self.weighed: list[Weighed | None] = []

    def listen_for(self, grammar: Grammar) -> None:
        """Weigh what comes against this grammar."""
        self._engine.listen_for(grammar)

    def missing_words(self, grammar: Grammar) -> tuple[str, ...]:
        """The words that the engine cannot hear."""
        return self._engine.missing_words(grammar)

    def read(self, samples: Samples) -> Reading:
        """Keep what was weighed; the verdict is always to ignore."""
        weighed = self._engine.weigh(samples)
        self.weighed.append(weighed)
        mark = {"place": float(len(self.weighed) - 1)}
        if weighed is None:
            return Reading("", "", runner_up=mark)
        judged = self._engine.judge(weighed)
        accepted = judged.verdict is Verdict.ACCEPT
        phrase = judged.phrase if accepted else weighed.best.phrase
        return Reading(
            phrase.words,
            phrase.pattern.meaning,
            phrase.values,
            verdict=Verdict.ACCEPT if accepted else Verdict.ASK,
            runner_up=mark,
        )


def plan(
    site: Site, names: tuple[str, ...], *, held_out: bool, seed: int
) -> Iterator[tuple[Said, Condition]]:
    """Every sentence by every voice, at every ratio.

    In an order drawn by lot, but first the answers that are given to any item: they are most of
    what is ever said. After them two sentences that must not be accepted for each that must.
    The room and the noise are drawn too: most voices are close, most noises pink.
    """
    chance = random.Random(seed)
    pairs = [(said, voice) for said in sentences(site, held_out=held_out) for voice in names]
    chance.shuffle(pairs)
    wording = site.wording.may_be_said
    everyday = set(map(written, (*wording.confirm, *wording.decline)))
    first = [pair for pair in pairs if pair[0].text in everyday]
    meant = [pair for pair in pairs if pair[0].meaning and pair[0].text not in everyday]
    others = iter([pair for pair in pairs if not pair[0].meaning])
    mixed = [one for pair in meant for one in (pair, *islice(others, 2))]
    for said, voice in (*first, *mixed, *others):
        for snr_db in SNR_DB:
            distance = chance.choices(tuple(DISTANCES_M), (6, 3, 1))[0]
            noise = chance.choices(NOISES, (5, 1, 1, 1, 1, 1))[0]
            yield said, Condition(voice, distance, noise, snr_db)


def run(
    site: Site, trials: Iterable[tuple[Said, Condition]], engine: ClosedGrammarEngine, *, first: int
) -> Iterator[Trial]:
    """Hear each; `first` is the number of the first of them."""
    known = grammars(site)
    weigher = Weigher(engine)
    for number, (said, condition, sound) in enumerate(sounds(site, trials, first=first), first):
        yield hear(weigher, known[asked(said, number)], said, condition, sound)


def hear(
    weigher: Weigher, grammar: Grammar, said: Said, condition: Condition, sound: Samples
) -> Trial:
    """One sound, by an ear of its own, while that may be said."""
    ear = Ear(weigher)
    ear.expect(grammar)
    weigher.weighed.clear()
    began_s = time.process_time()
    heard = list(through(ear, sound))
    worked_s = time.process_time() - began_s
    found = tuple(
        _utterance(weighed, one)
        for one in heard
        if (weighed := _weighed(weigher, one.reading)) is not None
    )
    return Trial(said, condition, found, worked_s, len(sound) / RATE_HZ)


def asked(said: Said, number: int) -> str:
    """While which item the sentence of that trial is said."""
    return said.asked[number // _SAME_ITEM % len(said.asked)]


def sounds(
    site: Site, trials: Iterable[tuple[Said, Condition]], *, first: int
) -> Iterator[tuple[Said, Condition, Samples]]:
    """What the microphone gets in each."""
    lines = _own_lines(site.wording)
    talk = [said.text for said in sentences(site, held_out=False) if said.kind in NOT_FOR_ME]

    def babble(number: int) -> Samples:
        """Voices of the tuning half; below zero, the assistant's own."""
        if number < 0:
            return voices.say(lines[number % len(lines)], "espeak en-us 165")
        return voices.say(talk[number % len(talk)], ("flite slt", "espeak en-us 150")[number % 2])

    for number, (said, condition) in enumerate(trials, first):
        wave = in_room(voices.say(said.text, condition.voice), condition.distance)
        snr_db = condition.snr_db
        if condition.level_db:
            wave = wave * 10 ** (condition.level_db / 20)
            snr_db = None if snr_db is None else snr_db + condition.level_db
        yield said, condition, in_noise(wave, condition.noise, snr_db, number, babble)


def save(trial: Trial) -> str:
    """As one line of a file, without the dangers: those are the program's, not the trial's."""
    written = asdict(trial)
    for utterance in written["heard"]:
        del utterance["danger"]
    return json.dumps(written).replace("Infinity", str(_FAR))


def load(path: Path, site: Site) -> Iterator[Trial]:
    """The trials of a file, each utterance as dangerous as what it was taken for is now."""
    dangers = {name: _dangers(grammar) for name, grammar in grammars(site).items()}
    for line in path.read_text(encoding="utf-8").splitlines():
        one = json.loads(line)
        among = [dangers[item] for item in one["said"]["asked"]]
        heard = tuple(
            Utterance(
                **{
                    **found,
                    "evidence": Evidence(**found["evidence"]),
                    "sounds": _sound_evidence(found.get("sounds")),
                    "number_sounds": _sound_evidence(found.get("number_sounds")),
                    "danger": _danger(among, found),
                }
            )
            for found in one["heard"]
        )
        yield Trial(
            Said(**one["said"]),
            Condition(**one["condition"]),
            heard,
            one["worked_s"],
            one["sound_s"],
        )


def _dangers(grammar: Grammar) -> dict[tuple[str, str | bool], Danger]:
    """By the meaning and the words; of what has a number or name in it, by whether that is a weight
    besides."""
    found: dict[tuple[str, str | bool], Danger] = {}
    for pattern in grammar.patterns:
        found[pattern.meaning, "{weight_kg}" in pattern.words] = pattern.danger
        found[pattern.meaning, pattern.words] = pattern.danger
    return found


def _danger(
    among: Iterable[Mapping[tuple[str, str | bool], Danger]], found: Mapping[str, Any]
) -> Danger:
    """As at the first of the items at which it was said where that is listened for: a number that
    is asked for is read back, one that is checked may settle its item. What only another grammar
    held, as with items that were put off, is as dangerous as most."""
    meaning = found["meaning"]
    keys = (meaning, found["evidence"]["words"]), (meaning, "weight_kg" in found["values"])
    return next((one[key] for one in among for key in keys if key in one), Danger.USUAL)


def _sound_evidence(found: dict[str, Any] | None) -> SoundEvidence | None:
    return None if found is None else SoundEvidence(**found)


def through(ear: Ear, sound: Samples) -> Iterator[Heard]:
    """What the ear made of it."""
    for at_s, block in blocks(sound):
        heard = ear.hear(block, at_s, muted=False)
        if heard is not None:
            yield heard
    if (heard := ear.flush()) is not None:
        yield heard


def _weighed(weigher: Weigher, reading: Reading) -> Weighed | None:
    if reading.runner_up is None:  # too long to be read at all
        return None
    return weigher.weighed[int(reading.runner_up["place"])]


def _utterance(weighed: Weighed, heard: Heard) -> Utterance:
    pattern, answer = weighed.best.phrase.pattern, weighed.by_sound.answer
    number = weighed.by_sound.number
    if number is not None and number.phrase.pattern.meaning != "number":
        number = None  # an allergen, which no trial says
    return Utterance(
        weighed.evidence,
        pattern.meaning,
        weighed.best.phrase.values,
        pattern.danger,
        pattern.for_me,
        weighed.rival,
        lost=heard.reading.why == BEGINNING_LOST,
        level_dbfs=heard.level_dbfs,
        noise_dbfs=heard.noise_dbfs,
        sounds=None if answer is None else answer.evidence,
        number_sounds=None if number is None else number.evidence,
        number=None if number is None else float(number.phrase.values["number"]),
    )


def _own_lines(wording: Wording) -> list[str]:
    lines = wording.says.model_dump().values()
    return [line for line in lines if isinstance(line, str) and "{" not in line]
