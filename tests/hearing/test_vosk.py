"""Vosk behind the engine protocol: what needs no model, and all of it where there is one."""

import os
from pathlib import Path

import numpy as np
import pytest

from assistant.audio.sound import Samples
from assistant.errors import BadInput
from assistant.grammar.grammar import Danger, Filler, Grammar, Pattern, spoken_parts
from assistant.grammar.readings import Verdict
from assistant.grammar.word_tree import WordTree
from assistant.hearing.engines import make_engine
from assistant.hearing.engines.vosk.engine import UNKNOWN, VoskEngine, in_a_room, judge
from assistant.language.korean import number_fillers
from assistant.speaking.voices import VoiceSettings, open_voice

GRAMMAR = Grammar(
    (
        Pattern("confirmed", "confirm", danger=Danger.HIGH),
        Pattern("quite confirmed", "confirm", danger=Danger.HIGH),
        Pattern("cuff is up", "confirm", danger=Danger.HIGH),
        Pattern("not confirmed", "decline"),
        Pattern("say again", "repeat", danger=Danger.LOW),
        Pattern("is that confirmed", "not_now", for_me=False),
        Pattern("dose of {drug} for {weight_kg} kilos", "dose", danger=Danger.HIGH),
    ),
    {
        "drug": (Filler("ketamine", "ketamine", ("ket a mean",)),),
        "weight_kg": (Filler("seventy", 70.0), Filler("seventy five", 75.0, ("75",))),
    },
)


def said(text: str, conf: float = 1.0) -> list[dict[str, object]]:
    """Words as Vosk gives them."""
    return [{"word": word, "conf": conf} for word in text.split()]


def test_only_a_whole_phrase_counts() -> None:
    """Vosk's grammar lets phrases mix and repeat; nothing is picked out of such a result."""
    expected = {
        "confirmed": ("confirm", Verdict.ACCEPT),
        "not confirmed": ("decline", Verdict.ACCEPT),
        "is that confirmed": ("not_now", Verdict.IGNORE),
        "confirmed confirmed": ("", Verdict.IGNORE),
        f"{UNKNOWN} confirmed": ("", Verdict.IGNORE),
        "that confirmed": ("", Verdict.IGNORE),
        "": ("", Verdict.IGNORE),
    }
    readings = {text: judge(WordTree(GRAMMAR), said(text), rejects=True) for text in expected}

    assert {text: (one.meaning, one.verdict) for text, one in readings.items()} == expected


def test_slots_are_read_from_the_words() -> None:
    """The drug and the weight are those of the longest whole match, not of its beginning."""
    reading = judge(
        WordTree(GRAMMAR), said("dose of ketamine for seventy five kilos"), rejects=True
    )

    assert reading.values == {"drug": "ketamine", "weight_kg": 75.0}
    assert reading.verdict is Verdict.ACCEPT


def test_the_least_sure_word_decides() -> None:
    """A dangerous phrase needs more sureness than a harmless one."""
    expected = {
        ("confirmed", 0.95): Verdict.ACCEPT,
        ("confirmed", 0.85): Verdict.ASK,
        ("confirmed", 0.4): Verdict.IGNORE,
        ("say again", 0.65): Verdict.ACCEPT,
    }
    verdicts = {}
    for text, conf in expected:
        words = [*said(text)[:-1], *said(text, conf)[-1:]]
        verdicts[text, conf] = judge(WordTree(GRAMMAR), words, rejects=True).verdict

    assert verdicts == expected


def test_a_model_that_cannot_reject_is_never_believed_in_danger() -> None:
    """Without the unknown word, Vosk hears a command in everything, sure of itself."""
    tree = WordTree(GRAMMAR)

    assert judge(tree, said("confirmed"), rejects=False).verdict is Verdict.ASK
    assert judge(tree, said("quite confirmed"), rejects=False).verdict is Verdict.ASK
    assert judge(tree, said("say again"), rejects=False).verdict is Verdict.ACCEPT


def test_but_for_a_phrase_of_three_words() -> None:
    """Talk seldom makes all three, in order and nothing else; each must be as sure as any."""
    tree = WordTree(GRAMMAR)
    words = said("cuff is up")

    assert judge(tree, words, rejects=False).verdict is Verdict.ACCEPT
    assert judge(tree, [*said("cuff is"), *said("up", 0.85)], rejects=False).verdict is Verdict.ASK
    assert judge(tree, said("cuff is not up"), rejects=False).verdict is Verdict.IGNORE
    assert judge(tree, [*words, *said("ketamine")], rejects=False).verdict is Verdict.IGNORE


def test_perfect_silence_is_given_the_trace_of_a_room() -> None:
    """Such a model hears half as much in digital silence; a room's own noise is left alone."""
    voice = np.zeros(16_000, np.int16)
    voice[4000:12_000] = (6000 * np.sin(np.arange(8000) * 0.3)).astype(np.int16)
    filled = in_a_room(voice)

    assert np.array_equal(filled, in_a_room(voice))
    level = np.sqrt(np.mean(filled[:3000].astype(float) ** 2))
    rms = 6000 / np.sqrt(2)
    assert 20 < 20 * np.log10(rms / level) < 40
    room = voice + np.random.default_rng(1).normal(0.0, 400.0, len(voice)).astype(np.int16)
    assert np.array_equal(in_a_room(room), room)
    assert len(in_a_room(voice[:100])) == 100


def test_the_grammar_is_given_in_parts() -> None:
    """Between slots and for each filler: never every drug with every weight."""
    assert set(spoken_parts(GRAMMAR)) == {
        "confirmed",
        "quite confirmed",
        "cuff is up",
        "not confirmed",
        "say again",
        "is that confirmed",
        "dose of",
        "for",
        "kilos",
        "ketamine",
        "seventy",
        "seventy five",
    }


def test_a_missing_model_folder_is_one_sentence(tmp_path: Path) -> None:
    """Which folder, what was found, what is allowed."""
    with pytest.raises(BadInput, match=r"found no model called 'vosk' \(none is there\); allowed"):
        make_engine("vosk", models_dir=tmp_path)


def test_a_folder_that_is_no_model_is_one_sentence(tmp_path: Path) -> None:
    """An empty folder does not end the process."""
    with pytest.raises(BadInput, match="found a folder that is no Vosk model"):
        VoskEngine(tmp_path)


def test_an_engine_that_does_not_exist_is_refused_with_the_names_of_those_that_do() -> None:
    """A typing error in a site's settings costs no search."""
    with pytest.raises(BadInput, match="found 'closd'; allowed: closed, vosk"):
        make_engine("closd")


@pytest.fixture(scope="module")
def model() -> Path:
    folder = os.environ.get("SPOKEN_BRIEF_VOSK_MODEL")
    if folder is None:
        pytest.skip("SPOKEN_BRIEF_VOSK_MODEL names no English model, and no package has one")
    return Path(folder)


@pytest.mark.slow
def test_a_real_model_names_the_words_that_it_lacks(model: Path) -> None:
    """A made-up drug is in nobody's dictionary."""
    grammar = Grammar((Pattern("how much zorbaxinol", "dose"),))

    assert "zorbaxinol" in VoskEngine(model).missing_words(grammar)


@pytest.mark.slow
def test_a_real_model_reads_the_grammar(model: Path, say, in_noise) -> None:
    """An English model hears a plain confirmation as one."""
    engine = VoskEngine(model)
    if engine.missing_words(GRAMMAR):
        pytest.skip("the model lacks words of this grammar")
    engine.listen_for(GRAMMAR)

    assert engine.read(in_noise(say("Not confirmed."), None)).meaning == "decline"


KOREAN = Grammar(
    (
        Pattern("산소 연결 됐습니다", "confirm", danger=Danger.HIGH),  # oxygen is connected
        Pattern("아직 아닙니다", "decline"),  # not yet
        Pattern("아니요", "decline"),  # no
        Pattern("다시 말해 주세요", "repeat", danger=Danger.LOW),  # please say it again
        Pattern("잠깐 기다려", "hold"),  # wait a moment
        Pattern("네 맞습니다", "confirm", danger=Danger.HIGH),  # yes, right
    )
)
"""Answers in another language; the model lacks one word of the last."""


@pytest.fixture(scope="module")
def korean(korean_model: Path) -> VoskEngine:
    """The engine with a real Korean model."""
    return VoskEngine(korean_model)


def korean_voice(text: str) -> Samples:
    """espeak-ng's Korean voice, with a quarter of a second around it."""
    return np.pad(open_voice(VoiceSettings(name="ko", words_per_minute=130)).render(text), 4000)


@pytest.mark.slow
def test_korean_answers_are_heard_and_its_missing_words_named(korean: VoskEngine) -> None:
    """Language is data: the same grammar, contract and refusal with a real model."""
    assert korean.missing_words(KOREAN) == ("맞습니다",)
    korean.listen_for(KOREAN)

    readings = {
        pattern.words: korean.read(korean_voice(pattern.words)) for pattern in KOREAN.patterns[:5]
    }

    # A robotic voice: not all is understood, but nothing as something else.
    heard = [one for one in KOREAN.patterns[:5] if readings[one.words].meaning]
    assert len(heard) >= 3
    assert all(readings[one.words].meaning == one.meaning for one in heard)
    assert readings["아니요"].verdict is Verdict.ACCEPT


@pytest.mark.slow
def test_a_korean_decline_is_never_a_confirmation(korean: VoskEngine, in_noise) -> None:
    """Also in noise at 10 dB."""
    korean.listen_for(KOREAN)

    for words in ("아직 아닙니다", "아니요"):
        reading = korean.read(in_noise(korean_voice(words), 10))
        assert (reading.meaning, reading.verdict) != ("confirm", Verdict.ACCEPT)


@pytest.mark.slow
def test_a_change_of_state_changes_what_is_heard(korean: VoskEngine, in_noise) -> None:
    """Each state has a grammar of its own; what only another allows is not heard."""
    sound = in_noise(korean_voice("잠깐 기다려"), 20)
    waiting = Grammar((Pattern("잠깐 기다려", "hold"), Pattern("아직 아닙니다", "decline")))
    asking = Grammar((Pattern("아직 아닙니다", "decline"), Pattern("지금 바로 진행", "go_now")))

    for grammar, meaning in ((waiting, "hold"), (asking, ""), (waiting, "hold")):
        korean.listen_for(grammar)
        assert korean.read(sound).meaning == meaning


@pytest.mark.slow
def test_a_short_yes_is_never_believed_by_a_model_that_cannot_reject(
    korean: VoskEngine, in_noise
) -> None:
    """It has no "none of these": of two words it is asked back, of three it may count."""
    grammar = Grammar(
        (
            Pattern("모두 정상", "confirm", danger=Danger.HIGH),
            Pattern("모니터 모두 정상", "confirm", danger=Danger.HIGH),
            Pattern("아직 아닙니다", "decline"),
        )
    )
    korean.listen_for(grammar)

    assert not korean.knows(UNKNOWN)
    long = korean.read(in_noise(korean_voice("모니터 모두 정상"), 20))
    assert (long.text, long.verdict) == ("모니터 모두 정상", Verdict.ACCEPT)
    for snr_db in (None, 20, 10):
        short = korean.read(in_noise(korean_voice("모두 정상"), snr_db))
        assert short.verdict is not Verdict.ACCEPT


@pytest.mark.slow
def test_a_respelling_that_the_model_knows_is_listened_for(korean: VoskEngine) -> None:
    """The model lacks 이백, two hundred, as one word and has both of its parts."""
    grammar = Grammar(
        (Pattern("{number}", "number", danger=Danger.HIGH),), {"number": number_fillers(199, 201)}
    )
    assert not korean.knows("이백")
    assert korean.missing_words(grammar) == ()
    bare = Grammar((Pattern("{number}", "number"),), {"number": (Filler("이백", 200.0),)})
    assert korean.missing_words(bare) == ("이백",)
