"""The floor: who speaks, and who is heard.

Three take it: the assistant with its lines, the watcher with its calls, and whoever is in the room.
A call goes before everything; after it people have the floor for a moment, as they act on it and
say so. Nothing here knows the case, nor what words mean.
"""

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, Samples, silence
from assistant.clock import Clock
from assistant.conversation.gate import Gate
from assistant.conversation.lines import Lines
from assistant.conversation.turn import AFTER_CALL_S, BETWEEN_S, ONCE_MORE_S, Turn
from assistant.conversation.unheard_calls import NEWS_S, UnheardCalls
from assistant.oximeter.messages import Calling
from assistant.speaking.mouth import Line, Urgency


class Floor:
    """Passes from one to the other, block by block."""

    def __init__(self, gate: Gate, lines: Lines, clock: Clock) -> None:
        """`lines` are the assistant's, and `gate` is the microphone's."""
        self._gate = gate
        self._lines = lines
        self._mouth = lines.mouth
        self._clock = clock
        self._turn = Turn()
        self._unheard = UnheardCalls()
        self._asks_again = False
        """A call has ended and no line waited: what was open is to be asked again."""
        self._answers_at_once = False
        """Somebody was heard as a call began, and is answered as soon as it ends."""

    def begin_block(self, at_s: float) -> None:
        """Before anything else in each block: a call may have ended with the one before."""
        if self._gate.call_has_ended(at_s):
            self._end_call(at_s, leaves_turn=not self._answers_at_once)
            self._answers_at_once = False

    def awaits(self, at_s: float) -> bool:
        """Whether nothing is left to be said, and somebody who speaks from `at_s` on is heard."""
        return self._gate.awaits(at_s, speaking=self._mouth.busy or self._mouth.held)

    def is_shut(self, at_s: float) -> bool:
        """Whether nobody is heard in this block."""
        return self._gate.is_shut(at_s, speaking=self._mouth.speaks)

    def is_free(self, at_s: float, *, somebody_speaks: bool) -> bool:
        """Whether a line may begin that nobody's words have called for; asked once a block."""
        return self._turn.is_free(at_s, somebody_speaks=somebody_speaks)

    def go_on(self) -> bool:
        """Nobody else takes it: on with the lines. Returns whether what was open is to be asked
        again."""
        if self._gate.calling or not self._mouth.held:
            return False
        self._mouth.go_on()
        asks_again, self._asks_again = self._asks_again, False
        return asks_again

    def pull(self, at_s: float, *, hold: bool) -> Samples:
        """What is said in the block that begins at `at_s`, shape (512,); with `hold`, nothing."""
        speaks = self._mouth.speaks
        silent = hold or not self._gate.speaks
        sound = silence(BLOCK_S) if silent else self._mouth.pull(BLOCK_SAMPLES)
        if speaks:  # what leaves now is played now, however old the block is that was heard
            self._gate.spoke(max(at_s, self._clock.now_s() - BLOCK_S))
        if speaks and self._mouth.takes_breath:
            self._turn.leave_it(self._gate.opens_s + BETWEEN_S)
        return sound

    def over(self, line: Line, *, said: bool) -> None:
        """A line waits no more, and was `said` to its end; else the voice has no sound for it."""
        if line.tag != "call":
            return
        self._unheard.ended(line.text)
        if said and not self._mouth.has_safety_to_say:
            self._mouth.give_way()
            self._end_call(self._clock.now_s(), leaves_turn=True)

    def answer(self) -> None:
        """Somebody has said something: they are answered at once, but for a call."""
        self._asks_again = False
        self._answers_at_once = self._gate.calling
        if not self._gate.calling:
            self._turn.take_it()
            self._mouth.go_on()

    def leave_for_more(self, ended_s: float) -> None:
        """Somebody got a word in that ended then and was not understood: they may say it again."""
        self._turn.leave_it(ended_s + ONCE_MORE_S)

    def give_way(self, until_s: float) -> None:
        """The watcher calls until then: fall silent, and do not hear the call as an answer."""
        if not self._gate.calling:
            self._lines.put_by()
        self._gate.call(until_s)

    def overtaken_by(self, call: Calling) -> None:
        """The watcher makes this call itself: what is older and was not heard is not said."""
        self._leave_unsaid(self._unheard.overtaken(call), "a newer call was made")

    def call_for_watcher(self, call: Calling) -> None:
        """The watcher has no loudspeaker of its own: make its call before anything else.

        Without one here, or late, it is made once the watcher is seen to see that it is so.
        """
        if self._gate.speaks and self._clock.now_s() - call.started_s < NEWS_S:
            self._call(call)
        else:
            self._unheard.wait(call)

    def saturation_is(self, spo2_percent: int | None) -> None:
        """What the watcher sees: a call that has waited is made if it is still so."""
        if self._gate.speaks:
            call, idle = self._unheard.settled(spo2_percent)
            self._leave_unsaid(idle, "it could not be said in time")
            if call is not None:
                self._call(call)

    def sound_is(self, *, hears: bool, speaks: bool) -> bool:
        """What microphone and loudspeaker can do from now on; whether both are back just now."""
        if self._gate.speaks and not speaks:
            self._lines.break_off()
            if not self._gate.calling:
                self._mouth.go_on()
            self._unheard.broken_off()
        return self._gate.sound_is(hears=hears, speaks=speaks)

    def _call(self, call: Calling) -> None:
        self._lines.put_by()
        self.overtaken_by(call)
        self._unheard.being_said(call)
        self._mouth.say_first(_line(call))
        self._mouth.go_on()

    def _leave_unsaid(self, calls: list[Calling], why: str) -> None:
        self._lines.leave_unsaid([_line(call) for call in calls], why)

    def _end_call(self, at_s: float, *, leaves_turn: bool) -> None:
        self._asks_again = not self._mouth.busy
        if leaves_turn:
            self._turn.leave_it(at_s + AFTER_CALL_S)


def _line(call: Calling) -> Line:
    return Line(call.text, "call", urgency=Urgency.SAFETY)
