"""The reference set: what is worse on another machine is told, and how dangerous that is."""

from dataclasses import replace

from assistant.commands.hearing_check import told_of_hearing
from assistant.fitting.reference import KeepingEngine, Scored, compare, score, shipped
from assistant.fitting.reference_sentences import SENTENCES
from tests.tarn_hollow import SITE

YES = Scored(
    asking="confirm",
    text="yes confirmed",
    means="confirm",
    voice="en-us",
    noisy=False,
    sound="0a",
    heard="yes confirmed",
    right=True,
    verdict="accept",
    log_odds=3.0,
    features={"mean": -1.0},
)
NO = replace(YES, text="not confirmed", means="decline", heard="yes confirmed", right=False)


def test_a_machine_like_the_reference_has_nothing_to_tell() -> None:
    """The same scores: no difference, no verdict worse."""
    found = compare([YES, replace(NO, verdict="ignore")], [YES, replace(NO, verdict="ignore")])
    assert (found.log_odds, found.dangerous, found.costly) == ((0.0, 0.0), (), ())
    assert "No verdict is worse here." in list(told_of_hearing(found))


def test_what_is_taken_wrongly_here_only_is_dangerous() -> None:
    """A denial that is accepted as the confirmation: it may not be used."""
    found = compare([replace(NO, verdict="ask")], [replace(NO, verdict="accept")])
    assert len(found.dangerous) == 1
    assert any("do not use this machine" in line for line in told_of_hearing(found))


def test_what_is_understood_no_more_is_only_costly() -> None:
    """It is asked back, which is safe."""
    found = compare([YES], [replace(YES, verdict="ask", log_odds=1.0)])
    assert found.dangerous == ()
    assert len(found.costly) == 1
    assert found.log_odds == (2.0, 2.0)


def test_another_synthesiser_is_told_apart_from_another_recogniser() -> None:
    """Where the sound itself differs, the figures say less."""
    found = compare([YES], [replace(YES, sound="0b", features={"mean": -1.5})])
    assert found.rendered_differently == 1
    assert found.features == {"mean": (0.5, 0.5)}


def test_this_machine_takes_nothing_that_the_reference_does_not() -> None:
    """Every eighth of the shipped reference, heard here: nothing dangerous on any processor."""
    some = SENTENCES[::8]
    texts = [one.text for one in some]
    there = [one for one in shipped() if one.text in texts]
    found = compare(there, list(score(SITE, KeepingEngine(threads=1), some)))
    assert found.compared == len(there) > 0
    assert found.dangerous == ()


def test_another_number_or_drug_than_was_said_is_dangerous() -> None:
    """Its meaning is the same, and it is accepted: the value makes it wrong."""
    there = replace(YES, text="seven zero kilos", means="number", heard="seven zero kilos")
    here = replace(there, heard="seventeen kilos", right=False)
    assert len(compare([there], [here]).dangerous) == 1


def test_a_wrong_acceptance_that_the_reference_had_is_no_news() -> None:
    """But another one in its place is."""
    there = replace(NO, heard="yes correct")
    assert compare([there], [there]).dangerous == ()
    assert len(compare([there], [replace(there, heard="yes confirmed")]).dangerous) == 1
