"""What serial lines do in real life, and that the watcher comes through it and writes it down."""

import os
import select
from contextlib import suppress
from itertools import pairwise
from pathlib import Path

import pytest

from assistant.audio.sound import Samples, silence
from assistant.clock import SoundClock
from assistant.files.yaml_files import read_yaml
from assistant.oximeter.calls import ReadyCalls
from assistant.oximeter.feed import GARBLED, LONGEST_WAIT_S, QUIET_S, SILENT, SerialFeed
from assistant.oximeter.frames import SerialLine
from assistant.oximeter.record import WatcherRow
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import OximeterSettings
from assistant.oximeter.watcher import Watcher
from assistant.patient.finger import open_pty

SETTINGS = read_yaml(
    Path(__file__).parents[2] / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings
)
LAYOUT = SETTINGS.frame_layout
STEP_S = 0.05


class Line:
    """A watcher on a line by a stable name: a link that is pointed at whatever is plugged in."""

    def __init__(self, folder: Path) -> None:
        self.clock = SoundClock()
        self.port = folder / "oximeter"
        self.rows: list[WatcherRow] = []
        self.master: int | None = None
        self._frames = 0
        self.feed = SerialFeed(str(self.port), LAYOUT, self.clock)
        self.watcher = Watcher(
            SETTINGS,
            self.feed,
            speak=self,
            record=self,
            clock=self.clock,
            tell=lambda _message: None,
            calls=ReadyCalls(SETTINGS.crossing, SETTINGS.words, lambda _text: silence(0.1)),
        )

    def say(self, samples: Samples) -> float:
        return self.clock.now_s()

    def add(self, row: WatcherRow) -> None:
        self.rows.append(row)

    def plug_in(self) -> None:
        """Under the same name, another terminal each time, as a real port may be."""
        self.master, path = open_pty()
        self._reader = os.open(path, os.O_RDONLY | os.O_NOCTTY)
        self.port.unlink(missing_ok=True)
        self.port.symlink_to(path)

    def pull_out(self) -> None:
        assert self.master is not None
        os.close(self.master)
        os.close(self._reader)
        self.master = None
        self.port.unlink()

    def run(self, seconds: float, data: bytes = b"") -> None:
        """Let time pass, with these bytes at each step."""
        for _ in range(round(seconds / STEP_S)):
            self.clock.move_to(self.clock.now_s() + STEP_S)
            if self.master is not None and data:
                self.send(data)
            self.watcher.step()

    def send(self, data: bytes) -> None:
        """Write, and wait until it can be read: a busy kernel carries it over later."""
        assert self.master is not None
        os.write(self.master, data)
        select.select([self._reader], [], [], 10.0)

    def show(self, seconds: float, spo2_percent: int) -> None:
        for _ in range(round(seconds / STEP_S)):
            self._frames += 1
            self.run(STEP_S, LAYOUT.encode(spo2_percent, 80, self._frames % 100) * 3)

    def said(self) -> list[str]:
        return [row.text for row in self.rows if row.kind == "said"]

    def faults(self) -> list[tuple[float, str]]:
        return [(row.at_s, row.data["fault"]) for row in self.rows if "fault" in row.data]


@pytest.fixture
def line(tmp_path: Path) -> Line:
    return Line(tmp_path)


def test_unplugged_and_plugged_in_again_five_times(line: Line) -> None:
    """Each time it is one call, it comes back within the longest wait, and all is written down."""
    line.plug_in()
    line.show(5, 97)
    for _ in range(5):
        pulled_s = line.clock.now_s()
        line.pull_out()
        line.run(20)
        plugged_s = line.clock.now_s()
        line.plug_in()
        line.show(LONGEST_WAIT_S + 5, 97)

        since = [(at_s, fault) for at_s, fault in line.faults() if at_s >= pulled_s]
        assert since[0][0] - pulled_s < 0.2
        assert since[0][1]
        assert since[-1][1] == ""
        assert since[-1][0] - plugged_s <= LONGEST_WAIT_S + STEP_S
    assert line.said() == [SETTINGS.words.feed_lost] * 5
    line.show(4, 93)
    assert line.said()[-1] == "Saturation ninety-three."
    line.watcher.end()


def test_attempts_become_seldom_and_never_stop(line: Line, monkeypatch: pytest.MonkeyPatch) -> None:
    """The port is looked for soon at first, then every two seconds, for an hour if it must be."""
    attempts: list[float] = []
    opened = SerialFeed._opened

    def counted(feed: SerialFeed) -> object:
        attempts.append(line.clock.now_s())
        return opened(feed)

    monkeypatch.setattr(SerialFeed, "_opened", counted)
    line.run(3600)

    waits_s = [round(b - a, 1) for a, b in pairwise(attempts)]
    assert waits_s[:5] == pytest.approx([0.25, 0.5, 1.0, 2.0, 2.0], abs=0.1)
    assert max(waits_s) <= LONGEST_WAIT_S + 2 * STEP_S
    assert 1700 < len(attempts) < 1850
    line.plug_in()
    line.show(5, 97)
    assert line.feed.fault == ""
    line.watcher.end()


def test_a_port_that_may_not_be_opened(line: Line, tmp_path: Path) -> None:
    """Permission denied is written down in the system's own words, and cured by itself.

    Whoever may do everything is refused nothing, so for the superuser a folder stands in: it
    cannot be opened as a port either.
    """
    if os.geteuid() == 0:
        line.port.mkdir()
    else:
        line.port.touch(mode=0o000)
    line.run(10)

    (_, fault), *_ = line.faults()
    assert "Permission denied" in fault or "Is a directory" in fault
    assert line.said() == [SETTINGS.words.feed_lost]

    line.port.rmdir() if line.port.is_dir() else line.port.unlink()
    line.plug_in()
    line.show(5, 97)
    assert line.faults()[-1][1] == ""
    line.watcher.end()


def test_a_second_reader_is_kept_out(line: Line) -> None:
    """Two programs on one port would each lose half: the second is told so, and waits."""
    line.plug_in()
    line.show(3, 97)
    # A pseudo-terminal has no parity, and opened twice it says so.
    plain = LAYOUT.model_copy(update={"line": SerialLine(baud=9600)})
    second = SerialFeed(str(line.port), plain, line.clock)

    assert second.read() == ()
    assert "lock" in second.fault

    line.feed.close()
    line.clock.move_to(line.clock.now_s() + 5)
    second.read()
    assert second.fault == ""
    second.close()


def test_the_wrong_speed_is_garbage(line: Line) -> None:
    """Bytes without a frame are a fault with a hint, and one call; the right speed ends it."""
    line.plug_in()
    began_s = line.clock.now_s()
    garbage = bytes(byte & 0x7F for byte in os.urandom(12))
    line.run(20, garbage)

    assert line.faults()[-1] == (pytest.approx(began_s + QUIET_S, abs=0.2), GARBLED)
    assert line.said() == [SETTINGS.words.feed_lost]

    line.show(5, 97)
    assert line.faults()[-1][1] == ""
    line.watcher.end()


def test_a_device_that_sends_nothing(line: Line) -> None:
    """An open port on which nothing comes is a fault with another hint, and one call."""
    line.plug_in()
    line.run(30)

    assert line.faults()[-1][1] == SILENT
    assert line.said() == [SETTINGS.words.feed_lost]
    line.watcher.end()


def test_half_frames(line: Line) -> None:
    """A line that loses every other byte makes no false call, and one for the loss."""
    line.plug_in()
    line.show(5, 97)
    frame = LAYOUT.encode(97, 80, 50)
    line.run(15, frame[:2] + frame[3:4])
    assert line.said() == [SETTINGS.words.feed_lost]

    line.show(5, 97)
    for half in (frame[:3], frame[3:]) * 40:  # a frame in two pieces is a frame
        line.run(STEP_S, half)
    line.show(4, 93)
    assert line.said() == [SETTINGS.words.feed_lost, "Saturation ninety-three."]
    line.watcher.end()


def _garbage(frame: bytes, spo2_percent: int) -> bytes:
    """Random bytes that are no frame of another saturation.

    This layout has no checksum: seven random bytes now and then are a valid frame, and no watcher
    could tell it from a true one.
    """
    while True:
        noise = os.urandom(7)
        read = LAYOUT.decoder().take((noise + frame * 5) * 2, 0.0)
        if {sample.spo2_percent for sample in read} == {spo2_percent}:
            return noise


def test_a_flood_hides_no_crossing(line: Line) -> None:
    """As much as the line can hold at every step, with garbage in it, and the call is on time."""
    line.plug_in()
    layout, number = LAYOUT, 0

    def flood(seconds: float, spo2: int) -> None:
        nonlocal number
        for _ in range(round(seconds / STEP_S)):
            number += 1
            frame = layout.encode(spo2, 80, number % 100)
            with suppress(BlockingIOError):  # the line is full: a serial line loses it too
                line.send((_garbage(frame, spo2) + frame * 5) * 200)
            line.run(STEP_S)

    flood(4, 97)
    began_s = line.clock.now_s()
    flood(3, 93)

    (call,) = [row for row in line.rows if row.kind == "said"]
    assert call.text == "Saturation ninety-three."
    assert call.at_s - began_s == pytest.approx(SETTINGS.crossing.held_s, abs=0.3)
    line.watcher.end()


@pytest.mark.parametrize("name", ["five-byte", "three-byte", "text-line", "columns"])
def test_every_serial_layout_through_a_real_port(name: str, tmp_path: Path) -> None:
    """Each of the site's serial layouts gives its samples through a pseudo-terminal."""
    settings = SETTINGS.model_copy(update={"layout": name})
    master, port = open_pty()
    clock = SoundClock()
    feed = SerialFeed(port, settings.frame_layout, clock)
    samples: list[Sample] = list(feed.read())
    for spo2 in (97, 96, 95):
        clock.move_to(clock.now_s() + 1)
        os.write(master, settings.frame_layout.encode(spo2, 70))
        samples += feed.read()
    feed.close()
    os.close(master)

    assert [(one.at_s, one.spo2_percent) for one in samples] == [(1, 97), (2, 96), (3, 95)]
