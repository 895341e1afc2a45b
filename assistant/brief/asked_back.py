"""Words that are asked back: those that turn the case, and commands that nobody heard for sure.

Said once more as an answer, or confirmed, they count; a no, or silence, drops them.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from assistant.brief import answers, attempt, closing, commands
from assistant.brief.agenda import wave_to_come
from assistant.brief.events.vital import DoubtSettled, VitalDoubted
from assistant.brief.going_on import go_on, leave_patient_open
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.phases import RETURNING, Phase
from assistant.brief.states import COMMANDS_IN_DOUBT, STATES, State
from assistant.brief.unsettled import NO_WAVE
from assistant.brief.vital import VITAL_ACTS
from assistant.grammar.readings import Reading, Verdict
from assistant.speaking.mouth import Line

_DOUBTED_ACTS: Final[Mapping[str, Callable[[Moment, Reading], Steps]]] = {
    **VITAL_ACTS,
    "go_now": commands.go_now,
    "hold": commands.hold,
    "stop": commands.stop,
    "end_case": closing.end_case,
    "start": commands.start,
    "left": commands.left,
    "why": commands.why,
}
"""What is done at each word that was asked back, once it counts; also at `COMMANDS_IN_DOUBT`."""


def _asked_back_first(now: Moment, word: str) -> str | None:
    """What is asked back even of a word that was heard surely; None where it counts at once.

    Once an airway is in, the words of an attempt are mostly about something else, such as a gastric
    tube that won't go in; at the neck a blade is one of the neck; and before anything has begun
    "this isn't working" is said of a suction. In an attempt a bougie goes through the cords, too.
    """
    known = now.case.known
    if word == "tube_past_cords" and known.attempt is not None:
        return word
    if known.airway_is_in:
        out = "rescue_out" if known.phase is Phase.SUPRAGLOTTIC_IN else "tube_out"
        return {"attempt_start": "attempt_start", "attempt_failed": out}.get(word)
    if known.phase is Phase.FRONT_OF_NECK and word == "attempt_start":
        return "look_by_mouth"
    if word != "attempt_failed" or known.attempt is not None or known.phase not in RETURNING:
        return None
    if not known.has_begun:
        return "attempt_failed"
    last_s = known.attempts[-1].ended_s if known.attempts else None
    later = last_s is not None and now.present.now_s - last_s > attempt.SAID_AGAIN_WITHIN_S
    return "another_failed" if later else None


def ask_back(now: Moment, reading: Reading) -> Steps:
    """A vital word that was not heard for sure; said again as an answer, it counts."""
    if _is_said_again(now, reading.meaning):
        yield from take_vital_word(now, reading)
    else:
        yield from _doubt(now, _asked_back_first(now, reading.meaning) or reading.meaning)


def _is_said_again(now: Moment, word: str) -> bool:
    """Whether the ask-back of that very word is answered by it; but words about an airway that is
    in are mostly about something else, however often."""
    known = now.case.known
    again = known.doubt is not None and known.doubt.word == word
    return again and not (known.airway_is_in and _asked_back_first(now, word) is not None)


def attempt_in_doubt(now: Moment, _: Reading) -> Steps:
    """Nothing is seen: whether the attempt has failed by that is asked back."""
    yield from _doubt(now, "attempt_failed")


def wave_perhaps_lost(now: Moment, _: Reading) -> Steps:
    """No trace is seen, of something that is in: whether it has to come out is asked back."""
    known = now.case.known
    if known.airway_is_in or known.attempt is not None:
        yield from _doubt(now, "wave_lost")
    elif now.case.state is not State.HELD:
        yield from go_on(now)


def wave_in_doubt(now: Moment, reading: Reading) -> Steps:
    """No carbon dioxide, not surely heard: it is asked back, and said once more it counts."""
    doubt = now.case.known.doubt
    if doubt is not None and doubt.word == NO_WAVE:
        yield from take_vital_word(now, reading)
    else:
        yield from _doubt(now, NO_WAVE)


def _doubt(now: Moment, word: str) -> Steps:
    before = now.case.known.doubt
    heard_in = now.case.state if before is None else before.heard_in
    yield Happened(VitalDoubted(word=word, heard_in=heard_in), f"{word.replace('_', ' ')}?")
    yield from go_on(now)


def take_vital_word(now: Moment, reading: Reading) -> Steps:
    """A yes to it."""
    doubt = now.case.known.doubt
    yield Happened(DoubtSettled(confirmed=True), "confirmed")
    if doubt is not None:
        yield from _do(now, doubt.word, reading)


def command_in_doubt(now: Moment, reading: Reading) -> Steps:
    """A command while one is asked back: that one said once more, or another in its place."""
    doubt = now.case.known.doubt
    same = doubt is not None and doubt.word == reading.meaning
    yield Happened(DoubtSettled(confirmed=same), "said once more" if same else "another word came")
    yield from _do(now, reading.meaning, reading)


def _do(now: Moment, word: str, reading: Reading) -> Steps:
    """What counts by now; but of a command that is none where the case is, or waits there, what
    stands is asked: nobody can begin while a weight awaits its yes."""
    row = STATES[now.case.state]
    if word in COMMANDS_IN_DOUBT and (word not in row.hears or word in row.waits):
        yield from go_on(now)
    else:
        yield from leave_patient_open(now)
        yield from _DOUBTED_ACTS[word](now, reading)


def drop_vital_word(now: Moment, _: Reading) -> Steps:
    """A no to it."""
    yield from drop_doubt(now)


def wave_there(now: Moment, reading: Reading) -> Steps:
    """A wave is seen. As "no wave" is asked back, it is a no to that; as a tube in is, a yes to
    both, once it was surely heard."""
    wave = wave_to_come(now.case)
    if wave is None:
        yield from drop_doubt(now)
    elif reading.verdict is not Verdict.ACCEPT:
        yield from go_on(now)
    else:
        for step in take_vital_word(now, reading):
            if not (isinstance(step, Line) and step.item == wave.id):  # it is answered already
                yield step
        if now.case.current is wave:
            telling = reading.text in wave.telling_answers
            answer = replace(reading, meaning="confirm" if telling else "plain_yes")
            yield from answers.answer_item(now, answer)


def drop_doubt(now: Moment) -> Steps:
    """It is not confirmed: back to where the case was."""
    yield Happened(DoubtSettled(confirmed=False), "not confirmed")
    yield from go_on(now)


def heard_for_sure(now: Moment, reading: Reading) -> Steps:
    """A vital word was heard surely; another that was in doubt before it is so no more."""
    word = reading.meaning
    if _is_said_again(now, word):
        yield from take_vital_word(now, reading)
        return
    if now.case.state is State.DOUBTING:
        yield Happened(DoubtSettled(confirmed=False), "another word came")
    asked_back = _asked_back_first(now, word)
    if asked_back is not None:
        yield from _doubt(now, asked_back)
    else:
        yield from leave_patient_open(now)
        yield from VITAL_ACTS[word](now, reading)
