"""The items that a yes settles: a check, a plan read aloud, an offer, those with a clock."""

from collections.abc import Mapping, Sequence
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator
from typing_extensions import override

from assistant.brief.item import Answer, Item, ItemText, Option, Standing
from assistant.files.complaints import WrongWithinError
from assistant.files.word_forms import Spoken, Utterance
from assistant.language.tongue import Tongue
from assistant.speaking.says import Says

CONFIRMED = "confirmed"
"""The value of an item that a yes has settled."""
NOT_APPLICABLE = "not applicable"
"""The value of one that does not apply to this patient."""
YES_NO = ("confirm", "plain_yes", "bare_yes", "decline")
"""What answers it, and what answers every read-back."""


class ConfirmedItem(Item):
    """What every kind has that is confirmed."""

    OWN_PHRASES: ClassVar[Mapping[str, str]] = {
        "plain_answers": "plain_yes",
        "plain_noes": "plain_yes",
        **Item.OWN_PHRASES,
        "confirmations": "confirm",
        "does_not_apply": "not_applicable",
    }

    confirmations: tuple[Utterance, ...] = ()
    """Telling answers that also confirm this item ("we saw the head up"), besides the site's
    own."""
    plain_answers: tuple[Utterance, ...] = ()
    """What people say in passing when it is so ("oxygen on", "both working"): like a plain yes
    it counts only as an answer to this item. Said later, or after the item was put off, it is
    read back."""
    plain_noes: tuple[Utterance, ...] = ()
    """Plain answers that contain a no and confirm all the same ("no allergies"). They are listed
    separately because a denial among the others is taken for a slip and refused."""
    only_telling: bool = False
    """Only a telling answer of its own confirms it; to the site's general ones it says what is
    wanted."""
    vital: bool = False
    """A plain yes does not settle it: it is read back first."""
    does_not_apply: tuple[Utterance, ...] = ()
    """Answers that mean that the item does not apply ("no collar"), besides the site's general
    ones; without any it always applies."""

    @model_validator(mode="after")
    def _something_confirms(self) -> Self:
        if self.only_telling and not self.confirmations:
            raise WrongWithinError(
                "at least one of its own confirmations with only_telling", "confirmations"
            )
        return self

    @property
    @override
    def answered_by(self) -> tuple[str, ...]:
        return (*YES_NO, "not_applicable") if self.does_not_apply else YES_NO

    @property
    @override
    def told_with_a_no(self) -> tuple[str, ...]:
        return self.plain_noes

    @property
    @override
    def doubts_a_plain_yes(self) -> bool:
        return self.vital

    @override
    def read_back(self, value: Answer, spoken: str, says: Says, tongue: Tongue) -> str:
        told = spoken in (*self.told_plainly, *self.confirmations)
        return says.confirm_read_back.format(item=spoken if told else self.label)

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
    sets: Literal["allergies"] | None = None
    """Naming an allergen answers the item: the allergen is read back and goes on record."""

    @property
    @override
    def answered_by(self) -> tuple[str, ...]:
        return super().answered_by if self.sets is None else (*super().answered_by, "allergen")

    @property
    @override
    def settled_by(self) -> str | None:
        return self.sets


class TimedItem(ConfirmedItem):
    """Starts a clock when it is confirmed, and is asked again when the clock ends."""

    kind: Literal["timed"]
    lasts_s: Annotated[int, Field(ge=5, le=3600)]
    clock: Spoken
    """What runs, as it is spoken: "oxygen on"."""
    ask_again: ItemText
    again_after_s: Annotated[int, Field(ge=5, le=3600)] = 60
    """If the answer to `ask_again` is "not yet", the clock runs this long once more."""

    @property
    @override
    def waits_for(self) -> str | None:
        return self.clock

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
    second "not yet" some time after the first, which has it asked again before anything else. Two
    within ten seconds count as one. With nothing in, a missing wave is no failed attempt.
    """

    OWN_PHRASES: ClassVar[Mapping[str, str]] = {**TimedItem.OWN_PHRASES, "denied_by": "denied"}

    kind: Literal["wave"]  # type: ignore[assignment]
    no_wave: Spoken
    """What is said then."""
    denied_by: tuple[Utterance, ...] = ("no", "negative", "no wave there", "nothing there")
    """What says that there is none, besides the site's vital words."""
    not_heard: tuple[Utterance, ...] = ()
    """Words of `back` that are not listened for while it is asked, because they sound like its
    answers: "no wave" is heard as "no wait"."""

    @property
    @override
    def answered_by(self) -> tuple[str, ...]:
        return (*super().answered_by, "denied")

    @property
    @override
    def back_unheard(self) -> tuple[str, ...]:
        return self.not_heard

    @override
    def denied_by_decline(self, standing: Standing) -> bool:
        return standing is Standing.DEFERRED

    @override
    def after_decline(self, standing: Standing) -> Standing:
        return Standing.DEFERRED

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


class VentilatorItem(ConfirmedItem):
    """The ventilator's first settings for this patient: read aloud, then confirmed.

    The numbers come from figures.yaml, by height, sex and what was told about the breathing.
    """

    kind: Literal["ventilator"]


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
