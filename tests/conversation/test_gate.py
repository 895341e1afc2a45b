"""The gate by itself: who is heard while who speaks."""

import pytest

from assistant.audio.sound import BLOCK_S
from assistant.conversation.gate import Gate

TAIL_S = 0.2
QUIET = {"speaking": False}
SPEAKING = {"speaking": True}


@pytest.fixture
def gate() -> Gate:
    return Gate(TAIL_S)


def test_somebody_is_heard_while_nobody_else_speaks(gate: Gate) -> None:
    """Open, and an answer is awaited."""
    assert not gate.is_shut(1.0, **QUIET)
    assert gate.awaits(1.0, **QUIET)


def test_nobody_is_heard_while_it_speaks_and_until_its_voice_has_died_away(gate: Gate) -> None:
    """Shut from the first block of speech to the tail after the last one."""
    assert gate.is_shut(1.0, **SPEAKING)
    gate.spoke(1.0)
    ends_s = 1.0 + BLOCK_S + TAIL_S

    assert gate.is_shut(ends_s - 0.01, **QUIET)
    assert not gate.awaits(ends_s - 0.01, **QUIET)
    assert not gate.is_shut(ends_s, **QUIET)
    assert gate.awaits(ends_s, **QUIET)


def test_where_the_echo_is_cancelled_it_hears_while_it_speaks() -> None:
    """Open all the time; but nobody is waited for until it has finished."""
    gate = Gate(TAIL_S, may_interrupt=True)
    gate.spoke(1.0)

    assert not gate.is_shut(1.0, **SPEAKING)
    assert not gate.is_shut(1.1, **QUIET)
    assert not gate.awaits(1.0, **SPEAKING)
    assert not gate.awaits(1.1, **QUIET)


@pytest.mark.parametrize("may_interrupt", [False, True])
def test_the_watchers_call_is_never_heard(may_interrupt: bool) -> None:
    """Shut for as long as the call lasts, whoever may interrupt the assistant."""
    gate = Gate(TAIL_S, may_interrupt=may_interrupt)
    gate.call(5.0)

    assert gate.calling
    assert gate.is_shut(4.9, **QUIET)
    assert not gate.awaits(4.9, **QUIET)
    assert not gate.call_has_ended(4.9)


def test_a_call_ends_once_and_its_sound_dies_away_too(gate: Gate) -> None:
    """Told once, then shut for the tail, then open."""
    gate.call(5.0)

    assert [gate.call_has_ended(at_s) for at_s in (4.9, 5.0, 5.1)] == [False, True, False]
    assert not gate.calling
    assert gate.is_shut(5.0 + TAIL_S - 0.01, **QUIET)
    assert not gate.is_shut(5.0 + TAIL_S, **QUIET)


def test_a_second_call_makes_it_longer_and_never_shorter(gate: Gate) -> None:
    """What ends last counts."""
    gate.call(5.0)
    gate.call(7.0)
    gate.call(6.0)

    assert not gate.call_has_ended(6.5)
    assert gate.call_has_ended(7.0)


def test_no_line_begins_over_a_call_nor_where_nobody_would_hear_it(gate: Gate) -> None:
    """The watcher goes first, and nothing is said to nobody."""
    assert gate.lets_speak
    gate.call(5.0)
    assert not gate.lets_speak
    gate.call_has_ended(5.0)
    assert gate.lets_speak
    gate.sound_is(hears=True, speaks=False)
    assert not gate.lets_speak


def test_without_a_loudspeaker_nobody_is_heard(gate: Gate) -> None:
    """It could not answer."""
    gate.sound_is(hears=True, speaks=False)

    assert gate.is_shut(1.0, **QUIET)
    assert not gate.awaits(1.0, **QUIET)


def test_without_a_microphone_nobody_is_waited_for(gate: Gate) -> None:
    """Nobody can answer, so that their time does not run."""
    gate.sound_is(hears=False, speaks=True)

    assert not gate.awaits(1.0, **QUIET)


def test_it_tells_once_that_both_are_back(gate: Gate) -> None:
    """Only when the second of the two has come back, and only then."""
    changes = [(True, True), (False, False), (True, False), (True, True), (True, True)]
    told = [gate.sound_is(hears=hears, speaks=speaks) for hears, speaks in changes]

    assert told == [False, False, False, True, False]


@pytest.mark.parametrize(("hears", "speaks"), [(False, True), (True, False)])
def test_a_device_that_was_gone_is_never_interrupted_again(hears: bool, speaks: bool) -> None:
    """What comes back may be another one, which hears the assistant."""
    gate = Gate(TAIL_S, may_interrupt=True)
    gate.sound_is(hears=hears, speaks=speaks)
    gate.sound_is(hears=True, speaks=True)

    assert not gate.may_interrupt
    assert gate.is_shut(1.0, **SPEAKING)
