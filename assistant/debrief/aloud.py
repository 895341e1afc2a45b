"""A case in a few plain sentences, to be read aloud at the beginning of a debrief."""

from collections.abc import Iterable, Iterator, Sequence

from assistant.brief.agenda import to_name
from assistant.brief.brief import Brief
from assistant.brief.items import AnyItem
from assistant.debrief.airways import CANNOT_WAIT
from assistant.debrief.drugs import drugs_of
from assistant.debrief.figures import figures
from assistant.debrief.findings import Items, Measures
from assistant.debrief.loops import Loop
from assistant.debrief.measured_lines import WAITING, unheard
from assistant.debrief.regained import Response
from assistant.debrief.timeline import Timeline

Told = tuple[float, str]
"""When that was, in s of the case, and the sentence about it."""


def sentences(timeline: Timeline, measures: Measures) -> Iterator[str]:
    """One after the other; what the record does not tell is left out."""
    values = {one.name: one.value for one in figures(measures)}
    ended = "It was ended aloud." if measures.ended else "Nobody ended it aloud."
    lasted = spoken(measures.duration_s)
    yield f"{timeline.meta.site}. The case lasted {lasted}. {ended}"
    for one in measures.turns:
        if one.what == CANNOT_WAIT:
            yield f"The patient could not wait: that was said {spoken(one.at_s)} into the case."
    yield from timeline.notes
    yield from _of_the_brief(timeline, measures, values)
    course = [
        *_of_the_attempts(measures),
        *_of_the_turns(measures),
        *_of_the_drugs(timeline, measures),
        *_of_the_calls(measures),
    ]
    yield from (told for _, told in sorted(course, key=lambda one: one[0]))
    yield from _of_the_times(measures, values)
    yield from _of_the_saturation(measures)
    yield from _of_what_was_expected(measures)
    yield "This is from what the machine heard and said, and it may have misheard."


def spoken(seconds: float) -> str:
    """A length for the ear: "nine minutes and 17 seconds" would be "9 minutes 17 seconds"."""
    if seconds < 10:
        return f"{seconds:.1f} seconds"
    minutes, rest = divmod(round(seconds), 60)
    told = [_counted(minutes, "minute")] * bool(minutes) + [_counted(rest, "second")] * bool(rest)
    return " ".join(told)


def _of_the_brief(
    timeline: Timeline, measures: Measures, values: dict[str, float | None]
) -> Iterator[str]:
    items = measures.items
    if items is None or timeline.brief is None or not items.asked:
        return
    took_s = values["brief_s"]
    if took_s is not None:
        took = "was broken off after" if measures.brief_broken_off else "took"
        yield f"The brief before the attempt {took} {spoken(took_s)}."
    closed = sum(one.outcome == "closed" for one in measures.loops)
    at_first = sum(one.at_first_asking for one in measures.loops)
    askings = _counted(sum(one.counts for one in measures.loops), "asking")
    yield (f"Of {askings} {closed} {_were(closed)} closed, {at_first} of them at the first asking.")
    typical_s = values["median_to_answer_s"]
    if typical_s is not None:
        yield f"Typically an answer began {spoken(typical_s)} after the question."
    yield from _of_the_items(timeline.brief, items, measures.loops)
    amiss = sum(len(one.mismatched) for one in measures.loops)
    if amiss:
        yield f"{_counted(amiss, 'answer')} did not match the question, or {_were(amiss)} refused."


def _of_the_items(brief: Brief, items: Items, loops: Sequence[Loop]) -> Iterator[str]:
    became = {one.item: one.outcome for one in loops if one.counts}
    confirmed_later = [one for one in items.deferred if became.get(one) == "closed"]
    kinds = [
        ("Put off, and confirmed later", confirmed_later),
        ("Put off", [one for one in items.deferred if one not in confirmed_later]),
        ("Offered, and not answered", items.unanswered),
        ("Left open", items.left_open),
        (WAITING, items.waiting),
        *((f"Never reached {one.when}", one.items) for one in items.not_come_to),
    ]
    for told, named in kinds:
        if named:
            yield f"{told}: {to_name(_once_each(brief, named))}."


def _once_each(brief: Brief, items: Iterable[str]) -> list[AnyItem]:
    """What matters most first; two items of one short name are one for the ear."""
    by_label = {one.label: one for one in map(brief.item, items)}
    return sorted(by_label.values(), key=lambda one: not one.doubts_a_plain_yes)


def _of_the_attempts(measures: Measures) -> Iterator[Told]:
    for one in measures.attempts:
        began = f"Attempt {one.number} began {spoken(one.started_at_s)} into the case"
        lasted = "" if one.lasted_s is None else f", lasted {spoken(one.lasted_s)}"
        ended = {
            "failed": "failed",
            "tube in": "ended with the tube in",
            "tube out": "ended with the tube in, which was out again later",
            "no wave": "ended with the tube in, which gave no wave",
            None: "has no end on record",
        }
        yield one.started_at_s, f"{began}{lasted} and {ended[one.outcome]}."


def _of_the_times(measures: Measures, values: dict[str, float | None]) -> Iterator[str]:
    to_tube_s, still_s = values["drugs_to_tube_s"], values["no_breath_s"]
    if to_tube_s is not None:
        yield f"From the drugs to {measures.ended_by} it was {spoken(to_tube_s)}."
    if still_s is not None:
        yield f"For {spoken(still_s)} of that nobody was told to bag."


def _of_the_turns(measures: Measures) -> Iterator[Told]:
    for one in measures.turns:
        if one.what == CANNOT_WAIT:
            continue  # it is told first
        pulse = "" if one.lasted_s is None else f", and beat again after {spoken(one.lasted_s)}"
        what = f"{one.what[0].upper()}{one.what[1:]}"
        yield one.at_s, f"{what} {spoken(one.at_s)} into the case{pulse}."


def _of_the_drugs(timeline: Timeline, measures: Measures) -> Iterator[Told]:
    for one in drugs_of(timeline, measures.taken_back).given:
        told, drug = one.dose, f"{one.drug}".capitalize()
        if one.taken_back_at_s is not None or one.at_s is None:
            continue
        if one.against:
            yield (
                one.at_s,
                f"{drug} went in, and an allergy to {' and '.join(one.against)} was told.",
            )
        if told is None:
            continue
        if one.put_right is not None:
            right_kg = f"{one.put_right.weight_kg:g}"
            at_s = one.put_right.at_s or one.at_s
            yield at_s, f"{drug} was in before the weight was put right to {right_kg} kilograms."
        elif one.amount is None and told.held_until_s is not None:
            yield (
                one.at_s,
                f"{drug} was told as given after its dose for {told.told_for} was outdated.",
            )


def _of_the_calls(measures: Measures) -> Iterator[Told]:
    responses = {one.called_at_s: one for one in measures.responses}
    for call in measures.calls:
        at_s = float("inf") if call.at_s is None else call.at_s  # the last, where nobody knows
        when = "" if call.at_s is None else f" {spoken(call.at_s)} into the case"
        if call.unheard:
            told = f'The watcher\'s call "{call.text}"{when} was {unheard(call)}'
        else:
            told = f'The watcher called "{call.text}"{when}'
        yield at_s, f"{told}{_answered(responses.get(at_s))}."


def _answered(one: Response | None) -> str:
    if one is None:
        return ""
    if one.already:
        return "; the team was bagging already"
    if one.how is None:
        return "; nothing is on record after it by which oxygen got in again"
    return f"; {one.how}" if one.took_s is None else f"; {spoken(one.took_s)} later {one.how}"


def _of_the_saturation(measures: Measures) -> Iterator[str]:
    lowest, watched = measures.lowest_saturation, measures.watched
    if lowest is not None:
        yield f"The lowest saturation on record was {lowest.spo2_percent} percent."
    if watched is not None and watched.low_s:
        yield (
            f"For {spoken(watched.low_s)} it was at the threshold of "
            f"{watched.threshold_percent} percent or below."
        )


def _of_what_was_expected(measures: Measures) -> Iterator[str]:
    due = [one for one in measures.expected if one.applies]
    if not due:
        return
    in_time = sum(one.outcome == "in time" for one in due)
    expected = _counted(len(due), "expected action")
    yield f"Of {expected} {in_time} {_were(in_time)} done in time."
    for one in due:
        if one.outcome == "late":
            took = "" if one.took_s is None else f", after {spoken(one.took_s)}"
            yield f"Late: {one.action}{took}."
        elif one.outcome == "never":
            yield f"Not on record: {one.action}."


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _were(count: int) -> str:
    return "was" if count == 1 else "were"
