"""What a facilitator marked in a case, by keys or aloud."""

from collections import Counter
from collections.abc import Sequence

from assistant.debrief.entries import TimelineEntry
from assistant.debrief.timeline import Timeline
from assistant.journal.facilitator import LOOPS


def marks_of(timeline: Timeline) -> Sequence[TimelineEntry]:
    """All that is the facilitator's, in order of time."""
    return [one for one in timeline.entries if one.who == "facilitator"]


def tapped(timeline: Timeline) -> str:
    """The loops between people as they were tapped, in one sentence; empty when none was.

    Counts, and no share: nobody taps all of them, and a step belongs to no other for sure.
    """
    count = Counter(one.meaning for one in marks_of(timeline) if one.meaning in LOOPS)
    if not count:
        return ""
    told = ", ".join(f"{name.replace('-', ' ')} {count[name]}" for name in LOOPS)
    return f"Between people, as the facilitator tapped it: {told}."
