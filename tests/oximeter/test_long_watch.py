"""A shift at the bedside in lock-step: frames through a real port, against an oracle of its own.

The oracle knows from the making of the feed which samples are true, and looks back over them for
each decision, as docs/crossing-rule.md says it in words; it shares no line with the rule.
SPOKEN_BRIEF_WATCH_HOURS makes the shift longer.
"""

import os
import random
import select
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from assistant.audio.sound import RATE_HZ, Samples, silence
from assistant.clock import SoundClock
from assistant.files.yaml_files import read_yaml
from assistant.oximeter.calls import ReadyCalls
from assistant.oximeter.feed import SerialFeed
from assistant.oximeter.messages import Calling, Message
from assistant.oximeter.record import WatcherRow
from assistant.oximeter.settings import OximeterSettings
from assistant.oximeter.watcher import Watcher
from assistant.patient.finger import open_pty

HOURS = int(os.environ.get("SPOKEN_BRIEF_WATCH_HOURS", "8"))
SETTINGS = read_yaml(
    Path(__file__).parents[2] / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings
).model_copy(update={"layout": "three-byte"})
LAYOUT = SETTINGS.frame_layout
SAID_AGAIN_S, LOW_KEPT_S = 120, 30
Called = tuple[float, str, int | None]


@dataclass(slots=True)
class Second:
    """What happens in one second."""

    frame: bytes = b""
    true_percent: int | None = None
    """The saturation, where the frame has it and it is to be believed."""


def feed(seconds: int, seed: int) -> list[Second]:
    """Drift about the threshold, slow falls, motion, a finger that slips, a plug that is pulled."""
    chance = random.Random(seed)
    made: list[Second] = []
    saturation, aim, good_s = 96, 96, 0
    while len(made) < seconds:
        if chance.random() < 0.02:
            # Mostly about the threshold and its margin, sometimes far below.
            aim = chance.choice([90, 91, 92, 93, 94, 95, 96, 97, 98, 99, 86, 84, 78, 70, 60])
        if chance.random() < 0.4:
            saturation += (aim > saturation) - (aim < saturation)
        pulse = 70 + len(made) % 3
        event = chance.random()
        if event < 0.002:  # the finger slips out
            made += [Second(LAYOUT.encode(None, None, flags=("no finger",)))] * chance.randint(
                1, 30
            )
            good_s = 0
        elif event < 0.003:  # the plug is pulled
            made += [Second()] * chance.randint(1, 20)
            good_s = 0
        elif event < 0.006:  # marked by the device itself as an artefact
            shown = chance.randint(40, 100)
            frame = LAYOUT.encode(shown, pulse, flags=("artefact",))
            made += [Second(frame)] * chance.randint(1, 8)
            good_s = 0
        elif event < 0.012 and good_s >= 5:  # motion: a figure that is far off, and not marked
            off = chance.choice([-15, -25, -40, 15, 30])
            made += [Second(LAYOUT.encode(max(0, saturation + off) % 128, pulse))] * 2
            good_s = 0
        elif event < 0.013:  # no pulse found
            made += [Second(LAYOUT.encode(saturation, None))] * chance.randint(1, 12)
            good_s = 0
        else:
            made.append(Second(LAYOUT.encode(saturation, pulse), saturation))
            good_s += 1
    return made[:seconds]


class Oracle:
    """Looks back over the whole shift, second by second."""

    def __init__(self, shift: list[Second]) -> None:
        self.shift = shift
        self._rule = SETTINGS.crossing
        self._resets = [0] * len(shift)
        """For each second, the last one before which nothing counts: a loss lay between."""

    def look(self) -> list[Called]:
        losses = [*self._losses()]
        return sorted([*losses, *self._falls()], key=lambda call: call[0])

    def _losses(self) -> Iterator[Called]:
        """Loss of the signal and of the feed; on the way, what they make of the time before."""
        rule, reset = self._rule, 0
        framed_at = signal_at = steady_since = lost_at = 0
        signal_called = feed_called = False
        signal_said = feed_said = -SAID_AGAIN_S
        for now, second in enumerate(self.shift):
            if second.frame:
                if now - framed_at >= rule.feed_lost_s:
                    reset = signal_at = now
                elif now - signal_at >= rule.signal_lost_s:
                    reset = now
                steady_since = steady_since if now - framed_at <= 2 else now
                framed_at = now
            signal_at = now if self._true(now) else signal_at
            self._resets[now] = reset
            feed_called &= now - steady_since < rule.back_s
            signal_called = signal_called and self._good_s(lost_at, now) < rule.back_s
            if now - framed_at >= rule.feed_lost_s:
                steady_since = now
                if not feed_called or (framed_at > feed_said and now - feed_said >= SAID_AGAIN_S):
                    yield (now, "feed-lost", None)
                    feed_said = now
                feed_called = True
            elif now - framed_at < 2 and now - signal_at >= rule.signal_lost_s:
                lost_at = now
                seen = any(map(self._true, range(max(0, signal_said), now)))
                if not signal_called or (seen and now - signal_said >= SAID_AGAIN_S):
                    yield (now, "signal-lost", None)
                    signal_said = now
                signal_called = True

    def _falls(self) -> Iterator[Called]:
        """Levels that were reached and held, and new falls from a plateau."""
        rule, fell = self._rule, False
        armed = dict.fromkeys(rule.levels_percent(), True)
        last: tuple[int, int] | None = None
        for now, second in enumerate(self.shift):
            if second.frame:
                for level in armed:
                    above = level + rule.rearm_margin_percent
                    armed[level] |= self._held(now, above + 1, 101, rule.rearm_s)
            percent = second.true_percent
            if percent is None:
                continue
            fell |= percent > rule.threshold_percent
            due = [
                level
                for level, can_be in armed.items()
                if can_be and percent <= level and self._low(now, level, rule.held_s)
            ]
            if due:
                armed.update(dict.fromkeys(due, False))
                yield (now, "fell" if fell else "started-low", due[-1])
                fell, last = True, (now, due[-1])
            elif last and not armed[rule.threshold_percent] and percent <= rule.threshold_percent:
                level = self._new_fall(now, percent, *last)
                near = range(level - rule.new_fall_percent + 1, level + 1)
                if level and not any(armed.get(other) for other in near):
                    yield (now, "fell-again", level)
                    last = (now, level)

    def _new_fall(self, now: int, percent: int, called_at: int, called: int) -> int:
        """The level of a new fall since the last call, which is held now; 0 for none."""
        rule = self._rule
        since = max(called_at, self._resets[now])
        lasting = self._stretch(since, now, called + 1, rule.plateau_s)
        if lasting is None:
            return 0
        best = next(
            high
            for high in range(100, called, -1)
            if self._stretch(lasting, now, high, rule.held_s) is not None
        )
        level = min(best - rule.new_fall_percent, rule.threshold_percent)
        if level < max(percent, rule.lowest_level_percent):
            return 0
        return level if self._held(now, 0, level, rule.held_s) else 0

    def _stretch(self, since: int, now: int, lowest: int, for_s: float) -> int | None:
        """When the first stretch began that was this high or higher for so long."""
        began, lasted_s = since, 0.0
        for then in range(since, now):
            percent = self.shift[then].true_percent
            if percent is None:
                continue
            if percent < lowest:
                began, lasted_s = then + 1, 0.0
                continue
            lasted_s += self._stood_s(then)
            if lasted_s >= for_s:
                return began
        return None

    def _good_s(self, since: int, now: int) -> float:
        """Seconds of believed signal between."""
        return sum(self._stood_s(then) for then in range(since, now) if self._true(then))

    def _held(self, now: int, lowest: int, highest: int, for_s: float) -> bool:
        """Whether it was within these for so long, by believed samples, without one outside."""
        lasted_s = 0.0
        for then in range(now - 1, self._resets[now] - 1, -1):
            percent = self.shift[then].true_percent
            if percent is None:
                continue
            if lasted_s >= for_s or not lowest <= percent <= highest:
                break
            lasted_s += self._stood_s(then)
        return lasted_s >= for_s

    def _low(self, now: int, level: int, for_s: float) -> bool:
        """Whether it was at or below this for so long, with losses between or without."""
        lasted_s, next_true, next_frame = 0.0, now, now
        for then in range(now - 1, -1, -1):
            if self._true(then):
                percent = self.shift[then].true_percent
                too_long = next_true - then > LOW_KEPT_S
                if lasted_s >= for_s or too_long or percent is None or percent > level:
                    break
                is_last = next_frame - then >= self._rule.feed_lost_s
                lasted_s += 1.0 if is_last else self._stood_s(then)
                next_true = then
            if self.shift[then].frame:
                next_frame = then
        return lasted_s >= for_s

    def _true(self, then: int) -> bool:
        return self.shift[then].true_percent is not None

    def _stood_s(self, then: int) -> float:
        """Until the next frame, two seconds at the most."""
        return 1.0 if then + 1 < len(self.shift) and self.shift[then + 1].frame else 2.0


class Bedside:
    """The watcher on a real port, and what it calls."""

    def __init__(self) -> None:
        self.clock = SoundClock()
        self.called: list[Called] = []
        self.rows = 0
        self.master, port = open_pty()
        self._reader = os.open(port, os.O_RDONLY | os.O_NOCTTY)
        self.watcher = Watcher(
            SETTINGS,
            SerialFeed(port, LAYOUT, self.clock),
            speak=self,
            record=self,
            clock=self.clock,
            tell=self.tell,
            calls=ReadyCalls(SETTINGS.crossing, SETTINGS.words, lambda _text: silence(0.1)),
        )

    def say(self, samples: Samples) -> float:
        return self.clock.now_s() + len(samples) / RATE_HZ

    def add(self, row: WatcherRow) -> None:
        self.rows += 1

    def tell(self, message: Message) -> None:
        if isinstance(message, Calling):
            self.called.append((message.started_s, message.kind, message.level_percent))

    def live(self, now: int, second: Second) -> None:
        self.clock.move_to(float(now))
        if second.frame:
            os.write(self.master, second.frame)
            select.select([self._reader], [], [], 10.0)  # a busy kernel carries it over later
        self.watcher.step()

    def close(self) -> None:
        self.watcher.end()
        os.close(self.master)
        os.close(self._reader)


def resident_bytes() -> int:
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE")


@pytest.mark.parametrize("seed", [1])
def test_a_shift_of_calls(seed: int) -> None:
    """Every call of the shift is the oracle's, at its second; and memory stays flat."""
    shift = feed(HOURS * 3600, seed)
    wanted = Oracle(shift).look()
    bedside = Bedside()
    early = 0
    for now, second in enumerate(shift):
        bedside.live(now, second)
        if now == 3600:
            early = resident_bytes()
    grown = resident_bytes() - early
    bedside.close()

    kinds = {kind for _, kind, _ in wanted}
    print(f"{HOURS} h: {len(wanted)} calls, {bedside.rows} rows, memory grew by {grown} bytes")
    assert len(wanted) > 20 * HOURS
    assert kinds == {"fell", "fell-again", "signal-lost", "feed-lost"}
    assert bedside.called == wanted
    assert grown < 2_000_000
