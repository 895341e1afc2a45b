"""What was told about the patient and is not so after all, said at any time.

It is read back in the speaker's own words: a no that was misheard must take no allergy away.
"""

from assistant.brief.events.asides import FactHeard
from assistant.brief.facts import refuse_fact
from assistant.brief.going_on import go_on, tell
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.patient import called, keep_open_question
from assistant.brief.unsettled import Figure
from assistant.grammar.readings import Reading, Verdict
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled


def feature_denied(now: Moment, reading: Reading) -> Steps:
    """Something special that this patient does not have."""
    feature = str(reading.values["feature"])
    has = now.case.known.value_of(feature) is True
    told = (("feature", feature), (feature, True))
    yield from _denied(now, reading, "feature_denied", feature, told, known=has)


def allergy_denied(now: Moment, reading: Reading) -> Steps:
    """An allergy that this patient does not have."""
    allergen = str(reading.values["allergen"])
    has = allergen in now.case.known.allergies
    yield from _denied(
        now, reading, "allergy_denied", allergen, (("allergies", allergen),), known=has
    )


def _denied(
    now: Moment,
    reading: Reading,
    figure: Figure,
    value: str,
    told: tuple[tuple[str, object], ...],
    *,
    known: bool,
) -> Steps:
    """`told`: the facts that it denies, of which one may await its yes; `known`: it had that."""
    fact, sure = now.case.known.fact, reading.verdict is Verdict.ACCEPT
    if fact is not None and (fact.figure, fact.value) in told:
        yield from refuse_fact(now, reading) if sure else go_on(now)
    elif known or not sure:
        yield from keep_open_question(now)
        heard = FactHeard(figure=figure, value=value, spoken=reading.text)
        yield Happened(heard, f"{called(figure)}: {reading.text}?")
        yield from go_on(now)
    else:  # there is nothing to take back
        yield from tell(now, Line(filled(now.says.noted, value=reading.text), "noted"))
