"""The mouth: what goes first, what gives way, and what has been said when."""

import numpy as np
import pytest

from assistant.audio.sound import RATE_HZ, Samples
from assistant.errors import BadInput
from assistant.speaking.mouth import Line, Mouth, Urgency
from assistant.speaking.sentences import in_breaths

LENGTHS = {"first": 1000, "second": 512, "third": 700, "call": 300}
LONG = "One two three four five six seven eight. And nine ten eleven twelve."
LENGTHS |= dict(zip(in_breaths(LONG), (1500, 600), strict=True))


class ToneVoice:
    """A stand-in voice: each text is a steady sound of a length and a height of its own."""

    def render(self, text: str) -> Samples:
        if text not in LENGTHS:
            raise BadInput("no sound for that")
        return np.full(LENGTHS[text], list(LENGTHS).index(text) + 1, dtype=np.int16)


class Listener:
    """Pulls the mouth's sound and notes what it is told, with the samples heard by then."""

    def __init__(self) -> None:
        self.told: list[tuple[str, str, int]] = []
        self.heard = np.zeros(0, dtype=np.int16)
        self.mouth = Mouth(ToneVoice(), self._start, self._end, self._failed, breathes=True)

    def pull(self, *sizes: int) -> None:
        for size in sizes:
            block = self.mouth.pull(size)
            assert block.shape == (size,)
            assert block.dtype == np.int16
            self.heard = np.concatenate([self.heard, block])

    def samples_of(self, text: str) -> int:
        return int(np.sum(self.heard == list(LENGTHS).index(text) + 1))

    def _start(self, line: Line) -> None:
        self.told.append(("start", line.text, len(self.heard)))

    def _end(self, line: Line) -> None:
        self.told.append(("end", line.text, len(self.heard)))

    def _failed(self, line: Line, why: str) -> None:
        self.told.append(("failed", f"{line.text}: {why}", len(self.heard)))


@pytest.fixture
def listener() -> Listener:
    return Listener()


def line(text: str, urgency: Urgency = Urgency.ANSWER) -> Line:
    return Line(text, "noted", urgency=urgency)


def test_a_line_is_said_whole_and_then_there_is_silence(listener: Listener) -> None:
    """Every sample once, however it is pulled; then nothing."""
    listener.mouth.say(line("first"))
    listener.pull(512, 100, 512, 512)

    assert listener.samples_of("first") == 1000
    assert not listener.heard[1000:].any()
    assert not listener.mouth.busy


def test_it_is_told_before_the_first_sample(listener: Listener) -> None:
    """The record has a line before anybody hears any of it, and its end when it has ended."""
    listener.mouth.say(line("first"))
    assert listener.mouth.busy
    assert listener.told == []

    listener.pull(512)
    assert listener.told == [("start", "first", 0)]
    listener.pull(512)
    assert listener.told[1:] == [("end", "first", 512)]


def test_lines_follow_by_urgency_and_then_in_order(listener: Listener) -> None:
    """Safety before an answer, an answer before the next question, else first come first said."""
    listener.mouth.say(line("first", Urgency.ASK))
    listener.mouth.say(line("second", Urgency.ANSWER))
    listener.mouth.say(line("third", Urgency.ANSWER))
    listener.mouth.say(line("call", Urgency.SAFETY))
    listener.pull(*[512] * 8)

    assert [text for what, text, _ in listener.told if what == "start"] == [
        "call",
        "second",
        "third",
        "first",
    ]


def test_a_more_urgent_line_does_not_cut_another_short(listener: Listener) -> None:
    """It comes next; only the watcher's call makes the mouth give way."""
    listener.mouth.say(line("first", Urgency.ASK))
    listener.pull(512)
    listener.mouth.say(line("call", Urgency.SAFETY))
    listener.pull(512, 512)

    assert listener.samples_of("first") == 1000
    assert [told[:2] for told in listener.told] == [
        ("start", "first"),
        ("end", "first"),
        ("start", "call"),
        ("end", "call"),
    ]


def test_what_a_call_cuts_is_handed_back_and_may_be_said_first(listener: Listener) -> None:
    """It falls silent at once, stays so until it may go on, and says what it is given then."""
    listener.mouth.say(line("first"))
    listener.mouth.say(line("second"))
    listener.pull(512)
    cut = listener.mouth.give_way()
    listener.pull(512, 512)
    assert not listener.heard[512:].any()
    assert listener.mouth.busy
    assert not listener.mouth.speaks
    assert cut is not None
    assert (cut.line, cut.rest) == (line("first"), line("first"))
    assert cut.left_s == pytest.approx(488 / RATE_HZ)

    listener.mouth.say_first(cut.rest)
    listener.mouth.go_on()
    listener.pull(*[512] * 4)
    assert listener.samples_of("first") == 512 + 1000
    assert [told[:2] for told in listener.told] == [
        ("start", "first"),
        ("start", "first"),
        ("end", "first"),
        ("start", "second"),
        ("end", "second"),
    ]


def test_what_is_said_while_it_gives_way_waits(listener: Listener) -> None:
    """Nothing new is begun over a call, however urgent; a second call cuts nothing."""
    listener.mouth.say(line("first", Urgency.ASK))
    listener.pull(512)
    assert listener.mouth.give_way() is not None
    assert listener.mouth.give_way() is None
    listener.mouth.say(line("second", Urgency.ASK))
    listener.mouth.say(line("call", Urgency.SAFETY))
    listener.pull(512)
    assert not listener.heard[512:].any()

    listener.mouth.go_on()
    listener.pull(*[512] * 5)
    starts = [text for what, text, _ in listener.told if what == "start"]
    assert starts == ["first", "call", "second"]


def test_what_a_line_still_lasts_has_its_breaths_in_it(listener: Listener) -> None:
    """A plain yes counts over the last words of a question: sooner, it would be to half a plan."""
    listener.mouth.say(line(LONG))
    listener.pull(512)
    assert listener.mouth.left_s(0.5) == pytest.approx((1500 + 600 - 512) / RATE_HZ + 0.5)
    listener.pull(512, 512)
    listener.mouth.go_on()
    assert listener.mouth.left_s(0.5) == pytest.approx(600 / RATE_HZ)


def test_between_two_breaths_of_a_line_it_waits_to_be_let_go_on(listener: Listener) -> None:
    """Its start and its end are told once; what is cut in the second breath goes on with that."""
    one, two = in_breaths(LONG)
    listener.mouth.say(line(LONG))
    listener.pull(*[512] * 6)
    assert listener.samples_of(one) == 1500
    assert listener.samples_of(two) == 0
    assert listener.mouth.takes_breath
    assert not listener.mouth.speaks

    listener.mouth.go_on()
    listener.pull(512)
    cut = listener.mouth.give_way()
    assert cut is not None
    assert (cut.line.text, cut.rest.text) == (LONG, two)
    listener.mouth.say_first(cut.line)
    listener.mouth.go_on()
    listener.pull(*[512] * 3)
    listener.mouth.go_on()
    listener.pull(*[512] * 2)
    assert [what for what, *_ in listener.told] == ["start", "start", "end"]
    assert not listener.mouth.busy


@pytest.mark.parametrize(
    ("text", "breaths"),
    [
        ("Leader. Weight in kilograms?", 1),
        ("I heard seventy-five: seven five, kilograms. Correct?", 1),
        ("First attempt has failed. Bag now, oxygen up. Say what changes before the next one.", 2),
        ("A plan of which nobody has heard a word. " * 3 + "Agreed?", 3),
    ],
)
def test_a_short_line_has_no_breaths(text: str, breaths: int) -> None:
    """Where only a word or two follow, nobody is kept waiting for them."""
    assert len(in_breaths(text)) == breaths
    assert " ".join(in_breaths(text)) == text


def test_a_line_that_the_voice_cannot_say_is_left_out_and_told(listener: Listener) -> None:
    """It never counts as begun or ended, and what waits behind it is said."""
    listener.mouth.say(line("unspeakable"))
    listener.mouth.say(line("second"))
    listener.pull(512, 512, 512)

    assert [what for what, *_ in listener.told] == ["failed", "start", "end"]
    assert listener.told[0][1] == "unspeakable: no sound for that"
    assert listener.samples_of("second") == 512
