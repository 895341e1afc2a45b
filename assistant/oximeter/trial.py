"""Trying a feed: what it gives, in words, and what would be called; no sound and no record."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from assistant.oximeter.crossing import Call, CallKind, Crossing
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import OximeterSettings

SAME_AGAIN_S = 1.0
"""The same figures are shown again only after so long."""


@dataclass(slots=True)
class Tally:
    """What a trial came to."""

    samples: int = 0
    usable: int = 0
    believed: int = 0
    lowest_percent: int | None = None
    """Of those that were believed."""
    calls: list[Call] = field(default_factory=list)


class Trial:
    """Samples and the time in, lines to read out."""

    def __init__(self, settings: OximeterSettings, began_s: float) -> None:
        """Times are shown from `began_s` on the clock of the samples."""
        self.tally = Tally()
        self._began_s = began_s
        self._words = settings.words
        self._crossing = Crossing(settings.crossing)
        self._shown: tuple[object, ...] = ()
        self._shown_s = float("-inf")

    def take(self, sample: Sample) -> Iterator[str]:
        """One sample: its line, unless it says what the last one said; then any call."""
        call = self._crossing.take(sample)
        tally, why_not = self.tally, self._crossing.why_not
        tally.samples += 1
        tally.usable += sample.usable
        tally.believed += not why_not
        if not why_not and sample.spo2_percent is not None:
            tally.lowest_percent = min(tally.lowest_percent or 100, sample.spo2_percent)
        figures = (sample.spo2_percent, sample.pulse_bpm, sample.why, why_not)
        if figures != self._shown or sample.at_s - self._shown_s >= SAME_AGAIN_S:
            self._shown, self._shown_s = figures, sample.at_s
            yield f"{self.at(sample.at_s)}  {_words(sample, why_not)}"
        yield from self._called(call)

    def pass_time(self, now_s: float) -> Iterator[str]:
        """The time, whether samples came or not."""
        yield from self._called(self._crossing.tick(now_s))

    def _called(self, call: Call | None) -> Iterator[str]:
        if call is not None:
            self.tally.calls.append(call)
            words = self._words.say(call.kind, call.level_percent)
            why = "  (a new fall after a plateau)" * (call.kind is CallKind.FELL_AGAIN)
            yield f"{self.at(call.at_s)}  would be called: {words}{why}"

    def at(self, at_s: float) -> str:
        """A time as it is shown."""
        return f"{at_s - self._began_s:9.2f} s"


def _words(sample: Sample, why_not: str) -> str:
    spo2 = "---" if sample.spo2_percent is None else f"{sample.spo2_percent:3d}"
    pulse = "---" if sample.pulse_bpm is None else f"{sample.pulse_bpm:3d}"
    wave = "" if sample.wave is None else f"  wave {sample.wave:3d}"
    about = f"  not believed: {why_not}" if why_not else f"  {sample.why}" * bool(sample.why)
    return f"SpO2 {spo2} %  pulse {pulse}/min{wave}{about}"
