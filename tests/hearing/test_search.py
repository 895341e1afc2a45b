"""The search over the phrases that may be said, against plain scoring one by one."""

import itertools
import math

import pytest

from assistant.grammar.grammar import Filler, Grammar, Pattern
from assistant.grammar.word_tree import Phrase, WordTree
from assistant.hearing.engines.closed.beam import Limits, Scored, search
from assistant.hearing.engines.closed.rivals import runner_up
from assistant.hearing.engines.closed.token_tree import PhraseTree
from assistant.hearing.engines.closed.tokenizer import END

NO_LIMITS = Limits(width=10_000, trail=math.inf, window=math.inf)
SMALL = Grammar(
    (
        Pattern("confirmed", "confirm"),
        Pattern("not confirmed", "decline"),
        Pattern("no", "decline"),
        Pattern("{weight_kg} kilos", "weight_kg"),
    ),
    {"weight_kg": (Filler("seventy five", 75.0, ("75",)), Filler("ninety", 90.0, ("90",)))},
)
MARKS = ("", ".", ",")


def at_ease(_: object) -> float:
    """As if each phrase had taken as long as it usually does."""
    return 0.0


def spellings(text: str) -> set[str]:
    """Every way to write a sentence in capitals and small letters, with or without marks."""
    words = [
        [word + mark for word in {given, given.capitalize()} for mark in MARKS]
        for given in text.split()
    ]
    return {" ".join(chosen) for chosen in itertools.product(*words)}


@pytest.mark.parametrize("said", ["Not confirmed.", "No."])
def test_the_search_scores_as_plain_teacher_forcing(engine, say, in_noise, said: str) -> None:
    """Each phrase's score is that of its best spelling, read token by token without any search."""
    model = engine._model
    sound = in_noise(say(said), 20)
    start = model.begin(sound)

    found = {
        one.phrase.words: one.total
        for one in search(
            model, start, PhraseTree(SMALL, model.tokenizer), strain=at_ease, limits=NO_LIMITS
        )
    }

    for text in ("confirmed", "not confirmed", "no"):
        written = [(*model.tokenizer.sentence(one), END) for one in sorted(spellings(text))]
        plain = max(model.forced(start, written))  # side by side, which the test below looks at
        # The model's weights are 8 bit and its activations are scaled by batch, so that a row's
        # scores depend a little on its neighbours; a wrong row or token would cost many nats.
        assert found[text] == pytest.approx(plain, abs=0.75)
    best = max(found, key=lambda words: found[words])
    assert best == said.lower().rstrip(".")


def test_a_phrase_that_took_too_long_falls_behind(engine, say, in_noise) -> None:
    """What speaks against a phrase counts against it, and what cannot be is not found at all."""
    model = engine._model
    start = model.begin(in_noise(say("Confirmed."), 20))
    against = {"confirmed": 40.0, "no": math.inf}

    found = search(
        model,
        start,
        PhraseTree(SMALL, model.tokenizer),
        strain=lambda phrase: against.get(phrase.words, 0.0),
        limits=NO_LIMITS,
    )

    words = [one.phrase.words for one in found]
    assert words.index("not confirmed") < words.index("confirmed")
    assert "no" not in words


def test_sentences_side_by_side_score_as_one_by_one(engine, say, in_noise) -> None:
    """Of different lengths, each with its own total."""
    model = engine._model
    start = model.begin(in_noise(say("Not confirmed."), 20))
    written = [(*model.tokenizer.sentence(one), END) for one in ("No.", "Not confirmed.", "Yes.")]

    together = model.forced(start, written)

    alone = [model.forced(start, [one])[0] for one in written]
    assert together == pytest.approx(alone, abs=0.75)  # 8 bit, scaled by batch
    assert max(together) == together[1]


def test_what_falls_far_behind_the_first_is_given_up(engine, say, in_noise) -> None:
    """All within reach keep their totals, which is what a lead is taken from; none of the others
    comes out nearer than that."""
    model, reach = engine._model, 6.0
    start = model.begin(in_noise(say("Not confirmed."), 20))
    said = ("Not confirmed.", "Not confirmed or not.", "Not confirmed if he can.", "Nearly.", "No.")
    written = [(*model.tokenizer.sentence(one), END) for one in said]

    whole = model.forced(start, written)
    near = model.forced(start, written, reach=reach)

    assert min(whole) < whole[0] - 2 * reach  # there is something to give up
    for known, found in zip(whole, near, strict=True):
        if known >= whole[0] - reach:
            assert found == pytest.approx(known, abs=0.75)  # 8 bit, scaled by batch
        else:
            assert known - 0.75 <= found <= whole[0] - reach + 0.75


def test_the_narrow_search_agrees_with_the_wide_one(engine, brief, say, in_noise) -> None:
    """What the working beam drops would not have changed the answer or its lead."""
    model = engine._model
    tree = PhraseTree(brief, model.tokenizer)
    for said in ("Six zero kilos.", "How much fentanyl?"):
        start = model.begin(in_noise(say(said), 10))
        narrow, wide = (
            search(model, start, tree, strain=at_ease, limits=limits)
            for limits in (Limits(), Limits(width=400, trail=math.inf))
        )
        assert narrow[0].phrase == wide[0].phrase
        assert narrow[0].total == pytest.approx(wide[0].total, abs=0.75)


def test_a_sentence_matches_only_as_a_whole() -> None:
    """Words are matched from the first to the last, through slots and their respellings."""
    tree = WordTree(SMALL)

    (weight,) = tree.match(["75", "kilos"])

    assert (weight.words, weight.values) == ("seventy five kilos", {"weight_kg": 75.0})
    assert [one.pattern.meaning for one in tree.match(["not", "confirmed"])] == ["decline"]
    assert tree.match(["confirmed", "confirmed"]) == []
    assert tree.match(["seventy", "five"]) == []


def test_a_phrase_that_more_may_follow_is_known() -> None:
    """A number without its unit, a beginning; not what is whole, nor what nobody may say."""
    tree = WordTree(SMALL)

    assert tree.goes_on(["75"])
    assert tree.goes_on(["not"])
    assert not tree.goes_on(["75", "kilos"])
    assert not tree.goes_on(["seventy", "six"])


def test_a_dose_question_is_never_written_out(engine, brief) -> None:
    """Taking in a grammar of many thousands of sentences does not grow with their number."""
    sentences = sum(1 for _ in brief.sentences())
    tree = PhraseTree(brief, engine._model.tokenizer)

    assert sentences > 10_000
    assert len(tree.openings()) < 150


def test_the_second_value_is_told_of_when_it_is_hardly_behind() -> None:
    """Fifteen and fifty: the caller then asks for digits; another meaning is no second value."""
    weight, drop = Pattern("{weight_kg} kilos", "weight"), Pattern("no", "decline")

    def scored(value: float, total: float) -> Scored:
        filler = Filler(f"{value:.0f}", value)
        return Scored(Phrase(weight, (("weight_kg", filler),)), total, 4, 0.0)

    no = Scored(Phrase(drop, ()), -4.5, 2, 0.0)

    assert runner_up([scored(15, -4), no, scored(50, -5)]) == {"weight_kg": 50.0}
    assert runner_up([scored(15, -4), no, scored(50, -12)]) is None
    assert runner_up([scored(15, -4), scored(15, -4.1), no]) is None
    assert runner_up([no, scored(15, -5)]) is None
