"""The conversation of one case: sound in, sound out, block by block.

microphone -> ear -> caller -> journal -> mouth -> loudspeaker. What was heard is on disk before
anything is said about it, and a line is on disk before its first sample leaves.
"""

from collections.abc import Callable

from assistant.audio.sound import BLOCK_SAMPLES, Samples, mixed
from assistant.brief.attempt import breath_every_s
from assistant.brief.caller import Caller
from assistant.brief.case import Case
from assistant.brief.events.course import Marked
from assistant.brief.moment import Happened, Steps
from assistant.brief.states import State
from assistant.conversation.admission import Admission, Admitted
from assistant.conversation.cut_dose import CutDose
from assistant.conversation.floor import Floor
from assistant.conversation.gate import Gate
from assistant.conversation.lines import Lines
from assistant.conversation.parts import Parts, ResumedCase, SoundPath
from assistant.conversation.recorder import SOUND_KEPT, CaseRecorder
from assistant.conversation.turn import BETWEEN_S, GOES_ON_S
from assistant.conversation.understanding import Understanding
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Heard, Reading, Verdict
from assistant.hearing.ear import SPOKEN_OVER
from assistant.journal.rows import Row
from assistant.oximeter.messages import Calling
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.phrasebook.sense import makes_sense
from assistant.site.site import Site
from assistant.speaking.mouth import Line
from assistant.speaking.pacer import Pacer
from assistant.speaking.tags import AWAITING


class Conversation:
    """Steps one case; whoever has the sound calls `step` once a block.

    It joins ear, caller, recorder and the assistant's lines; who speaks and who is heard is for the
    floor to say.
    """

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
        tail_s = site.wording.timing.tail_s if sound.tail_s is None else sound.tail_s
        past = () if resumed is None else resumed.past
        self._site = site
        self._clock = parts.clock
        self._ear = parts.ear
        self._on_said = on_said
        self.case = Case.rebuilt(site.brief, past)
        self._caller = Caller(site, self.case)
        self._recorder = CaseRecorder(
            *(parts.journal, self.case),
            on_row=on_row,
            on_loss=lambda: self._lines.say_for_safety(
                site.wording.says.record_lost, "record-lost"
            ),
            sounds=parts.sounds,
        )
        self._lines = Lines(
            *(site.wording, parts.voice, parts.clock, self._recorder),
            breath_s=tail_s + BETWEEN_S,
            on_over=self._over,
        )
        self._mouth = self._lines.mouth
        self._cut_dose = CutDose()
        self._gate = Gate(tail_s, may_interrupt=sound.may_interrupt)
        self._floor = Floor(self._gate, self._lines, parts.clock)
        self._admission = Admission(self.case, self._gate, self._lines.prompt)
        self._pacer = Pacer()
        self._phrasebook = phrasebook or Phrasebook(site)
        self._grammar: Grammar | None = None
        self._understanding = Understanding(site.wording.live)
        if parts.sounds is not None:
            self._lines.say_for_safety(site.wording.live.sound_kept, SOUND_KEPT)
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

    @property
    def unspoken(self) -> int:
        """Lines for which the voice gave no sound."""
        return self._lines.unspoken

    def awaits(self, at_s: float) -> bool:
        """Whether it has nothing more to say, and somebody who speaks from `at_s` on would be
        heard."""
        return self._floor.awaits(at_s)

    def step(self, mic: Samples, at_s: float, *, hold: bool = False) -> Samples:
        """Take the block of sound that begins at `at_s`; return the block to play meanwhile.

        With `hold` it goes on speaking later: the loudspeaker still has enough to play.
        """
        self._floor.begin_block(at_s)
        awaits = self._floor.awaits(at_s)
        heard = self._ear.hear(mic, at_s, muted=self._floor.is_shut(at_s))
        if heard is not None:
            self._take(heard)
        self._mind_the_ear()
        self._run(self._caller.passed(self._clock.now_s()))
        is_free = self._floor.is_free(at_s, somebody_speaks=self._ear.somebody_speaks)
        if is_free or self._mouth.has_safety_to_say:
            self._go_on()
        if is_free:
            self._begin_by_itself(asks_again=awaits and self._lines.patience.has_run_out(at_s))
        self._lines.leave_what_is_late()
        return self._play(at_s, hold=hold)

    def give_way(self, until_s: float) -> None:
        """The watcher calls until then: fall silent, and do not hear the call as an answer."""
        self._floor.give_way(until_s)

    def overtaken_by(self, call: Calling) -> None:
        """The watcher makes this call itself: what is older and was not heard is not said."""
        self._floor.overtaken_by(call)

    def call_for_watcher(self, call: Calling) -> None:
        """The watcher has no loudspeaker of its own: make its call before anything else."""
        self._floor.call_for_watcher(call)

    def saturation_is(self, spo2_percent: int | None, at_s: float) -> None:
        """What the watcher sees, for whoever asks; None when it sees none to be believed."""
        self._caller.saturation_is(spo2_percent, at_s)
        self._floor.saturation_is(spo2_percent)

    def nobody_watches(self) -> None:
        """The watcher is gone: say so, unless nobody was told yet that it had come back."""
        if not self._mouth.forget(lambda line: line.tag == "watcher-back"):
            self._lines.say_for_safety(self._site.wording.says.watcher_lost, "watcher-lost")

    def watched_again(self) -> None:
        """The watcher is back: say so, unless nobody was told yet that it was gone."""
        if not self._mouth.forget(lambda line: line.tag == "watcher-lost"):
            self._lines.say_for_safety(self._site.wording.says.watcher_back, "watcher-back")

    def pressed(self, meaning: str) -> None:
        """The pedal asks for what might have been said; nothing where it makes no sense now."""
        self._recorder.pressed(meaning)
        if makes_sense(self.case, meaning):
            if self._mouth.takes_breath:
                self._cut_short()
            self._answer(self._caller.heard(Reading(meaning, meaning)))

    def marked(self) -> None:
        """A facilitator's button: on record and nothing said, also in the middle of an attempt."""
        if self.case.state is not State.ENDED:
            self._run(iter([Happened(Marked(), "by the button")]))

    def note(self, text: str, say: str | None = None) -> None:
        """Something happened to the assistant itself: record it, and say so."""
        self._recorder.note(text)
        if say is not None:
            self._lines.say_for_safety(say, "note")

    def sound_is(self, *, hears: bool, speaks: bool) -> None:
        """What microphone and loudspeaker can do from now on.

        Without a loudspeaker nothing is said, and so nothing heard; without either no answer is
        waited for. When both are there again, what was cut short or open is said again.
        """
        if self._floor.sound_is(hears=hears, speaks=speaks):
            self._lines.patience.count_anew()
            line = self._caller.prompt()
            if line is not None and not self._mouth.busy:
                self._mouth.say(line)  # not anew: whoever knows the question may answer it now

    def close(self) -> None:
        """End the record; the case may go on later where it was."""
        self._recorder.close()

    def _mind_the_ear(self) -> None:
        """Tell, once each, when nothing is understood any more, and when it is again."""
        news = self._understanding.news(self._ear.fault)
        if news is not None:
            self.note(*news)

    def _go_on(self) -> None:
        """Nobody speaks any more: on with what is to be said, or to be asked again."""
        asks_again = self._floor.go_on()
        if asks_again and self.case.state is not State.ENDED:
            self._run(self._caller.gave_way())

    def _begin_by_itself(self, *, asks_again: bool) -> None:
        """What nobody's words have called for: what a clock has made due; and the time, before the
        next question or the same one again rather than just after it, where people answer."""
        patience = self._lines.patience
        waits = patience.awaits and self._gate.hears
        was_silent = not self._mouth.busy
        self._run(self._caller.ask_what_is_due(unasked=was_silent and not waits))
        asks_again = asks_again and not self._mouth.busy  # else something else is asked instead
        asks_next = self._mouth.about_to_ask
        if self._gate.lets_speak and (asks_next or not self._mouth.busy):
            self._run(self._caller.time_to_call(unasked=asks_next or asks_again or not waits))
        if asks_again and patience.asks_in_a_word:
            self._run(self._caller.not_understood())
        elif asks_again:
            self._run(self._caller.nobody_answered(patience.asked_times))

    def _play(self, at_s: float, *, hold: bool) -> Samples:
        """The block to play: what is said, and the breaths of whoever bags under it."""
        known = self.case.known
        every_s = breath_every_s(self._site.wording.timing, known) if known.pacing else None
        tick = self._pacer.pull(BLOCK_SAMPLES, at_s, every_s=every_s)
        spoken = self._floor.pull(at_s, hold=hold)
        return spoken if tick is None else mixed(spoken, tick)

    def _take(self, heard: Heard) -> None:
        """Record what was heard; only then act on it."""
        amid = self._mouth.busy and self._mouth.held
        admitted = self._admission.admit(heard, speaking=self._mouth.speaks, amid=amid)
        reading = admitted.heard.reading
        self._recorder.heard(admitted.heard, admitted.voice)
        if admitted.too_early or reading.verdict is Verdict.IGNORE:
            self._let_it_be(admitted, amid=amid)
            return
        accepted = reading.verdict is Verdict.ACCEPT
        if accepted:
            self._admission.learn(heard)
        if reading.why == SPOKEN_OVER:  # what was said over it is asked back as soon as it ends
            self._mouth.forget(lambda line: line.tag in AWAITING)
        else:
            self._cut_short()
        self._lines.patience.somebody_spoke()
        self._answer(self._caller.heard(reading) if accepted else self._caller.unsure(reading))

    def _let_it_be(self, admitted: Admitted, *, amid: bool) -> None:
        """It counts for nothing; whoever may have meant the assistant can say it again."""
        if amid:
            self._floor.leave_for_more(admitted.heard.ended_s)
        elif admitted.too_early:
            self._lines.patience.somebody_spoke()
            self._answer(self._caller.too_early())
        elif admitted.unclear:
            self._lines.patience.somebody_was_unclear(admitted.heard.ended_s + GOES_ON_S)

    def _cut_short(self) -> None:
        """Somebody interrupts: a dose that is cut comes later."""
        for line in self._lines.cut_short():
            self._cut_dose.by_words(line, self.case.known)

    def _answer(self, steps: Steps) -> None:
        """To what somebody has just said."""
        self._run(steps)
        self._floor.answer()

    def _run(self, steps: Steps) -> None:
        """Record and apply each event, queue each line; then listen for what makes sense now."""
        happened = self._grammar is None
        for step in self._cut_dose.among(steps, self.case, self._caller.prompt):
            if isinstance(step, Happened):
                self._recorder.event(step)
                happened = True
            else:
                self._lines.say(step)
        if not happened:  # and nothing but an event changes what may be said
            return
        grammar = self._phrasebook.now(self.case)
        if grammar is not self._grammar:
            self._grammar = grammar
            self._ear.expect(grammar)

    def _over(self, line: Line, said: bool) -> None:
        """A line is over: people have the floor after some, and whoever wants to know is told."""
        self._floor.over(line, said=said)
        if said:
            self._on_said(line)
