"""What every item of a brief has, whatever its kind."""

from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping, Sequence
from enum import Enum
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from assistant.brief.conditions import When
from assistant.brief.phases import Phase
from assistant.files.templates import Template, only
from assistant.files.word_forms import Identifier, Spoken, Utterance
from assistant.files.yaml_files import SiteModel
from assistant.language.tongue import Tongue
from assistant.speaking.says import Says


class Standing(Enum):
    """What has become of an item."""

    OPEN = "open"
    RUNNING = "running"
    """Its clock runs; it will be asked again when that ends."""
    DUE = "due"
    """Its clock has ended and it has not been asked again yet."""
    DEFERRED = "deferred"
    """Not yet; asked again between two sections."""
    OUTSTANDING = "outstanding"
    """Not yet, twice: it stays open and is named when somebody asks what is left."""
    DONE = "done"


PUT_OFF: Final = (Standing.DEFERRED, Standing.OUTSTANDING)
"""Said to be not yet so, once or twice."""
ItemText = Annotated[Template, only("threshold")]
"""Said of an item; `{threshold}` is the saturation at which the watcher calls, in words."""


ToldByAnswer = Literal["low_pressure", "acidosis", "obstruction"]
"""What the answer to an item may say of the patient besides."""


class Option(SiteModel):
    """One of several answers."""

    id: Identifier
    called: Spoken
    """As the assistant reads it back."""
    said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """How people may say it."""
    leads: Phase | None = None
    """The phase that begins when it is chosen."""
    tells: ToldByAnswer | None = None
    """What is known of the patient if this is chosen, and known to be untrue if another is."""


NumberFigure = Literal["weight_kg", "height_cm", "age_years", "pressure_mmhg", "pulse_per_min"]
"""The patient's figures that are numbers."""
AskedFigure = NumberFigure | Literal["sex"]
"""Those that the answer of an item may set."""
Answer = str | int | float


class Item(SiteModel, ABC):
    """What every kind of item has, and how it behaves unless the kind says otherwise."""

    OWN_PHRASES: ClassVar[Mapping[str, str]] = {"not_yet": "decline", "undone_by": "decline"}
    """Its keys that hold what may be said to it and to no other item, with what that means."""

    id: Identifier
    called: Utterance | None = None
    """Its short name, as it is listed and asked about; if left out, the id in words."""
    ask: ItemText
    call: ItemText | None = None
    """The same in one to five words ("Nasal oxygen, fifteen litres?"), for a team that knows its
    brief. Said in the short form; `ask` comes when somebody asks again, or nobody answers."""
    why: ItemText
    """Said when somebody asks why; one or two short sentences."""
    not_yet: tuple[Utterance, ...] = ()
    """What people say in passing when it is not so, or not known ("only one"): counts as "not yet",
    only as an answer to this item."""
    undone_by: tuple[Utterance, ...] = ()
    """Whole statements that it is not so any more ("we've lost access"), which name what they are
    about: heard as long as its phase lasts, once it was said to be so; it is asked again then."""
    if_not: ItemText | None = None
    """What to do first if it is not so, said at once to whoever says that it is not."""
    when: When = ()
    """For which patients, and in which brief, it is asked; for all if left out."""
    sources: Annotated[tuple[str, ...], Field(min_length=1)]
    """What it rests on, in words or by keys of a page of the site's own; nothing reads them. The
    example has those of docs/brief-sources.md, `common-practice` where nothing was published."""

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

    def own_phrases(self) -> Iterator[tuple[str, str, tuple[str, ...]]]:
        """What may be said to it and to no other item: a key, the meaning, and the phrases."""
        for key, meaning in self.OWN_PHRASES.items():
            yield key, meaning, getattr(self, key)

    def _own(self, meaning: str) -> tuple[str, ...]:
        own = self.own_phrases()
        return tuple(words for _, means, some in own if means == meaning for words in some)

    @property
    def telling_answers(self) -> tuple[str, ...]:
        """What confirms this item and no other; empty for a kind that is not confirmed."""
        return self._own("confirm")

    @property
    def telling_only(self) -> bool:
        """Whether nothing but a telling answer confirms it."""
        return False

    @property
    def told_plainly(self) -> tuple[str, ...]:
        """What people say in passing when this item is so."""
        return self._own("plain_yes")

    def told_in(self, words: str) -> str:
        """What tells in these words that it is so, which may have one more around it ("yep, both
        working"); "" where nothing does."""
        tells = (*self.told_plainly, *self.telling_answers)
        found = [one for one in tells if f" {one} " in f" {words} "]
        return max(found, key=len, default="")

    @property
    def told_with_a_no(self) -> tuple[str, ...]:
        """Those of them that begin with a no ("no allergies"); mostly empty."""
        return ()

    @property
    def own_exceptions(self) -> tuple[str, ...]:
        """What says that this item does not apply; empty where it always does."""
        return self._own("not_applicable")

    @property
    def doubts_a_plain_yes(self) -> bool:
        """Whether a plain yes is read back before it counts."""
        return False

    @property
    def denied_plainly(self) -> tuple[str, ...]:
        """What says that it is not so, rather than not yet; empty where both count the same."""
        return self._own("denied")

    @property
    def nothing_more(self) -> tuple[str, ...]:
        """What says that there is nothing to tell, or nothing more; mostly empty."""
        return self._own("no_feature")

    @property
    def given_up_by(self) -> tuple[str, ...]:
        """What says that it will not be so, and is left open; mostly empty."""
        return ()

    @property
    def told_too_low(self) -> tuple[str, ...]:
        """What says that its number is too low to be measured; mostly empty."""
        return ()

    @property
    def back_unheard(self) -> tuple[str, ...]:
        """Words of `back` that are not listened for while it is asked; mostly empty."""
        return ()

    def denied_by_decline(self, standing: Standing) -> bool:  # noqa: ARG002
        """Whether a "not yet" is a no by now."""
        return False

    @property
    def asked_at_once(self) -> bool:
        """Whether what was put off is asked again before anything else."""
        return False

    @property
    def waits_for(self) -> str | None:
        """The clock after which it is asked again, as it is spoken; mostly none."""
        return None

    @property
    def told_meanwhile(self) -> bool:
        """Whether its number is heard without its unit also while nobody asks for it."""
        return False

    @property
    def offered(self) -> bool:
        """Whether it is an offer: asked once, and a no settles it."""
        return False

    def can_be(self, number: float) -> bool:  # noqa: ARG002
        """Whether that number may be its own at all; one that may not is of something else."""
        return True

    def leads(self, value: Answer) -> Phase | None:  # noqa: ARG002
        """The phase that begins with this answer."""
        return None

    def told_by(self, value: Answer) -> Mapping[ToldByAnswer, bool]:  # noqa: ARG002
        """What is known of the patient with this answer."""
        return {}

    @property
    def label(self) -> str:
        """Its short name: the site's own, or its identifier in words."""
        return self.called or self.id.replace("-", " ")

    @property
    def figure(self) -> AskedFigure | None:
        """The patient's figure that its answer sets."""
        return None

    @property
    def number_figure(self) -> NumberFigure | None:
        """The patient's figure that any number told to it becomes, also one that leaves it open."""
        return None

    @property
    def settled_by(self) -> str | None:
        """What of the patient settles it once it is told, at any time."""
        return self.figure

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
        """The question alone, without what is read aloud before it: for a screen, and for whoever
        has heard that."""
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
