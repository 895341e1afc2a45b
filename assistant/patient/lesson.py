"""A course played for teaching: the saturation second by second, and what would be called."""

import os
from collections.abc import Mapping
from dataclasses import dataclass, field

from assistant.clock import SoundClock
from assistant.oximeter.crossing import Call, CallKind, Crossing
from assistant.oximeter.feed import SerialFeed
from assistant.oximeter.settings import OximeterSettings
from assistant.patient.course import Course, Does, Oximeter, SimulatedPatient
from assistant.patient.finger import SimulatedOximeter, open_pty
from assistant.patient.stores import Breathing

STEP_S = 0.25
OXYGEN_AT_S, APNOEA_AT_S = 30.0, 240.0
BAG_AFTER_CALL_S = 15.0
"""A team that hears the call, takes its hands away and bags."""
LONGEST_APNOEA_S = 600.0
NEXT_AFTER_S = 120.0
AFTER_LAST_S = 150.0


@dataclass(frozen=True, slots=True)
class LessonPhase:
    """A stretch of the course."""

    name: str
    from_s: float
    to_s: float


@dataclass(frozen=True, slots=True)
class SaidCall:
    """A call in its words."""

    at_s: float
    text: str
    level_percent: int | None


@dataclass(slots=True)
class Lesson:
    """The result of a course; the first three lists have the same length, four values a second."""

    at_s: list[float] = field(default_factory=list)
    blood_percent: list[float] = field(default_factory=list)
    """In the arteries."""
    shown_percent: list[int | None] = field(default_factory=list)
    """By the oximeter; None while its reading is not believed."""
    calls: list[SaidCall] = field(default_factory=list)
    breathing: list[LessonPhase] = field(default_factory=list)
    oximeter: list[LessonPhase] = field(default_factory=list)
    """Only what is out of the ordinary."""


def play(
    course: Course,
    settings: OximeterSettings,
    cue_times_s: Mapping[str, float],
    lasts_s: float | None = None,
) -> Lesson:
    """Play a course to its end through a real port, the real frames and the real rule.

    A cue without a time is given by itself: oxygen after half a minute, apnoea after four minutes,
    the bag a quarter of a minute after the call, whatever follows two minutes later.
    """
    clock, patient, lesson = SoundClock(), SimulatedPatient(course), Lesson()
    pty = open_pty()
    oximeter = SimulatedOximeter(patient, settings.frame_layout, pty.master_fd)
    feed = SerialFeed(pty.slave_path, settings.frame_layout, clock)
    crossing, cues = Crossing(settings.crossing), _Cues(course, cue_times_s)
    while clock.now_s() <= (cues.end_s() if lasts_s is None else lasts_s):
        now_s = clock.now_s()
        for cue in cues.due(now_s):
            patient.cue(cue, now_s)
        oximeter.step(now_s)
        taken = [crossing.take(sample) for sample in feed.read()]
        for call in (*taken, crossing.tick(now_s)):
            if call is not None:
                cues.called(call)
                lesson.calls.append(_said(call, settings))
        lesson.at_s.append(now_s)
        lesson.blood_percent.append(patient.spo2_percent)
        lesson.shown_percent.append(crossing.spo2_percent)
        name = breathing_name(patient.breathing, patient.inspired_oxygen)
        _extend(lesson.breathing, name, now_s)
        _extend(lesson.oximeter, _oximeter(patient), now_s)
        clock.move_to(now_s + STEP_S)
    feed.close()
    os.close(pty.master_fd)
    lesson.oximeter = [phase for phase in lesson.oximeter if phase.name]
    return lesson


class _Cues:
    """When the cues of a course come."""

    def __init__(self, course: Course, times_s: Mapping[str, float]) -> None:
        does = {step.on: step.does for step in reversed(course.steps)}
        self._times_s = dict(times_s)
        self._waiting: list[str] = []
        """Those that wait for what comes before them."""
        for cue in course.cues():
            if cue not in times_s:
                if does[cue] in (Does.PREOXYGENATE, Does.DEEP_BREATHS):
                    self._times_s[cue] = OXYGEN_AT_S
                elif does[cue] in (Does.APNOEA, Does.OBSTRUCT):
                    self._times_s[cue] = APNOEA_AT_S
                else:
                    self._waiting.append(cue)
        timed_s = [step.at_s for step in course.steps if step.at_s is not None]
        self._last_s = max([*timed_s, *self._times_s.values(), 0.0])
        self._next_s = self._last_s + LONGEST_APNOEA_S
        """The latest time at which the first waiting cue comes."""
        self._given: set[str] = set()

    def due(self, now_s: float) -> list[str]:
        """The cues that come now; each once."""
        if self._waiting and now_s >= self._next_s:
            self._times_s[self._waiting.pop(0)] = self._last_s = now_s
            self._next_s = now_s + NEXT_AFTER_S
        new = [
            cue for cue, at_s in self._times_s.items() if at_s <= now_s and cue not in self._given
        ]
        self._given.update(new)
        return new

    def called(self, call: Call) -> None:
        """The team has heard the call: the next waiting cue comes soon."""
        if call.kind in (CallKind.FELL, CallKind.FELL_AGAIN) and call.at_s >= self._last_s:
            self._next_s = min(self._next_s, call.at_s + BAG_AFTER_CALL_S)

    def end_s(self) -> float:
        """When nothing more happens."""
        return (self._next_s if self._waiting else self._last_s) + AFTER_LAST_S


def _said(call: Call, settings: OximeterSettings) -> SaidCall:
    text = settings.words.say(call.kind, call.level_percent)
    return SaidCall(call.at_s, text, call.level_percent)


def _extend(phases: list[LessonPhase], name: str, now_s: float) -> None:
    if phases and phases[-1].name == name:
        phases[-1] = LessonPhase(name, phases[-1].from_s, now_s)
    else:
        phases.append(LessonPhase(name, now_s, now_s))


def breathing_name(breathing: Breathing, inspired_oxygen: float) -> str:
    """What is done for the patient, or not; the fraction is of what is breathed or follows."""
    oxygen = inspired_oxygen > 0.3
    return {
        Breathing.SPONTANEOUS: "breathes oxygen" if oxygen else "breathes air",
        Breathing.DEEP: "deep breaths",
        Breathing.BAGGED: "bagged",
        Breathing.APNOEA: "apnoea, oxygen follows" if oxygen else "apnoea",
        Breathing.OBSTRUCTED: "apnoea, airway shut",
    }[breathing]


def _oximeter(patient: SimulatedPatient) -> str:
    return {
        Oximeter.ON_FINGER: "",
        Oximeter.MOVING: "hand moves",
        Oximeter.COLD: "hand is cold",
        Oximeter.OFF_FINGER: "off the finger",
        Oximeter.UNPLUGGED: "unplugged",
    }[patient.oximeter]
