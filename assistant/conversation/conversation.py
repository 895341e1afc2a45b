"""The conversation of one case: sound in, sound out, block by block.

microphone -> ear -> caller -> journal -> mouth -> loudspeaker. What was heard is on disk before
anything is said about it, and a line is on disk before its first sample leaves.
"""

from collections.abc import Callable

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, Samples, mixed, silence
from assistant.brief.attempt import breath_every_s
from assistant.brief.caller import Caller
from assistant.brief.case import Case
from assistant.brief.events.course import Marked
from assistant.brief.moment import Happened, Steps
from assistant.brief.prompts import AWAITING
from assistant.brief.states import State
from assistant.conversation.admission import Admission
from assistant.conversation.cut_dose import CutDose
from assistant.conversation.cut_lines import CutLines
from assistant.conversation.gate import Gate
from assistant.conversation.last_prompt import LastPrompt
from assistant.conversation.parts import Parts, ResumedCase, SoundPath
from assistant.conversation.patience import Patience
from assistant.conversation.recorder import SOUND_KEPT, CaseRecorder
from assistant.conversation.turn import AFTER_CALL_S, BETWEEN_S, GOES_ON_S, ONCE_MORE_S, Turn
from assistant.conversation.understanding import Understanding
from assistant.conversation.unheard_calls import NEWS_S, UnheardCalls
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Heard, Reading, Verdict
from assistant.hearing.ear import SPOKEN_OVER
from assistant.journal.rows import Row
from assistant.oximeter.messages import Calling
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.phrasebook.sense import makes_sense
from assistant.site.site import Site
from assistant.speaking.mouth import Line, Mouth, Urgency
from assistant.speaking.pacer import Pacer

CALL = "call"
"""The tag of a line that is the watcher's."""
WATCHER_LOST, WATCHER_BACK = "watcher-lost", "watcher-back"


class Conversation:
    """Steps one case; whoever has the sound calls `step` once a block."""

    def __init__(
        self,
        site: Site,
        parts: Parts,
        *,
        resumed: ResumedCase | None = None,
        sound: SoundPath | None = None,
        phrasebook: Phrasebook | None = None,
        on_row: Callable[[Row], None] = lambda _row: None,
        on_said: Callable[[Line], None] = lambda _line: None,
    ) -> None:
        """A new case, or one that goes on.

        `phrasebook` is the site's own, where somebody has built it already. `on_row` is told of
        each row once it is on disk, `on_said` of each line at its end.
        """
        sound = sound or SoundPath()
        timing = site.wording.timing
        self._site = site
        self._clock = parts.clock
        self._ear = parts.ear
        self._on_said = on_said
        past = () if resumed is None else resumed.past
        self.case = Case.rebuilt(site.brief, past)
        self._caller = Caller(site, self.case)
        self._recorder = CaseRecorder(
            *(parts.journal, self.case),
            on_row=on_row,
            on_loss=lambda: self._say_for_safety(site.wording.says.record_lost, "record-lost"),
            sounds=parts.sounds,
        )
        self._mouth = Mouth(
            *(parts.voice, self._said, self._said_to_the_end, self._not_said), breathes=True
        )
        self._cut_lines = CutLines()
        self._cut_dose = CutDose()
        self._owes_prompt = False
        """The watcher has called, and what was open is to be said again."""
        self._owes_answer = False
        """Somebody has said something just before, and is still to be answered."""
        self._gate = Gate(
            timing.tail_s if sound.tail_s is None else sound.tail_s,
            may_interrupt=sound.may_interrupt,
        )
        self._patience = Patience(timing.ask_again_after_s, timing.still_held_after_s)
        self._prompt = LastPrompt(timing.answer_window_s, site.wording.may_be_said.takes_back)
        self._admission = Admission(self.case, self._gate, self._prompt)
        self._unheard = UnheardCalls()
        self._turn = Turn()
        self._pacer = Pacer()
        self._phrasebook = phrasebook or Phrasebook(site)
        self._grammar: Grammar | None = None
        self._understanding = Understanding(site.wording.live)
        self.unspoken = 0
        """Lines for which the voice gave no sound."""
        if parts.sounds is not None:
            self._say_for_safety(site.wording.live.sound_kept, SOUND_KEPT)
        if resumed is not None and past:  # cut short before its first row, it is a new one
            self._run(
                self._caller.restarted(
                    resumed.rebooted, away_s=resumed.away_s, now_s=self._clock.now_s()
                )
            )
        else:
            self._run(self._caller.opened())

    @property
    def ended(self) -> bool:
        """The case is closed and everything about it has been said."""
        return self.case.state is State.ENDED and not self._mouth.busy

    @property
    def another_patient(self) -> bool:
        """Whether it was ended because the next one is of somebody else."""
        return self.case.known.another_patient

    @property
    def speaking(self) -> bool:
        """Whether the assistant speaks, or is about to."""
        return self._mouth.speaks

    def awaits(self, at_s: float) -> bool:
        """Whether it has nothing more to say, and somebody who speaks from `at_s` on would be
        heard."""
        goes_on = self._mouth.busy or self._mouth.held
        return self._gate.awaits(at_s, speaking=goes_on)

    def step(self, mic: Samples, at_s: float, *, hold: bool = False) -> Samples:
        """Take the block of sound that begins at `at_s`; return the block to play meanwhile.

        With `hold` it goes on speaking later: the loudspeaker still has enough to play.
        """
        if self._gate.call_has_ended(at_s):
            self._listen_after_the_call(at_s)
        awaits = self.awaits(at_s)
        shut = self._gate.is_shut(at_s, speaking=self._mouth.speaks)
        heard = self._ear.hear(mic, at_s, muted=shut)
        if heard is not None:
            self._take(heard)
        self._mind_the_ear()
        self._run(self._caller.passed(self._clock.now_s()))
        is_free = self._turn.is_free(at_s, somebody_speaks=self._ear.somebody_speaks)
        if is_free or self._mouth.has_safety_to_say:
            self._go_on()
        if is_free:
            self._begin_by_itself(asks_again=awaits and self._patience.has_run_out(at_s))
        self._forget_what_is_late()
        speaking = self._mouth.speaks
        known = self.case.known
        every_s = breath_every_s(self._site.wording.timing, known) if known.pacing else None
        tick = self._pacer.pull(BLOCK_SAMPLES, at_s, every_s=every_s)
        mute = hold or not self._gate.speaks
        spoken = silence(BLOCK_S) if mute else self._mouth.pull(BLOCK_SAMPLES)
        if speaking:  # what leaves now is played now, however old the block is that was heard
            self._gate.spoke(max(at_s, self._clock.now_s() - BLOCK_S))
        if speaking and self._mouth.takes_breath:
            self._turn.leave_it(self._gate.opens_s + BETWEEN_S)
        return spoken if tick is None else mixed(spoken, tick)

    def give_way(self, until_s: float) -> None:
        """The watcher calls until then: fall silent, and do not hear the call as an answer."""
        if not self._gate.calling:
            self._put_by()
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

    def saturation_is(self, spo2_percent: int | None, at_s: float) -> None:
        """What the watcher sees, for whoever asks; None when it sees none to be believed."""
        self._caller.saturation_is(spo2_percent, at_s)
        if self._gate.speaks:
            call, idle = self._unheard.settled(spo2_percent)
            self._leave_unsaid(idle, "it could not be said in time")
            if call is not None:
                self._call(call)

    def nobody_watches(self) -> None:
        """The watcher is gone: say so, unless nobody was told yet that it had come back."""
        if not self._mouth.forget(lambda line: line.tag == WATCHER_BACK):
            self._say_for_safety(self._site.wording.says.watcher_lost, WATCHER_LOST)

    def watched_again(self) -> None:
        """The watcher is back: say so, unless nobody was told yet that it was gone."""
        if not self._mouth.forget(lambda line: line.tag == WATCHER_LOST):
            self._say_for_safety(self._site.wording.says.watcher_back, WATCHER_BACK)

    def pressed(self, meaning: str) -> None:
        """The pedal asks for what might have been said; nothing where it makes no sense now."""
        self._recorder.pressed(meaning)
        if makes_sense(self.case, meaning):
            if self._mouth.takes_breath:
                self._cut_short()
            self._run(self._caller.heard(Reading(meaning, meaning)))
            self._speak_up()

    def marked(self) -> None:
        """A facilitator's button: on record and nothing said, also in the middle of an attempt."""
        if self.case.state is not State.ENDED:
            self._run(iter([Happened(Marked(), "by the button")]))

    def note(self, text: str, say: str | None = None) -> None:
        """Something happened to the assistant itself: record it, and say so."""
        self._recorder.note(text)
        if say is not None:
            self._say_for_safety(say, "note")

    def sound_is(self, *, hears: bool, speaks: bool) -> None:
        """What microphone and loudspeaker can do from now on.

        Without a loudspeaker nothing is said, and so nothing heard; without either no answer is
        waited for. When both are there again, what was cut short or open is said again.
        """
        if self._gate.speaks and not speaks:
            cut = self._mouth.give_way()
            if cut is not None:
                self._mouth.say_first(cut.line)
            if not self._gate.calling:
                self._mouth.go_on()
            self._mouth.forget(lambda line: line.tag == CALL)
            self._unheard.broken_off()
        if self._gate.sound_is(hears=hears, speaks=speaks):
            self._patience.count_anew()
            line = self._caller.prompt()
            if line is not None and not self._mouth.busy:
                self._mouth.say(line)

    def close(self) -> None:
        """End the record; the case may go on later where it was."""
        self._recorder.close()

    def _mind_the_ear(self) -> None:
        """Tell, once each, when nothing is understood any more, and when it is again."""
        news = self._understanding.news(self._ear.fault)
        if news is not None:
            self.note(*news)

    def _begin_by_itself(self, *, asks_again: bool) -> None:
        """What nobody's words have called for: what a clock has made due; and the time, before the
        next question or the same one again rather than just after it, where people answer."""
        waits = self._patience.awaits and self._gate.hears
        was_silent = not self._mouth.busy
        self._run(self._caller.ask_what_is_due(unasked=was_silent and not waits))
        asks_again = asks_again and not self._mouth.busy  # else something else is asked instead
        asks_next = self._mouth.about_to_ask
        if self._gate.lets_speak and (asks_next or not self._mouth.busy):
            self._run(self._caller.time_to_call(unasked=asks_next or asks_again or not waits))
        if asks_again and self._patience.asks_in_a_word:
            self._run(self._caller.not_understood())
        elif asks_again:
            self._run(self._caller.nobody_answered(self._patience.asked_times))

    def _forget_what_is_late(self) -> None:
        now_s = self._clock.now_s()
        for line in self._mouth.forget(lambda line: line.until_s < now_s):
            self._recorder.not_spoken(line, "it was too late")

    def _take(self, heard: Heard) -> None:
        """Record what was heard; only then act on it."""
        amid = self._mouth.busy and self._mouth.held
        admitted = self._admission.admit(heard, speaking=self._mouth.speaks, amid=amid)
        reading = admitted.heard.reading
        self._recorder.heard(admitted.heard, admitted.voice)
        if amid and (admitted.too_early or reading.verdict is Verdict.IGNORE):
            self._turn.leave_it(heard.ended_s + ONCE_MORE_S)
        elif admitted.too_early:
            self._patience.somebody_spoke()
            self._run(self._caller.too_early())
            self._speak_up()
        if admitted.unclear:
            self._patience.somebody_was_unclear(heard.ended_s + GOES_ON_S)
        if admitted.too_early or reading.verdict is Verdict.IGNORE:
            return
        accepted = reading.verdict is Verdict.ACCEPT
        if accepted:
            self._admission.learn(heard)
        if reading.why == SPOKEN_OVER:  # what was said over it is asked back as soon as it ends
            self._mouth.forget(lambda line: line.tag in AWAITING)
        else:
            self._cut_short()
        self._patience.somebody_spoke()
        self._run(self._caller.heard(reading) if accepted else self._caller.unsure(reading))
        self._speak_up()

    def _cut_short(self) -> None:
        """Somebody interrupts: stop speaking, and have on record what was not said to its end; also
        what a call had cut, and was to be said after it."""
        cut = self._mouth.cut_short() if self._mouth.busy else None
        for one in (self._cut_lines.waiting(), cut):
            if one is not None:
                self._recorder.cut_short(one.line)
                self._cut_lines.by_words(one)
                self._cut_dose.by_words(one.line, self.case.known)

    def _put_by(self) -> None:
        """The watcher calls: fall silent, and keep what is to be said of a line later."""
        self._prompt.called(self._clock.now_s())
        cut = self._mouth.give_way()
        rest = None if cut is None else self._cut_lines.after_a_call(cut)
        if rest is not None:
            self._mouth.say_first(rest)
        elif cut is not None:
            self._recorder.cut_short(cut.line)

    def _run(self, steps: Steps) -> None:
        """Record and apply each event, queue each line; then listen for what makes sense now."""
        happened, tags = self._grammar is None, []
        for step in steps:
            if isinstance(step, Happened):
                self._recorder.event(step)
                happened = True
            else:
                line = self._cut_lines.gone_on_with(step)
                self._cut_dose.queued(line)
                if line.tag in AWAITING:
                    self._say_cut_dose(asked=True)
                self._prompt.queued(line)
                self._mouth.say(line)
                tags.append(line.tag)
        if tags and "again" not in tags:  # else somebody is about to say something again
            self._say_cut_dose(asked=False)
        if not happened:  # and nothing but an event changes what may be said
            return
        grammar = self._phrasebook.now(self.case)
        if grammar is not self._grammar:
            self._grammar = grammar
            self._ear.expect(grammar)

    def _say_cut_dose(self, *, asked: bool) -> None:
        """What words about something else have cut, before what is `asked`, or asked again."""
        dose = self._cut_dose.to_say(self.case)
        if dose is None:
            return
        self._mouth.say(dose)
        prompt = None if asked else self._caller.prompt()
        if prompt is not None:
            self._prompt.queued(prompt)
            self._mouth.say(prompt)

    def _listen_after_the_call(self, at_s: float) -> None:
        """People act on it and say so: that is heard before anything is gone on with."""
        self._owes_prompt = not self._mouth.busy
        if not self._owes_answer:
            self._turn.leave_it(at_s + AFTER_CALL_S)
        self._owes_answer = False

    def _speak_up(self) -> None:
        """Somebody has said something: they are answered at once, but for a call."""
        self._owes_prompt = False
        self._owes_answer = self._gate.calling
        if not self._gate.calling:
            self._turn.take_it()
            self._mouth.go_on()

    def _go_on(self) -> None:
        """Nobody speaks any more: on with what is to be said, or to be asked again."""
        if self._gate.calling or not self._mouth.held:
            return
        self._mouth.go_on()
        if self._owes_prompt and self.case.state is not State.ENDED:
            self._run(self._caller.gave_way())
        self._owes_prompt = False

    def _call(self, call: Calling) -> None:
        self._put_by()
        self.overtaken_by(call)
        self._unheard.being_said(call)
        self._mouth.say_first(Line(call.text, CALL, urgency=Urgency.SAFETY))
        self._mouth.go_on()

    def _leave_unsaid(self, calls: list[Calling], why: str) -> None:
        texts = [call.text for call in calls]
        self._mouth.forget(lambda line: line.tag == CALL and line.text in texts)
        for text in texts:
            self._recorder.not_spoken(Line(text, CALL, urgency=Urgency.SAFETY), why)

    def _say_for_safety(self, text: str, tag: str) -> None:
        self._mouth.say(Line(text, tag, urgency=Urgency.SAFETY))

    def _said(self, line: Line) -> None:
        self._cut_lines.began(line)
        lasts_s = self._mouth.left_s(self._gate.tail_s + BETWEEN_S)
        self._recorder.said(line, lasts_s)
        self._patience.line_began(line, lasts_s)
        self._prompt.began(line, self._clock.now_s(), lasts_s)

    def _said_to_the_end(self, line: Line) -> None:
        now_s = self._clock.now_s()
        self._recorder.said_to_the_end(line)
        self._prompt.ended(line, now_s)
        if line.tag == CALL:
            self._unheard.ended(line.text)
        self._patience.line_ended(line, now_s)
        if line.tag == CALL and not self._mouth.has_safety_to_say:
            self._mouth.give_way()
            self._owes_prompt = not self._mouth.busy
            self._turn.leave_it(now_s + AFTER_CALL_S)
        self._on_said(line)

    def _not_said(self, line: Line, why: str) -> None:
        """The voice gave no sound: on record as not spoken, and a question is tried again."""
        self._cut_lines.began(line)
        self._recorder.not_spoken(line, why)
        self.unspoken += 1
        if line.tag == CALL:
            self._unheard.ended(line.text)
        self._prompt.failed(line)
        self._patience.line_ended(line, self._clock.now_s())
        sorry = self._site.wording.live.not_spoken
        if line.text != sorry:  # rendered beforehand, unless that failed
            self._say_for_safety(sorry, "not-spoken")
