"""The conversation of one case: sound in, sound out, block by block.

microphone -> ear -> caller -> journal -> mouth -> loudspeaker. What was heard is on disk before
anything is said about it, and a line is on disk before its first sample leaves.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Protocol

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, Samples, mixed, silence
from assistant.brief.caller import Caller
from assistant.brief.case import Case
from assistant.brief.prompts import AWAITING
from assistant.brief.situation import Happening, Steps
from assistant.brief.states import State
from assistant.clock import Clock
from assistant.conversation.interrupting import ANSWERS, LastPrompt
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Engine, Heard, Reading, Verdict
from assistant.hearing.ear import Ear
from assistant.journal.journal import Journal
from assistant.journal.rows import Row
from assistant.phrasebook.phrasebook import Phrasebook, makes_sense
from assistant.site.site import Site
from assistant.speaking.mouth import Line, Mouth, Urgency
from assistant.speaking.pacer import Pacer
from assistant.speaking.voices import Voice


class Hearing(Protocol):
    """Whatever turns the microphone's sound into utterances: an `Ear`, or typed words."""

    def expect(self, grammar: Grammar) -> None:
        """From now on, only this may be said."""

    def hear(self, block: Samples, at_s: float, *, muted: bool) -> Heard | None:
        """Take the block of 512 samples that begins at `at_s`; return an utterance that ended."""


class Conversation:
    """Steps one case; whoever has the sound calls `step` once a block."""

    def __init__(
        self,
        site: Site,
        *,
        clock: Clock,
        engine: Engine | None = None,
        voice: Voice,
        journal: Journal,
        past: Sequence[Row] = (),
        rebooted: bool = False,
        tail_s: float | None = None,
        may_interrupt: bool = False,
        ear: Hearing | None = None,
        phrasebook: Phrasebook | None = None,
        on_row: Callable[[Row], None] = lambda _row: None,
        on_said: Callable[[Line], None] = lambda _line: None,
    ) -> None:
        """`on_row` is told of each row once it is on disk, `on_said` of each line at its end.

        `past` is the record of a case that was cut short and goes on; `rebooted` says that the
        machine was started anew meanwhile, so that nobody knows how long its clocks have run.
        For `tail_s` after its own last sample nothing is heard (None: the site's own time): that
        is how long its voice takes to the loudspeaker and back. With `may_interrupt` it is heard
        also while it speaks: only where something cancels its echo. `ear` takes the place of the
        engine's, `phrasebook` of one built for this case.
        """
        self._site = site
        self._clock = clock
        self._journal = journal
        self._on_row = on_row
        self._on_said = on_said
        self.case = Case.rebuilt(site.brief, past)
        self._caller = Caller(site, self.case)
        self._phrasebook = phrasebook or Phrasebook(site)
        if ear is None:
            assert engine is not None  # noqa: S101 - either hears
            ear = Ear(engine)
        self._ear = ear
        self._mouth = Mouth(voice, self._said, self._said_to_the_end, self._not_said)
        self._pacer = Pacer(site.wording.timing.breath_every_s)
        self._tail_s = site.wording.timing.tail_s if tail_s is None else tail_s
        self._shut_until_s = 0.0
        self._may_interrupt = may_interrupt
        self._prompt = LastPrompt()
        self._asked_times = 0
        self._answer_due_s: float | None = None
        self._call_until_s: float | None = None
        self._loss_announced = False
        self._hears = self._speaks = True
        self._unheard_prompt = False
        """What awaits an answer was never spoken, so that nothing can be an answer to it."""
        self.unspoken = 0
        """Lines for which the voice gave no sound."""
        self._grammar: Grammar | None = None
        self._run(self._caller.restarted(rebooted) if past else self._caller.opened())

    @property
    def ended(self) -> bool:
        """The case is closed and everything about it has been said."""
        return self.case.state is State.ENDED and not self._mouth.busy

    def step(self, mic: Samples, at_s: float) -> Samples:
        """Take the block of sound that begins at `at_s`; return the block to play meanwhile."""
        self._end_of_call(at_s)
        calls = self._call_until_s is not None
        speaks = self._mouth.busy or at_s < self._shut_until_s
        shut = calls or not self._speaks or (speaks and not self._may_interrupt)
        heard = self._ear.hear(mic, at_s, muted=shut)
        if heard is not None:
            self._take(heard)
        self._pass_time(at_s, quiet=not (speaks or shut))
        if self._mouth.busy:
            self._shut_until_s = at_s + BLOCK_S + self._tail_s
        tick = self._pacer.pull(BLOCK_SAMPLES, at_s, pacing=self.case.known.pacing)
        spoken = self._mouth.pull(BLOCK_SAMPLES) if self._speaks else silence(BLOCK_S)
        return mixed(spoken, tick) if tick.any() else spoken

    def give_way(self, until_s: float) -> None:
        """The watcher calls until then: fall silent, and do not hear the call as an answer."""
        if self._call_until_s is None:
            self._mouth.give_way()
        self._call_until_s = max(until_s, self._call_until_s or until_s)

    def call_for_watcher(self, text: str) -> None:
        """The watcher has no loudspeaker of its own: make its call before anything else."""
        self._mouth.give_way()
        self._mouth.say(Line(text, "call", urgency=Urgency.SAFETY))
        self._mouth.go_on()

    def saturation_is(self, spo2_percent: int | None, at_s: float) -> None:
        """What the watcher sees, for whoever asks; None when it sees none to be believed."""
        self._caller.saturation_is(spo2_percent, at_s)

    def nobody_watches(self) -> None:
        """The watcher is gone: say so."""
        self._mouth.say(
            Line(self._site.wording.says.watcher_lost, "watcher-lost", urgency=Urgency.SAFETY)
        )

    @property
    def speaking(self) -> bool:
        """Whether the assistant speaks, or is about to."""
        return self._mouth.busy

    def pressed(self, meaning: str) -> None:
        """The pedal asks for what might have been said; nothing where it makes no sense now."""
        self._tell(self._journal.append("team", "event", f"pedal: {meaning}"))
        if makes_sense(self.case, meaning):
            self._run(self._caller.heard(Reading(meaning, meaning)))

    def note(self, text: str, say: str | None = None) -> None:
        """Something happened to the assistant itself: record it, and say so."""
        self._tell(self._journal.append("assistant", "event", text))
        if say is not None:
            self._mouth.say(Line(say, "note", urgency=Urgency.SAFETY))

    def sound_is(self, *, hears: bool, speaks: bool) -> None:
        """What microphone and loudspeaker can do from now on.

        Without a loudspeaker nothing is said, and so nothing heard; without either no answer is
        waited for. When both are there again, what was cut short or open is said again.
        """
        if self._speaks and not speaks:
            self._mouth.give_way()
            if self._call_until_s is None:
                self._mouth.go_on()
        back = hears and speaks and not (self._hears and self._speaks)
        self._hears, self._speaks = hears, speaks
        self._may_interrupt &= hears and speaks  # what comes back may be another device
        if back:
            self._asked_times = 0
            line = self._caller.prompt()
            if line is not None and not self._mouth.busy:
                self._mouth.say(line)

    def close(self) -> None:
        """End the record; the case may go on later where it was."""
        self._journal.close()

    def _take(self, heard: Heard) -> None:
        """Record what was heard; only then act on it."""
        reading = heard.reading
        verdict = reading.verdict
        if verdict is not Verdict.IGNORE and not self._expected(reading):
            verdict = Verdict.IGNORE
        if self._unheard_prompt and reading.meaning in ANSWERS and verdict is not Verdict.IGNORE:
            verdict = Verdict.IGNORE
            reading = replace(reading, why="the question was never spoken")
        if verdict is not Verdict.IGNORE and self._may_interrupt:
            verdict, reading = self._as_interruption(heard, verdict)
        self._record_heard(replace(heard, reading=reading), verdict)
        if verdict is Verdict.IGNORE:
            return
        self._cut_short()
        self._asked_times = 0
        self._answer_due_s = None
        accepted = verdict is Verdict.ACCEPT
        self._run(self._caller.heard(reading) if accepted else self._caller.unsure(reading))

    def _as_interruption(self, heard: Heard, verdict: Verdict) -> tuple[Verdict, Reading]:
        """What was said while it spoke counts when it is sure, and answers what was heard of it."""
        reading = heard.reading
        if verdict is not Verdict.ACCEPT and self._mouth.busy:
            return Verdict.IGNORE, replace(reading, why=f"while it spoke, {reading.why}")
        if not self._prompt.is_answered_by(heard):
            return Verdict.IGNORE, replace(reading, why="before the question had been heard")
        return verdict, reading

    def _cut_short(self) -> None:
        """Somebody interrupts: stop speaking, and have on record what was not said to its end."""
        if not self._mouth.busy:
            return
        line = self._mouth.cut_short()
        if line is not None:
            data = {"text": line.text}
            self._tell(
                self._journal.append("assistant", "event", "cut short", item=line.item, data=data)
            )

    def _expected(self, reading: Reading) -> bool:
        """Guards against an engine that reads something it was not asked to listen for."""
        return makes_sense(self.case, reading.meaning)

    def _record_heard(self, heard: Heard, verdict: Verdict) -> None:
        reading = heard.reading
        row = self._journal.append(
            "team",
            "ignored" if verdict is Verdict.IGNORE else "heard",
            reading.text,
            meaning=reading.meaning or None,
            item=self.case.known.current,
            confidence=reading.confidence,
            data={
                "verdict": verdict.value,
                "why": reading.why,
                "values": dict(reading.values),
                "ended_s": heard.ended_s,
            },
            mono_s=heard.started_s,
        )
        self._tell(row)

    def _run(self, steps: Steps) -> None:
        """Record and apply each event, queue each line; then listen for what makes sense now."""
        for step in steps:
            if isinstance(step, Happening):
                row = self._journal.append(
                    step.who,
                    "event",
                    step.text,
                    item=step.item,
                    data={"event": step.event, **step.values},
                )
                self.case.apply(row)
                self._tell(row)
            else:
                self._prompt.queued(step)
                self._mouth.say(step)
        grammar = self._phrasebook.now(self.case)
        if grammar is not self._grammar:
            self._grammar = grammar
            self._ear.expect(grammar)

    def _tell(self, row: Row) -> None:
        if self._journal.lost and not self._loss_announced:
            text = self._site.wording.says.record_lost
            self._mouth.say(Line(text, "record-lost", urgency=Urgency.SAFETY))
        self._loss_announced = self._journal.lost
        self._on_row(row)

    def _pass_time(self, at_s: float, *, quiet: bool) -> None:
        self._run(self._caller.passed(self._clock.now_s()))
        waits = quiet and self._hears and self._speaks
        if waits and self._answer_due_s is not None and at_s >= self._answer_due_s:
            self._answer_due_s = None
            self._run(self._caller.nobody_answered(self._asked_times))

    def _end_of_call(self, at_s: float) -> None:
        if self._call_until_s is not None and at_s >= self._call_until_s:
            self._call_until_s = None
            self._shut_until_s = at_s + self._tail_s
            had_more_to_say = self._mouth.busy
            self._mouth.go_on()
            if not had_more_to_say and self.case.state is not State.ENDED:
                self._run(self._caller.gave_way())

    def _said(self, line: Line) -> None:
        row = self._journal.append("assistant", "said", line.text, meaning=line.tag, item=line.item)
        self._tell(row)
        self._prompt.began(line, self._clock.now_s())
        self._unheard_prompt &= line.tag not in AWAITING

    def _said_to_the_end(self, line: Line) -> None:
        self._prompt.ended(line, self._clock.now_s())
        self._await_an_answer(line)
        self._on_said(line)

    def _await_an_answer(self, line: Line) -> None:
        if line.urgency is Urgency.SAFETY:
            return  # said in between: what was asked is still awaited
        self._answer_due_s = None
        if line.tag in AWAITING or line.tag == "again":
            self._asked_times += line.tag in AWAITING
            self._answer_due_s = self._clock.now_s() + self._site.wording.timing.ask_again_after_s

    def _not_said(self, line: Line, why: str) -> None:
        """The voice gave no sound: on record as not spoken, and a question is tried again."""
        data = {"text": line.text, "why": why}
        row = self._journal.append("assistant", "event", "not spoken", item=line.item, data=data)
        self._tell(row)
        self.unspoken += 1
        self._unheard_prompt |= line.tag in AWAITING
        self._await_an_answer(line)
        sorry = self._site.wording.live.not_spoken
        if line.text != sorry:  # rendered beforehand, unless that failed
            self._mouth.say(Line(sorry, "not-spoken", urgency=Urgency.SAFETY))
