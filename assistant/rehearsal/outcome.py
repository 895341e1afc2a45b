"""How a rehearsal ended, against how it should have."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.brief.case import Case
from assistant.brief.item import Standing
from assistant.brief.phases import Phase
from assistant.brief.states import State
from assistant.journal.rows import Row
from assistant.oximeter.messages import Calling
from assistant.rehearsal.cast import SpokenReply
from assistant.rehearsal.scenario import Reply, Scenario

_SLACK_S = 0.3
"""The end-pointer may set the start of an utterance this much off."""


@dataclass(frozen=True, slots=True)
class FinishedRehearsal:
    """What happened in a rehearsal."""

    case: Case
    rows: Sequence[Row]
    spoken: Sequence[SpokenReply]
    calls: Sequence[Calling]
    never_said: Sequence[Reply]
    lasted_s: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a rehearsal showed."""

    faults: tuple[str, ...]
    """Each a sentence; none when it ended as expected."""
    said: int
    """Replies that were said, each time counted."""
    understood: int
    """Of those, taken at that hearing for what they were."""
    calls: int
    lasted_s: float


def compare(scenario: Scenario, finished: FinishedRehearsal) -> Outcome:
    """Compare what happened with what the scenario expects."""
    replies = [one for one in finished.spoken if not one.room_talk]
    understood = [one for one in replies if one.reply.say in _heard_as(one, finished.rows)]
    crossings = [call for call in finished.calls if call.level_percent is not None]
    return Outcome(
        faults=tuple(_faults(scenario, finished, len(crossings))),
        said=len(replies),
        understood=len(understood),
        calls=len(crossings),
        lasted_s=finished.lasted_s,
    )


def _still_open(case: Case) -> Iterator[str]:
    """Items that are not done; an offer, a phase to which the case never came, and what is not
    asked of this patient or in this brief, leave none."""
    for section in case.brief.sections:
        for item in section.items:
            came_up = case.known.items[item.id].asked_times > 0 and not item.offered
            expected = section.phase in (Phase.BEFORE, Phase.AFTER) and case.applies(item)
            if (expected or came_up) and case.standing(item) is not Standing.DONE:
                yield item.id


def _faults(scenario: Scenario, finished: FinishedRehearsal, crossings: int) -> Iterator[str]:
    if finished.case.state is not State.ENDED:
        yield f"The case was not ended: it is {finished.case.state.value}."
    for reply in finished.never_said:
        about = "" if reply.item is None else f" {reply.item}"
        yield f"Nothing called for {reply.say!r} (on {reply.on}{about})."
    still_open, expected = set(_still_open(finished.case)), scenario.expected.outstanding
    if expected is not None and still_open != set(expected):
        yield f"Open at the end: {', '.join(sorted(still_open)) or 'nothing'}."
    if crossings != scenario.expected.calls:
        yield f"{crossings} threshold calls instead of {scenario.expected.calls}."
    for reply in scenario.replies:
        said = [one for one in finished.spoken if one.reply is reply]
        if said and not any(reply.say in _heard_as(one, finished.rows, sure=False) for one in said):
            yield f"Never understood: {reply.say!r}."
    for one in finished.spoken:
        taken_for = [text for text in _heard_as(one, finished.rows) if text != one.reply.say]
        if one.room_talk and _heard_as(one, finished.rows):
            yield f"Room talk was taken for an answer: {one.reply.say!r}."
        elif taken_for:
            yield f"{one.reply.say!r} was heard as {taken_for[0]!r}."


def _heard_as(spoken: SpokenReply, rows: Sequence[Row], *, sure: bool = True) -> list[str]:
    """What the sound of one reply was taken for; with `sure` off also what was asked back."""
    return [
        row.text
        for row in rows
        if row.kind == "heard"
        and (row.data.get("verdict") == "accept" or not sure)
        and spoken.from_s - _SLACK_S <= row.mono_s <= spoken.to_s
    ]
