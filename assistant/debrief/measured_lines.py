"""What was measured in a case, as two columns of words for a table's foot."""

from collections.abc import Iterator, Sequence

from assistant.debrief.attempts import AttemptRun
from assistant.debrief.figures import Addressee, addressees, figures
from assistant.debrief.findings import ClockRun, Measures, ThresholdCall
from assistant.debrief.ratings import Rating
from assistant.debrief.scoring import Scored
from assistant.debrief.times import clock, short_time

Cells = tuple[str, ...]
WAITING = "Confirmed, with its clock still running at the end"
UNHEARD = "not heard from its loudspeaker"


def measured_lines(measures: Measures, ratings: Sequence[Rating]) -> Iterator[Cells]:
    """What it is, and what it was."""
    yield from _measured(measures)
    yield from _expected(measures)
    yield from _rated(ratings)


def _measured(measures: Measures) -> Iterator[Cells]:
    items, said, answers = measures.items, measures.utterances, measures.answers
    if items is not None:
        yield "Items asked", str(len(items.asked))
        yield "Items answered", str(len(items.answered))
        yield "Said to be not yet", _counted(items.deferred)
        if items.unanswered:
            yield "Offers nobody answered", _counted(items.unanswered)
        yield "Left open", _counted(items.left_open)
        if items.waiting:
            yield WAITING, _counted(items.waiting)
        if items.overtaken:
            told = tuple(f"{one.item} (by {one.by})" for one in items.overtaken)
            yield "Overtaken", _counted(told)
        for never in items.not_come_to:
            yield f"Never reached {never.when}", _counted(never.items)
    yield "Utterances", f"{said.heard} heard, {said.ignored} ignored, {said.doubted} asked back"
    if answers is not None:
        yield "At the first hearing", f"{answers.at_first_hearing} of {answers.settled} answers"
    if answers is not None and answers.longest_wait_s is not None:
        longest = f"{short_time(answers.longest_wait_s)}, {answers.longest_wait_item}"
        yield "Longest to settle", longest
    for figure in figures(measures):
        yield figure.definition.title, figure.told()
    for one in addressees(measures.loops):
        yield f"Put to {one.to}", _addressee(one)
    for call in measures.calls:
        yield "Saturation call", _call(call)
    for call in measures.losses:
        yield "Loss call", _call(call)
    yield from _course(measures)


def _course(measures: Measures) -> Iterator[Cells]:
    lowest = measures.lowest_saturation
    if lowest is not None:
        where = clock(lowest.at_s)
        yield "Lowest recorded SpO2", f"{lowest.spo2_percent} % at {where}"
    for run in measures.clocks:
        yield "Clock", f"{run.name}: from {clock(run.started_at_s)}, {_length(run)}"
    for attempt in measures.attempts:
        outcome = outcome_of(attempt) or "outcome not said"
        if attempt.beyond:
            outcome += ", beyond the attempts agreed"
        outcome += "".join(f"; {told}" for told in attempt.told)
        length = "" if attempt.lasted_s is None else f", {short_time(attempt.lasted_s)} long"
        yield (
            f"Attempt {attempt.number}",
            f"from {clock(attempt.started_at_s)}{length}: {outcome}",
        )


def outcome_of(attempt: AttemptRun) -> str | None:
    """How an attempt ended, in words."""
    later = {"tube out": "tube in, and out again", "no wave": "tube in, which gave no wave"}
    return later.get(attempt.outcome or "", attempt.outcome)


def _expected(measures: Measures) -> Iterator[Cells]:
    for one in measures.expected:
        limit = f"within {short_time(one.within_s)} after {one.after}"
        yield f"Expected: {one.action}", f"{_became(one)}; {limit}"


def _became(one: Scored) -> str:
    """What became of an expected action, in words."""
    if one.took_s is not None:
        return f"{one.told}, {short_time(one.took_s)}"
    return f"{one.told}: {one.why}" if one.why else one.told


def _rated(ratings: Sequence[Rating]) -> Iterator[Cells]:
    for one in ratings:
        more = ", ".join(filter(None, (one.rater, one.remark)))
        yield f"Rated: {one.what}", one.told() + (f" ({more})" if more else "")


def _addressee(one: Addressee) -> str:
    answer = one.median_to_answer_s
    waits = "" if answer is None else f", median {short_time(answer)} to the answer"
    return f"{one.closed} of {one.opened} closed, {one.at_first_asking} at the first asking{waits}"


def _length(run: ClockRun) -> str:
    if run.unknown:
        return "unknown how long: the machine was started anew"
    return "still ran at the end" if run.lasted_s is None else f"{short_time(run.lasted_s)} long"


def _counted(items: tuple[str, ...]) -> str:
    return ": ".join(filter(None, (str(len(items)), ", ".join(items))))


def _call(call: ThresholdCall) -> str:
    when = "at an unknown time" if call.at_s is None else f"at {clock(call.at_s)}"
    return f'{when}: "{call.text}"' + (f", {unheard(call)}" if call.unheard else "")


def unheard(call: ThresholdCall) -> str:
    """Of a call that its loudspeaker did not say: whether anybody could hear it."""
    return UNHEARD + (", but said by the assistant" if call.said_instead else "")
