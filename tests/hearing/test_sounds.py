"""A plain answer by its sounds: the alphabet, the paths, and what the verdict makes of them."""

# ruff: noqa: RUF001 - the signs of the International Phonetic Alphabet

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import cycle, groupby, product
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.audio.sound import Samples, scaled, silence
from assistant.brief.states import State
from assistant.errors import BadInput
from assistant.grammar.grammar import SLOT, Danger, Grammar, Pattern
from assistant.grammar.readings import Verdict
from assistant.grammar.word_tree import Phrase, WordTree
from assistant.hearing.engines.closed.beam import Scored
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine, Weighed
from assistant.hearing.engines.closed.evidence import Evidence
from assistant.hearing.engines.closed.sounds import model, paths
from assistant.hearing.engines.closed.sounds import opinion as opinion_of
from assistant.hearing.engines.closed.sounds.alphabet import COUNT, sounds_of
from assistant.hearing.engines.closed.sounds.model import SoundModel
from assistant.hearing.engines.closed.sounds.opinion import (
    Opinion,
    Opinions,
    PhrasesBySound,
    SoundEvidence,
)
from assistant.hearing.engines.closed.verdicts import by_sounds, fitted
from assistant.hearing.soundalikes import phonemes, plain_sounds
from assistant.language.numbers import number_fillers, say_number
from assistant.phrasebook.phrasebook import Phrasebook
from tests.tarn_hollow import SITE

ANSWERS = ("tied", "fixed", "throat numb", "all ordered", "we have a wave", "mask is on")
ITEM = Grammar(
    (
        *(Pattern(words, "plain_yes", danger=Danger.PLAIN) for words in ANSWERS),
        *(Pattern(words, "decline", danger=Danger.LOW) for words in ("no", "not yet", "negative")),
        Pattern("thank you", "not_now", for_me=False),
        Pattern("say again", "repeat", danger=Danger.LOW),
    ),
    {},
)
ATTEMPTING = Phrasebook(SITE).heard_in(State.ATTEMPTING, None)
BACK = ("is it {}?", "{}, not yet.", "Not {}.", "If {}.", "Nearly {}.")
HEARD = SoundEvidence(
    words="throat numb",
    sounds=8,
    ratio=-0.3,
    margin=12.0,
    taken_back_margin=9.0,
    more_nats=0.0,
    early_s=0.32,
    late_s=0.4,
)
"""As the sounds look of what was said plainly."""
UNHEARD = Evidence("ready", filled=False, voice_s=0.8, ratio=-2.4, mean=-3.0, margin=0.2)
"""The words of the same, of which the model of sentences made nothing."""


def as_the_ear_gives_it(samples: Samples) -> Samples:
    return np.concatenate([silence(0.3), samples, silence(0.4)])


@pytest.fixture(scope="module")
def sound_model() -> SoundModel:
    return SoundModel()


@pytest.fixture(scope="module")
def opinion(sound_model: SoundModel) -> Callable[[Samples], Opinion]:
    """What the sounds say while that item is open."""
    known = PhrasesBySound(ITEM)

    def found(samples: Samples) -> Opinion:
        answer = known.opinions(sound_model.heard(as_the_ear_gives_it(samples))).answer
        assert answer is not None
        return answer

    return found


def test_every_sound_of_the_example_site_is_in_the_alphabet() -> None:
    """A sign that was not known would be left out, and the phrase be another."""
    said = Phrasebook(SITE).when_asking("anything").patterns
    told = phonemes([one.words for one in said if not SLOT.search(one.words)])
    signs = set("".join(map(plain_sounds, told.values())))

    assert {sign for sign in signs if sign.isalpha() and not sounds_of(sign)} == set()
    assert len(sounds_of("fˈɪkst")) == 5
    assert len(sounds_of("tʃˈɛk")) == 3
    assert sounds_of("θɹˈoʊt") != sounds_of("ðɹˈoʊt")


def test_no_sign_of_the_model_stands_for_speech_and_for_silence(sound_model: SoundModel) -> None:
    """What is certain in a frame is certain after it was sorted into sounds."""
    heard = sound_model.heard(silence(1.0))

    assert heard.shape[1] == COUNT + 1
    assert np.exp(heard).max() <= 1.01
    assert (heard.argmax(axis=1) == COUNT).all()


def heard_like(frames: list[list[float]]) -> np.ndarray:
    likely = np.full((len(frames), COUNT + 1), 1e-4)
    likely[:, [0, 1, COUNT]] = frames
    return np.log(likely).astype(np.float32)


def spelt(path: tuple[int, ...]) -> tuple[int, ...]:
    """The sounds that a path through the frames spells, as the model was taught."""
    return tuple(sound for sound, _ in groupby(path) if sound != COUNT)


@given(
    frames=st.lists(st.lists(st.floats(0.01, 1.0), min_size=3, max_size=3), min_size=3, max_size=5),
    row=st.lists(st.sampled_from([0, 1]), min_size=1, max_size=2),
)
@settings(max_examples=60, deadline=None)
def test_the_best_path_is_the_best_of_all(frames: list[list[float]], row: list[int]) -> None:
    """Against every path there is. No sound of these rows comes twice, as one in pieces may."""
    if len(set(row)) < len(row):
        return
    heard = heard_like(frames)
    all_paths = product((0, 1, COUNT), repeat=len(frames))
    totals = [
        sum(float(heard[frame, sound]) for frame, sound in enumerate(path))
        for path in all_paths
        if spelt(path) == tuple(row)
    ]
    in_pieces = [
        sum(float(heard[frame, sound]) for frame, sound in enumerate(path)) - 1.0
        for path in product((0, 1, COUNT), repeat=len(frames))
        if len(spelt(path)) == len(row) + 1
        and tuple(one for one, _ in groupby(spelt(path))) == tuple(row)
    ]
    assert paths.best(heard, [tuple(row)])[0] == pytest.approx(max(totals + in_pieces), abs=1e-3)


def test_rows_side_by_side_are_weighed_as_each_by_itself() -> None:
    """Whatever their lengths."""
    chance = np.random.default_rng(5)
    heard = np.log(chance.dirichlet(np.full(COUNT + 1, 0.1), size=40) + 1e-4).astype(np.float32)
    rows = [tuple(chance.integers(0, COUNT, size).tolist()) for size in (1, 3, 9, 14)]

    together = paths.best(heard, rows)

    assert together == pytest.approx([paths.best(heard, [row])[0] for row in rows], abs=1e-3)
    assert (together <= paths.anything(heard) + 1e-3).all()
    for row in rows:
        where = paths.place(heard, row)
        assert 0 <= where.first <= where.last < len(heard)


def test_what_was_said_besides_is_noticed() -> None:
    """Before the row or after it, and nothing where there was nothing."""
    sound = [[0.98, 0.01, 0.01]]
    other, none = [[0.01, 0.98, 0.01]], [[0.01, 0.01, 0.98]]

    assert paths.gained_by_more(heard_like(none * 3 + sound * 3 + none * 3), (0,)) < 0.1
    assert paths.gained_by_more(heard_like(other * 3 + none + sound * 3 + none), (0,)) > 4
    assert paths.gained_by_more(heard_like(none + sound * 3 + none + other * 3), (0,)) > 4


def told(voices: tuple[str, ...] = ("natural", "brisk", "robot")) -> Iterator[tuple[str, str]]:
    yield from product(ANSWERS, voices)


def test_short_words_are_heard_by_their_sounds(
    say: Callable[..., Samples], opinion: Callable[[Samples], Opinion]
) -> None:
    """Those that the model of sentences writes otherwise: "tied" as "tight", "numb" as "now"."""
    heard = [opinion(say(f"{words}.", voice)).phrase.words == words for words, voice in told()]

    assert sum(heard) >= 0.8 * len(heard)


def test_what_is_taken_back_is_not_settled_by_its_sounds(
    say: Callable[..., Samples], opinion: Callable[[Samples], Opinion]
) -> None:
    """Whichever way people do that; but most of the answers themselves are."""

    def settles(text: str, voice: str) -> bool:
        heard = opinion(say(text, voice)).evidence
        found = by_sounds(fitted(), Verdict.IGNORE, UNHEARD, danger=Danger.PLAIN, heard=heard)
        return found is not None and found[0] is Verdict.ACCEPT

    ways = cycle(BACK)
    back = [(next(ways).format(words), "natural") for words in (*ANSWERS, *ANSWERS)]

    assert [one for one in back if settles(*one)] == []
    assert sum(settles(f"{words}.", voice) for words, voice in told()) >= 9


def test_loudness_means_nothing(say: Callable[..., Samples], sound_model: SoundModel) -> None:
    """Somebody a little farther away says the same."""
    near = say("Throat numb.")

    assert sound_model.heard(scaled(near, -20)) == pytest.approx(sound_model.heard(near), abs=1.0)


def verdict(
    heard: SoundEvidence = HEARD,
    words: Evidence = UNHEARD,
    said: Verdict = Verdict.IGNORE,
    danger: Danger = Danger.PLAIN,
) -> Verdict | None:
    found = by_sounds(fitted(), said, words, danger=danger, heard=heard)
    return None if found is None else found[0]


def test_the_sounds_settle_what_the_words_leave_open() -> None:
    """And nothing that the words have settled."""
    assert verdict() is Verdict.ACCEPT
    assert verdict(said=Verdict.ASK) is Verdict.ACCEPT
    assert verdict(said=Verdict.ACCEPT) is None


def test_what_sounds_taken_back_the_words_do_not_settle() -> None:
    """Noise hid the "is it" at the end from the model of sentences. What its words hardly settle is
    held to more."""
    sure = replace(UNHEARD, words="throat numb", ratio=0.0, mean=-0.2, margin=8.0)
    for taken_back, words, found in (
        (-3.0, sure, None),
        (-12.0, sure, Verdict.ASK),
        (1.0, UNHEARD, Verdict.ASK),
        (2.0, UNHEARD, None),
    ):
        heard = replace(HEARD, taken_back_margin=taken_back)
        assert verdict(heard, words, said=Verdict.ACCEPT) is found, taken_back


def test_what_sounds_like_something_else_altogether_the_words_do_not_settle() -> None:
    """A person's "off" was a "yes" by its words, and in noise a "flat"; less will do for a lone
    word than for several."""
    lone, several = replace(UNHEARD, words="yes"), replace(UNHEARD, words="yes it is")
    sure = {"ratio": 0.0, "mean": -0.2, "margin": 8.0}
    for words, ratio, margin, found in (
        (lone, -1.37, -2.9, Verdict.ASK),
        (lone, -0.9, -2.9, None),
        (lone, -1.37, -1.9, None),
        (several, -3.2, -6.9, Verdict.ASK),
        (several, -2.0, -6.9, None),
        (several, -3.2, -2.9, None),
    ):
        heard = replace(HEARD, words=words.words, sounds=3, ratio=ratio, margin=margin)
        assert verdict(heard, replace(words, **sure), said=Verdict.ACCEPT) is found


def test_where_the_words_have_nothing_the_sounds_must_be_nearer() -> None:
    """ "It leaks" in noise was "it is" by its sounds, at a distance."""
    far = replace(HEARD, ratio=-1.2)
    assert verdict(far) is Verdict.ASK
    assert verdict(far, said=Verdict.ASK) is Verdict.ACCEPT


@pytest.mark.parametrize("danger", [Danger.HIGH, Danger.OPTION, Danger.ANSWERED, Danger.NUMBER])
@pytest.mark.parametrize("said", [Verdict.ASK, Verdict.ACCEPT])
def test_what_is_something_else_by_its_words_stays_that(said: Verdict, danger: Danger) -> None:
    """Above all what acts at once."""
    assert verdict(said=said, danger=danger) is None


@pytest.mark.parametrize("danger", [Danger.LOW, Danger.USUAL])
def test_a_harmless_word_gives_way_to_clear_sounds(danger: Danger) -> None:
    """A "hang on" of "head up" is not obeyed, but the answer is read back. What is surely that word
    stays it, unless the sounds are far from it."""
    assert verdict(said=Verdict.ACCEPT, danger=danger) is Verdict.ASK
    assert verdict(replace(HEARD, margin=3.0), said=Verdict.ASK, danger=danger) is Verdict.ASK
    assert verdict(replace(HEARD, margin=3.0), said=Verdict.ACCEPT, danger=danger) is None
    doubted = replace(HEARD, taken_back_margin=0.5)
    assert verdict(doubted, said=Verdict.ASK, danger=danger) is None


def test_a_doubtful_question_gives_way_altogether_but_no_decline() -> None:
    """Where the sounds are far from it; a "no" that is asked back is never a yes for its sounds."""
    assert verdict(said=Verdict.ASK, danger=Danger.USUAL) is Verdict.ACCEPT
    assert verdict(said=Verdict.ASK, danger=Danger.LOW) is Verdict.ASK


@pytest.mark.parametrize(
    "worse",
    [
        {"ratio": -2.8},
        {"margin": 0.1},
        {"sounds": 4, "ratio": -1.4},
        {"sounds": 4, "margin": 2.0},
        {"sounds": 4, "margin": 0.9, "words": UNHEARD.words},
    ],
)
def test_what_does_not_fit_its_sounds_is_left_to_the_words(worse: dict[str, Any]) -> None:
    """People say many short words in such a room: none is asked back for being a little like."""
    assert verdict(replace(HEARD, **worse)) is None


@pytest.mark.parametrize(
    "worse", [{"taken_back_margin": 0.5}, {"more_nats": 4.0}, {"early_s": 0.7}, {"late_s": 1.1}]
)
def test_what_may_have_been_taken_back_is_asked_back(worse: dict[str, float]) -> None:
    """Where the words would let it pass unheard; what they ask back is theirs."""
    doubted = replace(HEARD, **worse)

    assert verdict(doubted) is Verdict.ASK
    assert verdict(doubted, said=Verdict.ASK) is None


def test_what_the_words_say_was_taken_back_the_sounds_do_not_settle() -> None:
    """Where both hear the same answer, and the sounds are not quite clear."""
    same, close = replace(UNHEARD, words=HEARD.words), replace(HEARD, taken_back_margin=3.0)

    for taken_back in (replace(same, doubt_margin=0.5), replace(same, said_more=True)):
        assert verdict(close, words=same) is Verdict.ACCEPT
        assert verdict(close, words=taken_back) is Verdict.ASK
        assert verdict(HEARD, words=taken_back) is Verdict.ACCEPT


def test_the_engine_hears_by_both(engine: ClosedGrammarEngine, say: Callable[..., Samples]) -> None:
    """Most answers are accepted, and what says the opposite is not: "it's off" of "it's on"."""
    known = Grammar((*ITEM.patterns, Pattern("it's on", "plain_yes", danger=Danger.PLAIN)), {})
    engine.listen_for(known)

    def accepted(text: str, voice: str) -> bool:
        reading = engine.read(as_the_ear_gives_it(say(text, voice)))
        return reading.verdict is Verdict.ACCEPT and reading.meaning == "plain_yes"

    assert not any(accepted("It's off.", voice) for voice in ("natural", "brisk", "robot"))
    assert sum(accepted(f"{words}.", "brisk") for words in (*ANSWERS, "it's on")) >= 5


def test_a_number_is_also_told_by_its_sounds(
    say: Callable[..., Samples], sound_model: SoundModel
) -> None:
    """Fifteen from fifty, which a model of sentences may take for each other in noise."""
    litres = Grammar(
        (Pattern("{number} litres", "number", danger=Danger.SETTING),),
        {"number": number_fillers(1, 60)},
    )
    known, tree = PhrasesBySound(litres), WordTree(litres)
    (fifteen,), (fifty,) = (tree.match([one, "litres"]) for one in ("fifteen", "fifty"))

    for voice in ("natural", "brisk"):
        heard = sound_model.heard(as_the_ear_gives_it(say("Fifty litres.", voice)))
        assert known.has_numbers
        assert known.lead_over_other_numbers(heard, fifteen) < 0
        assert known.lead_over_other_numbers(heard, fifty) > 0


def test_another_model_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What hears otherwise than was measured is not used, and one sentence says so."""
    another = tmp_path / "taught.hama"
    another.write_bytes(b"x")
    monkeypatch.setattr(model, "SHIPPED", another)
    model.check_file.cache_clear()
    with pytest.raises(BadInput, match="another file than the fit was made with"):
        SoundModel()

    monkeypatch.setattr(model, "find_spec", lambda _: None)
    with pytest.raises(BadInput, match=r"allowed: hama 1\.7\.0"):
        SoundModel()


def test_without_espeak_the_words_have_to_do(
    engine: ClosedGrammarEngine, say: Callable[..., Samples], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody knows then how phrases sound; what is understood by its words still is."""

    def fail(*_: object) -> None:
        raise OSError("espeak-ng did not answer")

    monkeypatch.setattr(opinion_of, "phonemes", fail)
    engine.listen_for(Grammar((Pattern("yes it is", "plain_yes", danger=Danger.PLAIN),), {}))

    assert engine.read(as_the_ear_gives_it(say("Yes it is."))).verdict is Verdict.ACCEPT


def test_what_is_a_question_or_a_choice_is_left_to_its_words() -> None:
    """There is an opinion of plain answers only, and of what acts at once."""
    assert not PhrasesBySound(Grammar((Pattern("we took it off", "confirm"),), {})).has_phrases


AT_ONCE = (
    *("supraglottic in", "supraglottic airway now", "the supraglottic went in", "neck airway in"),
    *("place the supraglottic", "we lost the pulse", "it's oesophageal", "laryngoscope going in"),
)


def test_what_acts_at_once_is_not_missed_for_a_rare_word(
    engine: ClosedGrammarEngine, say: Callable[..., Samples]
) -> None:
    """In an attempt, where nobody is asked anything. A model of sentences writes "two perglot
    again" for "supraglottic in": its sounds tell."""
    meant = {one.words: one.meaning for one in ATTEMPTING.patterns}
    engine.listen_for(ATTEMPTING)
    missed = []
    for words, voice in product(AT_ONCE, ("natural", "robot")):
        reading = engine.read(as_the_ear_gives_it(say(f"{words}.", voice)))
        if reading.verdict is Verdict.IGNORE or reading.meaning != meant[words]:
            missed.append((words, voice))

    assert len(missed) <= 2, missed


@pytest.mark.parametrize("voice", ["natural", "robot"])
def test_the_tube_is_in_and_is_not(
    engine: ClosedGrammarEngine, say: Callable[..., Samples], voice: str
) -> None:
    """The likeliest words for it are one soft sound from their denial: that is no more than asked
    back."""
    engine.listen_for(ATTEMPTING)
    told = engine.read(as_the_ear_gives_it(say("The tube is in.", voice)))

    assert (told.meaning, told.verdict) == ("tube_in", Verdict.ASK)
    for denied in ("The tube isn't in.", "The tube's not in.", "Is the tube in?"):
        reading = engine.read(as_the_ear_gives_it(say(denied, voice)))
        assert reading.meaning != "tube_in" or reading.verdict is not Verdict.ACCEPT, denied


@pytest.mark.parametrize("voice", ["natural", "robot"])
@pytest.mark.parametrize("denied", ["Not working.", "It's not working.", "That's a no."])
def test_what_does_not_work_is_no_answer(
    engine: ClosedGrammarEngine, say: Callable[..., Samples], denied: str, voice: str
) -> None:
    """While two suctions are asked for, where "both working" would be one."""
    engine.listen_for(item_asked("suction"))
    reading = engine.read(as_the_ear_gives_it(say(denied, voice)))

    assert reading.meaning not in ("confirm", "plain_yes") or reading.verdict is Verdict.IGNORE


@pytest.mark.parametrize(
    ("change", "verdict"),
    [
        ({}, Verdict.ASK),
        ({"ratio": -2.5}, Verdict.IGNORE),
        ({"margin": 1.0}, Verdict.IGNORE),
        ({"taken_back_margin": 0.5}, Verdict.IGNORE),
        ({"more_nats": 4.0}, Verdict.IGNORE),
        ({"late_s": 1.0}, Verdict.IGNORE),
    ],
)
def test_by_its_sounds_alone_it_is_at_most_asked_back(
    engine: ClosedGrammarEngine, change: dict[str, float], verdict: Verdict
) -> None:
    """And only where they are like it, and nothing else was said."""
    phrase = Phrase(Pattern("the supraglottic went in", "rescue_in", {}, Danger.HIGH), ())
    sounds = replace(HEARD, words="the supraglottic went in", sounds=18, **change)
    unheard = Phrase(Pattern("ready", "plain_yes", {}, Danger.PLAIN), ())
    weighed = Weighed(
        Scored(unheard, -9.0, 3, 0.0),
        replace(UNHEARD, ratio=-4.0, mean=-5.0),
        "",
        None,
        Opinions(at_once=Opinion(phrase, sounds)),
    )
    judged = engine.judge(weighed)

    assert judged.verdict is verdict
    assert judged.phrase is (phrase if verdict is Verdict.ASK else unheard)


def item_asked(name: str) -> Grammar:
    """What may be said while Tarn Hollow asks that item."""
    item = next(one for one in SITE.brief.items() if one.id == name)
    return Phrasebook(SITE).heard_in(State.ASKING, item)


def test_a_round_weight_by_itself_is_heard(
    engine: ClosedGrammarEngine, say: Callable[..., Samples]
) -> None:
    """The likeliest answer of all, and the shortest: a model of sentences writes "sexy" and "Irene"
    for it, or is sure of nothing. It is read back, or its digits are asked for."""
    engine.listen_for(item_asked("weight"))
    missed = []
    for number, voice in product((40, 50, 60, 70, 80, 90), ("natural", "robot")):
        reading = engine.read(as_the_ear_gives_it(say(f"{say_number(number)}.", voice)))
        told = (reading.values, reading.runner_up)
        if reading.verdict is Verdict.IGNORE or {"number": float(number)} not in told:
            missed.append((number, voice, reading))

    assert len(missed) <= 3, missed


NUMBER = Pattern("{number}", "number", {}, Danger.NUMBER)
OKAY = Phrase(Pattern("okay", "not_now", for_me=False), ())
SIXTY, SIXTEEN = (Phrase(NUMBER, (("number", number_fillers(one, one)[0]),)) for one in (60, 16))


@pytest.mark.parametrize(
    ("by_words", "change", "verdict", "number"),
    [
        (OKAY, {}, Verdict.ASK, "sixty"),
        (OKAY, {"ratio": -0.9}, Verdict.IGNORE, "okay"),
        (OKAY, {"margin": 1.0}, Verdict.IGNORE, "okay"),
        (OKAY, {"more_nats": 2.0}, Verdict.IGNORE, "okay"),
        (SIXTEEN, {}, Verdict.IGNORE, "sixteen"),
        (SIXTY, {"ratio": -1.2, "margin": -2.0}, Verdict.ASK, "sixty"),
        (SIXTY, {"ratio": -1.8}, Verdict.IGNORE, "sixty"),
    ],
)
def test_a_number_by_its_sounds_is_read_back(
    engine: ClosedGrammarEngine,
    by_words: Phrase,
    change: dict[str, float],
    verdict: Verdict,
    number: str,
) -> None:
    """Where the sounds are like it and the words have no other number; never taken at once."""
    sounds = replace(HEARD, words="sixty", sounds=6, **change)
    weighed = Weighed(
        Scored(by_words, -9.0, 3, 0.0),
        replace(UNHEARD, words=by_words.words, ratio=-4.0, mean=-5.0),
        "",
        None,
        Opinions(number=Opinion(SIXTY, sounds)),
    )
    judged = engine.judge(weighed)

    assert (judged.verdict, judged.phrase.words) == (verdict, number)


def test_fewer_sounds_than_six_are_no_word_that_acts_at_once() -> None:
    """A "tube in" is like too much else; its words have to tell."""
    short = Grammar((Pattern("tube in", "tube_in", {}, Danger.HIGH),), {})
    long = Grammar((Pattern("tube through the cords", "tube_in", {}, Danger.HIGH),), {})

    assert not PhrasesBySound(short).has_phrases
    assert PhrasesBySound(long).has_phrases
