"""A scenario of a simulation room: a patient, and what the team is expected to do, by when.

What is expected has to be on record, or nothing could score it: an item answered, a drug given, a
word that the case turns on, or whatever a facilitator marks in those words.
"""

from collections.abc import Collection, Iterator
from enum import Enum
from pathlib import Path
from typing import Annotated

from pydantic import Field, model_validator

from assistant.brief.brief import Brief
from assistant.brief.phases import Phase
from assistant.errors import BadInput
from assistant.files.faults import Fault, complaint
from assistant.files.plain_yaml import Loc, read_plain_yaml
from assistant.files.word_forms import Identifier, Spoken
from assistant.files.yaml_files import SiteModel, read_yaml
from assistant.patient.course import Course, Steer


class Happens(Enum):
    """What needs no name beside it."""

    CASE_OPENED = "case-opened"
    GOING_NOW = "going-now"
    """The patient could not wait."""
    PAUSE_PASSED = "pause-passed"
    DRUGS_IN = "drugs-in"
    ATTEMPT_BEGUN = "attempt-begun"
    ATTEMPT_FAILED = "attempt-failed"
    BAG_PACED = "bag-paced"
    TUBE_IN = "tube-in"
    TUBE_OUT = "tube-out"
    CANNOT_OXYGENATE = "cannot-oxygenate"
    RESCUE_IN = "rescue-in"
    NECK_OPEN = "neck-open"
    ARREST = "arrest"
    CALLED = "called"
    """The watcher called a saturation."""
    SIGNAL_LOST = "signal-lost"
    """The watcher called that it sees none."""
    OXYGEN_IN_AGAIN = "oxygen-in-again"
    """Whatever answers a saturation call: words by which oxygen gets in again, bagging that went on
    already, or a saturation that came back."""
    CASE_ENDED = "case-ended"


class Moment(SiteModel):
    """Something on record; exactly one of these keys."""

    happened: Happens | None = None
    asked: Identifier | None = None
    """An item of the brief came up."""
    answered: Identifier | None = None
    """An item has its answer."""
    put_off: Identifier | None = None
    """An item was said to be not yet so."""
    entered: Phase | None = None
    """A phase of the brief begins."""
    dose_asked: Identifier | None = None
    """A drug of the formulary: its dose or volume was asked for."""
    given: Identifier | None = None
    """A drug of the formulary: it was told to be in."""
    steered: Steer | None = None
    """What a facilitator did to the simulated patient."""
    marked: Spoken | None = None
    """The words, or the kind, of a facilitator's mark: for what the machine cannot hear."""

    @model_validator(mode="after")
    def _one_key(self) -> "Moment":
        if len(self.model_dump(exclude_none=True)) != 1:
            raise ValueError(f"exactly one of {', '.join(type(self).model_fields)}")
        return self


class ExpectedAction(SiteModel):
    """One thing that is expected of the team. What was done before `after` does not count."""

    action: Spoken
    """Its name, for people."""
    after: Moment
    """What the time is counted from; if it never happens, nothing is expected."""
    done: Moment
    within_s: Annotated[float, Field(gt=0, le=3600)]
    every_time: bool = False
    """Whether it is expected each time that `after` happens, and not only the first time."""

    @model_validator(mode="after")
    def _can_follow(self) -> "ExpectedAction":
        if self.done == self.after or self.done.happened is Happens.CASE_OPENED:
            raise ValueError("something to be done that can follow what it comes after")
        return self


class SimulationScenario(SiteModel):
    """All of one scenario."""

    name: Spoken
    patient: Course
    """Played beside the room by `spoken-brief patient FILE --live`."""
    expected: Annotated[tuple[ExpectedAction, ...], Field(min_length=1)]


def is_simulation(path: Path) -> bool:
    """Whether that file is such a scenario, and no rehearsal with people of its own.

    Raises BadInput when it cannot be read.
    """
    content = read_plain_yaml(path).content
    return isinstance(content, dict) and "replies" not in content and "people" not in content


def read_simulation(path: Path) -> SimulationScenario:
    """Read a scenario. Raises BadInput with a sentence for each thing that is wrong."""
    return read_yaml(path, SimulationScenario)


def check_fits(
    scenario: SimulationScenario, path: Path, brief: Brief, drugs: Collection[str] | None
) -> None:
    """Whether all that it names is in this brief and among these drugs; None: nobody knows them.

    Raises BadInput with a sentence for each item or drug that is not.
    """
    items = {item.id for item in brief.items()}
    phases = {section.phase for section in brief.sections}
    faults = []
    for loc, kind, name in _named(scenario):
        if kind == "item" and name not in items:
            allowed = "an item of the site's brief"
        elif kind == "phase" and Phase(name) not in phases:
            allowed = f"a phase of the site's brief: {', '.join(sorted(p.value for p in phases))}"
        elif kind == "drug" and drugs is not None and name not in drugs:
            allowed = "a drug of the site's formulary"
        else:
            continue
        faults.append(complaint(path, Fault(loc, repr(name), allowed)))
    if faults:
        raise BadInput.all_of(faults)


def _named(scenario: SimulationScenario) -> Iterator[tuple[Loc, str, str]]:
    """Every item, phase and drug that it names, with where it stands in the file."""
    for number, one in enumerate(scenario.expected):
        for key, moment in (("after", one.after), ("done", one.done)):
            for field, kind in (
                *(("asked", "item"), ("answered", "item"), ("put_off", "item")),
                *(("entered", "phase"), ("dose_asked", "drug"), ("given", "drug")),
            ):
                value = getattr(moment, field)
                if value is not None:
                    name = value.value if isinstance(value, Phase) else value
                    yield ("expected", number, key, field), kind, name
