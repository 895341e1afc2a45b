"""The items of a brief: how each kind is asked, what answers it, and what becomes of it then."""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from decimal import Decimal
from enum import Enum
from typing import Annotated, Literal, Self, get_args

from pydantic import Field, model_validator
from typing_extensions import override

from assistant.brief.phases import Phase
from assistant.files.templates import Template, only
from assistant.files.word_forms import Identifier, Spoken, Utterance
from assistant.files.yaml_files import SiteModel
from assistant.language.numbers import TENTHS_BELOW
from assistant.language.tongue import Tongue, exactly
from assistant.speaking.wording import Says


class Standing(Enum):
    """What has become of an item."""

    OPEN = "open"
    RUNNING = "running"
    """Its clock runs; it will be asked again when that ends."""
    DUE = "due"
    """Its clock has ended and it has not been asked again yet."""
    DEFERRED = "deferred"
    """Not yet; asked again at the end of the section."""
    OUTSTANDING = "outstanding"
    """Not yet, twice: it stays open and is named when somebody asks what is left."""
    DONE = "done"


ItemText = Annotated[Template, only("threshold")]
"""Said of an item; `{threshold}` is the saturation at which the watcher calls, in words."""


ToldByChoice = Literal["acidosis", "obstruction"]


class Option(SiteModel):
    """One of several answers."""

    id: Identifier
    called: Spoken
    """As the assistant reads it back."""
    said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """As a person may say it."""
    leads: Phase | None = None
    """The phase that begins when it is chosen."""
    tells: ToldByChoice | None = None
    """What is known of the patient when it is chosen, and known not to be so when another is."""


NumberFigure = Literal["weight_kg", "height_cm", "age_years"]
"""The patient's figures that are numbers."""
Answer = str | int | float
Number = Annotated[float, Field(ge=0, le=300)]
"""What an item may be answered with; whole, but for items with decimals."""


class Item(SiteModel, ABC):
    """What every kind of item has, and how it behaves: a kind that does not say is no kind."""

    id: Identifier
    called: Utterance | None = None
    """Its short name, as it is listed and asked after; the id in words when left out."""
    ask: ItemText
    call: ItemText | None = None
    """The same in one to five words ("Nasal oxygen, fifteen litres?"), for a team that knows its
    brief. Said in the short form; `ask` comes when somebody asks again, or nobody answers."""
    why: ItemText
    """Said when somebody asks why; one or two short sentences."""
    sources: Annotated[tuple[str, ...], Field(min_length=1)]
    """Keys of docs/brief-sources.md, `common-practice` where nothing was published."""

    @property
    @abstractmethod
    def answered_by(self) -> tuple[str, ...]:
        """The meanings that answer it, of those in `wording.yaml`."""

    @property
    def confirmed(self) -> bool:
        """Whether a yes settles it."""
        return "confirm" in self.answered_by

    @property
    def noted(self) -> bool:
        """Whether its answer is said back as noted."""
        return not self.confirmed

    @property
    def telling_answers(self) -> tuple[str, ...]:
        """What confirms this item and no other; empty for a kind that is not confirmed."""
        return ()

    @property
    def telling_only(self) -> bool:
        """Whether nothing but a telling answer confirms it."""
        return False

    @property
    def told_plainly(self) -> tuple[str, ...]:
        """What people say in passing when this item is so."""
        return ()

    @property
    def own_exceptions(self) -> tuple[str, ...]:
        """What says that this item does not apply; empty where it always does."""
        return ()

    @property
    def doubts_a_plain_yes(self) -> bool:
        """Whether a plain yes is read back before it counts."""
        return False

    @property
    def denied_plainly(self) -> tuple[str, ...]:
        """What says that it is not so, and not only not yet; empty where that is the same."""
        return ()

    def denied_by_decline(self, standing: Standing) -> bool:  # noqa: ARG002
        """Whether a "not yet" is a no by now."""
        return False

    @property
    def asked_at_once(self) -> bool:
        """Whether what was put off is asked again before anything else."""
        return False

    @property
    def offered(self) -> bool:
        """Whether it is an offer: asked once, and a no settles it."""
        return False

    def leads(self, value: Answer) -> Phase | None:  # noqa: ARG002
        """The phase that begins with this answer."""
        return None

    def told_by(self, value: Answer) -> Mapping[ToldByChoice, bool]:  # noqa: ARG002
        """What is known of the patient with this answer."""
        return {}

    @property
    def label(self) -> str:
        """Its short name: the site's own, or its identifier in words."""
        return self.called or self.id.replace("-", " ")

    @property
    def figure(self) -> NumberFigure | None:
        """The patient's figure that its answer sets."""
        return None

    @property
    def units_heard(self) -> tuple[str, ...]:
        """The words for a unit that people may say after its number."""
        return ()

    @property
    def in_tenths(self) -> bool:
        """Whether its number may have a decimal place."""
        return False

    def options_among(self, roster: Sequence[Option]) -> Sequence[Option]:  # noqa: ARG002
        """What may be chosen; `roster` is the site's."""
        return ()

    def question(self, *, due: bool, short: bool = False) -> str:  # noqa: ARG002
        """What is said to ask it; `due` when its clock has ended, `short` in few words."""
        return self.call if short and self.call else self.ask

    def question_shown(self, *, due: bool) -> str:
        """The question alone, for a screen, without what is read aloud before it."""
        return self.question(due=due)

    def spoken(self, value: Answer, roster: Sequence[Option], tongue: Tongue) -> str:  # noqa: ARG002
        """An answer in words, as it is read back or noted.

        Raises StopIteration for one that may not be chosen.
        """
        return next(one.called for one in self.options_among(roster) if one.id == value)

    def read_back(self, value: Answer, spoken: str, says: Says, tongue: Tongue) -> str:  # noqa: ARG002
        """The sentence that asks whether the answer was heard rightly."""
        return says.read_back.format(value=spoken)

    def wants(self, value: Answer) -> bool:  # noqa: ARG002
        """Whether that answer settles it; one that is heard and not wanted leaves it open."""
        return True

    @property
    def wanted(self) -> tuple[float, float] | None:
        """The lowest and highest number that settles it, where one does."""
        return None

    def after_answer(self, standing: Standing) -> Standing:  # noqa: ARG002
        """What becomes of it when it is answered."""
        return Standing.DONE

    def after_decline(self, standing: Standing) -> Standing:
        """What becomes of it when the answer is "not yet"."""
        return Standing.DEFERRED if standing is Standing.OPEN else Standing.OUTSTANDING


_YES_NO = ("confirm", "plain_yes", "bare_yes", "decline")


def _only_tenths(low: float, high: float, *, decimals: bool) -> None:
    """Raise ValueError for a range that people could not tell."""
    for number in (low, high):
        if not decimals and number != int(number):
            raise ValueError("whole numbers, or tenths with decimals: true")
        if decimals and (number >= TENTHS_BELOW or round(number, 1) != number):
            raise ValueError(f"numbers below {TENTHS_BELOW}, in tenths, with decimals: true")


class ConfirmedItem(Item):
    """What every kind has that is confirmed."""

    confirmations: tuple[Utterance, ...] = ()
    """Telling answers that also confirm this item ("we saw the head up"), besides the site's
    own."""
    plain_answers: tuple[Utterance, ...] = ()
    """What people say in passing when it is so ("oxygen on", "both working"): counts as a plain yes
    does, only as an answer to this item."""
    only_telling: bool = False
    """Nothing but a telling answer confirms it; the site's own are told what to say."""
    vital: bool = False
    """A plain yes does not settle it by itself: it is read back first."""
    does_not_apply: tuple[Utterance, ...] = ()
    """Answers that say so of this item ("no collar"), besides the site's own; without any it always
    applies."""

    @model_validator(mode="after")
    def _something_confirms(self) -> Self:
        if self.only_telling and not self.confirmations:
            raise ValueError("at least one of its own confirmations with only_telling")
        return self

    @property
    @override
    def answered_by(self) -> tuple[str, ...]:
        return (*_YES_NO, "not_applicable") if self.does_not_apply else _YES_NO

    @property
    @override
    def telling_answers(self) -> tuple[str, ...]:
        return self.confirmations

    @property
    @override
    def told_plainly(self) -> tuple[str, ...]:
        return self.plain_answers

    @property
    @override
    def own_exceptions(self) -> tuple[str, ...]:
        return self.does_not_apply

    @property
    @override
    def doubts_a_plain_yes(self) -> bool:
        return self.vital

    @override
    def read_back(self, value: Answer, spoken: str, says: Says, tongue: Tongue) -> str:
        return says.confirm_read_back.format(item=self.label)

    @property
    @override
    def telling_only(self) -> bool:
        return self.only_telling

    @override
    def spoken(self, value: Answer, roster: Sequence[Option], tongue: Tongue) -> str:
        return str(value)


class ConfirmItem(ConfirmedItem):
    """A plain check: it is so, or it is not yet so."""

    kind: Literal["confirm"]


class ChooseItem(Item):
    """One of several."""

    kind: Literal["choose"]
    options: Annotated[tuple[Option, ...], Field(min_length=2)]

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
    def told_by(self, value: Answer) -> Mapping[ToldByChoice, bool]:
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
    """The patient's figure that this answer sets."""

    @model_validator(mode="after")
    def _low_below_high(self) -> "NumberItem":
        if self.low >= self.high:
            raise ValueError("a low below its high")
        if self.decimals and self.sets is not None:
            raise ValueError("no decimals where it sets a figure of the patient")
        _only_tenths(self.low, self.high, decimals=self.decimals)
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
    def figure(self) -> NumberFigure | None:
        return self.sets

    @property
    @override
    def units_heard(self) -> tuple[str, ...]:
        return self.unit_said

    @override
    def spoken(self, value: Answer, roster: Sequence[Option], tongue: Tongue) -> str:
        number = tongue.numbers.say_number(exactly(float(value)))
        return tongue.terms.quantity.format(number=number, unit=self.unit)

    @override
    def read_back(self, value: Answer, spoken: str, says: Says, tongue: Tongue) -> str:
        return number_read_back(exactly(float(value)), self.unit, says, tongue)


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


class TimedItem(ConfirmedItem):
    """Starts a clock when it is confirmed, and is asked again when the clock ends."""

    kind: Literal["timed"]
    lasts_s: Annotated[int, Field(ge=5, le=3600)]
    clock: Spoken
    """What runs, as it is spoken: "oxygen on"."""
    ask_again: ItemText
    again_after_s: Annotated[int, Field(ge=5, le=3600)] = 60
    """When the answer to `ask_again` is not yet, the clock runs this long once more."""

    @override
    def question(self, *, due: bool, short: bool = False) -> str:
        return self.ask_again if due else super().question(due=due, short=short)

    @override
    def after_answer(self, standing: Standing) -> Standing:
        return Standing.DONE if standing is Standing.DUE else Standing.RUNNING

    @override
    def after_decline(self, standing: Standing) -> Standing:
        return Standing.RUNNING if standing is Standing.DUE else super().after_decline(standing)


class WaveItem(TimedItem):
    """Carbon dioxide: asked at the first breath, and again when enough breaths can have passed.

    Without it the airway that has just gone in comes out: a no does that at once, and so does a
    second "not yet"; after the first it is asked again before anything else.
    """

    kind: Literal["wave"]  # type: ignore[assignment]
    no_wave: Spoken
    """What is said then."""
    denied_by: tuple[Utterance, ...] = ("no", "negative", "no wave there", "nothing there")
    """What says that there is none, besides the site's vital words."""

    @property
    @override
    def answered_by(self) -> tuple[str, ...]:
        return (*super().answered_by, "denied")

    @property
    @override
    def denied_plainly(self) -> tuple[str, ...]:
        return self.denied_by

    @override
    def denied_by_decline(self, standing: Standing) -> bool:
        return standing is not Standing.OPEN

    @property
    @override
    def asked_at_once(self) -> bool:
        return True


class PaceItem(ConfirmedItem):
    """An offer to pace the bag: a yes begins it."""

    kind: Literal["pace"]

    @property
    @override
    def offered(self) -> bool:
        return True

    @override
    def after_decline(self, standing: Standing) -> Standing:
        return Standing.DONE


class PlanItem(ConfirmedItem):
    """Read aloud, then confirmed."""

    kind: Literal["plan"]
    read_aloud: Annotated[tuple[ItemText, ...], Field(min_length=1)]

    @override
    def question(self, *, due: bool, short: bool = False) -> str:
        return " ".join((*self.read_aloud, super().question(due=due, short=short)))

    @override
    def question_shown(self, *, due: bool) -> str:
        return self.ask


class QuantityItem(ConfirmedItem):
    """A setting with a wanted value: confirmed like any other, or told as a number and checked."""

    kind: Literal["quantity"]
    unit: Spoken
    """As it is spoken, in the plural: "litres a minute"."""
    unit_said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """As people may say it after the number: "litres"."""
    wanted_low: Number
    wanted_high: Number
    """From the one to the other settles it; anything else is said back, and the item stays open."""
    decimals: bool = False
    """Whether tenths may be told as well ("thirty seven point two")."""

    @model_validator(mode="after")
    def _low_to_high(self) -> "QuantityItem":
        if self.wanted_low > self.wanted_high:
            raise ValueError("a wanted_low that is not above its wanted_high")
        _only_tenths(self.wanted_low, self.wanted_high, decimals=self.decimals)
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
    def wanted(self) -> tuple[float, float] | None:
        return self.wanted_low, self.wanted_high

    @override
    def wants(self, value: Answer) -> bool:
        return isinstance(value, str) or self.wanted_low <= value <= self.wanted_high

    @override
    def spoken(self, value: Answer, roster: Sequence[Option], tongue: Tongue) -> str:
        if isinstance(value, str):
            return super().spoken(value, roster, tongue)
        number = tongue.numbers.say_number(exactly(float(value)))
        return tongue.terms.quantity.format(number=number, unit=self.unit)

    @override
    def read_back(self, value: Answer, spoken: str, says: Says, tongue: Tongue) -> str:
        if isinstance(value, str):
            return super().read_back(value, spoken, says, tongue)
        return number_read_back(exactly(float(value)), self.unit, says, tongue)


AnyItem = (
    ConfirmItem
    | ChooseItem
    | NumberItem
    | NameItem
    | TimedItem
    | WaveItem
    | PaceItem
    | PlanItem
    | QuantityItem
)
ITEM_KINDS: tuple[str, ...] = tuple(
    get_args(kind.model_fields["kind"].annotation)[0] for kind in get_args(AnyItem)
)


def number_read_back(number: int | Decimal, unit: str, says: Says, tongue: Tongue) -> str:
    """The sentence that reads a number back, in words and digit by digit."""
    words, digits = tongue.numbers.say_number(number), tongue.numbers.say_digits(number)
    return says.read_back_number.format(number=words, digits=digits, unit=unit)
