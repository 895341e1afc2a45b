"""The caller: what to do and to say next.

It decides and touches nothing. Each decision comes as steps, one after the other; whoever runs
them records and applies an event before asking for the next step, so that the case is always up
to date here and its record always explains it.
"""

from assistant.brief import due, same_patient, timing, unanswered, unsure
from assistant.brief.case import Case
from assistant.brief.decisions import SiteDecisions
from assistant.brief.events.asking import Answered
from assistant.brief.events.base import Event
from assistant.brief.events.course import GaveWay
from assistant.brief.events.vital import TakenBack
from assistant.brief.going_on import go_on
from assistant.brief.meanings import ACTS, MEANINGS
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.prompts import prompt
from assistant.brief.said_again import says_it_again
from assistant.brief.states import STATES
from assistant.brief.turns import Turn
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled
from assistant.speaking.tags import ANSWERING


class Caller:
    """Steps through the brief of one case."""

    def __init__(self, site: SiteDecisions, case: Case) -> None:
        self._now = Moment(site, case)

    def opened(self) -> Steps:
        """A new case: its brief is named."""
        brief = self._now.site.brief.name
        yield Line(filled(self._now.says.opened, brief=brief), "opened")

    def restarted(self, rebooted: bool, *, away_s: float | None = 0.0, now_s: float = 0.0) -> Steps:
        """A case that was cut short goes on, at `now_s` on its clock; `away_s`: see
        `same_patient.restarted`."""
        self._now.present.now_s = now_s
        yield from same_patient.restarted(self._now, rebooted=rebooted, away_s=away_s)

    def heard(self, reading: Reading) -> Steps:
        """Somebody said something that was understood for sure and makes sense now."""
        self._now.present.unsure = ""
        again = says_it_again(self._now, reading)
        act = STATES[self._now.case.state].act("confirm" if again else reading.meaning)
        yield from self._remembering(reading, ACTS[act](self._now, reading))

    def _remembering(self, reading: Reading, steps: Steps, *, sure: bool = True) -> Steps:
        """Remember what the next words may be about: an answer to be said again, a turn to be taken
        back. What was not surely heard, and has only been asked for again, leaves that as it is."""
        present, before = self._now.present, self._now.case.before_turn
        told: list[Line] = []
        happened: list[Event] = []
        for step in steps:
            if isinstance(step, Happened):
                happened.append(step.event)
            elif step.tag in ANSWERING:
                told.append(step)
            yield step
        if not (sure or happened):
            return
        present.told = tuple(told)
        again = present.taken_back and reading.meaning == "back"
        present.taken_back = again or any(isinstance(one, TakenBack) for one in happened)
        after = self._now.case.before_turn
        if after is None or after is before:
            present.turn = None
        else:
            words = "" if reading.meaning in ("confirm", "plain_yes") else reading.text
            answered = [one.item for one in happened if isinstance(one, Answered)]
            present.turn = Turn(after, words, answered[-1] if answered else None)

    def unsure(self, reading: Reading) -> Steps:
        """Somebody said something that was probably this.

        An answer is read back, and counts only once that is confirmed for sure. A vital word is
        asked back. Most else is asked for anew; each meaning says what is done.
        """
        steps = MEANINGS[reading.meaning].unsure(self._now, reading)
        if steps is None:
            yield from self.heard(reading)
        else:
            yield from self._remembering(reading, steps, sure=False)

    def too_early(self) -> Steps:
        """Somebody answered before the end of the question, and was heard from the middle only."""
        yield from unsure.too_early(self._now)

    def not_understood(self) -> Steps:
        """Somebody has said something when an answer was awaited, and it was none that is known."""
        yield from unsure.not_understood(self._now)

    def prompt(self) -> Line | None:
        """The line that awaits an answer in the present state, if one does, whole."""
        return prompt(self._now, whole=True)

    def nobody_answered(self, times: int) -> Steps:
        """The prompt was said that many times and nobody has answered it."""
        yield from unanswered.nobody_answered(self._now, times)

    def gave_way(self) -> Steps:
        """The watcher has called; what was open is asked again."""
        yield Happened(GaveWay(), "fell silent for the watcher's call")
        yield from go_on(self._now, whole=True)

    def saturation_is(self, spo2_percent: int | None, at_s: float) -> None:
        """The watcher has told what it sees; None when it sees none that can be believed."""
        self._now.present.spo2_percent = spo2_percent
        self._now.present.seen_s = at_s

    def passed(self, now_s: float) -> Steps:
        """Time has passed: clocks that have run out are ended."""
        self._now.present.now_s = now_s
        yield from due.end_clocks(self._now)

    def ask_what_is_due(self, *, unasked: bool) -> Steps:
        """Something waited for a clock that has ended: see `due.ask_what_is_due`."""
        yield from due.ask_what_is_due(self._now, unasked=unasked)

    def time_to_call(self, *, unasked: bool) -> Steps:
        """What is due to be called of the time, where no line is in its way.

        `unasked`: no answer is awaited just now, though a question may stand.
        """
        yield from timing.call_times(self._now, unasked=unasked)
