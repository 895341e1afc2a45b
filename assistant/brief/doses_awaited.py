"""A dose question that something comes before: it waits, and nobody has to ask it again.

It is on record, so that it is answered also where the box was started anew in between.
"""

from typing import Final

from assistant.brief.events.asides import DoseAwaited
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.unsettled import DoseQuestion

DOSES_GO_BY: Final = (
    *("weight_kg", "age_years", "low_pressure", "pressure_mmhg", "allergies", "feature"),
    *("feature_denied", "allergy_denied"),
)
"""The facts without which another dose might be told, or one that is barred."""


def await_dose(question: DoseQuestion, *, first: bool = False) -> Steps:
    """The answer comes once what comes before it is settled; `first`: before others that wait."""
    awaited = DoseAwaited(
        drug=question.drug,
        surely=question.surely,
        named_kg=question.named_kg,
        wanted=question.wanted,
        low_pressure=question.low_pressure,
        understood=question.understood,
        barred_by=question.barred_by,
        first=first,
    )
    yield Happened(awaited, f"{question.drug}: its dose is awaited")


def keep_dose_question(
    now: Moment, *, understood: bool = False, barred_by: str | None = None
) -> Steps:
    """The dose that was asked for is told, or its drug read back again, once what comes before it
    is settled; a weight that was named with it is nobody's, and waits for nothing.

    `understood`: the drug had its yes, or needed none; `barred_by`: see `DoseQuestion`.
    """
    quote = now.case.known.quote
    if quote is None or quote.what_if:
        return
    question = DoseQuestion(
        quote.drug,
        surely=False,
        wanted=quote.wanted,
        low_pressure=quote.low_pressure,
        understood=understood,
        barred_by=barred_by,
    )
    yield from await_dose(question, first=True)
