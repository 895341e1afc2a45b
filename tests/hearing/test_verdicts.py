"""How evidence becomes a verdict."""

import json
from dataclasses import replace
from math import log

import pytest

from assistant.grammar.grammar import Danger
from assistant.grammar.readings import Verdict
from assistant.hearing.engines.closed.evidence import Evidence, features
from assistant.hearing.engines.closed.sounds.opinion import SoundEvidence, figures
from assistant.hearing.engines.closed.verdicts import FITTED, SOUNDS, confidence, fitted, judge

PLAIN = Evidence(
    words="both drugs are drawn up",
    filled=False,
    voice_s=1.2,
    ratio=-0.05,
    mean=-0.2,
)
"""As a phrase looks that was said plainly in a quiet room."""
ORDER = [Verdict.IGNORE, Verdict.ASK, Verdict.ACCEPT]


def verdict(evidence: Evidence, danger: Danger = Danger.HIGH) -> Verdict:
    return judge(fitted(), evidence, danger=danger, rival="another")[0]


def test_what_was_said_plainly_is_accepted() -> None:
    """And is held for more likely than not."""
    assert verdict(PLAIN) is Verdict.ACCEPT
    assert confidence(fitted(), PLAIN) > 0.5


@pytest.mark.parametrize(
    "worse",
    [
        {"margin": 0.2},
        {"value_margin": 1.0},
        {"longer_margin": 1.0},
        {"denial_margin": 5.0},
    ],
)
def test_a_close_rival_is_asked_back_however_clear_the_sound(worse: dict[str, float]) -> None:
    """Another meaning, another number, a longer phrase, the own denial."""
    found, why = judge(fitted(), replace(PLAIN, **worse), danger=Danger.HIGH, rival="another")

    assert found is Verdict.ASK
    assert why.startswith("too close to")


def test_what_is_read_back_needs_no_lead_over_another_number() -> None:
    """Whoever said it hears it and confirms it, as they would be asked to anyway."""
    close = replace(PLAIN, filled=True, value_margin=1.5)

    assert verdict(close, Danger.READ_BACK) is Verdict.ACCEPT
    assert verdict(close, Danger.ANSWERED) is Verdict.ASK


def test_a_setting_must_be_further_ahead_of_another_number() -> None:
    """ "Fifty litres" at the edge of what is heard was a "fifteen", which settles an item."""
    close = replace(PLAIN, words="fifteen litres", filled=True, voice_s=0.8, value_margin=4.2)

    assert verdict(close, Danger.SETTING) is Verdict.ASK
    assert verdict(replace(close, value_margin=6.0), Danger.SETTING) is Verdict.ACCEPT


def test_what_is_dangerous_must_lead_what_sounds_like_it_by_more() -> None:
    """In noise "affiliated", a decoy, came three nats behind "affirmative"."""
    close = replace(PLAIN, margin=3.0)

    assert verdict(close) is Verdict.ASK
    assert verdict(close, Danger.USUAL) is Verdict.ACCEPT


def test_several_words_far_from_their_denial_need_no_such_lead() -> None:
    """One word, and what sounds like its denial, still do."""
    several = replace(PLAIN, words="we saw both drugs labelled", margin=3.0)

    assert verdict(several) is Verdict.ACCEPT
    assert verdict(replace(several, margin=1.5)) is Verdict.ASK
    assert verdict(replace(several, words="affirmative")) is Verdict.ASK
    assert verdict(replace(several, words="we labelled both drugs")) is Verdict.ASK


def test_what_costs_nothing_need_only_be_ahead() -> None:
    """A decline that a decoy is as near as: the item stays open either way."""
    near = replace(PLAIN, words="not confirmed", margin=0.4, voice_s=1.0)

    assert verdict(near, Danger.LOW) is Verdict.ACCEPT
    assert verdict(replace(near, margin=-0.4), Danger.LOW) is Verdict.ASK
    assert verdict(near, Danger.USUAL) is Verdict.ASK


def test_a_lone_word_must_be_ahead_of_others() -> None:
    """ "Go" is less than two nats behind "no", and "off" three behind "yes"."""
    no = replace(PLAIN, words="no", voice_s=0.5, margin=1.7)
    yes = replace(PLAIN, words="yes", voice_s=0.5, margin=3.0)

    assert verdict(no, Danger.LOW) is Verdict.ASK
    assert verdict(replace(no, margin=4.0), Danger.LOW) is Verdict.ACCEPT
    assert verdict(yes, Danger.PLAIN) is Verdict.ASK
    assert verdict(replace(yes, margin=4.5), Danger.PLAIN) is Verdict.ACCEPT


def test_a_plain_answer_must_be_ahead_of_what_takes_it_back() -> None:
    """ "Both working soon", and whatever has more in it than the answer; a little will do where
    nothing more can have been said in the time."""
    told = replace(PLAIN, words="both working", doubt_margin=9.0, voice_s=0.8)

    assert verdict(told, Danger.PLAIN) is Verdict.ACCEPT
    assert verdict(replace(told, doubt_margin=5.9), Danger.PLAIN) is Verdict.ACCEPT
    assert verdict(replace(told, doubt_margin=3.0), Danger.PLAIN) is Verdict.ASK
    assert verdict(replace(told, doubt_margin=5.9, voice_s=1.2), Danger.PLAIN) is Verdict.ASK
    assert verdict(replace(told, words="ready", doubt_margin=5.9), Danger.PLAIN) is Verdict.ASK
    assert verdict(replace(told, ratio=-1.3), Danger.PLAIN) is not Verdict.ACCEPT


def test_a_syllable_must_be_nearly_what_the_model_would_write() -> None:
    """A faint "off" was a "yes" by all else, and "okay" has hardly more in it; a longer word is not
    so soon another one."""
    syllable = replace(PLAIN, words="yes", voice_s=0.5, ratio=-0.3, mean=-0.4)

    assert verdict(syllable, Danger.PLAIN) is Verdict.ASK
    assert verdict(replace(syllable, words="okay"), Danger.PLAIN) is Verdict.ASK
    assert verdict(replace(syllable, ratio=-0.05, mean=-0.2), Danger.PLAIN) is Verdict.ACCEPT
    assert verdict(replace(syllable, words="confirmed"), Danger.PLAIN) is Verdict.ACCEPT


def test_a_question_of_which_one_word_was_another_is_asked_back() -> None:
    """ "What is that saturation on", which the model writes unprompted far more easily."""
    asked = replace(PLAIN, words="what is the saturation", ratio=-1.4, mean=-1.5, voice_s=1.5)

    assert judge(fitted(), asked, danger=Danger.USUAL, rival="")[1].startswith("something else")
    assert verdict(replace(asked, ratio=-0.6, mean=-0.8), Danger.USUAL) is Verdict.ACCEPT


def test_a_deed_need_not_lead_its_denial_as_far_as_a_state() -> None:
    """ "We didn't see it" is further from "we saw it" than "isn't" from "is"."""
    state = replace(PLAIN, denial_margin=7.5)

    assert verdict(state) is Verdict.ASK
    assert verdict(replace(state, words="we saw both drugs labelled")) is Verdict.ACCEPT
    assert verdict(replace(state, words="we labelled both drugs")) is Verdict.ASK


@pytest.mark.parametrize("figure", ["ratio", "mean"])
@pytest.mark.parametrize("danger", list(Danger))
def test_the_less_it_is_like_the_phrase_the_less_it_counts(figure: str, danger: Danger) -> None:
    """Each figure by itself, down to the hopeless."""
    falling = [
        verdict(replace(PLAIN, **{figure: getattr(PLAIN, figure) - step}), danger)
        for step in (0.0, 1.0, 2.0, 4.0, 8.0)
    ]

    ranks = [ORDER.index(one) for one in falling]
    assert ranks == sorted(ranks, reverse=True)


def test_a_question_that_took_longer_than_its_words_is_asked_back() -> None:
    """Noise may have swallowed the "for eighty kilos" at its end."""
    asked = replace(PLAIN, words="what is the dose of epinephrine", filled=True, voice_s=1.7)
    longer = replace(asked, voice_s=2.9)

    assert verdict(asked, Danger.ANSWERED) is Verdict.ACCEPT
    assert judge(fitted(), longer, danger=Danger.ANSWERED, rival="") == (
        Verdict.ASK,
        "it took longer than its words",
    )
    assert verdict(longer, Danger.READ_BACK) is Verdict.ACCEPT


def test_a_plain_answer_that_took_longer_than_its_words_is_asked_back() -> None:
    """Noise may have swallowed the "if he can" after it; a lone word may be drawn out."""
    told = replace(PLAIN, words="rescue kit here", voice_s=1.0)

    assert verdict(told, Danger.PLAIN) is Verdict.ACCEPT
    assert verdict(replace(told, voice_s=2.0), Danger.PLAIN) is Verdict.ASK
    assert verdict(replace(told, words="yes", voice_s=0.8), Danger.PLAIN) is Verdict.ACCEPT


def test_nothing_like_it_is_ignored() -> None:
    """Room talk, taken for a fixed phrase or for a number, which never is one."""
    talk = replace(PLAIN, ratio=-3.0, mean=-4.0, margin=0.4)
    number = replace(talk, filled=True, words="it is fifty five")

    assert {verdict(talk, one) for one in set(Danger) - {Danger.NUMBER}} == {Verdict.IGNORE}
    assert {verdict(number, one) for one in Danger} == {Verdict.IGNORE}


def test_what_is_dangerous_must_be_more_likely_than_not() -> None:
    """By far; and what is only worth asking back is less likely than what is accepted, but for a
    number, which is read back either way.
    """
    by = fitted()

    assert by.accept["high"] > log(0.65 / 0.35)
    assert all(by.accept[kind] > by.ask[kind] for kind in by.accept if kind != "number")
    assert by.accept["number"] >= by.ask["number"]


def test_two_syllables_in_two_words_are_never_enough_for_something_dangerous() -> None:
    """ "That's right" is what the model writes into an "uh huh"."""
    short = replace(PLAIN, words="that's right", voice_s=0.6, ratio=0.0, mean=-0.01)

    assert verdict(short) is Verdict.ASK
    assert verdict(short, Danger.LOW) is Verdict.ACCEPT


def test_the_file_says_where_it_comes_from_and_fits_the_features() -> None:
    """Voices, noises, number of trials, date and command; a weight for every feature."""
    written = json.loads(FITTED.read_text(encoding="utf-8"))

    by_sound = written["weights"].pop(SOUNDS)
    assert set(by_sound) == {
        *figures(SoundEvidence("yes", 3, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)),
        "constant",
    }
    for weights in written["weights"].values():
        assert set(weights) == {*features(PLAIN), "constant"}
    assert {"made by", "on", "engine", "voices", "noises", "trials"} <= set(written["provenance"])
    assert written["provenance"]["trials"] > 1000


def test_likeness_speaks_for_a_phrase_and_slowness_against_it() -> None:
    """A fit that had it the other way round would have learnt an accident of its voices."""
    by_words, sounds = dict(fitted().weights), fitted().weights[SOUNDS]
    del by_words[SOUNDS]
    for weights in by_words.values():
        for name in ("ratio of a long phrase", "mean", "margin", "value margin", "longer margin"):
            assert weights[name] >= 0, name
        assert weights["slow"] <= 0
    assert min(sounds["ratio"], sounds["margin"], sounds["taken back margin"]) >= 0
    assert sounds["more"] <= 0


def test_a_phrase_around_which_more_was_said_is_asked_back() -> None:
    """ "What is the plan for lunch" is not that question; unless the rest is as likely a fancy."""
    question = replace(PLAIN, words="what was our plan", voice_s=0.9, said_more=True)

    for danger in (Danger.USUAL, Danger.OPTION, Danger.HIGH):
        assert verdict(replace(question, ratio=-0.5), danger) is Verdict.ASK
        assert verdict(replace(question, ratio=0.0), danger) is Verdict.ACCEPT


def test_a_decline_around_which_more_was_said_is_a_decline() -> None:
    """ "Not confirmed yet": asking back would leave the item just as open."""
    decline = replace(PLAIN, words="not confirmed", voice_s=0.9, said_more=True, ratio=-0.5)

    assert verdict(decline, Danger.LOW) is Verdict.ACCEPT


def test_a_setting_that_is_not_clear_is_read_back_and_not_ignored() -> None:
    """ "Fifteen" by itself tells little; a choice is as sure as a setting must be to settle."""
    bare = replace(PLAIN, words="fifteen", filled=True, voice_s=0.6, mean=-0.25, margin=2.7)

    assert verdict(bare, Danger.SETTING) is Verdict.ASK
    assert verdict(replace(bare, words="fifteen litres", margin=5.0), Danger.SETTING) is (
        Verdict.ACCEPT
    )
