"""A site's whole brief: its sections, in the order in which they are asked, and its plan."""

from collections.abc import Iterator
from typing import Annotated, Final, Literal

from pydantic import BeforeValidator, Field, model_validator

from assistant.brief.conditions import When
from assistant.brief.item import Option
from assistant.brief.items import AnyItem
from assistant.brief.phases import Phase
from assistant.files.complaints import WrongWithinError
from assistant.files.templates import Template, only
from assistant.files.word_forms import Identifier, Spoken, Utterance
from assistant.files.yaml_files import SiteModel


class Feature(SiteModel):
    """Something that only some patients have, and because of which something is asked or done."""

    id: Identifier
    """`acidosis` and `obstruction` are known to the program, as the bag's rate goes by them, and
    `frail`, as doses do."""
    called: Spoken
    """As the assistant says it back."""
    said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """How people answer when asked what is special: "trauma"."""
    told: tuple[Utterance, ...] = ()
    """How they say it at any other time ("the neck may be injured"); it is then read back."""
    denied_by: tuple[Utterance, ...] = ()
    """How they say that it is not so after all ("he's not asthmatic"); read back as well."""


class BriefChoice(SiteModel):
    """One of several briefs that a team may choose from, by voice."""

    id: Identifier
    called: Spoken
    """As the assistant says it back: "immediate brief"."""
    said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """What people say to choose it."""
    only: tuple[Identifier, ...] = ()
    """The items and sections that it asks before the drugs; all when left out."""
    waits: bool = True
    """Whether it waits for clocks that are still running before it sums up."""
    breathing: bool = False
    """Whether the patient keeps breathing until the tube is in; the pause is then not for drugs."""

    def asks(self, section: "Section", item: AnyItem) -> bool:
        """Whether it asks that item of that section, as far as its own list goes."""
        return not self.only or section.id in self.only or item.id in self.only


class Section(SiteModel):
    """Items that are put to one person, one after another."""

    id: Identifier
    phase: Phase
    to: Spoken
    """Whom the assistant addresses: "Leader"."""
    when: When = ()
    """For which patients, and in which brief, it is asked; for all if left out."""
    items: Annotated[
        tuple[Annotated[AnyItem, Field(discriminator="kind")], ...], Field(min_length=1)
    ]


def _step(given: object) -> object:
    """A step may be written as what is said alone."""
    return {"say": given} if isinstance(given, str) else given


class FailedStep(SiteModel):
    """What follows a failed attempt."""

    say: Spoken
    say_breathing: Spoken | None = None
    """The same, in a brief that leaves the patient breathing, as long as no drugs are in."""
    say_tube_lost: Spoken | None = None
    """The same, for a tube that was in, with a wave, and has come out: no attempt has failed."""
    then: Literal["between", "supraglottic", "front-of-neck", "wake-up"] = "between"
    """The phase whose items are asked then."""


class Attempts(SiteModel):
    """The agreed plan for attempts that fail. Between attempts an item that nobody has answered
    twice is put off."""

    at_most: Annotated[int, Field(ge=1, le=5)] = 3
    """How many attempts the team has agreed on; a further one is said, and recorded, to be
    beyond that."""
    beyond: Annotated[Template, only("number", "limit")] = (
        "Attempt {number}. That is beyond the agreed {limit}."
    )
    """Said when a further one begins, in place of the usual words."""
    after_failure: Annotated[
        tuple[Annotated[FailedStep, BeforeValidator(_step)], ...], Field(min_length=1)
    ]
    """What is said and asked after the first, second, … failed attempt; the last entry also
    holds for any after it."""
    ready: Spoken = "Ready for the next attempt. Say: begin the attempt."
    """Said when everything between attempts has been asked."""
    oxygen_back: Identifier | None = None
    """The item between attempts without which nobody should look again."""
    oxygen_not_back: Spoken = "The oxygen is not back. The supraglottic airway is next."
    """Said in place of `ready` when that item is open."""
    supraglottic: Spoken = "Supraglottic airway now."
    """Said when somebody decides on it."""
    say_when_in: Spoken = "Say when it is in."
    """Said when everything before a rescue airway has been asked."""
    neck_taken_by: Identifier | None = None
    """The item whose answer names who goes through the neck; said when no oxygen gets in."""
    first_told_by: tuple[Identifier, ...] = ()
    """The items whose answers describe the first attempt, such as who makes it and with what:
    the debrief shows them with it. For later attempts it shows those of the phase between."""
    wake_up: Spoken = "We wake the patient up."
    """Said when somebody decides on it."""


class TimedCall(SiteModel):
    """A call of how long something has taken, made once, in few words. Where it could not be made
    for 30 s it is not made any more, and recorded as passed over."""

    clock: Spoken
    """`attempt`, `drugs in`, `arrest`, or the clock of an item."""
    after_s: Annotated[int, Field(ge=5, le=3600)]
    say: Spoken


class FirstSteps(SiteModel):
    """What the team has agreed to do first when something happens that no item asks for."""

    id: Identifier
    said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """How people say that it happens: "he's vomiting"."""
    say: Spoken
    say_with_airway: Spoken | None = None
    """The same once a tube or a rescue airway is in; `say` when left out."""
    sources: Annotated[tuple[str, ...], Field(min_length=1)]
    """As for an item."""


_NAMED: Final = (
    ("roster", "said", "name"),
    ("features", "said", "feature"),
    ("features", "told", "feature_told"),
    ("features", "denied_by", "feature_denied"),
    ("briefs", "said", "brief"),
    ("first_steps", "said", "first_steps"),
)
"""The lists of a brief that hold what people may say, with the key and what it means."""


class Brief(SiteModel):
    """The whole brief of a site."""

    name: Spoken
    roster: Annotated[tuple[Option, ...], Field(min_length=1)]
    sections: Annotated[tuple[Section, ...], Field(min_length=1)]
    attempts: Attempts
    timed_calls: tuple[TimedCall, ...] = ()
    handover: tuple[Identifier, ...] = ()
    """The items whose answers are told when the patient is handed over."""
    pause_before_drugs: bool = False
    """Whether everything is summed up before the drugs, and goes on only at a clear word."""
    features: tuple[Feature, ...] = ()
    """What an item of the kind `features` asks for, and `when` may name."""
    first_steps: tuple[FirstSteps, ...] = ()
    """Told at once to whoever says that something happens, at any time except during an attempt."""
    briefs: tuple[BriefChoice, ...] = ()
    """The briefs that a team can choose from; "begin" starts the first. Without any, all items
    are one brief."""

    @model_validator(mode="after")
    def _every_id_once(self) -> "Brief":
        items = [item.id for item in self.items()]
        for name in ("neck_taken_by", "oxygen_back"):
            if getattr(self.attempts, name) not in (None, *items):
                raise WrongWithinError("the id of an item", "attempts", name)
        for at, named in enumerate(self.attempts.first_told_by):
            if named not in items:
                raise WrongWithinError("the id of an item", "attempts", "first_told_by", at)
        for at, named in enumerate(self.handover):
            if named not in items:
                raise WrongWithinError("the id of an item", "handover", at)
        seen: set[str] = set()
        for one, loc in self._ids():
            if one in seen:
                once = "each id of an item, section, feature or first steps once"
                raise WrongWithinError(once, *loc)
            seen.add(one)
        return self

    def _ids(self) -> Iterator[tuple[str, tuple[int | str, ...]]]:
        """Each that must stand once, and where it stands."""
        for at, section in enumerate(self.sections):
            yield section.id, ("sections", at, "id")
        for loc, _, item in self.placed():
            yield item.id, (*loc, "id")
        for at, feature in enumerate(self.features):
            yield feature.id, ("features", at, "id")
        for at, steps in enumerate(self.first_steps):
            yield steps.id, ("first_steps", at, "id")

    def calling_at(self, threshold: str) -> "Brief":
        """The same with every `{threshold}` filled in, in words."""
        return self.model_validate_json(self.model_dump_json().replace("{threshold}", threshold))

    def named(self) -> Iterator[tuple[tuple[int | str, ...], str, str, tuple[str, ...]]]:
        """What people say for one of several: its place in the file, the meaning, the id of the one
        that is meant, and the phrases."""
        for part, key, meaning in _NAMED:
            for at, one in enumerate(getattr(self, part)):
                yield (part, at, key), meaning, one.id, getattr(one, key)

    def items(self) -> Iterator[AnyItem]:
        """All items in the order in which they are asked."""
        for section in self.sections:
            yield from section.items

    def placed(self) -> Iterator[tuple[tuple[int | str, ...], Section, AnyItem]]:
        """The same, each with its place in the file and its section."""
        for at, section in enumerate(self.sections):
            for item_at, item in enumerate(section.items):
                yield ("sections", at, "items", item_at), section, item

    def items_of(self, phase: Phase) -> Iterator[AnyItem]:
        """The items of one phase, in the same order."""
        for section in self.sections:
            if section.phase is phase:
                yield from section.items

    def item(self, item_id: str) -> AnyItem:
        """The item of that name. Raises KeyError when the brief has none."""
        for item in self.items():
            if item.id == item_id:
                return item
        raise KeyError(item_id)

    def choice(self, brief_id: str | None) -> BriefChoice | None:
        """The brief of that name; None where the site has one only. Raises KeyError."""
        return None if brief_id is None else {one.id: one for one in self.briefs}[brief_id]

    def feature(self, feature_id: str) -> Feature:
        """The feature of that name. Raises KeyError when the site has none."""
        return {one.id: one for one in self.features}[feature_id]

    def asking_for(self, figure: str) -> Iterator[AnyItem]:
        """The items that are settled once that is told of the patient."""
        return (item for item in self.items() if item.settled_by == figure)
