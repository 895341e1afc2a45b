"""The items that are answered with a value: a choice, a role, a number, a setting."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Annotated, ClassVar, Literal

from pydantic import Field, model_validator
from typing_extensions import override

from assistant.brief.conditions import BODY
from assistant.brief.confirmed_items import ConfirmedItem
from assistant.brief.item import (
    Answer,
    AskedFigure,
    Item,
    ItemText,
    NumberFigure,
    Option,
    Standing,
    ToldByAnswer,
)
from assistant.brief.phases import Phase
from assistant.files.complaints import WrongWithinError
from assistant.files.word_forms import Spoken, Utterance
from assistant.language.numbers import TENTHS_BELOW
from assistant.language.tongue import Tongue, exactly
from assistant.speaking.says import Says

Number = Annotated[float, Field(ge=0, le=300)]
"""What an item may be answered with; whole, but for items with decimals."""
LEAST_PERCENT, MOST_PERCENT = 40, 100
"""A number below or above that is told of nothing is no saturation, but a pulse or a dose. Common
practice, no source."""


def _only_tenths(limits: Mapping[str, float], *, decimals: bool) -> None:
    """Raise WrongWithinError for a limit that cannot be told in whole numbers, or in tenths."""
    for key, number in limits.items():
        if not decimals and number != int(number):
            raise WrongWithinError("a whole number, or tenths with decimals: true", key)
        if decimals and (number >= TENTHS_BELOW or round(number, 1) != number):
            raise WrongWithinError(f"below {TENTHS_BELOW}, in tenths, with decimals: true", key)


class ChooseItem(Item):
    """One of several."""

    kind: Literal["choose"]
    options: Annotated[tuple[Option, ...], Field(min_length=2)]
    sets: Literal["sex"] | None = None
    """The patient's figure that this answer sets: its options are then `female` and `male`."""

    @model_validator(mode="after")
    def _options_fit_what_it_sets(self) -> "ChooseItem":
        ids = {one.id for one in self.options}
        if self.sets is not None and ids != {"female", "male"}:
            raise WrongWithinError("the options female and male where it sets the sex", "sets")
        return self

    @property
    @override
    def figure(self) -> AskedFigure | None:
        return self.sets

    @property
    @override
    def answered_by(self) -> tuple[str, ...]:
        return ("choose", "decline")

    @override
    def options_among(self, roster: Sequence[Option]) -> Sequence[Option]:
        return self.options

    @override
    def leads(self, value: Answer) -> Phase | None:
        return next((one.leads for one in self.options if one.id == value), None)

    @override
    def told_by(self, value: Answer) -> Mapping[ToldByAnswer, bool]:
        return {one.tells: one.id == value for one in self.options if one.tells is not None}


class NumberItem(Item):
    """A number with a unit; always read back digit by digit and confirmed."""

    kind: Literal["number"]
    unit: Spoken
    """As it is spoken, in the plural: "kilograms"."""
    unit_said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """As people may say it after the number: "kilos", "kilograms"."""
    low: Number
    high: Number
    decimals: bool = False
    """Whether tenths may be told as well ("seven point five"); a figure of the patient is whole."""
    sets: NumberFigure | None = None
    """The patient's figure that this answer sets, in the unit that its name has. A weight is in
    kilograms; in pounds it is taken all the same, by the phrases of `weight_pounds`, and read back
    in kilograms."""
    by_height: bool = False
    """For the depth of a tube: one far from what figures.yaml gives for the patient's height is
    read back with that."""
    noted_at_once: bool = False
    """It is said back without a question if it was clearly heard and is not easily confused; not
    allowed for what doses are worked out from."""
    low_pressure_below: Number | None = None
    """For a systolic pressure: anything below this counts as low, for doses too; it must lie
    among the possible answers."""
    too_low: tuple[Utterance, ...] = ()
    """For the same: what people say of a pressure that cannot be measured ("unrecordable"). It
    is read back as a low pressure, and its number stays open."""

    @model_validator(mode="after")
    def _low_below_high(self) -> "NumberItem":
        if self.noted_at_once and self.sets in BODY:
            raise WrongWithinError(
                f"false, as doses are worked out from {self.sets}", "noted_at_once"
            )
        if self.low_pressure_below is not None and self.sets != "pressure_mmhg":
            raise WrongWithinError("only where it sets pressure_mmhg", "low_pressure_below")
        if self.too_low and self.sets != "pressure_mmhg":
            raise WrongWithinError("only where it sets pressure_mmhg", "too_low")
        low = self.low_pressure_below
        if low is not None and not self.low < low <= self.high:
            allowed = f"more than its low, {self.low:g}, and at most its high, {self.high:g}"
            raise WrongWithinError(allowed, "low_pressure_below")
        if self.low >= self.high:
            raise WrongWithinError(f"a low below its high, {self.high:g}", "low")
        if self.decimals and self.sets is not None:
            raise WrongWithinError("false where it sets a figure of the patient", "decimals")
        _only_tenths({"low": self.low, "high": self.high}, decimals=self.decimals)
        return self

    @property
    @override
    def in_tenths(self) -> bool:
        return self.decimals

    @property
    @override
    def answered_by(self) -> tuple[str, ...]:
        return ("number", "decline")

    @property
    @override
    def told_too_low(self) -> tuple[str, ...]:
        return self.too_low

    @property
    @override
    def figure(self) -> NumberFigure | None:
        return self.sets

    @property
    @override
    def units_heard(self) -> tuple[str, ...]:
        return self.unit_said

    @override
    def told_by(self, value: Answer) -> Mapping[ToldByAnswer, bool]:
        below = self.low_pressure_below
        return {} if below is None else {"low_pressure": float(value) < below}

    @override
    def spoken(self, value: Answer, roster: Sequence[Option], tongue: Tongue) -> str:
        return number_spoken(value, self.unit, tongue)

    @override
    def read_back(self, value: Answer, spoken: str, says: Says, tongue: Tongue) -> str:
        return number_read_back(exactly(float(value)), self.unit, says, tongue)


class FeaturesItem(Item):
    """What is special about this patient: any of the site's features, until "nothing else".

    Silence settles it too, once something was told.
    """

    OWN_PHRASES: ClassVar[Mapping[str, str]] = {**Item.OWN_PHRASES, "nothing_said": "no_feature"}

    kind: Literal["features"]
    nothing_said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """How people say that there is nothing, or nothing else; a "no" here does not mean "not
    yet"."""
    ask_more: ItemText = "Anything else?"

    @property
    @override
    def answered_by(self) -> tuple[str, ...]:
        return ("feature", "no_feature", "decline")

    @override
    def spoken(self, value: Answer, roster: Sequence[Option], tongue: Tongue) -> str:
        return str(value)


class NameItem(Item):
    """Who does it, by a role of the site's roster."""

    kind: Literal["name"]

    @property
    @override
    def answered_by(self) -> tuple[str, ...]:
        return ("name", "decline")

    @override
    def options_among(self, roster: Sequence[Option]) -> Sequence[Option]:
        return roster


class QuantityItem(ConfirmedItem):
    """A setting with a wanted value: confirmed like any other, or told as a number and checked."""

    kind: Literal["quantity"]
    unit: Spoken
    """As it is spoken, in the plural: "litres a minute"."""
    unit_said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """As people may say it after the number: "litres"."""
    wanted_low: Number
    wanted_high: Number
    """A value from the one to the other settles it; any other is said back, and the item stays
    open."""
    decimals: bool = False
    """Whether tenths may be told as well ("thirty seven point two")."""
    seen: bool = False
    """Whether it is the saturation, which the watcher sees: if that is not the wanted one, it
    outranks what people say, and opens the item again at the pause."""
    sets: Literal["pressure_mmhg"] | None = None
    """The patient's systolic pressure, which any number told makes known; one below the wanted
    range counts as low, for doses too."""

    @model_validator(mode="after")
    def _low_to_high(self) -> "QuantityItem":
        if self.wanted_low > self.wanted_high:
            raise WrongWithinError(f"at most its wanted_high, {self.wanted_high:g}", "wanted_low")
        limits = {"wanted_low": self.wanted_low, "wanted_high": self.wanted_high}
        _only_tenths(limits, decimals=self.decimals)
        return self

    @property
    @override
    def in_tenths(self) -> bool:
        return self.decimals

    @property
    @override
    def answered_by(self) -> tuple[str, ...]:
        return (*super().answered_by, "number")

    @property
    @override
    def units_heard(self) -> tuple[str, ...]:
        return self.unit_said

    @property
    @override
    def number_figure(self) -> NumberFigure | None:
        return self.sets

    @override
    def told_by(self, value: Answer) -> Mapping[ToldByAnswer, bool]:
        if self.sets is None or isinstance(value, str):
            return {}
        return {"low_pressure": value < self.wanted_low}

    @property
    @override
    def wanted(self) -> tuple[float, float] | None:
        return self.wanted_low, self.wanted_high

    @override
    def wants(self, value: Answer) -> bool:
        return isinstance(value, str) or self.wanted_low <= value <= self.wanted_high

    @override
    def spoken(self, value: Answer, roster: Sequence[Option], tongue: Tongue) -> str:
        if isinstance(value, str):
            return super().spoken(value, roster, tongue)
        return number_spoken(value, self.unit, tongue)

    @override
    def read_back(self, value: Answer, spoken: str, says: Says, tongue: Tongue) -> str:
        if isinstance(value, str):
            return super().read_back(value, spoken, says, tongue)
        return number_read_back(exactly(float(value)), self.unit, says, tongue)


class OxygenItem(QuantityItem):
    """The saturation while the patient is bagged.

    As long as it is not back, a clock has it asked again. Any number told meanwhile counts, and so
    does what the watcher sees if `seen` is true.
    """

    OWN_PHRASES: ClassVar[Mapping[str, str]] = {
        **QuantityItem.OWN_PHRASES,
        "not_coming": "decline",
    }

    kind: Literal["oxygen"]  # type: ignore[assignment]
    clock: Spoken
    """What runs, as it is spoken: "bagging"."""
    keep_on: Spoken
    """Said while it is not back."""
    again_after_s: Annotated[int, Field(ge=10, le=300)] = 30
    gives_up_after_s: Annotated[int, Field(ge=10, le=600)] = 90
    """If it is not back so long after the failed attempt, it is left open and the plan's
    `oxygen_not_back` is said."""
    not_coming: tuple[Utterance, ...] = ()
    """How people say that it does not come back; it is then left open at once."""

    @property
    @override
    def waits_for(self) -> str | None:
        return self.clock

    @property
    @override
    def told_meanwhile(self) -> bool:
        return True

    @property
    @override
    def given_up_by(self) -> tuple[str, ...]:
        return self.not_coming

    @override
    def can_be(self, number: float) -> bool:
        return LEAST_PERCENT <= number <= MOST_PERCENT

    @override
    def after_decline(self, standing: Standing) -> Standing:
        return Standing.RUNNING


def number_spoken(value: Answer, unit: str, tongue: Tongue) -> str:
    """A number with its unit, in words: "seven point five centimetres"."""
    number = tongue.numbers.say_number(exactly(float(value)))
    return tongue.terms.quantity.format(number=number, unit=unit)


def number_read_back(number: int | Decimal, unit: str, says: Says, tongue: Tongue) -> str:
    """The sentence that reads a number back, in words and digit by digit."""
    words, digits = tongue.numbers.say_number(number), tongue.numbers.say_digits(number)
    return says.read_back_number.format(number=words, digits=digits, unit=unit)
