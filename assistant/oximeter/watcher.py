"""The watcher: reads the feed, decides, speaks first, then tells the conversation, then records."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any, Literal, Protocol

from assistant.audio.sound import Samples
from assistant.clock import Clock
from assistant.oximeter.calls import ReadyCall, ReadyCalls
from assistant.oximeter.crossing import Call, CallKind, Crossing
from assistant.oximeter.feed import Feed
from assistant.oximeter.messages import (
    Calling,
    FeedLost,
    Message,
    Restored,
    SignalLost,
    WatchEnded,
    Watching,
)
from assistant.oximeter.record import Recorder, row_now
from assistant.oximeter.sample_rows import SAMPLES, SATURATION, SampleRows
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import OximeterSettings

HEARTBEAT_S = 1.0
SATURATION_ROW_S = 1.0
"""No more rows of saturation than one in this time …"""
UNCHANGED_ROW_S = 10.0
"""… and one in this time even when it does not change."""


class CallSpeaker(Protocol):
    """Something that makes a call heard; it never blocks and never raises."""

    def say(self, samples: Samples) -> float:
        """Start now, cutting short what this speaker was saying.

        Returns when it will end, in s of the case's clock; now, when it cannot be heard.
        """


class Watcher:
    """Steps one oximeter; in real time its process steps it, in a rehearsal the conductor."""

    def __init__(
        self,
        settings: OximeterSettings,
        feed: Feed,
        *,
        speak: CallSpeaker,
        record: Recorder,
        clock: Clock,
        tell: Callable[[Message], None],
        calls: ReadyCalls,
        keep_saturation: bool = True,
    ) -> None:
        """`calls` are of the same settings, made once for all patients: that takes as long as the
        voice takes.

        Without `keep_saturation` what the device sends is not recorded, but only what is called
        and what fails: there is no case that it would belong to.
        """
        self._calls = calls
        self._crossing = Crossing(settings.crossing)
        self._feed = feed
        self._speak = speak
        self._record = record
        self._clock = clock
        self._tell = tell
        self._last: tuple[Call, ReadyCall] | None = None
        self._lost = False
        self._fault = ""
        self._told_s = float("-inf")
        self._row_s = float("-inf")
        self._row_spo2: int | None = None
        self._samples = SampleRows() if keep_saturation else None

    def step(self) -> None:
        """Do what is due now; never waits."""
        latest: Sample | None = None
        for sample in self._feed.read():
            self._make(self._crossing.take(sample))
            if self._samples is not None:
                self._samples.add(sample)
            latest = sample
        now_s = self._clock.now_s()
        self._make(self._crossing.tick(now_s))
        self._tell_how_it_is(now_s)
        self._record_how_it_is(now_s, latest)

    def unheard(self) -> None:
        """The loudspeaker died while it said the last call: the conversation has to say it."""
        if self._last is not None:
            now_s, (call, ready) = self._clock.now_s(), self._last
            level, spo2 = call.level_percent, call.spo2_percent
            calling = Calling(call.kind.value, ready.text, level, spo2, now_s, now_s)
            self._tell(calling)
            self._add_if_unheard(calling)

    def repeat(self) -> None:
        """Somebody asked: the last call again, in the same words, marked as no new one."""
        if self._last is not None:
            call, ready = self._last
            calling = self._say(call, ready)
            self._add(calling.started_s, "event", "call repeated", {"text": ready.text})
            self._add_if_unheard(calling)

    def end(self) -> None:
        """Tell the conversation and the record that the watch ends; the feed stays open."""
        now_s = self._clock.now_s()
        self._tell(WatchEnded(now_s))
        self._record_samples(now_s, float("inf"))
        self._add(now_s, "event", "watch ended", {})

    def _make(self, call: Call | None) -> None:
        if call is None:
            return
        ready = self._calls.of(call)
        self._last = call, ready
        calling = self._say(call, ready)
        if call.kind is CallKind.SIGNAL_LOST:
            self._tell(SignalLost(call.at_s, self._crossing.why_not))
        if call.kind is CallKind.FEED_LOST:
            self._tell(FeedLost(call.at_s, self._feed.fault))
        self._lost |= call.level_percent is None
        data = asdict(calling)
        del data["text"]
        self._add(calling.started_s, "said", ready.text, data)
        self._add_if_unheard(calling)

    def _say(self, call: Call, ready: ReadyCall) -> Calling:
        until_s = self._speak.say(ready.samples)
        started_s = self._clock.now_s()  # after it: a call that nobody heard has ended by now
        calling = Calling(
            call.kind.value,
            ready.text,
            call.level_percent,
            call.spo2_percent,
            started_s,
            max(started_s, until_s),
        )
        self._tell(calling)
        return calling

    def _add_if_unheard(self, calling: Calling) -> None:
        if calling.unheard:
            self._add(calling.started_s, "event", "call not heard", {"text": calling.text})

    def _tell_how_it_is(self, now_s: float) -> None:
        spo2 = self._crossing.spo2_percent
        if self._lost and spo2 is not None:
            self._lost = False
            self._tell(Restored(now_s))
            self._add(now_s, "event", "saturation restored", {})
        if now_s - self._told_s >= HEARTBEAT_S:
            self._told_s = now_s
            self._tell(Watching(spo2, now_s, self._crossing.why_not, len(self._calls.missing)))

    def _record_how_it_is(self, now_s: float, latest: Sample | None) -> None:
        if self._feed.fault != self._fault:
            self._fault = self._feed.fault
            text = "oximeter fault" if self._fault else "oximeter in order"
            self._add(now_s, "event", text, {"fault": self._fault})
        self._record_samples(now_s, now_s)
        spo2 = self._crossing.spo2_percent
        if self._samples is None or latest is None or spo2 is None:
            return
        due_s = UNCHANGED_ROW_S if spo2 == self._row_spo2 else SATURATION_ROW_S
        if now_s - self._row_s >= due_s:
            self._row_s, self._row_spo2 = now_s, spo2
            data = {"spo2_percent": spo2, "pulse_bpm": latest.pulse_bpm}
            self._add(now_s, "event", SATURATION, data)

    def _record_samples(self, now_s: float, due_s: float) -> None:
        runs = [] if self._samples is None else self._samples.due(due_s)
        if runs:
            self._add(now_s, "event", SAMPLES, {"samples": runs})

    def _add(
        self, at_s: float, kind: Literal["said", "event"], text: str, data: dict[str, Any]
    ) -> None:
        self._record.add(row_now(at_s, self._clock.name, kind, text, data))
