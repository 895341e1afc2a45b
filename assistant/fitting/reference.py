"""A reference set: what one machine made of some sentences, so that another can be held against it.

The recogniser calculates with 8 bits, and processors differ in how. The same sentences are rendered
and heard on the machine at hand; how far its likelihoods are from those of the reference tells how
far its verdicts can be trusted to be the measured ones.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from statistics import median
from typing import Any

from assistant.audio.noise import in_pink_noise
from assistant.audio.sound import Samples
from assistant.brief.states import State
from assistant.fitting.reference_sentences import ITEMS, SENTENCES, Sentence
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Reading, Verdict
from assistant.hearing.ear import Ear, hear_file
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.hearing.engines.closed.evidence import features
from assistant.hearing.engines.closed.looks import Weighed
from assistant.hearing.engines.closed.verdicts import fitted
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import Site
from assistant.speaking.voices import Voice, VoiceSettings, open_voice

SHIPPED = Path(__file__).parent / "reference.json"
"""Written by `python -m assistant.fitting reference`."""
VOICES = (
    VoiceSettings(name="en-us", words_per_minute=150),
    VoiceSettings(name="en-gb-scotland", words_per_minute=165),
)
NOISE_DB = 10.0
"""So far below the voice the noise lies, where there is any."""


@dataclass(frozen=True, slots=True)
class Scored:
    """One sentence by one voice, and what was made of it."""

    asking: str
    text: str
    means: str
    voice: str
    noisy: bool
    sound: str
    """A digest of the rendered sound: another synthesiser renders it differently."""
    heard: str
    """The best phrase; empty when there was none."""
    right: bool
    """Whether that phrase means what was said, its number or drug included."""
    verdict: str
    log_odds: float | None
    features: dict[str, float]


@dataclass(frozen=True, slots=True)
class Comparison:
    """How far a machine is from the reference."""

    compared: int
    rendered_differently: int
    log_odds: tuple[float, float]
    """The median and the worst difference."""
    features: dict[str, tuple[float, float]]
    dangerous: tuple[str, ...]
    """What is accepted here, wrongly, and was not there."""
    costly: tuple[str, ...]
    """What was accepted there, rightly, and is not here."""


class KeepingEngine(ClosedGrammarEngine):
    """The default engine, which keeps what it weighed last."""

    last: Weighed | None = None

    def weigh(self, samples: Samples) -> Weighed | None:
        """As the engine does it."""
        self.last = super().weigh(samples)
        return self.last


def score(
    site: Site, engine: KeepingEngine, sentences: Sequence[Sentence] = SENTENCES
) -> Iterator[Scored]:
    """Render and hear these sentences on this machine. Raises BadInput when no voice is there."""
    book, by = Phrasebook(site), fitted()
    grammars = {
        asking: book.heard_in(State.ASKING, site.brief.item(asking))
        if asking in ITEMS
        else book.when_asking(asking)
        for asking in dict.fromkeys(one.asking for one in sentences)
    }
    voices = {settings.name: open_voice(settings) for settings in VOICES}
    for said in sentences:
        for name, voice in voices.items():
            sound = _rendered(voice, said.text)
            for noisy in (False, True):
                engine.last = None
                reading = _heard(
                    engine,
                    grammars[said.asking],
                    in_pink_noise(sound, NOISE_DB) if noisy else sound,
                )
                found: dict[str, float] = {}
                odds: float | None = None
                if engine.last is not None:
                    found = features(engine.last.evidence)
                    odds = by.log_odds(engine.last.evidence)
                yield Scored(
                    asking=said.asking,
                    text=said.text,
                    means=said.means,
                    voice=name,
                    noisy=noisy,
                    sound=hashlib.sha256(sound.tobytes()).hexdigest()[:16],
                    heard=reading.text,
                    right=(reading.meaning, dict(reading.values))
                    == (said.means, dict(said.values)),
                    verdict=reading.verdict.value,
                    log_odds=None if odds is None else round(odds, 3),
                    features={name: round(value, 4) for name, value in found.items()},
                )


def _rendered(voice: Voice, text: str) -> Samples:
    return voice.render(f"{text[:1].upper()}{text[1:]}.")


def _heard(engine: KeepingEngine, grammar: Grammar, sound: Samples) -> Reading:
    """Through the ear: the last utterance of it."""
    ear = Ear(engine)
    ear.expect(grammar)
    heard = hear_file(ear, sound)
    # The last, as the engine keeps what it weighed last.
    return heard[-1].reading if heard else Reading("", "", why="no voice in it")


def compare(reference: Iterable[Scored], here: Iterable[Scored]) -> Comparison:
    """Hold this machine's scores against the reference's, sentence by sentence."""
    pairs = list(zip(reference, here, strict=True))
    odds: list[float] = []
    by_feature: dict[str, list[float]] = {}
    dangerous: list[str] = []
    costly: list[str] = []
    for there, now in pairs:
        if there.log_odds is not None and now.log_odds is not None:
            odds.append(abs(there.log_odds - now.log_odds))
            for name in there.features.keys() & now.features.keys():
                by_feature.setdefault(name, []).append(
                    abs(there.features[name] - now.features[name])
                )
        where = f"{now.text!r} by {now.voice}{' in noise' if now.noisy else ''}"
        accepted, accepted_there = (one.verdict == Verdict.ACCEPT.value for one in (now, there))
        same = accepted_there and there.heard == now.heard
        if accepted and not now.right and not same:
            dangerous.append(f"{where} is taken for {now.heard!r}")
        elif accepted_there and there.right and not accepted:
            costly.append(f"{where} is not accepted ({now.verdict})")
    return Comparison(
        compared=len(pairs),
        rendered_differently=sum(there.sound != now.sound for there, now in pairs),
        log_odds=_spread(odds),
        features={name: _spread(values) for name, values in sorted(by_feature.items())},
        dangerous=tuple(dangerous),
        costly=tuple(costly),
    )


def shipped() -> list[Scored]:
    """The reference that comes with the program."""
    return [Scored(**one) for one in _written()["scores"]]


def write(scores: Iterable[Scored], provenance: dict[str, Any]) -> None:
    """Ship these as the reference."""
    written = {"provenance": provenance, "scores": [asdict(one) for one in scores]}
    SHIPPED.write_text(json.dumps(written, indent=1, ensure_ascii=False) + "\n", "utf-8")


@cache
def _written() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(SHIPPED.read_text(encoding="utf-8"))
    return found


def _spread(values: Sequence[float]) -> tuple[float, float]:
    return (round(median(values), 3), round(max(values), 3)) if values else (0.0, 0.0)
