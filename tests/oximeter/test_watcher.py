"""The watcher on a pseudo-terminal, in lock-step: bytes in at one end, calls out at the other."""

import os
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

import numpy as np
import pytest

from assistant.audio.sound import RATE_HZ, Samples, silence
from assistant.clock import SoundClock
from assistant.files.yaml_files import read_yaml
from assistant.oximeter.calls import ReadyCalls
from assistant.oximeter.crossing import CallKind
from assistant.oximeter.feed import SerialFeed
from assistant.oximeter.messages import (
    Calling,
    FeedLost,
    Message,
    Restored,
    SignalLost,
    WatchEnded,
    Watching,
)
from assistant.oximeter.reading import read_record
from assistant.oximeter.record import RECORD_NAME, WatcherRecord, WatcherRow
from assistant.oximeter.settings import OximeterSettings
from assistant.oximeter.watcher import Watcher
from assistant.patient.finger import open_pty

SETTINGS = read_yaml(
    Path(__file__).parents[2] / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings
)
STEP_S = 0.032


class Bench:
    """A watcher on a bench: the far end of its line, and all that it does, in order."""

    def __init__(
        self, folder: Path, settings: OximeterSettings = SETTINGS, *, keep_saturation: bool = True
    ) -> None:
        self.layout = settings.frame_layout
        self.port = folder / "oximeter"
        self.clock = SoundClock()
        self.done: list[tuple[str, object]] = []
        self.record_file: WatcherRecord | None = None
        self.rendered: list[str] = []
        self.sent = 0
        self.plug_in()
        feed = SerialFeed(str(self.port), self.layout, self.clock)
        self.watcher = Watcher(
            settings,
            feed,
            speak=self,
            record=self,
            clock=self.clock,
            tell=self.tell,
            calls=ReadyCalls(settings.crossing, settings.words, self.render),
            keep_saturation=keep_saturation,
        )

    def plug_in(self) -> None:
        self.master, path = open_pty()
        self.port.unlink(missing_ok=True)
        self.port.symlink_to(path)

    def pull_out(self) -> None:
        os.close(self.master)

    def say(self, samples: Samples) -> float:
        self.done.append(("say", samples))
        return self.clock.now_s() + len(samples) / RATE_HZ

    def tell(self, message: Message) -> None:
        self.done.append(("tell", message))

    def add(self, row: WatcherRow) -> None:
        self.done.append(("record", row))
        if self.record_file is not None:
            self.record_file.add(row)

    def render(self, text: str) -> Samples:
        self.rendered.append(text)
        return silence(1.0)

    def run(self, seconds: float, frame: bytes = b"") -> None:
        """Let time pass, with this frame sixty times a second."""
        until_s = self.clock.now_s() + seconds
        while self.clock.now_s() < until_s:
            self.clock.move_to(self.clock.now_s() + STEP_S)
            if frame:
                os.write(self.master, frame * 2)
                self.sent += 2
            self.watcher.step()

    def show(self, seconds: float, spo2_percent: int | None, *flags: str) -> None:
        """The oximeter shows this for so long; its wave moves."""
        pulse = None if spo2_percent is None else 80
        for number in range(round(seconds / STEP_S)):
            frame = self.layout.encode(spo2_percent, pulse, number % 100, flags)
            self.run(STEP_S / 2, frame)

    def told(self, *kinds: type[Message]) -> list[Message]:
        return [one for what, one in self.done if what == "tell" and isinstance(one, kinds)]

    def told_of_losses(self) -> list[type[Message]]:
        return [type(one) for one in self.told(FeedLost, SignalLost, Restored)]

    def events(self, *texts: str) -> list[WatcherRow]:
        rows = [one for what, one in self.done if isinstance(one, WatcherRow)]
        return [one for one in rows if one.kind == "event" and one.text in texts]

    def texts(self) -> list[str]:
        return [one.text for one in self.told(Calling) if isinstance(one, Calling)]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    one = Bench(tmp_path)
    yield one
    one.watcher.end()


def test_one_crossing_is_one_call(bench: Bench) -> None:
    """Frames through a real port: 96 falls to 93 and stays, and there is exactly one call."""
    bench.show(10, 96)
    bench.show(20, 93)

    assert bench.texts() == ["Saturation ninety-three."]
    (call,) = bench.told(Calling)
    assert isinstance(call, Calling)
    assert call.started_s == pytest.approx(12.0, abs=0.2)
    assert (call.level_percent, call.spo2_percent) == (93, 93)


def test_whatever_is_spoken_was_rendered_beforehand(bench: Bench) -> None:
    """The levels, whole percents of a new fall, and the two losses: nothing else, nothing later."""
    words, crossing = SETTINGS.words, SETTINGS.crossing
    falls = range(crossing.lowest_level_percent, crossing.threshold_percent + 1)

    assert set(bench.rendered) == {
        *(words.say(CallKind.FELL_AGAIN, percent) for percent in falls),
        *(words.say(CallKind.STARTED_LOW, percent) for percent in (93, 85, 77, 69, 61, 53)),
        words.signal_lost,
        words.feed_lost,
    }


def test_speaks_first_then_tells_then_records(bench: Bench) -> None:
    """At a call nothing comes before the sound, and the record comes last."""
    bench.show(5, 96)
    bench.done.clear()
    bench.show(2.5, 93)

    order = [
        what
        for what, one in bench.done
        if what == "say"
        or isinstance(one, Calling)
        or (isinstance(one, WatcherRow) and one.kind == "said")
    ]

    assert order == ["say", "tell", "record"]


def test_a_call_starts_with_the_tone(bench: Bench) -> None:
    """What is said is the attention tone, a breath, then the words."""
    bench.show(5, 90)

    (samples,) = [one for what, one in bench.done if what == "say"]

    assert isinstance(samples, np.ndarray)
    assert samples.dtype == np.int16
    assert len(samples) / RATE_HZ == pytest.approx(1.7, abs=0.01)
    assert np.abs(samples[: RATE_HZ // 2]).max() > 5000
    assert np.abs(samples[-RATE_HZ:]).max() == 0


@pytest.mark.parametrize("lasts_s", [0.0, -0.1])
def test_a_call_that_made_no_sound_is_on_record_as_not_heard(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, lasts_s: float
) -> None:
    """Without a loudspeaker the call has ended as it starts, and never before."""
    monkeypatch.setattr(bench, "say", lambda _samples: bench.clock.now_s() + lasts_s)
    bench.show(5, 96)
    bench.show(4, 93)
    bench.watcher.repeat()

    rows = [one for what, one in bench.done if isinstance(one, WatcherRow)]
    (said,) = [one for one in rows if one.kind == "said"]
    assert said.data["until_s"] == said.data["started_s"]
    told = [one.text for one in rows if one.text.startswith("call ")]
    assert told == ["call not heard", "call repeated", "call not heard"]
    assert all(one.unheard for one in bench.told(Calling))


def test_a_full_disk_mutes_nobody(bench: Bench, tmp_path: Path) -> None:
    """With a record that cannot be written, calls are made all the same, and kept for later."""
    path = tmp_path / RECORD_NAME
    path.symlink_to("/dev/full")
    bench.record_file = WatcherRecord(path)
    bench.show(5, 96)
    bench.show(4, 93)

    assert bench.texts() == ["Saturation ninety-three."]
    assert bench.record_file.fault

    path.unlink()  # the disk has room again
    bench.show(4, 92)
    rows = read_record(path).rows

    assert [row.text for row in rows if row.kind == "said"] == ["Saturation ninety-three."]
    assert rows == tuple(one for what, one in bench.done if what == "record")


def test_unplugged_and_plugged_in_again(bench: Bench) -> None:
    """A pulled plug is one call in its own words; plugged in again, the watch goes on."""
    bench.show(5, 96)
    bench.pull_out()
    bench.run(20)

    assert bench.texts() == [SETTINGS.words.feed_lost]
    (lost,) = bench.told(FeedLost)
    assert isinstance(lost, FeedLost)
    assert lost.why

    bench.plug_in()
    bench.run(3)  # it looks for the port every two seconds at the latest
    bench.show(5, 96)
    assert bench.told_of_losses() == [FeedLost, Restored]
    bench.show(4, 93)

    assert bench.texts() == [SETTINGS.words.feed_lost, "Saturation ninety-three."]
    assert bench.told_of_losses() == [FeedLost, Restored]
    assert lost.why in [one.data["fault"] for one in bench.events("oximeter fault")]
    assert [one.data["fault"] for one in bench.events("oximeter in order")] == [""]


def test_no_finger_is_another_call(bench: Bench) -> None:
    """Frames without a finger are a loss of signal, not of the feed."""
    bench.show(5, 96)
    bench.show(15, None, "no finger")

    assert bench.texts() == [SETTINGS.words.signal_lost]
    assert bench.told_of_losses() == [SignalLost]
    assert not bench.events("saturation restored")

    bench.show(5, 96)
    assert bench.told_of_losses() == [SignalLost, Restored]
    assert len(bench.events("saturation restored")) == 1
    assert {one.data["spo2_percent"] for one in bench.events("saturation")} == {96}


def test_heartbeat_once_a_second(bench: Bench) -> None:
    """The conversation hears once a second that somebody watches, with or without a saturation."""
    bench.show(10, 96)
    bench.show(5, None, "no finger")

    beats = bench.told(Watching)

    assert 14 <= len(beats) <= 16
    last = beats[-1]
    assert isinstance(last, Watching)
    assert (last.spo2_percent, "no finger" in last.why) == (None, True)


def test_the_trend_is_kept_compactly(bench: Bench) -> None:
    """A steady saturation costs one row in ten seconds, a changing one at most one a second."""
    bench.show(30, 97)
    steady = [
        one for what, one in bench.done if isinstance(one, WatcherRow) and one.text == "saturation"
    ]
    for spo2_percent in (96, 95, 96, 95) * 5:
        bench.show(0.25, spo2_percent)
    rows = [
        one for what, one in bench.done if isinstance(one, WatcherRow) and one.text == "saturation"
    ]

    assert 3 <= len(steady) <= 4
    assert 4 <= len(rows) - len(steady) <= 6
    assert all(row.clock == "sound" for row in rows)


def test_every_sample_is_on_record_at_the_pace_of_the_feed(bench: Bench) -> None:
    """Also what is not believed; equal ones are counted, and none is lost at the end."""
    bench.show(3, 97)
    bench.show(3, None, "no finger")
    assert bench.events("samples")  # a watcher that is killed has lost none of these
    bench.show(2.5, 95)
    bench.watcher.end()

    runs = [run for one in bench.events("samples") for run in one.data["samples"]]
    assert [figure for figure, _ in groupby(run[1] for run in runs)] == [97, None, 95]
    # The decoder makes sure by a whole frame or two where one begins.
    assert bench.sent - 2 <= sum(run[4] for run in runs) <= bench.sent
    assert [run[0] for run in runs] == sorted(run[0] for run in runs)


def test_a_recovery_is_called_only_where_the_site_wants_it(tmp_path: Path) -> None:
    """With `recovery_call` a real recovery is said, once, in the site's words."""
    crossing = SETTINGS.crossing.model_copy(update={"recovery_call": True})
    bench = Bench(tmp_path, SETTINGS.model_copy(update={"crossing": crossing}))
    bench.show(5, 96)
    bench.show(4, 93)
    bench.show(20, 96)
    bench.watcher.end()

    assert bench.texts() == ["Saturation ninety-three.", "Saturation above ninety-three."]


def test_the_last_call_is_repeated_on_demand(bench: Bench) -> None:
    """Asked for, the last call is said again in the same words, and counts as no new call."""
    bench.watcher.repeat()
    assert bench.texts() == []  # nothing was called yet

    bench.show(5, 96)
    bench.show(4, 93)
    bench.watcher.repeat()

    said = [one for what, one in bench.done if what == "say"]
    assert len(said) == 2
    assert np.array_equal(np.asarray(said[0]), np.asarray(said[1]))
    assert bench.texts() == ["Saturation ninety-three."] * 2
    rows = [one for what, one in bench.done if isinstance(one, WatcherRow)]
    assert [row.text for row in rows if row.kind == "said"] == ["Saturation ninety-three."]
    assert [row.data["text"] for row in rows if row.text == "call repeated"] == [
        "Saturation ninety-three."
    ]


def test_says_goodbye(tmp_path: Path) -> None:
    """A watcher that ends says so, to the conversation and in the record."""
    bench = Bench(tmp_path)
    bench.watcher.end()

    assert len(bench.told(WatchEnded)) == 1
    assert [one.text for what, one in bench.done if isinstance(one, WatcherRow)] == ["watch ended"]


def test_between_cases_only_what_is_called_and_what_fails_is_recorded(tmp_path: Path) -> None:
    """There is no case that a saturation would belong to; it is called as ever."""
    bench = Bench(tmp_path, keep_saturation=False)
    bench.show(30, 96)
    bench.show(10, 93)
    bench.pull_out()
    bench.run(2)
    bench.watcher.end()
    rows = [one.text for what, one in bench.done if isinstance(one, WatcherRow)]
    assert bench.texts() == ["Saturation ninety-three."]
    assert [*dict.fromkeys(rows)] == ["Saturation ninety-three.", "oximeter fault", "watch ended"]
