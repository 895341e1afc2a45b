"""How soon an utterance is over: at once where it says all, later where more may follow."""

from collections.abc import Callable, Iterator

import numpy as np
import pytest

from assistant.audio.sound import BLOCK_S, Samples, silence
from assistant.grammar.grammar import Danger, Filler, Grammar, Pattern
from assistant.grammar.readings import Heard, Verdict
from assistant.hearing.ear import Ear
from assistant.hearing.endpointing import Endpointing
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine

Blocks = Callable[[Samples], Iterator[tuple[float, Samples]]]
GRAMMAR = Grammar(
    (
        Pattern("both working", "plain_yes", danger=Danger.PLAIN),
        Pattern("yes confirmed", "confirm", danger=Danger.HIGH),
        Pattern("correct", "plain_yes", danger=Danger.PLAIN, only_yes=True),
        Pattern("what is left", "left"),
        Pattern("what is left in the bottle", "bottle"),
        Pattern("{kilos} kilos", "number", danger=Danger.NUMBER),
        Pattern("not yet", "decline", danger=Danger.LOW),
        Pattern("hold on", "hold"),
        Pattern("thank you", "decoy", for_me=False),
    ),
    {
        "kilos": tuple(
            Filler(words, float(value)) for words, value in (("seventy", 70), ("eighty", 80))
        )
    },
)


@pytest.fixture
def ear(engine: ClosedGrammarEngine) -> Ear:
    fresh = Ear(engine)
    fresh.expect(GRAMMAR)
    return fresh


def heard(ear: Ear, blocks: Blocks, sound: Samples) -> list[tuple[float, Heard]]:
    """What came out, each with the end of the block after which it did."""
    stream = np.concatenate([silence(1.5), sound, silence(2.0)])
    out = [(at_s + BLOCK_S, ear.hear(block, at_s, muted=False)) for at_s, block in blocks(stream)]
    return [(at_s, one) for at_s, one in out if one is not None]


def accepted(ear: Ear, blocks: Blocks, sound: Samples) -> list[str]:
    """The meanings of what counted."""
    readings = [one.reading for _, one in heard(ear, blocks, sound)]
    return [one.meaning for one in readings if one.verdict is Verdict.ACCEPT]


def waited_s(ear: Ear, blocks: Blocks, sound: Samples) -> float:
    """How much silence was waited for after the one thing that was said."""
    ((at_s, one),) = heard(ear, blocks, sound)
    assert one.reading.verdict is Verdict.ACCEPT, one.reading
    return at_s - one.ended_s


@pytest.mark.parametrize("said", ["Yes, confirmed.", "Not yet.", "Both working."])
def test_what_is_complete_is_decided_at_once(ear: Ear, say, blocks: Blocks, said: str) -> None:
    """With the first look, in less silence than ends anything else."""
    assert waited_s(ear, blocks, say(said)) < Endpointing().sure_ends_after_s


def test_what_is_only_a_yes_is_given_a_little_longer(ear: Ear, say, blocks: Blocks) -> None:
    """For "yes … but not yet": what comes after the end is drowned by the next call."""
    times = Endpointing()
    alone_s = waited_s(ear, blocks, say("Correct."))

    assert times.sure_ends_after_s - BLOCK_S <= alone_s < times.ends_after_s


@pytest.mark.parametrize(("said", "pause_s"), [("Both working.", 0.2), ("Correct.", 0.3)])
def test_a_plain_answer_that_is_taken_back_is_none(
    ear: Ear, say, blocks: Blocks, said: str, pause_s: float
) -> None:
    """ "Both working … not yet", in one breath."""
    sound = np.concatenate([say(said), silence(pause_s), say("Not yet.")])

    assert "plain_yes" not in accepted(ear, blocks, sound)


def test_what_another_phrase_goes_on_from_is_waited_for(ear: Ear, say, blocks: Blocks) -> None:
    """ "What is left" may still become "what is left in the bottle"."""
    alone_s = waited_s(ear, blocks, say("What is left?"))

    assert alone_s >= Endpointing().sure_ends_after_s - BLOCK_S


def test_a_number_is_waited_for(ear: Ear, say, blocks: Blocks) -> None:
    """However complete it sounds: digits may be corrected, and units may follow."""
    assert waited_s(ear, blocks, say("Seventy kilos.")) >= Endpointing().sure_ends_after_s - BLOCK_S


def test_what_is_said_after_it_is_an_utterance_of_its_own(ear: Ear, say, blocks: Blocks) -> None:
    """Whoever thinks better of an answer half a second later is heard."""
    sound = np.concatenate([say("Both working."), silence(0.5), say("Hold on.")])
    meanings = [one.reading.meaning for _, one in heard(ear, blocks, sound)]

    assert meanings == ["plain_yes", "hold"]


def test_a_short_pause_within_a_phrase_does_not_cut_it(ear: Ear, say, blocks: Blocks) -> None:
    """ "What is left … in the bottle" is not what is left of the brief."""
    sound = np.concatenate([say("What is left"), silence(0.2), say("in the bottle?")])

    assert "left" not in accepted(ear, blocks, sound)
