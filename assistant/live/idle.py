"""Between cases: a self-test, then waiting for the words that open one.

Nothing that is said between cases is recorded: there is no case that it would belong to.
"""

from pathlib import Path

from assistant.brief.desk import Desk
from assistant.clock import Clock
from assistant.hearing.ear import Ear
from assistant.hearing.heard import Engine, Verdict
from assistant.live.selftest import DELAY_S, Findings, faults, sweep
from assistant.meaning.phrasebook import Phrasebook
from assistant.oximeter.messages import Message, Watching
from assistant.site.site import Site
from assistant.sound import BLOCK_S, BLOCK_SAMPLES, Samples, silence
from assistant.speaking.mouth import Line, Mouth
from assistant.speaking.voices import Voice

WATCHED_WITHIN_S = 4.0
"""The watcher tells of a saturation every second."""


class Idle:
    """Listens for nothing but the opening of a case; whoever has the sound calls `step`."""

    def __init__(
        self, site: Site, cases: Path, *, clock: Clock, engine: Engine, voice: Voice, test: bool
    ) -> None:
        """`test` asks for the self-test first."""
        self._site = site
        self._cases = cases
        self._clock = clock
        self._ear = Ear(engine)
        self._ear.expect(Phrasebook(site).between_cases())
        self._mouth = Mouth(voice, lambda _: None, lambda _: None)
        self._shut_until_s = 0.0
        self._sweep = sweep() if test else silence(0)
        self._heard: list[Samples] = []
        self._testing = test
        self._test_from_s = clock.now_s()
        self._watched = False
        self.case_wanted = False
        """Somebody has asked for a case."""

    def take(self, message: Message) -> None:
        """One message of the watcher."""
        self._watched |= isinstance(message, Watching) and message.spo2_percent is not None

    def step(self, mic: Samples, at_s: float) -> Samples:
        """Take the block of sound that begins at `at_s`; return the block to play meanwhile."""
        if self._testing:
            return self._test(mic)
        shut = self._mouth.busy or at_s < self._shut_until_s
        heard = self._ear.hear(mic, at_s, muted=shut)
        if heard is not None and heard.reading.verdict is Verdict.ACCEPT:
            self.case_wanted = True
        if self._mouth.busy:
            self._shut_until_s = at_s + BLOCK_S + self._site.wording.timing.tail_s
        return self._mouth.pull(BLOCK_SAMPLES)

    def _test(self, mic: Samples) -> Samples:
        self._heard.append(mic)
        block, self._sweep = self._sweep[:BLOCK_SAMPLES], self._sweep[BLOCK_SAMPLES:]
        listened_s = self._clock.now_s() - self._test_from_s
        if listened_s >= (DELAY_S if self._watched else WATCHED_WITHIN_S) and not len(block):
            self._testing = False
            self._report()
        return block if len(block) == BLOCK_SAMPLES else silence(BLOCK_S)

    def _report(self) -> None:
        import numpy as np

        live = self._site.wording.live
        findings = Findings(np.concatenate(self._heard), self._watched, self._cases)
        found = [getattr(live, fault.value) for fault in faults(findings)]
        text = live.ready if not found else Desk.filled(live.not_ready, faults=" ".join(found))
        self._mouth.say(Line(text, "ready"))
