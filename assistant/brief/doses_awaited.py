"""A dose question that something comes before: it waits, and nobody has to ask it again."""

from typing import Final

from assistant.brief.moment import DoseAwaited, DoseQuestion, Moment

DOSES_GO_BY: Final = (
    *("weight_kg", "age_years", "low_pressure", "pressure_mmhg", "allergies", "feature"),
)
"""The facts without which another dose might be told, or one that is barred."""


def keep_dose_question(now: Moment, *, understood: bool = False) -> None:
    """The dose that was asked for is told, or its drug read back again, once what comes before it
    is settled; a weight that was named with it is nobody's, and waits for nothing.

    `understood`: the drug had its yes, or needed none.
    """
    quote = now.case.known.quote
    if quote is None or quote.what_if:
        return
    question = DoseQuestion.anew(quote, surely=False)
    now.present.dose_awaited = DoseAwaited(question, now.present.now_s, understood)
