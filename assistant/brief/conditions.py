"""When something is asked: conditions over what is known of the patient and of the case.

A condition is one of five short forms, and `when` holds one or several of which any suffices:

    trauma                              what the patient has, as it was told
    not trauma                          it was not told
    pressure_mmhg below 100             a figure that is known; `from` for 100 and more
    first-laryngoscope is video         the answer to an item, or the brief that was chosen
    brief is not awake                  any other answer, or none yet

What is not known is not so: it neither fulfils a figure's condition nor an answer's.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, BeforeValidator, Field

BODY: Final = ("weight_kg", "height_cm", "age_years")
"""What doses are worked out from; may be told at any time, and is always read back."""
FIGURES: Final = (*BODY, "pressure_mmhg", "pulse_per_min", "shock_index")
"""The patient's numbers; the shock index is pulse over systolic pressure."""
TOLD: Final = ("low_pressure", "acidosis", "obstruction")
"""What the program itself knows a patient may have; a site adds its own."""
FORM = (
    "a feature, with `not` before it if need be; a figure with `below` or `from` and a number; or "
    "an item or `brief` with `is` or `is not` and an answer"
)
_NAME = r"(?P<name>[a-z][a-z0-9_-]*)"
_FORMS: Final = tuple(
    re.compile(form)
    for form in (
        rf"(?P<negation>not )?{_NAME}",
        rf"{_NAME} (?P<relation>below|from) (?P<number>\d+(\.\d+)?)",
        rf"{_NAME} is (?P<negation>not )?(?P<answer>[a-z][a-z0-9-]*)",
    )
)
Relation = Literal["told", "below", "from", "is"]


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition, taken apart."""

    name: str
    relation: Relation
    number: float = 0.0
    """For `below` and `from`."""
    answer: str = ""
    """For `is`."""
    negated: bool = False

    def holds(self, known: Callable[[str], object]) -> bool:
        """Whether it is so; `known` gives what is known under a name, None for nothing."""
        value = known(self.name)
        if self.relation == "told":
            return (value is True) is not self.negated
        if self.relation == "is":
            # A setting that was told as a number was checked, and is as good as a yes.
            checked = self.answer == "confirmed" and isinstance(value, int | float)
            return (value == self.answer or checked) is not self.negated
        if not isinstance(value, int | float):
            return False
        return value < self.number if self.relation == "below" else value >= self.number


@lru_cache(maxsize=1024)
def condition(text: str) -> Condition:
    """A condition as it is written. Raises ValueError for what has none of the forms."""
    for form in _FORMS:
        found = form.fullmatch(text)
        if found is None:
            continue
        parts = found.groupdict()
        negated = bool(parts.get("negation"))
        if parts.get("relation"):
            relation: Relation = "below" if parts["relation"] == "below" else "from"
            return Condition(parts["name"], relation, number=float(parts["number"]))
        if parts.get("answer"):
            return Condition(parts["name"], "is", answer=parts["answer"], negated=negated)
        return Condition(parts["name"], "told", negated=negated)
    raise ValueError(FORM)


def _written(text: str) -> str:
    condition(text)
    return text


def _one_or_more(given: object) -> object:
    """A single condition may be written without a list."""
    if isinstance(given, str):
        return (given,)
    return tuple(given) if isinstance(given, list) else given


When = Annotated[
    tuple[Annotated[str, AfterValidator(_written), Field(json_schema_extra={"form": FORM})], ...],
    BeforeValidator(_one_or_more),
]
"""One condition, or several of which any suffices; none: always."""


def holds(when: When, known: Callable[[str], object]) -> bool:
    """Whether any of them is so, or there are none."""
    return not when or any(condition(one).holds(known) for one in when)
