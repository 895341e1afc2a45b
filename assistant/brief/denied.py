"""What was told about the patient and is not so after all, said at any time.

It is read back in the speaker's own words: a no that was misheard must take no allergy away.
"""

from assistant.brief.events.asides import FactHeard
from assistant.brief.facts import refuse_fact
from assistant.brief.going_on import go_on, tell
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.patient import called, keep_open_question
from assistant.brief.states import State
from assistant.brief.unsettled import Fact
from assistant.grammar.readings import Reading, Verdict
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled


def feature_denied(now: Moment, reading: Reading) -> Steps:
    """Something special that this patient does not have."""
    feature = str(reading.values["feature"])
    has = now.case.known.value_of(feature) is True
    yield from _denied(now, reading, Fact("feature_denied", feature, reading.text), has=has)


def allergy_denied(now: Moment, reading: Reading) -> Steps:
    """An allergy that this patient does not have."""
    allergen = str(reading.values["allergen"])
    has = allergen in now.case.known.allergies
    yield from _denied(now, reading, Fact("allergy_denied", allergen, reading.text), has=has)


def _denied(now: Moment, reading: Reading, denial: Fact, *, has: bool) -> Steps:
    """`has`: the patient had that. Of what awaits its own yes it is a no to the read-back, or is
    read back before that comes again."""
    known, sure = now.case.known, reading.verdict is Verdict.ACCEPT
    denies = [
        one
        for one in known.facts_read_back
        if one.about == denial.about and one.figure != denial.figure
    ]
    if now.case.state is State.STATING and known.fact in denies:
        yield from refuse_fact(now, reading) if sure else go_on(now)
    elif has or denies or not sure:
        yield from keep_open_question(now)
        heard = FactHeard(figure=denial.figure, value=denial.value, spoken=denial.spoken)
        yield Happened(heard, f"{called(denial.figure)}: {denial.spoken}?")
        yield from go_on(now)
    else:  # there is nothing to take back
        yield from tell(now, Line(filled(now.says.noted, value=reading.text), "noted"))
