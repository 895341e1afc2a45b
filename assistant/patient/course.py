"""A scenario's course, and the patient who follows it."""

import heapq
import math
from enum import Enum
from typing import Annotated

from pydantic import Field, model_validator

from assistant.files.word_forms import Identifier
from assistant.files.yaml_files import SiteModel
from assistant.patient.body import Body
from assistant.patient.stores import Breathing, OxygenStores


class Does(Enum):
    """What happens to the patient, or to the oximeter on the finger."""

    BREATHE_AIR = "breathe-air"
    PREOXYGENATE = "preoxygenate"
    DEEP_BREATHS = "deep-breaths"
    """Of oxygen, as deep as can be, eight a minute."""
    APNOEA = "apnoea"
    OBSTRUCT = "obstruct"
    """Apnoea with the airway shut: nothing follows into the lungs."""
    BAG = "bag"
    MOVE = "move"
    """The hand with the oximeter moves: figures are lost at times, and some are far too low."""
    COOL = "cool"
    """The hand is cold and badly perfused: the signal is weak, and fails now and then."""
    FINGER_OFF = "finger-off"
    FINGER_ON = "finger-on"
    UNPLUG = "unplug"
    PLUG_IN = "plug-in"


BREATHING = {
    Does.BREATHE_AIR: (Breathing.SPONTANEOUS, 0.21),
    # A mask leaks: 0.95 gives an alveolar fraction of 0.88 after three minutes.
    Does.PREOXYGENATE: (Breathing.SPONTANEOUS, 0.95),
    Does.DEEP_BREATHS: (Breathing.DEEP, 0.95),
    Does.APNOEA: (Breathing.APNOEA, 0.21),
    Does.OBSTRUCT: (Breathing.OBSTRUCTED, 0.21),
    Does.BAG: (Breathing.BAGGED, 0.95),
}


class Oximeter(Enum):
    """The state of the simulated oximeter."""

    ON_FINGER = "on-finger"
    MOVING = "moving"
    COLD = "cold"
    OFF_FINGER = "off-finger"
    UNPLUGGED = "unplugged"


OXIMETER = {
    Does.MOVE: Oximeter.MOVING,
    Does.COOL: Oximeter.COLD,
    Does.FINGER_OFF: Oximeter.OFF_FINGER,
    Does.FINGER_ON: Oximeter.ON_FINGER,
    Does.UNPLUG: Oximeter.UNPLUGGED,
    Does.PLUG_IN: Oximeter.ON_FINGER,
}


class Steer(Enum):
    """What a facilitator may do to the patient at any moment, whatever the course."""

    DESATURATE = "desaturate"
    """Most of the lung is shut off, as by a plug: with oxygen in the rest he falls into the
    eighties, and bagging alone does not help."""
    RECOVER = "recover"
    """The lung is open, and oxygen goes in."""
    LOSE_SIGNAL = "lose-signal"
    SIGNAL_BACK = "signal-back"


SHUT_OFF = 0.6


class CourseStep(SiteModel):
    """One step of the course: at a time, or each time a cue is given."""

    does: Does
    at_s: Annotated[float, Field(ge=0)] | None = None
    """Seconds from the start of the case."""
    on: Identifier | None = None
    """A cue of the rehearsal, such as `attempt-started`, `oxygen-on`, `bagging`, `tube-in`."""
    after_s: Annotated[float, Field(ge=0)] = 0.0
    """How long after the cue."""
    oxygen_fraction: Annotated[float, Field(ge=0.15, le=1.0)] | None = None
    """In what is breathed or bagged, or follows into the lungs in apnoea (oxygen by the nose)."""
    breaths_per_min: Annotated[float, Field(ge=1, le=40)] | None = None
    """How often the bag is squeezed: 10 is a breath every six seconds."""
    breath_ml: Annotated[float, Field(ge=100, le=1500)] | None = None
    """How much each time; together they say how fast the lungs are filled."""

    @model_validator(mode="after")
    def _at_or_on(self) -> "CourseStep":
        if (self.at_s is None) == (self.on is None):
            raise ValueError("either at_s or on")
        if self.at_s is not None and self.after_s:
            raise ValueError("after_s only together with on")
        if self.oxygen_fraction is not None and self.does not in BREATHING:
            raise ValueError("oxygen_fraction only where it says how the patient breathes")
        rates = (self.breaths_per_min, self.breath_ml)
        if rates != (None, None) and (None in rates or self.does is not Does.BAG):
            raise ValueError("breaths_per_min and breath_ml together, and only with bag")
        return self


class Course(SiteModel):
    """The patient of a rehearsal and what happens to them."""

    weight_kg: Annotated[float, Field(ge=30, le=250)]
    height_cm: Annotated[float, Field(ge=120, le=220)]
    start_spo2_percent: Annotated[int, Field(ge=60, le=100)]
    """Steady, breathing what the next line says; how ill the lungs are follows from the two."""
    start_oxygen_fraction: Annotated[float, Field(ge=0.21, le=1.0)] = 0.21
    pulse_bpm: Annotated[int, Field(ge=30, le=200)] = 88
    oxygen_use: Annotated[float, Field(ge=0.5, le=3)] = 1.0
    """1 at rest; more with fever or sepsis, so that the stores last less long."""
    head_up_degrees: Annotated[float, Field(ge=0, le=90)] = 0.0
    """0 lying flat, 90 sitting: the lungs hold more."""
    steps: tuple[CourseStep, ...] = ()

    def cues(self) -> tuple[str, ...]:
        """The cues that its steps wait for, in their order."""
        return tuple(dict.fromkeys(step.on for step in self.steps if step.on is not None))


class SimulatedPatient:
    """Follows a course through time."""

    def __init__(self, course: Course) -> None:
        self._course = course
        self._body = Body.of_size(
            course.weight_kg, course.height_cm, course.oxygen_use, course.head_up_degrees
        )
        self._stores = OxygenStores(
            self._body, course.start_spo2_percent / 100, course.start_oxygen_fraction
        )
        self._at_s = 0.0
        self.oximeter = Oximeter.ON_FINGER
        self._due = [
            (step.at_s, number) for number, step in enumerate(course.steps) if step.at_s is not None
        ]
        heapq.heapify(self._due)

    @property
    def spo2_percent(self) -> float:
        """The saturation in the arteries: with no oximeter\'s delay."""
        return 100 * self._stores.arterial_saturation

    @property
    def breathing(self) -> Breathing:
        """What moves gas in and out of the lungs now."""
        return self._stores.breathing

    @property
    def inspired_oxygen(self) -> float:
        """Fraction in what is breathed, or follows in apnoea."""
        return self._stores.inspired_oxygen

    @property
    def alveolar_oxygen(self) -> float:
        """Fraction of dry gas in the lungs; at the end of a breath, what a gas monitor shows."""
        return self._stores.alveolar_oxygen

    @property
    def pulse_bpm(self) -> float:
        """Faster as the saturation falls below 92, and never quite constant."""
        stress = max(0.0, 92 - self.spo2_percent)
        sway = 2.0 * math.sin(2 * math.pi * self._at_s / 7) + 1.5 * math.sin(self._at_s / 11)
        return min(self._course.pulse_bpm + sway + stress, 180.0)

    def advance(self, to_s: float) -> None:
        """Advance to this time of the case; an earlier time changes nothing."""
        while self._due and self._due[0][0] <= to_s:
            at_s, number = heapq.heappop(self._due)
            self._advance_to(at_s)
            self._take(self._course.steps[number])
        self._advance_to(to_s)

    def cue(self, name: str, at_s: float) -> None:
        """Something happened in the rehearsal; a name that no step waits for changes nothing."""
        for number, step in enumerate(self._course.steps):
            if step.on == name:
                heapq.heappush(self._due, (at_s + step.after_s, number))
        self.advance(max(at_s, self._at_s))

    def steer(self, how: Steer) -> None:
        """A facilitator does that now; what the course has in store still comes."""
        if how is Steer.DESATURATE:
            self._stores.shut_off = SHUT_OFF
        elif how is Steer.RECOVER:
            self._stores.shut_off = 0.0
            breathes = self.breathing in (Breathing.SPONTANEOUS, Breathing.DEEP)
            self._take(CourseStep(does=Does.PREOXYGENATE if breathes else Does.BAG, at_s=0))
        elif how is Steer.LOSE_SIGNAL:
            self.oximeter = Oximeter.OFF_FINGER
        else:
            self.oximeter = Oximeter.ON_FINGER

    def _advance_to(self, to_s: float) -> None:
        if to_s > self._at_s:
            self._stores.advance(to_s - self._at_s)
            self._at_s = to_s

    def _take(self, step: CourseStep) -> None:
        if step.does in BREATHING:
            breathing, oxygen_fraction = BREATHING[step.does]
            self._stores.breathing = breathing
            if step.oxygen_fraction is not None:
                oxygen_fraction = step.oxygen_fraction
            self._stores.inspired_oxygen = oxygen_fraction
            self._stores.bagged_ml_per_min = self._bagged(step)
        else:
            self.oximeter = OXIMETER[step.does]

    def _bagged(self, step: CourseStep) -> float:
        if step.breaths_per_min is None or step.breath_ml is None:
            return self._body.ventilation_ml_per_min
        return step.breaths_per_min * max(0.0, step.breath_ml - self._body.dead_space_ml)
