"""The assistant's lines: each on record as it begins, as it is cut, and when the voice gives no
sound; what is said later of one that was cut; and the question that stands."""

from collections.abc import Callable, Collection

from assistant.clock import Clock
from assistant.conversation.cut_lines import CutLines
from assistant.conversation.last_prompt import LastPrompt
from assistant.conversation.patience import Patience
from assistant.conversation.recorder import CaseRecorder
from assistant.speaking.mouth import Line, Mouth, Urgency
from assistant.speaking.tags import Safety
from assistant.speaking.voices import Voice
from assistant.speaking.wording import Wording


class Lines:
    """Follows each line from the queue of the mouth to its end."""

    def __init__(
        self,
        wording: Wording,
        voice: Voice,
        clock: Clock,
        recorder: CaseRecorder,
        *,
        breath_s: float,
        on_over: Callable[[Line, bool], None],
    ) -> None:
        """Between two breaths of a line there are `breath_s` of silence.

        `on_over` is told of each line that is over, and whether it was said to its end; else the
        voice has no sound for it.
        """
        timing = wording.timing
        self._clock = clock
        self._recorder = recorder
        self._breath_s = breath_s
        self._on_over = on_over
        self._not_spoken = wording.live.not_spoken
        self._cut_lines = CutLines()
        self.mouth = Mouth(voice, self._began, self._ended, self._failed, breathes=True)
        self.prompt = LastPrompt(timing.answer_window_s, wording.may_be_said.takes_back)
        self.patience = Patience(timing.ask_again_after_s, timing.still_held_after_s)
        self.unspoken = 0
        """Lines for which the voice gave no sound."""

    def say(self, line: Line) -> None:
        """Queue a line; of one that words have cut before, what nobody has heard."""
        line = self._cut_lines.gone_on_with(line)
        self.prompt.queued(line)
        self.mouth.say(line)

    def say_for_safety(self, text: str, tag: Safety) -> None:
        """Queue a line before all that is less urgent; no words cut it."""
        self.mouth.say(Line(text, tag, urgency=Urgency.SAFETY))

    def put_by(self) -> None:
        """The watcher calls: fall silent, and keep what is to be said of a line later."""
        self.prompt.called(self._clock.now_s())
        cut = self.mouth.give_way()
        rest = None if cut is None else self._cut_lines.after_a_call(cut)
        if rest is not None:
            self.mouth.say_first(rest)
        elif cut is not None:
            self._recorder.cut_short(cut.line)

    def cut_short(self) -> list[Line]:
        """Somebody interrupts: stop speaking, and have on record what was not said to its end; also
        what a call had cut, and was to be said after it. Returns those lines."""
        cut = self.mouth.cut_short() if self.mouth.busy else None
        unsaid = [one for one in (self._cut_lines.waiting(), cut) if one is not None]
        for one in unsaid:
            self._recorder.cut_short(one.line)
            self._cut_lines.by_words(one)
        return [one.line for one in unsaid]

    def break_off(self) -> None:
        """The loudspeaker is gone: fall silent. What was being said is said from its beginning, but
        for a call."""
        cut = self.mouth.give_way()
        if cut is not None:
            self.mouth.say_first(cut.line)
        self.mouth.forget(lambda line: line.tag == "call")

    def leave_unsaid(self, lines: Collection[Line], why: str) -> None:
        """They are not to be said any more."""
        self.mouth.forget(lambda line: line in lines)
        for line in lines:
            self._recorder.not_spoken(line, why)

    def leave_what_is_late(self) -> None:
        """What has not begun in its time is not true any more."""
        now_s = self._clock.now_s()
        for line in self.mouth.forget(lambda line: line.until_s < now_s):
            self._recorder.not_spoken(line, "it was too late")

    def _began(self, line: Line) -> None:
        self._cut_lines.began(line)
        lasts_s = self.mouth.left_s(self._breath_s)
        self._recorder.said(line, lasts_s)
        self.patience.line_began(line, lasts_s)
        self.prompt.began(line, self._clock.now_s(), lasts_s)

    def _ended(self, line: Line) -> None:
        now_s = self._clock.now_s()
        self._recorder.said_to_the_end(line)
        self.patience.line_ended(line, now_s)
        self.prompt.ended(line, now_s)
        self._on_over(line, True)

    def _failed(self, line: Line, why: str) -> None:
        """The voice gave no sound: on record as not spoken, and a question is tried again."""
        self._cut_lines.began(line)
        self._recorder.not_spoken(line, why)
        self.unspoken += 1
        self.patience.line_ended(line, self._clock.now_s())
        self.prompt.failed(line)
        self._on_over(line, False)
        if line.text != self._not_spoken:  # rendered beforehand, unless that failed
            self.say_for_safety(self._not_spoken, "not-spoken")
