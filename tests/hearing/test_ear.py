"""The live path: a stream of blocks in, utterances with their readings out."""

import numpy as np
import pytest

from assistant.audio.sound import RATE_HZ, Samples, silence
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Heard, Reading, Verdict
from assistant.hearing.ear import END_LOST, ENDED_S, Ear, hear_file


def stream(ear: Ear, blocks, samples: Samples, muted_s: tuple[float, float]) -> list[Heard]:
    """Hear a recording while the assistant speaks from one moment to another."""
    heard = [
        ear.hear(block, at_s, muted=muted_s[0] <= at_s < muted_s[1])
        for at_s, block in blocks(samples)
    ]
    return [one for one in (*heard, ear.flush()) if one is not None]


def test_two_answers_in_one_recording(ear: Ear, say) -> None:
    """Each is heard by itself, at its time."""
    first = say("Yes, confirmed.")
    recording = np.concatenate([first, silence(1), say("What is left?")])

    one, two = hear_file(ear, recording)

    assert (one.reading.meaning, one.reading.verdict) == ("confirm", Verdict.ACCEPT)
    assert (two.reading.meaning, two.reading.verdict) == ("left", Verdict.ACCEPT)
    assert one.started_s == pytest.approx(0.0, abs=0.2)
    assert two.started_s == pytest.approx(1 + len(first) / RATE_HZ, abs=0.2)


def test_a_recording_that_ends_with_its_last_word_is_heard(ear: Ear, say, blocks) -> None:
    """The end of a stream ends the utterance in progress."""
    said = np.concatenate([silence(1), say("Yes, confirmed.")])

    (one,) = stream(ear, blocks, said, muted_s=(0, 0))

    assert one.reading.meaning == "confirm"


def test_a_pause_within_a_weight_does_not_cut_it(ear: Ear, say) -> None:
    """ "Seventy … five kilos" is 75 or is asked again, and never a sure 70."""
    (one,) = hear_file(ear, np.concatenate([say("Seventy"), silence(0.35), say("five kilos.")]))

    assert one.reading.values.get("weight_kg") == 75.0 or one.reading.verdict is not Verdict.ACCEPT


@pytest.mark.parametrize(
    ("begins", "goes_on"),
    [("Seventy", "five kilos."), ("What is the dose of ketamine", "for seventy five kilos?")],
)
def test_a_longer_pause_where_a_weight_may_follow_does_not_cut_it(
    ear: Ear, say, begins: str, goes_on: str
) -> None:
    """In a pause that ends any other utterance; the dose would be for the patient's own weight."""
    (one,) = hear_file(ear, np.concatenate([say(begins), silence(0.7), say(goes_on)]))

    assert one.reading.values.get("weight_kg") == 75.0 or one.reading.verdict is not Verdict.ACCEPT


def test_what_the_assistant_says_is_never_heard(ear: Ear, say, blocks) -> None:
    """Its own words come out of the loudspeaker and into the microphone."""
    own = np.concatenate([silence(0.5), say("Say confirmed, or not yet."), silence(0.5)])

    heard = stream(ear, blocks, np.concatenate([own, silence(1)]), (0, len(own) / RATE_HZ))

    assert heard == []


def test_an_answer_that_the_assistant_cut_off_is_read_and_never_accepted(
    ear: Ear, say, blocks
) -> None:
    """Somebody was talking when the watcher's call came: it is told as spoken over, for the
    conversation to judge; more may have followed, so it counts for no more than ASK."""
    speech = np.concatenate([silence(1), say("That is confirmed."), silence(2)])

    (one,) = stream(ear, blocks, speech, (1.7, 2.5))

    assert (one.reading.meaning, one.reading.verdict) == ("confirm", Verdict.ASK)
    assert one.reading.why == "spoken over"
    assert one.ended_s <= 1.75


@pytest.mark.parametrize("lost_s", [0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4])
@pytest.mark.parametrize("said", ["Not confirmed.", "It is not confirmed."])
def test_a_decline_whose_beginning_is_lost_is_never_a_confirmation(
    ear: Ear, say, blocks, said: str, lost_s: float
) -> None:
    """ "Not confirmed" without its "not" is "confirmed": the most dangerous error of all."""
    speech = np.concatenate([say(said), silence(1.5)])

    heard = stream(ear, blocks, speech, (0, lost_s))

    accepted = [one.reading for one in heard if one.reading.verdict is Verdict.ACCEPT]
    assert all(reading.meaning == "decline" for reading in accepted)


def test_a_number_that_had_ended_before_the_call_is_asked_back(ear: Ear, say, blocks) -> None:
    """More of it might have come within the next half second; it is not thrown away."""
    recording = np.concatenate([silence(1), say("Seventy"), silence(3)])
    ends_s = 1 + len(say("Seventy")) / RATE_HZ

    (one,) = stream(ear, blocks, recording, muted_s=(ends_s + ENDED_S + 0.1, 99))

    assert one.reading.values
    assert (one.reading.verdict, one.reading.why) == (Verdict.ASK, END_LOST)


def test_a_lost_beginning_is_said_to_be_the_reason(ear: Ear, say, blocks) -> None:
    """Cut just after its first word, the answer is clear enough, but only to ask back."""
    speech = np.concatenate([say("Yes, confirmed."), silence(1.5)])
    lost_s = next(
        at_s for at_s, block in blocks(speech) if at_s > 0.3 and np.abs(block).max() < 2000
    )

    (one,) = stream(ear, blocks, speech, (0, lost_s))

    assert (one.reading.verdict, one.reading.why) == (Verdict.ASK, "its beginning was lost")


@pytest.mark.parametrize(
    ("said", "verdict"), [("Yes, confirmed.", Verdict.ASK), ("What is left?", Verdict.ACCEPT)]
)
def test_a_knock_just_before_what_acts_at_once_has_it_asked_back(
    ear: Ear, say, said: str, verdict: Verdict
) -> None:
    """Under a sound as loud as the voice an "if" was lost: only a question may be believed."""
    knock = 5000 * np.random.default_rng(7).standard_normal(RATE_HZ // 10)

    (one,) = hear_file(ear, np.concatenate([knock.astype(np.int16), silence(0.05), say(said)]))

    assert one.reading.verdict is verdict
    if verdict is Verdict.ASK:
        assert one.reading.why == "its beginning was lost"


def test_a_pulse_tone_just_before_the_answer_hides_nothing(ear: Ear, say) -> None:
    """Nobody spoke under it: beside its pitch the room was quiet."""
    at_s = np.arange(RATE_HZ // 10) / RATE_HZ
    tone = (8000 * np.sin(2 * np.pi * 620 * at_s)).astype(np.int16)

    (one,) = hear_file(ear, np.concatenate([tone, silence(0.05), say("Yes, confirmed.")]))

    assert (one.reading.verdict, one.reading.meaning) == (Verdict.ACCEPT, "confirm")


@pytest.mark.parametrize("pitch_hz", [450, 620, 950])
def test_an_if_under_a_pulse_tone_is_not_lost(ear: Ear, say, pitch_hz: float) -> None:
    """The tone as loud as the voice, all over the word: nothing is accepted of what follows."""
    said = say("If we saw both sides rise alike.").astype(np.float64)
    at_s = np.arange(RATE_HZ // 5) / RATE_HZ
    said[: len(at_s)] += np.sqrt(2) * said.std() * np.sin(2 * np.pi * pitch_hz * at_s)

    heard = hear_file(ear, np.concatenate([silence(1), said.astype(np.int16)]))

    assert all(one.reading.verdict is not Verdict.ACCEPT for one in heard)


@pytest.mark.parametrize("after_s", [0.2, 0.25, 0.3])
def test_a_quick_answer_is_accepted(ear: Ear, say, blocks, after_s: float) -> None:
    """People answer within a third of a second; no longer phrase ends in "yes confirmed"."""
    speech = np.concatenate([silence(after_s), say("Yes, confirmed."), silence(1.5)])

    (one,) = stream(ear, blocks, speech, (0, 0.05))

    assert one.reading.verdict is Verdict.ACCEPT


def test_talk_that_does_not_stop_is_ignored(ear: Ear, say) -> None:
    """A monologue is not for the assistant, whatever it contains."""
    talk = say("I have confirmed that she was confirmed to be here this morning.")

    (one,) = hear_file(ear, np.concatenate([talk] * 4))

    assert one.reading.verdict is Verdict.IGNORE
    assert one.reading.why == "talk that did not stop"


def test_only_what_may_be_said_now_counts(ear: Ear, brief: Grammar, say) -> None:
    """The same sound is an answer in one state and nothing in the next."""
    weight = say("Seventy five kilos.")
    (with_weights,) = hear_file(ear, weight)
    assert with_weights.reading.values == {"weight_kg": 75.0}

    few = [pattern for pattern in brief.patterns if "{" not in pattern.words]
    ear.expect(Grammar(tuple(few)))
    (without,) = hear_file(ear, weight)

    assert without.reading.verdict is Verdict.IGNORE


class CountingEngine:
    """Stands in for a recogniser, to count how often it is asked and for what."""

    name = "counting"

    def __init__(self) -> None:
        self.lengths: list[int] = []

    def listen_for(self, grammar) -> None:
        """Nothing to prepare."""

    def read(self, samples: Samples) -> Reading:
        """Remember how much there was to read."""
        self.lengths.append(len(samples))
        return Reading("yes confirmed", "confirm", {}, 1.0, Verdict.ACCEPT)


def test_the_reading_is_ready_when_the_utterance_ends(say) -> None:
    """What was read in the pause is what would have been read at the end, so once is enough."""
    engine = CountingEngine()
    ear = Ear(engine)
    ear.expect(Grammar(()))

    (one,) = hear_file(ear, say("Yes, confirmed."))

    assert one.reading.verdict is Verdict.ACCEPT
    assert len(engine.lengths) == 1


def test_a_pause_within_an_answer_is_read_again_as_a_whole(say) -> None:
    """ "Seventy … five kilos": the reading of the first half is thrown away."""
    engine = CountingEngine()
    ear = Ear(engine)
    ear.expect(Grammar(()))
    paused = np.concatenate([say("Seventy."), silence(0.25), say("Five kilos.")])

    heard = hear_file(ear, paused)

    assert len(heard) == 1
    assert engine.lengths[-1] == max(engine.lengths)


class ForgetfulEngine:
    """Stands in for a recogniser that lacks memory: what it is to listen for it cannot take in."""

    name = "forgetful"
    lacks = True

    def listen_for(self, grammar) -> None:
        """Fail while memory is lacking."""
        if self.lacks:
            raise MemoryError("no room for the tree")

    def read(self, samples: Samples) -> Reading:
        """What was said in the state before, and would be accepted."""
        return Reading("yes confirmed", "confirm", {}, 1.0, Verdict.ACCEPT)


def test_nothing_is_read_against_what_might_have_been_said_before(say) -> None:
    """It is told why nothing is understood, and tried again with each utterance."""
    engine = ForgetfulEngine()
    ear = Ear(engine)
    ear.expect(Grammar(()))
    (lost,) = hear_file(ear, say("Yes, confirmed."))
    told = ear.fault
    engine.lacks = False
    (heard,) = hear_file(ear, say("Yes, confirmed."))
    hear_file(ear, silence(1))

    assert (lost.reading.verdict, lost.reading.text) == (Verdict.IGNORE, "")
    assert lost.reading.why == "the recogniser could not take in what may be said"
    assert told == "no room for the tree"
    assert (heard.reading.verdict, ear.fault) == (Verdict.ACCEPT, "")


class FailingEngine:
    """Stands in for a recogniser that fails at utterances, as where memory is short."""

    name = "failing"

    def __init__(self) -> None:
        self.fails = True

    def listen_for(self, grammar) -> None:
        """It takes everything in."""

    def read(self, samples: Samples) -> Reading:
        """Fail, or read what was said."""
        if self.fails:
            raise RuntimeError("no room for the beam")
        return Reading("yes confirmed", "confirm", {}, 1.0, Verdict.ACCEPT)


def test_an_utterance_at_which_the_recogniser_fails_was_not_understood(say) -> None:
    """It is handed on with why, so that it goes on record, and the next one is heard. That nothing
    is understood is told at the second in a row, until one is read again."""
    engine, faults = FailingEngine(), []
    ear = Ear(engine)
    ear.expect(Grammar(()))
    said = say("Yes, confirmed.")

    for _ in range(3):
        (lost,) = hear_file(ear, said)
        assert (lost.reading.verdict, lost.reading.text) == (Verdict.IGNORE, "")
        assert lost.reading.why == "the recogniser failed: no room for the beam"
        faults.append(ear.fault)
    engine.fails = False
    (heard,) = hear_file(ear, said)

    assert faults == ["", "no room for the beam", "no room for the beam"]
    assert (heard.reading.verdict, ear.fault) == (Verdict.ACCEPT, "")
