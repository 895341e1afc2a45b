"""Live: one case after the other, until it is told to stop."""

import logging
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from assistant.audio.sound import BLOCK_S, silence
from assistant.clock import Clock
from assistant.conversation.parts import SoundPath
from assistant.errors import BadInput
from assistant.grammar.readings import Engine
from assistant.journal.at_hand import case_at_hand, folder_at_hand
from assistant.live.heartbeat import Heartbeat
from assistant.live.idle import Idle
from assistant.live.in_case import InCase
from assistant.live.records import Found, Records
from assistant.live.resuming import OpenCase
from assistant.live.soundcard import SoundCard
from assistant.live.troubles import Troubles
from assistant.oximeter.calls import call_texts
from assistant.oximeter.messages import WatcherLine
from assistant.panel.panel import LightStatus, Panel, PedalRequest
from assistant.site.site import Site
from assistant.speaking.prepared import PreparedVoice
from assistant.speaking.voices import Voice

LATE_S = 0.2
"""Without a block of the microphone for so long, time goes on all the same: it can still speak."""

UNMEASURED_TAIL_S = 0.6
"""How long after its last sample its own voice may still be heard, where nobody has measured it."""
TAIL_MARGIN_S = 0.15
"""A room goes on sounding, and a device is not always equally late."""
UNSPOKEN_SHOWN_S = 10.0
"""So long the light tells of a line for which the voice gave no sound."""
LOSS_TOLERATED_S = 600.0
"""A device that is known to be gone is tried again for so long; then a fresh start may help."""

MEANS = {PedalRequest.SAY_AGAIN: "repeat", PedalRequest.NEW_CASE: "new_case"}
"""What each press stands for."""

log = logging.getLogger(__name__)


class Session:
    """Owns the sound and whatever listens to it: a conversation, or the wait for one."""

    def __init__(
        self,
        site: Site,
        cases: Path,
        *,
        clock: Clock,
        engine: Engine,
        voice: Voice,
        card: SoundCard,
        heartbeat: Heartbeat,
        panel: Panel,
    ) -> None:
        """Go on with the case that was cut short, if one was; else test itself and wait.

        Of one that cannot be read nobody knows what it was about: it is laid down, and another is
        opened at once.
        """
        self._site = site
        self._cases = cases
        self._clock = clock
        self._engine = engine
        self._voice = PreparedVoice(voice)
        self._card = card
        self._troubles = Troubles(card, site.wording.live, clock)
        self._heartbeat = heartbeat
        self._panel = panel
        self._tail_s = UNMEASURED_TAIL_S
        self._may_interrupt = False
        self._unspoken = 0
        self._unspoken_s = float("-inf")
        self._heard_s = clock.now_s()
        self._records = Records(cases, clock)
        found = self._records.take_up()
        self._prepare(go_on=found != Found())
        card.forget()  # nobody listened yet
        self._line = WatcherLine(folder_at_hand(cases))
        self._now: InCase | Idle = (
            self._idle(test=not found.damage) if found.case is None else self._in_case(found.case)
        )
        if found.damage:
            self._begin()
            self._now.note(found.damage, site.wording.live.case_laid_down)
        elif not self._records.on_disk:
            self._tell_of_no_record()
        heartbeat.ready()

    def run(self, stopped: Callable[[], bool]) -> None:
        """Listen until `stopped` says so; a case at hand is not ended by that."""
        try:
            while not stopped():
                self.step()
        finally:
            if isinstance(self._now, InCase):
                self._let_go(self._now)
            if not self._records.on_disk:  # in case the machine is to be switched off
                self._records.settle(case_at_hand(self._cases))
            self._line.close()
            self._card.close()
            self._panel.close()

    def step(self) -> None:
        """One block of sound, in and out."""
        heard = self._card.read(LATE_S if self._card.open else BLOCK_S)
        if heard is None:
            began_s, mic = self._clock.now_s() - BLOCK_S, silence(BLOCK_S)
        else:
            began_s, mic = heard
        for message in self._line.poll():
            self._now.take(message)
        if heard is not None and not self._now.speaking:
            self._troubles.hear(mic, began_s)
        # After an utterance that took a while to read, the blocks of that while come all at once.
        # If it spoke as fast, it would listen again, and hear itself, long before its last word
        # has been played.
        self._card.play(self._now.step(mic, began_s, hold=self._card.has_enough))
        if heard is not None:
            self._heartbeat.heard_a_block()
            self._heard_s = began_s
        elif not self._card.open and began_s - self._heard_s < LOSS_TOLERATED_S:
            self._heartbeat.waits_for_sound()
        self._mind_the_sound()
        self._mind_the_panel(decoded=heard is not None)
        if isinstance(self._now, Idle):
            if self._now.case_wanted:
                self._begin()
            elif self._records.due(None):
                self._records.settle(None)
                self._follow()
        elif self._now.conversation.ended:
            self._end(self._now)
        elif self._records.due(self._now.opened.journal):
            self._records.rescue(self._now.opened)
            self._follow()

    def _idle(self, *, test: bool) -> Idle:
        self._heartbeat.status("between cases")
        return Idle(
            self._site,
            self._records.folder,
            clock=self._clock,
            engine=self._engine,
            voice=self._voice,
            tail_s=self._tail_s,
            test=test,
        )

    def _in_case(self, case: OpenCase) -> InCase:
        return InCase(
            case,
            self._engine,
            self._voice,
            sound=SoundPath(self._tail_s, self._may_interrupt),
            on_voice=self._troubles.voice,
        )

    def _prepare(self, *, go_on: bool) -> None:
        """Render what must be said in need, and the watcher's calls, which wait for no voice that
        hangs. A voice that fails is no reason to leave a case."""
        try:
            self._voice.prepare(self._site.wording.for_need())
        except BadInput as fault:
            if not go_on:
                raise
            log.warning("%s", fault)
        oximeter = self._site.oximeter
        for text in call_texts(oximeter.crossing, oximeter.words):
            with suppress(BadInput):  # the watcher has found that out as well, and tells of it
                self._voice.prepare([text])

    def _begin(self) -> None:
        if isinstance(self._now, Idle) and self._now.echo_s is not None:
            self._tail_s = self._now.echo_s + TAIL_MARGIN_S
        if isinstance(self._now, Idle) and self._now.may_interrupt:
            self._may_interrupt = True
        opened = self._records.begin(self._site)
        self._now = self._in_case(opened)
        self._follow()
        self._now.note(f"in use: hearing: {self._engine.name}; {self._card.named}", None)
        if not self._records.on_disk:
            self._tell_of_no_record()
        self._heartbeat.status("in a case")

    def _end(self, case: InCase) -> None:
        self._let_go(case)
        self._records.settle(None)
        if case.conversation.another_patient:
            self._begin()
            return
        self._now = self._idle(test=False)
        self._follow()

    def _let_go(self, case: InCase) -> None:
        if case.opened.journal.lost:
            self._records.rescue(case.opened)
        case.conversation.close()

    def _tell_of_no_record(self) -> None:
        self._now.note("the disk takes no record", self._site.wording.says.record_lost)

    def _follow(self) -> None:
        """Be where the watcher looks for somebody to tell; what it has told before is not lost."""
        told = self._line.close()
        self._line = WatcherLine(folder_at_hand(self._cases))
        for message in told:
            self._now.take(message)

    def _mind_the_sound(self) -> None:
        """Open the devices again when they are lost; tell and record what is wrong."""
        self._card.keep_open()
        troubles = list(self._troubles.news())
        hears = self._card.open and not self._troubles.dead
        self._now.sound_is(hears=hears, speaks=self._card.speaks)
        self._may_interrupt &= hears and self._card.speaks  # what comes back may be another device
        for trouble in troubles:
            log.warning("%s", trouble.text)
            if trouble.buzz:
                self._panel.buzz()
            self._now.note(trouble.text, trouble.say)
        if self._now.unspoken > self._unspoken:
            self._unspoken_s = self._clock.now_s()
            self._panel.buzz()
        self._unspoken = self._now.unspoken

    def _mind_the_panel(self, *, decoded: bool) -> None:
        """Take the presses, and move the light on for every block that was decoded."""
        for press in self._panel.pressed():
            self._now.pressed(MEANS[press.asked])
        for _ in range(self._panel.marked()):
            self._now.marked()
        silenced = self._clock.now_s() - self._unspoken_s < UNSPOKEN_SHOWN_S
        if not self._card.open or self._troubles.dead or silenced or self._panel.fault:
            self._panel.show(LightStatus.FAULT)
        elif decoded and self._now.speaking:
            self._panel.show(LightStatus.SPEAKING)
        elif decoded:
            self._panel.show(
                LightStatus.IDLE if isinstance(self._now, Idle) else LightStatus.LISTENING
            )
