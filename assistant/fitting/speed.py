"""How long a reading takes, from the whole utterance on: on one thread and on two."""

import time
from collections.abc import Iterator
from statistics import median, quantiles

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples
from assistant.fitting import voices
from assistant.fitting.corpus import ANYTHING
from assistant.fitting.room import blocks, in_noise, in_room
from assistant.hearing.endpointing import Endpointer
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import Site

SAID = {
    "confirmation": (
        "Yes, confirmed.",
        "We took the collar off.",
        "We went through the allergies.",
    ),
    "weight": ("Seventy five kilos.", "One hundred and ten kilos.", "Six two kilos."),
    "dose question": (
        "What is the dose of rocuronium for seventy kilos?",
        "What is the dose of ketamine for eight five kilos?",
        "What is the dose of norepinephrine for fifty kilos?",
    ),
}
_DISTANCE, _NOISE, _SNR_DB = "trolley", "pink", 10.0
_REPEAT = 2


def measure(site: Site) -> None:
    """Print seconds and ratios; nothing else should run meanwhile."""
    grammar = Phrasebook(site).when_asking(ANYTHING)
    sounds = {kind: list(_utterances(said)) for kind, said in SAID.items()}
    engines = [ClosedGrammarEngine(threads=threads) for threads in (1, 2)]
    for engine in engines:
        engine.listen_for(grammar)
    print(f"seconds, median and 90th percentile; half at {_DISTANCE} with {_NOISE} {_SNR_DB:g} dB")
    for kind, utterances in sounds.items():
        took_s = [[_read_s(engine, one) for one in utterances] for engine in engines]
        told = ", ".join(f"{median(of):.2f} {quantiles(of, n=10)[-1]:.2f}" for of in took_s)
        ratio = median(two / one for one, two in zip(*took_s, strict=True))
        lasts_s = median(len(one) / RATE_HZ for one in utterances)
        print(
            f"{kind:14} {len(utterances):3} of {lasts_s:.1f} s: on one thread and on two {told}; "
            f"two of one {ratio:.2f}"
        )


def _utterances(said: tuple[str, ...]) -> Iterator[Samples]:
    """Each sentence by each voice that was held out, close in quiet and far in noise."""
    for number, (text, voice) in enumerate(
        (text, voice) for text in said for voice in voices.installed(voices.HELD_OUT)
    ):
        spoken = voices.say(text, voice)
        far = in_room(spoken, _DISTANCE)
        yield from _cut(in_noise(spoken.astype(np.float64), _NOISE, None, number, _nobody))
        yield from _cut(in_noise(far, _NOISE, _SNR_DB, number, _nobody))


def _nobody(_number: int) -> Samples:
    raise AssertionError("pink noise has no talker in it")


def _cut(sound: Samples) -> Iterator[Samples]:
    endpointer = Endpointer()
    for at_s, block in blocks(sound):
        if (found := endpointer.feed(block, at_s)) is not None:
            yield found.samples


def _read_s(engine: ClosedGrammarEngine, utterance: Samples) -> float:
    """The least of some readings: other work on the machine only ever adds."""
    took_s = []
    for _ in range(_REPEAT):
        began_s = time.perf_counter()
        engine.read(utterance)
        took_s.append(time.perf_counter() - began_s)
    return min(took_s)
