"""`hear` is the measuring instrument: real speech in files of every kind, by the live path."""

import json
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
import soxr

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, RATE_HZ, Samples, read_wav, silence
from assistant.clock import SoundClock
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts
from assistant.hearing.ear import Ear
from assistant.hearing.engines import make_engine
from assistant.journal.journal import Journal, read_case
from assistant.site.site import load_site
from assistant.speaking.mouth import Line
from assistant.speaking.voices import VoiceSettings, open_voice

pytestmark = pytest.mark.usefixtures("good_site_once")
ROOT = Path(__file__).parents[2]
KEYS = {"file", "text", "meaning", "values", "confidence", "accepted", "why"}
Listen = Callable[..., list[dict[str, Any]]]


@pytest.fixture(scope="session")
def spoken() -> Callable[[str], Samples]:
    """A phrase in the natural voice."""
    return cache(open_voice(VoiceSettings(engine="natural", name="joe")).render)


@pytest.fixture
def record(tmp_path: Path, spoken: Callable[[str], Samples]) -> Callable[..., Path]:
    """Makes a WAV of a phrase, with half a second around it."""

    def made(phrase: str, rate_hz: int = RATE_HZ, channels: int = 1) -> Path:
        wave = np.pad(spoken(phrase).astype(np.float64) / 32768, RATE_HZ // 2)
        at_rate = soxr.resample(wave, RATE_HZ, rate_hz)
        path = tmp_path / f"{phrase.replace(' ', '-')}-{rate_hz}-{channels}.wav"
        soundfile.write(path, np.tile(at_rate[:, None], (1, channels)), rate_hz)
        return path

    return made


@pytest.fixture
def listen(command: Any) -> Iterator[Listen]:
    """`hear --asking KIND FILE...`, its lines taken apart."""

    def heard(kind: str, *files: Path) -> list[dict[str, Any]]:
        called = command("hear", "--asking", kind, *files)
        assert (called.code, called.err) == (0, "")
        return [json.loads(line) for line in called.out.splitlines()]

    return heard


def test_every_rate_and_stereo_say_the_same(listen: Listen, record: Callable[..., Path]) -> None:
    """Telephone, laboratory, half and whole studio rates, one channel or two: one answer."""
    phrase = "yes confirmed"
    files = [record(phrase, rate_hz) for rate_hz in (8_000, 16_000, 22_050, 44_100, 48_000)]
    files.append(record(phrase, 44_100, channels=2))

    lines = listen("confirm", *files)

    assert [line["file"] for line in lines] == [str(file) for file in files]
    for line in lines:
        assert set(line) >= KEYS
        assert (line["text"], line["meaning"], line["accepted"]) == (phrase, "confirm", True)
        assert line["why"] == ""
        assert 0.0 < line["confidence"] <= 1.0
        assert line["utterances"] == 1


@pytest.mark.parametrize(
    ("kind", "phrase", "meaning", "values"),
    [
        ("confirm", "yes confirmed", "confirm", {}),
        ("choose", "video laryngoscope", "choose", {"choose": "video"}),
        ("number", "seventy two kilos", "number", {"number": 72}),
        ("number", "one hundred and fifteen kilograms", "number", {"number": 115}),
        ("name", "the registrar", "name", {"name": "registrar"}),
        ("timed", "we saw the mask held on", "confirm", {}),
        ("plan", "we went through that plan", "confirm", {}),
        (
            "question",
            "what is the dose of rocuronium for seventy kilos",
            "dose",
            {"drug": "rocuronium", "weight_kg": 70},
        ),
        ("question", "what is left", "left", {}),
        ("anything", "begin the attempt", "attempt_start", {}),
    ],
)
def test_each_kind_of_question_has_its_answers(
    *,
    listen: Listen,
    record: Callable[..., Path],
    kind: str,
    phrase: str,
    meaning: str,
    values: dict[str, Any],
) -> None:
    """What is asked decides what may be answered; numbers and names come as values."""
    (line,) = listen(kind, record(phrase))

    assert (line["text"], line["meaning"], line["values"]) == (phrase, meaning, values)
    assert line["accepted"] is True


@pytest.mark.parametrize("kind", ["confirm", "timed", "plan", "number", "choose", "name"])
def test_a_decline_is_never_a_confirmation(
    listen: Listen, record: Callable[..., Path], kind: str
) -> None:
    """ "Not yet", "no", "not confirmed": whatever is asked, none of them passes for a yes."""
    phrases = ("not yet", "no not yet", "not confirmed", "no", "negative", "not done yet")
    lines = listen(kind, *map(record, phrases))

    assert [line["meaning"] for line in lines if line["accepted"]].count("decline") >= 4
    for line in lines:
        assert not (line["accepted"] and line["meaning"] != "decline"), line


@pytest.mark.parametrize("situation", [None, "--vital", "--outside"])
def test_a_plain_yes_is_what_its_situation_makes_of_it(
    command: Any, record: Callable[..., Path], situation: str | None
) -> None:
    """In the window of a plain item it confirms; else it is a bare yes, and not accepted.

    A set phrase and a decline are the same in each, and one run hears them all.
    """
    files = [record(phrase) for phrase in ("yes", "checked", "yes confirmed", "not yet")]
    options = [situation] if situation else []
    called = command("hear", "--asking", "confirm", *options, *files)
    lines = [json.loads(line) for line in called.out.splitlines()]

    plain = ("bare_yes", False) if situation else ("confirm", True)
    assert [(line["meaning"], line["accepted"]) for line in lines] == [
        *(plain, plain),
        *(("confirm", True), ("decline", True)),
    ]


def test_noise_is_no_answer(listen: Listen, tmp_path: Path) -> None:
    """Loud noise and silence: not accepted, and the reason is said."""
    random = np.random.default_rng(5)
    soundfile.write(tmp_path / "noise.wav", random.normal(0, 0.1, 3 * RATE_HZ), RATE_HZ)
    soundfile.write(tmp_path / "silence.wav", np.zeros(2 * RATE_HZ), RATE_HZ)
    soundfile.write(tmp_path / "nothing.wav", np.zeros(0), RATE_HZ)

    lines = listen("confirm", *sorted(tmp_path.glob("*.wav")))

    assert len(lines) == 3
    for line in lines:
        assert line["accepted"] is False
        assert line["why"]


def test_what_was_not_accepted_is_never_free_text(
    listen: Listen, record: Callable[..., Path]
) -> None:
    """Talk that is not of the grammar leaves the best phrase of the grammar and its reason."""
    phrase = "my brother went fishing in the harbour on sunday"
    (line,) = listen("confirm", record(phrase))

    assert line["accepted"] is False
    assert line["why"]
    assert not {"brother", "fishing", "harbour", "sunday"} & set(line["text"].split())


def test_two_files_are_heard_apart(listen: Listen, record: Callable[..., Path]) -> None:
    """One line each, in order, and neither changes what is heard in the other."""
    yes, no = record("yes confirmed"), record("not yet")

    both = listen("confirm", yes, no, yes)

    assert [line["meaning"] for line in both] == ["confirm", "decline", "confirm"]
    assert both[0] == both[2] == listen("confirm", yes)[0]
    assert both[1] == listen("confirm", no)[0]


def test_it_is_the_live_path(listen: Listen, record: Callable[..., Path], tmp_path: Path) -> None:
    """A conversation that gets the same sound from its microphone hears the same."""
    path = record("begin the brief")
    (line,) = listen("anything", path)

    site = load_site(ROOT / "configs" / "tarn-hollow")
    clock, engine, folder = SoundClock(), make_engine("closed"), tmp_path / "case"
    folder.mkdir()
    said: list[Line] = []
    live = Conversation(
        site,
        Parts(
            clock,
            Ear(engine),
            open_voice(site.wording.voice),
            Journal(folder, clock, site.brief.name),
        ),
        on_said=said.append,
    )
    at_s = 0.0
    while not said:
        clock.move_to(at_s)
        live.step(silence(BLOCK_S), at_s)
        at_s += BLOCK_S
    stream = np.concatenate([silence(1.6), read_wav(path), silence(1.6)])
    for block in np.pad(stream, (0, -len(stream) % BLOCK_SAMPLES)).reshape(-1, BLOCK_SAMPLES):
        clock.move_to(at_s)
        live.step(block, at_s)
        at_s += BLOCK_S
    live.close()

    (heard,) = [row for row in read_case(folder)[1] if row.who == "team"]
    assert (heard.text, heard.meaning) == (line["text"], line["meaning"])
    assert heard.data["verdict"] == ("accept" if line["accepted"] else "")
    assert heard.confidence == pytest.approx(line["confidence"], abs=0.1)
