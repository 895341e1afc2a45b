"""What each measure of a case means, how it is worked out and from which rows of the record.

The terms of closed-loop communication are used as in `CLOSED_LOOP`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

CLOSED_LOOP = (
    "Communication in interdisciplinary teams: exploring closed-loop communication during in situ "
    "trauma team training. BMJ Open 2013;3:e003525. doi 10.1136/bmjopen-2013-003525"
)
"""Abstract read; its terms from memory and in our own words: a call-out is what somebody says to
the team or to one of it, a check-back is the receiver's acknowledgement, and the loop is closed
when the sender has made sure that it was received as it was meant."""
APNOEA = (
    "Preoxygenation and prevention of desaturation during emergency airway management. Annals of "
    "Emergency Medicine 2012;59:165-75. doi 10.1016/j.annemergmed.2011.10.002"
)
OWN = "The machine's own measure; nothing published defines it."
OWN_WHERE_NONE = "A measure without a source is the machine's own: nothing published defines it."
"""Said once on a page, instead of at each of them."""
SCOPE = (
    "The box measures loops between the machine and the team. What people say to each other is "
    "counted and timed as room talk and never transcribed: loops between people are not included."
)


@dataclass(frozen=True, slots=True)
class Definition:
    """What one measure means."""

    title: str
    unit: Literal["s", "%", ""]
    """Nothing for a count."""
    means: str
    rows: str
    """How it is worked out, and from which rows."""
    source: str

    @property
    def published(self) -> str:
        """The source, where there is one."""
        return "" if self.source == OWN else self.source


DEFINITIONS: Final[Mapping[str, Definition]] = MappingProxyType(
    {
        "loops_closed_percent": Definition(
            "Loops closed",
            "%",
            "Of all askings, those that ended with an answer that the assistant took, after a "
            'read-back where one is due. A "not yet" was understood, but closes no item. '
            "Askings that were overtaken before their answer, by another question or by a turn "
            "of the case, are left out.",
            "From each row `asked` until the case has the item done (`answered`, or a fact of "
            "the patient that answers it).",
            CLOSED_LOOP,
        ),
        "closed_at_first_asking_percent": Definition(
            "Loops closed at the first asking",
            "%",
            "Of the same, those that were closed after the question was said once, with "
            "nothing doubted, refused at the read-back, or answered amiss. A question said again "
            "after something else was asked or told, or after a saturation call, is no repetition.",
            "Rows `said` with the tag `ask` and that item, said to their end; rows `heard` "
            "meanwhile.",
            CLOSED_LOOP,
        ),
        "median_to_answer_s": Definition(
            "From question to answer, median",
            "s",
            "From the end of the question's sound to the beginning of the first words that "
            "were taken for an answer to it; if something else came between, from the question "
            "that followed.",
            "The first row `said` of the question that was not cut into: its time and "
            "`lasts_s`; and the time of the row `heard`.",
            CLOSED_LOOP,
        ),
        "longest_to_settling_s": Definition(
            "From question to settling, longest",
            "s",
            'The same until the assistant had taken the answer or the "not yet", with read-'
            "backs and repetitions.",
            "As above, until the row `answered` or `deferred`.",
            CLOSED_LOOP,
        ),
        "put_off": Definition(
            "Items put off",
            "",
            "Items that somebody said were not yet so.",
            "Rows `deferred` that follow words; an offer that nobody answers is put off as well, "
            "and not counted.",
            OWN,
        ),
        "put_off_never_resolved": Definition(
            "Items put off and never resolved",
            "",
            "Those of them that were still open when the record ended.",
            "The case at its last row, folded from all its events.",
            OWN,
        ),
        "answers_amiss": Definition(
            "Answers that did not match",
            "",
            "What was clearly understood while a question was open but was no answer to it, or "
            "not the wanted one, and read-backs that were refused: misheard or misspoken, the "
            "record cannot tell which.",
            "Rows `heard` with the verdict `accept` that led to nothing, or to a number's "
            "being put off; rows `value-refused`.",
            CLOSED_LOOP,
        ),
        "talk_during_calls": Definition(
            "Talk during a saturation call",
            "",
            "Utterances that were going on while the watcher spoke. A lower bound: while it "
            "speaks nobody is listened to.",
            "Rows `heard` and `ignored`, their time and `ended_s`, against the watcher's rows "
            "`said`.",
            OWN,
        ),
        "room_talk_s": Definition(
            "Room talk",
            "s",
            "The total length of the utterances that were not for the assistant.",
            "Rows `ignored`, their time and `ended_s`.",
            OWN,
        ),
        "brief_s": Definition(
            "The brief before the attempt",
            "s",
            "From the first item until the last one was settled, or until the team went on without "
            "it: such a brief was broken off, and is left out when cases are compared.",
            "From the first row `asked` to `phase-done` or `went-now`.",
            OWN,
        ),
        "oxygen_to_drugs_s": Definition(
            "From oxygen on to the drugs",
            "s",
            "From the words that oxygen is on, which start its clock, to the words that the drugs "
            "are in. That the mask stayed on, and for how long, no machine sees.",
            "From the first row `clock-started` of the first item that the brief before the "
            "attempt times to that of the drugs' clock.",
            OWN,
        ),
        "oxygen_to_attempt_s": Definition(
            "From oxygen on to the first attempt",
            "s",
            "The same to the words that the first attempt begins.",
            "To the first row `attempt-started`.",
            OWN,
        ),
        "after_tube_s": Definition(
            "The brief after the tube",
            "s",
            "The same, for the items after the tube.",
            "The same rows, of those items.",
            OWN,
        ),
        "drugs_to_tube_s": Definition(
            "From drugs to tube",
            "s",
            "From the words that the drugs are in to the words that the tube is, or the rescue "
            "airway that came in its place. What came out before anybody had seen its wave does "
            "not count.",
            "From the row `clock-started` of the drugs' clock to the first `tube-in`, `rescue-in` "
            "or `neck-open` that no `tube-out` follows before its wave was `answered`.",
            OWN,
        ),
        "no_breath_s": Definition(
            "Of that, with nobody told to bag",
            "s",
            "An upper bound of the apnoea, since no breath is seen: out of the time from "
            "drugs to tube come the stretches from a failed attempt to the next one, or to a "
            "rescue, and those with the bag paced.",
            "Rows `attempt-started`, `attempt-failed`, `tube-out`, `pacing-started`, "
            "`pacing-stopped`, `entered`.",
            APNOEA + " (why the apnoea matters; the measure is the machine's own)",
        ),
        "attempts": Definition(
            "Attempts",
            "",
            "Those that were announced aloud; each with its length below.",
            "Rows `attempt-started`, `attempt-failed`, `tube-in`.",
            OWN,
        ),
        "call_to_response_s": Definition(
            "From saturation call to response, longest",
            "s",
            "From the first sound of the call to the first of what gets oxygen in again: the "
            "attempt has failed, begin pacing, the tube is in, or a saturation that came back and "
            "stayed; none at all if the team was bagging when the call came. \"It's getting "
            'worse", which asks what to do, answers it as well. A tube that was out again before '
            "anybody had seen its wave is no response; calls without one are counted beside it.",
            "The watcher's rows `said` and its samples; the row `heard` before `attempt-failed`, "
            "`pacing-started` or `tube-in`; rows `heard` with the meaning `worse`.",
            OWN,
        ),
        "expected_in_time_percent": Definition(
            "Expected actions done in time",
            "%",
            "Of what a scenario expected and what became due, the part that was done within its "
            "time. What was done before it was due does not count; an action that the machine is "
            "not told of needs a facilitator's mark.",
            "The rows that the scenario's file names; people's words by their first sound.",
            OWN,
        ),
        "low_s": Definition(
            "Saturation at the threshold or below",
            "s",
            "How long the recorded saturation was not above the site's threshold.",
            "The watcher's samples, each until the next one, a loss, or 15 s later; the "
            "threshold of the site's oximeter.yaml as it was kept with the case.",
            OWN,
        ),
    }
)
"""By a name for programs, which does not change."""
