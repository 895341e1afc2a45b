"""Between cases: a self-test, then waiting for the words that open one.

Nothing that is said between cases is recorded: there is no case that it would belong to.
"""

import logging
from pathlib import Path

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, Samples, silence
from assistant.clock import Clock
from assistant.conversation.gate import Gate
from assistant.conversation.understanding import Understanding
from assistant.grammar.readings import Engine, Verdict
from assistant.hearing.ear import Ear
from assistant.live.selftest import Fault, SelfTest
from assistant.oximeter.messages import Message
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.signature import Signing
from assistant.site.site import Site
from assistant.speaking.mouth import Line, Mouth, Urgency
from assistant.speaking.sentences import filled
from assistant.speaking.voices import Voice

log = logging.getLogger(__name__)


class Idle:
    """Listens for nothing but the opening of a case; whoever has the sound calls `step`."""

    def __init__(
        self,
        site: Site,
        cases: Path,
        *,
        clock: Clock,
        engine: Engine,
        voice: Voice,
        tail_s: float,
        test: bool,
    ) -> None:
        """`test` asks for the self-test first; `tail_s` is as for a conversation's gate."""
        self._site = site
        self._clock = clock
        self._ear = Ear(engine)
        self._ear.expect(Phrasebook(site).between_cases())
        self._mouth = Mouth(voice, lambda _: None, lambda _: None, self._not_said)
        self._understanding = Understanding(site.wording.live)
        self._hears = self._speaks = True
        self.unspoken = 0
        """Lines for which the voice gave no sound."""
        self._gate = Gate(tail_s)
        self._test = self._self_test(cases) if test else None
        self._tested: SelfTest | None = None
        self.case_wanted = False
        """Somebody has asked for a case."""

    @property
    def speaking(self) -> bool:
        """Whether it speaks, or tests whether it can."""
        return self._test is not None or self._mouth.busy

    def pressed(self, meaning: str) -> None:
        """The pedal opens a case as the words do."""
        self.case_wanted |= meaning == "new_case"

    def marked(self) -> None:
        """There is no case in which a moment could be marked."""

    @property
    def echo_s(self) -> float | None:
        """How late the loudspeaker is heard by the microphone, where that was measured."""
        return None if self._tested is None else self._tested.echo_s

    @property
    def may_interrupt(self) -> bool:
        """Whether the self-test saw that the assistant does not hear itself."""
        return self._tested is not None and self._tested.may_interrupt

    def take(self, message: Message) -> None:
        """One message of the watcher."""
        if self._test is not None:
            self._test.take(message)

    def note(self, _text: str, say: str | None) -> None:
        """Something happened to the sound: say so; there is no record that it would belong to."""
        if say is not None:
            self._mouth.say(Line(say, "note", urgency=Urgency.SAFETY))

    def sound_is(self, *, hears: bool, speaks: bool) -> None:
        """For what the self-test tells; nothing is asked here that would have to be asked again."""
        self._hears, self._speaks = hears, speaks

    def step(self, mic: Samples, at_s: float, *, hold: bool = False) -> Samples:
        """Take the block of sound that begins at `at_s`; return the block to play meanwhile.

        With `hold` it goes on speaking later: the loudspeaker still has enough to play.
        """
        if self._test is not None and not self._test.done:
            return self._test.step(mic)
        if self._test is not None:
            self._report(self._test)
            self._tested, self._test = self._test, None
        shut = self._gate.is_shut(at_s, speaking=self._mouth.busy)
        heard = self._ear.hear(mic, at_s, muted=shut)
        self._mind_the_ear()
        if heard is not None:
            self.case_wanted |= heard.reading.verdict is Verdict.ACCEPT
            log.debug("%s: %s", heard.reading.text, heard.reading.why or "accepted")
        speaking = self._mouth.busy
        spoken = silence(BLOCK_S) if hold else self._mouth.pull(BLOCK_SAMPLES)
        if speaking:
            self._gate.spoke(max(at_s, self._clock.now_s() - BLOCK_S))
        return spoken

    def _mind_the_ear(self) -> None:
        """Tell, once each, when nothing is understood any more, and when it is again."""
        news = self._understanding.news(self._ear.fault)
        if news is None:
            return
        text, say = news
        if self._ear.fault:
            log.warning("%s", text)
        self.note(text, say)

    def _self_test(self, cases: Path) -> SelfTest:
        return SelfTest(cases, echo_cancelled=self._site.wording.echo_cancelled)

    def _not_said(self, line: Line, why: str) -> None:
        self.unspoken += 1
        log.warning("not spoken: %s (%s)", line.text, why)

    def _lost_device(self) -> list[str]:
        """What is not there, in words, of the two without which nobody is heard."""
        live = self._site.wording.live
        if not self._speaks:
            return [live.loudspeaker_lost]
        return [] if self._hears else [live.microphone_lost]

    def _report(self, test: SelfTest) -> None:
        live = self._site.wording.live
        faults = list(test.faults())
        lost = self._lost_device()
        deaf = bool(lost) or Fault.MICROPHONE_SILENT in faults
        if lost and Fault.MICROPHONE_SILENT in faults:  # it is not there, or was not opened
            faults.remove(Fault.MICROPHONE_SILENT)
        told = [*lost, *(getattr(live, fault.value) for fault in faults)]
        wrong = live.not_hearing if deaf else live.not_ready
        text = filled(wrong, faults=" ".join(told)) if told else live.ready
        unsigned = {Signing.UNSIGNED: live.unsigned, Signing.CHANGED: live.signed_before_change}
        text = " ".join(filter(None, (unsigned.get(self._site.signing), text)))
        log.info("%s", text)
        self._mouth.say(Line(text, "ready"))
