"""Which samples are believed: artefacts neither make a crossing nor hide one.

The defaults stand against open recordings of induced hypoxia, twelve finger oximeters at one
reading a second (University of Washington smartphone oximetry data, MIT): no saturation fell by
more than 3 points in a second, and no pair of saturation and pulse rate stood still for more than
31 s.
"""

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field, model_validator

from assistant.files.complaints import WrongWithinError
from assistant.files.yaml_files import SiteModel
from assistant.oximeter.samples import Sample, slack_s

STANDS_S = 2.0
"""A sample stands for the time until the next one, but never for longer than this."""

SHORTEST_FROZEN_S, SHORTEST_FROZEN_WAVE_S = 10.0, 2.0
"""So long a saturation and a pulse rate, and a wave, may stand still in anybody; this project's own
limits, well below what the recordings show."""

Seconds = Annotated[float, Field(ge=0, le=600)]


class BeliefSettings(SiteModel):
    """What is taken for an artefact."""

    lowest_percent: Annotated[int, Field(ge=1, le=60)] = 20
    """Anything lower is not a saturation; some devices write 0 for "no reading". At least 10 below
    `lowest_level_percent`."""
    jump_percent: Annotated[float, Field(ge=1, le=50)] = 4.0
    slope_percent_per_s: Annotated[float, Field(ge=0.1, le=50)] = 2.0
    """A change beyond jump + slope x elapsed time is not believed …"""
    jump_held_s: Seconds = 3.0
    """… until the new figure has held for so long: a real fall is late by this, never lost."""
    frozen_s: Seconds = 60.0
    """After so long with the same saturation and pulse rate, the device is taken to be repeating
    itself; at least 10."""
    frozen_wave_s: Seconds = 5.0
    """The same, if the frames carry a wave, which moves with every beat; at least 2."""

    @model_validator(mode="after")
    def _what_may_stand_still_does(self) -> "BeliefSettings":
        for key, shortest_s in (
            ("frozen_s", SHORTEST_FROZEN_S),
            ("frozen_wave_s", SHORTEST_FROZEN_WAVE_S),
        ):
            if getattr(self, key) < shortest_s:
                lost = (
                    f"at least {shortest_s:g}: good figures stand still so long, and would be lost"
                )
                raise WrongWithinError(lost, key)
        return self


@dataclass(frozen=True, slots=True)
class Belief:
    """What becomes of one sample."""

    believed: bool
    why_not: str = ""


BELIEVED = Belief(believed=True)


class ArtefactCheck:
    """Judges samples one by one, in the order of their times."""

    def __init__(self, settings: BeliefSettings) -> None:
        self._settings = settings
        self._last: tuple[float, int] | None = None
        """Time and saturation of the last believed sample."""
        self._doubted: tuple[float, int] | None = None
        """The same, of the last sample of a new level that is not believed yet."""
        self._doubted_since_s = 0.0
        self._figures: tuple[int | None, int | None, int | None] = (None, None, None)
        self._still_s = self._slack_s = 0.0
        self._seen_at_s: float | None = None

    def judge(self, sample: Sample) -> Belief:
        """Believe it or not, and why not."""
        moved = self._moved(sample)
        spo2 = sample.spo2_percent
        if not sample.usable:
            return Belief(believed=False, why_not=sample.why or "flagged")
        if spo2 is None or not self._settings.lowest_percent <= spo2 <= 100:
            return Belief(believed=False, why_not="out of range")
        if not sample.pulse_bpm:
            return Belief(believed=False, why_not="no pulse rate")
        if not moved:
            return Belief(believed=False, why_not="frozen")
        if not self._likely(sample.at_s, spo2):
            return Belief(believed=False, why_not="impossible jump")
        self._last, self._doubted = (sample.at_s, spo2), None
        return BELIEVED

    def forget(self) -> None:
        """Nothing was believed for so long that the next figure stands by itself."""
        self._last = self._doubted = None

    def _moved(self, sample: Sample) -> bool:
        figures = (sample.spo2_percent, sample.pulse_bpm, sample.wave)
        since = sample.at_s if self._seen_at_s is None else self._seen_at_s
        self._seen_at_s = sample.at_s
        self._slack_s = slack_s(max(0.0, sample.at_s - since))
        if figures == self._figures:
            # Only time with frames counts: a cable that was out is no frozen figure.
            self._still_s += min(max(0.0, sample.at_s - since), STANDS_S)
        else:
            self._figures, self._still_s = figures, 0.0
        settings = self._settings
        allowed_s = settings.frozen_s if sample.wave is None else settings.frozen_wave_s
        return self._still_s <= allowed_s + self._slack_s

    def _likely(self, at_s: float, spo2: int) -> bool:
        if self._last is None or self._near(self._last, at_s, spo2):
            return True
        if self._doubted is None or not self._near(self._doubted, at_s, spo2):
            self._doubted_since_s = at_s
        self._doubted = (at_s, spo2)
        return at_s - self._doubted_since_s >= self._settings.jump_held_s - self._slack_s

    def _near(self, known: tuple[float, int], at_s: float, spo2: int) -> bool:
        known_at_s, known_spo2 = known
        allowed = self._settings.jump_percent + self._settings.slope_percent_per_s * max(
            0.0, at_s - known_at_s
        )
        return abs(spo2 - known_spo2) <= allowed
