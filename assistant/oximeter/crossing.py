"""The crossing rule: which samples become a call. Pure: no ports, no sound, no clock of its own.

docs/crossing-rule.md has the truth table; tests/oximeter/test_crossing_rule.py runs it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from typing import Annotated

from pydantic import Field, model_validator

from assistant.files.complaints import WrongWithinError
from assistant.files.yaml_files import SiteModel
from assistant.oximeter.belief import STANDS_S, ArtefactCheck, BeliefSettings, Seconds
from assistant.oximeter.levels import Level, Loss
from assistant.oximeter.plateau import Plateau
from assistant.oximeter.samples import Sample

MOST_PERCENT = 100
BELIEVED_BELOW_PERCENT = 10
"""So far below the lowest level that is called a saturation must still be believed: a fall goes on
beyond it while it is held. This project's own limit, no source."""
LOW_KEPT_S = 30.0
"""After so long without a sample that is believed, what was low before counts no more."""
Percent = Annotated[int, Field(ge=30, le=MOST_PERCENT)]


class CrossingSettings(SiteModel):
    """When the saturation is called."""

    threshold_percent: Percent = 93
    """Reaching it counts."""
    further_levels_percent: tuple[Percent, ...] = (85,)
    held_s: Annotated[float, Field(ge=0, le=10)] = 2.0
    """Valid seconds at or below a level before it is called."""
    rearm_margin_percent: Annotated[int, Field(ge=0, le=10)] = 2
    """A level can be called again only after the saturation was above level + margin …"""
    rearm_s: Seconds = 10.0
    """… for so many valid seconds."""
    step_percent: Annotated[int, Field(ge=1, le=50)] = 8
    """A patient who stays low is called again at each further fall by this."""
    plateau_s: Annotated[float, Field(ge=5, le=600)] = 30.0
    """After so many valid seconds above the last level that was called …"""
    new_fall_percent: Annotated[int, Field(ge=1, le=50)] = 3
    """… a new fall by this, below the best of that time, is called, though no level is armed. More
    than `rearm_margin_percent`."""
    lowest_level_percent: Percent = 50
    recovery_call: bool = False
    """Whether it is said, once, when the saturation has recovered from the threshold by margin
    and time."""
    signal_lost_s: Annotated[float, Field(ge=3, le=120)] = 10.0
    """Frames come, but none that can be believed."""
    feed_lost_s: Annotated[float, Field(ge=3, le=120)] = 5.0
    """Nothing comes at all."""
    back_s: Seconds = 3.0
    """After so many seconds of good signal (or frames) its loss can be called again."""
    belief: BeliefSettings = BeliefSettings()

    @model_validator(mode="after")
    def _levels_descend(self) -> "CrossingSettings":
        levels = (self.threshold_percent, *self.further_levels_percent)
        for at, (before, level) in enumerate(pairwise(levels)):
            if level >= before:
                lower = f"below {before}: each lower than the threshold and than the one before"
                raise WrongWithinError(lower, "further_levels_percent", at)
        if self.lowest_level_percent > levels[-1]:
            lowest = f"at most {levels[-1]}, the lowest of the levels that are called"
            raise WrongWithinError(lowest, "lowest_level_percent")
        believed = self.lowest_level_percent - BELIEVED_BELOW_PERCENT
        if self.belief.lowest_percent > believed:
            lost = f"at most {believed}: a fall below lowest_level_percent would not be believed"
            raise WrongWithinError(lost, "belief", "lowest_percent")
        if self.new_fall_percent <= self.rearm_margin_percent:
            more = (
                f"more than rearm_margin_percent, {self.rearm_margin_percent}: a sway within the "
                "margin is no fall"
            )
            raise WrongWithinError(more, "new_fall_percent")
        return self

    def levels_percent(self) -> tuple[int, ...]:
        """Every level that can be called, from the threshold down.

        The site's own, and steps wherever these lie further apart than one step.
        """
        return tuple(self._ladder())

    def _ladder(self) -> Iterator[int]:
        level = self.threshold_percent
        while level >= self.lowest_level_percent:
            yield level
            stepped = level - self.step_percent
            level = max((own for own in self.further_levels_percent if own < level), default=0)
            level = max(level, stepped)


class CallKind(Enum):
    """Why something is said."""

    FELL = "fell"
    FELL_AGAIN = "fell-again"
    """A new fall of a patient who did not recover enough for the level to be called again."""
    STARTED_LOW = "started-low"
    """The first call for a patient who was never seen above the threshold."""
    RECOVERED = "recovered"
    """Only where the site wants it."""
    SIGNAL_LOST = "signal-lost"
    FEED_LOST = "feed-lost"


@dataclass(frozen=True, slots=True)
class Call:
    """Something that must be said now."""

    kind: CallKind
    at_s: float
    level_percent: int | None = None
    """The level that is spoken; None for a loss."""
    spo2_percent: int | None = None
    """The saturation that made the call; never spoken."""


class Crossing:
    """The rule for one patient: samples and the time in, calls out."""

    def __init__(self, settings: CrossingSettings) -> None:
        self._settings = settings
        self._artefacts = ArtefactCheck(settings.belief)
        self._levels = [
            Level(percent, settings.rearm_margin_percent, settings.rearm_s)
            for percent in settings.levels_percent()
        ]
        self._plateau = Plateau(settings.plateau_s, settings.held_s)
        self._signal, self._feed = Loss(settings.back_s), Loss(settings.back_s)
        self._sampled_s: float | None = None
        """When the last sample came, or the watch began."""
        self._signal_s = 0.0
        """When the signal was last good, or had its last chance to be."""
        self._believed_s = 0.0
        """When a sample was last believed."""
        self._standing: int | None = None
        """The saturation of the last sample, if that one was believed."""
        self._silent = True
        self._fell = False
        """Whether the next call is about a fall: it was seen higher before, or called before."""
        self._recovers = False
        """Whether the threshold was called and its recovery not yet seen."""
        self.why_not = "no frames"
        """Why there is no saturation; empty when there is one."""

    @property
    def spo2_percent(self) -> int | None:
        """The saturation now; None when there is none that can be believed."""
        return None if self._silent else self._standing

    def take(self, sample: Sample) -> Call | None:
        """One sample, in the order of their times."""
        self._let_time_pass(sample.at_s)
        self._silent = False
        self._feed.good()
        belief = self._artefacts.judge(sample)
        self.why_not = belief.why_not
        spo2 = sample.spo2_percent
        if not belief.believed or spo2 is None:
            self._standing = None
            return None
        self._standing = spo2
        self._signal_s = self._believed_s = sample.at_s
        self._signal.good()
        for level in self._levels:
            level.see(spo2)
        self._plateau.see(spo2)
        self._fell |= spo2 > self._settings.threshold_percent
        return self._call(spo2, sample.at_s)

    def tick(self, now_s: float) -> Call | None:
        """The time, whether samples came or not: what is lost is called from here."""
        if self._sampled_s is None:
            self._sampled_s = self._signal_s = now_s
        silent_s = now_s - self._sampled_s
        if silent_s >= STANDS_S:
            self._silent, self.why_not = True, "no frames"
        if silent_s >= self._settings.feed_lost_s:
            return Call(CallKind.FEED_LOST, now_s) if self._feed.call(now_s) else None
        if silent_s < STANDS_S and now_s - self._signal_s >= self._settings.signal_lost_s:
            return Call(CallKind.SIGNAL_LOST, now_s) if self._signal.call(now_s) else None
        return None

    def _let_time_pass(self, at_s: float) -> None:
        """Credit the time since the last sample to what that one said."""
        if self._sampled_s is None:
            self._sampled_s = self._signal_s = at_s
        silent_s = max(0.0, at_s - self._sampled_s)
        self._sampled_s = max(at_s, self._sampled_s)
        stood_s = min(silent_s, STANDS_S)
        if silent_s <= STANDS_S:
            self._feed.good_for(silent_s)
        settings = self._settings
        if silent_s >= settings.feed_lost_s:
            self._signal_s = at_s  # the signal is given its time again
            self._start_again()
        elif at_s - self._signal_s >= settings.signal_lost_s:
            self._start_again()
        if at_s - self._believed_s > max(LOW_KEPT_S, settings.signal_lost_s, settings.feed_lost_s):
            for level in self._levels:
                level.forget_low()
        if self._standing is not None:
            self._signal.good_for(stood_s)
            for level in self._levels:
                level.lasted(self._standing, stood_s)
            self._plateau.lasted(self._standing, stood_s)

    def _start_again(self) -> None:
        """What was seen before a loss says nothing about now; but of a contact that comes and goes
        a low saturation is called though it is seen in pieces."""
        for level in self._levels:
            level.broken_off(self._standing)
        self._standing = None
        self._artefacts.forget()
        self._plateau.start_again()

    def _call(self, spo2: int, at_s: float) -> Call | None:
        settings, threshold = self._settings, self._levels[0]
        if self._recovers and threshold.is_recovered(spo2):
            self._recovers = False
            if settings.recovery_call:
                return Call(CallKind.RECOVERED, at_s, threshold.percent, spo2)
        due = [level for level in self._levels if level.is_due(spo2, settings.held_s)]
        if not due:
            return self._fell_again(spo2, at_s)
        lowest = due[-1]
        for level in due:
            level.armed = False
        self._recovers |= threshold in due
        self._plateau.called(lowest.percent)
        kind = CallKind.FELL if self._fell else CallKind.STARTED_LOW
        self._fell = True
        return Call(kind, at_s, lowest.percent, spo2)

    def _fell_again(self, spo2: int, at_s: float) -> Call | None:
        """A new fall from a plateau, unless a level that can be called lies there or just below.

        Once the threshold can be called again, it is met first: this is never above it.
        """
        settings = self._settings
        best = self._plateau.best_percent
        if best is None:
            return None
        percent = min(best - settings.new_fall_percent, settings.threshold_percent)
        if percent < settings.lowest_level_percent or not self._plateau.held_at(percent, spo2):
            return None
        if any(
            level.armed and percent - settings.new_fall_percent < level.percent <= percent
            for level in self._levels
        ):
            return None
        self._plateau.called(percent)
        return Call(CallKind.FELL_AGAIN, at_s, percent, spo2)
