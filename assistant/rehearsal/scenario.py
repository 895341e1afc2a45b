"""A rehearsal as data: the people, what they answer, the room's noise, the patient's course."""

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

from pydantic import Field, model_validator

from assistant.files.faults import Fault, complaint
from assistant.files.plain_yaml import Loc
from assistant.files.word_forms import Identifier, Spoken, Utterance
from assistant.files.yaml_files import SiteModel, read_yaml
from assistant.patient.course import Course
from assistant.site.site import Site
from assistant.speaking.voices import VoiceSettings

Db = Annotated[float, Field(ge=-60, le=60)]


class RoomSettings(SiteModel):
    """How the room sounds at the microphone."""

    snr_db: Db = 20.0
    """How far a reply at level 0 is above the room's noise."""
    echo_db: Db = -15.0
    """The assistant's own voice, as it comes back into the microphone."""
    beeps: bool = True
    """Whether a monitor beeps with the pulse."""


class Person(SiteModel):
    """Somebody in the room."""

    voice: VoiceSettings
    level_db: Db = 0.0
    agrees: Utterance = "yes correct"
    """Said to a read-back of what this person has said, when the scenario has no reply to it."""
    disagrees: Utterance = "that is wrong"
    """Said to a read-back of anything else."""


class Reply(SiteModel):
    """Something that somebody says when the assistant has said something."""

    on: Identifier
    """The tag of the assistant's line: `ask`, `read-back`, `quote`; `call` for the watcher's."""
    item: Identifier | None = None
    """Only if the line was about this item."""
    nth: Annotated[int, Field(ge=1)] = 1
    """Not before that line has been said n times."""
    by: Identifier
    say: Utterance
    after_s: Annotated[float, Field(ge=0.0, le=600.0)] = 0.6
    """So long after the end of the assistant's line."""
    before_end_s: Annotated[float, Field(gt=0.0, le=5.0)] | None = None
    """So long before its end, over the assistant's voice; said once more when that asks for it."""


class Expected(SiteModel):
    """How the rehearsal should end."""

    calls: Annotated[int, Field(ge=0)]
    """Threshold calls of the watcher."""
    outstanding: tuple[Identifier, ...] | None = ()
    """Items that stay open; null if the rehearsal is not about that, as when nobody waits."""
    longest_s: Annotated[float, Field(gt=0, le=7200)] = 1800.0
    """A rehearsal that has not ended by then has failed."""


class Scenario(SiteModel):
    """All of one rehearsal file."""

    name: Spoken
    seed: int
    room: RoomSettings = RoomSettings()
    people: Annotated[dict[Identifier, Person], Field(min_length=1)]
    patient: Course
    replies: Annotated[tuple[Reply, ...], Field(min_length=1)]
    """Given in order to the lines that they answer; the last one is repeated when asked again."""
    watcher_lost_on: Identifier | None = None
    """A cue, as the patient's steps have them, at which the watcher falls silent for good."""
    room_talk: tuple[Reply, ...] = ()
    """Said in the room, not to the assistant; it must be ignored."""
    expected: Expected

    @model_validator(mode="after")
    def _everybody_is_there(self) -> "Scenario":
        for line in (*self.replies, *self.room_talk):
            if line.by not in self.people:
                raise ValueError(f"only the people listed; {line.by!r} is not among them")
        return self


def read_scenario(path: Path, site: Site) -> Scenario:
    """Read a rehearsal for a site.

    Raises BadInput, with one sentence, also when it names items that the site does not ask.
    """
    scenario = read_yaml(path, Scenario)
    items = {item.id for item in site.brief.items()}
    for loc, item in _items_named(scenario):
        if item not in items:
            raise complaint(path, Fault(loc, repr(item), "an item of the site's brief"))
    return scenario


def _items_named(scenario: Scenario) -> Iterator[tuple[Loc, str]]:
    """Every item that the scenario names, with where it stands in the file."""
    for key, lines in (("replies", scenario.replies), ("room_talk", scenario.room_talk)):
        for number, line in enumerate(lines):
            if line.item is not None:
                yield (key, number, "item"), line.item
    for number, item in enumerate(scenario.expected.outstanding or ()):
        yield ("expected", "outstanding", number), item
