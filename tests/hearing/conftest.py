"""Real speech for the real engine: synthetic voices, noise at a stated ratio, a small brief."""

import os
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, RATE_HZ, Samples
from assistant.grammar.grammar import Danger, Filler, Grammar, Pattern
from assistant.hearing.ear import Ear
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.language.numbers import number_fillers
from assistant.speaking.voices import VoiceSettings, open_voice

CONFIRMATIONS = ("confirmed", "yes confirmed", "that is confirmed", "affirmative")
DECLINES = ("not yet", "no", "negative", "not confirmed", "no not yet")
DECOYS = (
    "can you pass me that",
    "thank you",
    "is he confirmed",
    "is that confirmed",
    "are you ready",
    "okay",
    "i think so",
)
DRUGS = ("ketamine", "rocuronium", "succinylcholine", "fentanyl", "midazolam", "propofol")
VOICES = {
    "natural": VoiceSettings(engine="natural", name="joe"),
    "brisk": VoiceSettings(engine="natural", name="joe", words_per_minute=190),
    "robot": VoiceSettings(engine="espeak", name="en-us", words_per_minute=150),
}


@pytest.fixture(scope="session")
def say(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Samples]:
    """Speak a sentence with one of the voices above; each is rendered once a session.

    The robot, who says nothing twice alike, speaks anew in each.
    """
    own = str(tmp_path_factory.mktemp("speech"))

    @cache
    def render(text: str, voice: str = "natural") -> Samples:
        settings = VOICES[voice]
        with pytest.MonkeyPatch.context() as patch:
            if settings.engine == "espeak":
                patch.setenv("XDG_CACHE_HOME", own)
            return open_voice(settings).render(text)

    return render


@pytest.fixture(scope="session")
def in_noise() -> Callable[[Samples, float | None], Samples]:
    """The sound with half a second around it, and pink noise `snr_db` below it; None: clean."""

    def add(samples: Samples, snr_db: float | None) -> Samples:
        assert len(samples) > 0, "the voice rendered nothing"
        speech = np.pad(samples.astype(np.float64), RATE_HZ // 2)
        if snr_db is None:
            return samples_of(speech)
        level = np.sqrt(np.mean(samples.astype(np.float64) ** 2)) * 10 ** (-snr_db / 20)
        return samples_of(speech + level * pink(len(speech)))

    return add


def pink(length: int, seed: int = 20260711) -> np.ndarray:
    """Noise whose power falls by 3 dB an octave, of unit power."""
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(length))
    spectrum /= np.sqrt(np.maximum(np.arange(len(spectrum)), 1))
    noise = np.fft.irfft(spectrum, length)
    return noise / noise.std()


def samples_of(wave: np.ndarray) -> Samples:
    return np.clip(wave, -32768, 32767).astype(np.int16)


@pytest.fixture(scope="session")
def engine() -> ClosedGrammarEngine:
    return ClosedGrammarEngine(threads=1)


@pytest.fixture(scope="session")
def brief() -> Grammar:
    """What may be said while an item is open, in small."""
    patterns = [
        *(Pattern(words, "confirm", danger=Danger.HIGH) for words in CONFIRMATIONS),
        *(Pattern(words, "decline") for words in DECLINES),
        *(Pattern(words, "decoy", for_me=False) for words in DECOYS),
        Pattern("say again", "repeat", danger=Danger.LOW),
        Pattern("why", "why", danger=Danger.LOW),
        Pattern("what is left", "left", danger=Danger.LOW),
        Pattern("go back", "back"),
        Pattern("hold on", "hold"),
        Pattern("the consultant", "role", {"role": "consultant"}),
        Pattern("the registrar", "role", {"role": "registrar"}),
        *(
            Pattern(words, "weight_kg", danger=Danger.NUMBER)
            for words in ("{weight_kg}", "{weight_kg} kilos", "{weight_kg} kilograms")
        ),
        *(
            Pattern(words, "dose", danger=Danger.READ_BACK)
            for words in (
                "what is the dose of {drug} for {weight_kg} kilos",
                "dose of {drug} for {weight_kg} kilos",
            )
        ),
        *(
            Pattern(words, "dose", danger=Danger.ANSWERED)
            for words in ("what is the dose of {drug}", "how much {drug}")
        ),
    ]
    fillers = {
        "weight_kg": number_fillers(30, 200),
        "drug": tuple(Filler(drug, drug) for drug in DRUGS),
    }
    return Grammar(tuple(patterns), fillers)


@pytest.fixture
def ear(engine: ClosedGrammarEngine, brief: Grammar) -> Ear:
    """An ear that expects the small brief."""
    fresh = Ear(engine)
    fresh.expect(brief)
    return fresh


@pytest.fixture(scope="session")
def blocks() -> Callable[[Samples], Iterator[tuple[float, Samples]]]:
    """A recording as the stream of blocks that a microphone gives, each with its time."""

    def cut(samples: Samples) -> Iterator[tuple[float, Samples]]:
        whole = np.pad(samples, (0, -len(samples) % BLOCK_SAMPLES))
        for number, block in enumerate(whole.reshape(-1, BLOCK_SAMPLES)):
            yield number * BLOCK_S, block

    return cut


@pytest.fixture(scope="session")
def shared_digits() -> Path:
    """The folder of spoken digits, where a machine has it."""
    shared = os.environ.get("SPOKEN_BRIEF_SHARED")
    folder = Path(shared or "") / "spoken-digits"
    if shared is None or not folder.is_dir():
        pytest.skip("SPOKEN_BRIEF_SHARED names no folder with spoken-digits")
    return folder
