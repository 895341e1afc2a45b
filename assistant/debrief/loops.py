"""The loops between the machine and the team: every question of the brief, until it is settled.

A loop begins with the call-out, the question as it is spoken; the team's answer is the check-back.
The loop is closed when the assistant has taken that answer, after a read-back where one is due.
What people say to each other is not heard as such, and no loop between people is counted.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from assistant.brief.brief import Brief
from assistant.brief.case import Case
from assistant.brief.confirmed_items import CONFIRMED
from assistant.brief.events.asides import FactHeard
from assistant.brief.events.asking import (
    Asked,
    FeatureTold,
    Reopened,
    ValueHeard,
    ValueRefused,
    WentNow,
)
from assistant.brief.events.base import Event
from assistant.brief.events.course import (
    AttemptFailed,
    AttemptStarted,
    Entered,
    GaveWay,
    Restarted,
    TubeIn,
)
from assistant.brief.events.vital import (
    Arrest,
    CannotOxygenate,
    NeckOpen,
    RescueIn,
    RescueStarted,
    TubeOut,
    WaveDue,
)
from assistant.brief.item import Standing
from assistant.brief.phases import Phase
from assistant.brief.states import State
from assistant.debrief.spans import Span, overlap
from assistant.journal.rows import Row

Outcome = Literal["closed", "put off", "denied", "not answered", "overtaken", "left open"]
"""`denied`: there is no wave, so that what is in comes out. `not answered`: an offer that was
dropped because nobody had said anything to it. `overtaken`: something else came before its answer,
another question or what turned the case."""
SETTLED = ("closed", "put off", "denied")
"""By words that were taken for an answer."""
_ASKED_IN = (State.ASKING, State.CHECKING)
_ABOUT_THE_QUESTION = ("repeat", "why", "help")
"""Meanings of words that ask for the question once more, as silence does."""
_OVERTAKEN_BY = {
    WentNow.name: "going now",
    AttemptStarted.name: "an attempt",
    AttemptFailed.name: "a failed attempt",
    TubeIn.name: "the tube, which was in",
    TubeOut.name: "the tube, which was out",
    RescueStarted.name: "the supraglottic airway",
    RescueIn.name: "the supraglottic airway, which was in",
    CannotOxygenate.name: "the front of the neck",
    NeckOpen.name: "the tube through the neck, which was in",
    Arrest.name: "the arrest",
    WaveDue.name: "the wave, which was due",
}
_OVERTAKEN_BY_PHASE = {
    Phase.INDUCTION: "the drugs, which were in",
    Phase.SUPRAGLOTTIC: "the supraglottic airway",
    Phase.FRONT_OF_NECK: "the front of the neck",
    Phase.WAKE_UP: "waking up",
}


@dataclass(frozen=True, slots=True)
class Loop:
    """One asking of an item; one that is put off and asked again later is two. Times in s, from the
    beginning of the case."""

    item: str
    to: str
    """Whom the brief puts it to."""
    asked_at_s: float
    """When it came up; what the assistant had still to say came before the question."""
    question_ended_s: float | None = None
    """The end of the first question that was said to its end, or of the first one after something
    else; None when none was, or nobody knows, because the machine was started anew since."""
    times_asked: int = 0
    """How often the question was said to its end; again after something else, a dose that was
    told meanwhile or a saturation call, it counts as one that stood all the time."""
    reply_at_s: float | None = None
    """The beginning of the first words that were taken for an answer to it."""
    settled_at_s: float | None = None
    """When the assistant had taken the answer, or the "not yet"; None when there was none."""
    outcome: Outcome = "left open"
    overtaken_by: str | None = None
    """What that was, in words."""
    answer: str | None = None
    """As it is read back; of one that is confirmed or not, that it was confirmed."""
    read_back: str | None = None
    """What was read back before it counted, where that was done: "oxygen on"."""
    doubted: bool = False
    """Something that was said meanwhile was not understood for sure."""
    talked_over: bool = False
    """Something that was said meanwhile was not for the assistant, as far as it could tell."""
    mismatched: tuple[str, ...] = ()
    """What was understood for sure, or read back, and was no answer to this question, or not the
    right one."""
    taken_back: bool = False
    """Somebody went back to it later."""

    @property
    def to_answer_s(self) -> float | None:
        """From the end of the question to the beginning of the answer; 0 for one that began
        before the end."""
        if self.question_ended_s is None or self.reply_at_s is None:
            return None
        return round(max(0.0, self.reply_at_s - self.question_ended_s), 2)

    @property
    def to_settling_s(self) -> float | None:
        """From the end of the question to its settling, with read-backs and repetitions."""
        if self.question_ended_s is None or self.settled_at_s is None:
            return None
        return round(max(0.0, self.settled_at_s - self.question_ended_s), 2)

    @property
    def at_first_asking(self) -> bool:
        """Closed, and the question was said once, and nothing was doubted or did not match."""
        once = self.times_asked <= 1 and not (self.doubted or self.mismatched)
        return self.outcome == "closed" and once

    @property
    def counts(self) -> bool:
        """Whether an answer was owed: not of one that was overtaken."""
        return self.outcome != "overtaken"

    @property
    def at_first_hearing(self) -> bool:
        """Settled, and nothing that was said meanwhile was ignored, doubted or did not match."""
        amiss = self.doubted or self.talked_over or self.mismatched
        return self.outcome in SETTLED and not amiss


@dataclass(slots=True)
class _Open:
    """The loop that is open, and what is not yet decided about it."""

    loop: Loop
    standing: Standing
    deferred_times: int
    heard: Row | None = None
    """The last words that were understood for sure and might be an answer, until they are taken."""
    after_another: bool = False
    """Something else was asked or told meanwhile: the question that comes next is no repetition."""


class Loops:
    """Follows a case, row by row, beside whoever applies the rows to it."""

    def __init__(self, brief: Brief, began_s: float, calls: Sequence[Span]) -> None:
        """`began_s` is the clock's time at the beginning of the case; `calls` are when the watcher
        spoke, in s from there: a question that it cut into was not said."""
        self._brief = brief
        self._began_s = began_s
        self._calls = calls
        self._to = {item.id: one.to for one in brief.sections for item in one.items}
        self._answers = {name for item in brief.items() for name in item.answered_by}
        self._done: list[Loop] = []
        self._open: _Open | None = None
        self._last_heard: Row | None = None
        """The last words, until something is said to them: what happens meanwhile comes of them."""

    def words(self, row: Row, state: State) -> None:
        """Something was said, by the assistant or in the room."""
        if row.kind in ("heard", "said"):
            self._last_heard = row if row.kind == "heard" else None
        if self._open is None:
            return
        if row.kind == "said":
            self._question(self._open, row)
        elif row.kind == "ignored":
            self._change(talked_over=True)
        elif row.kind == "heard" and row.meaning == "mark":
            return  # it was put to the debrief
        elif row.kind == "heard" and state in _ASKED_IN:
            self._did_not_match()
            self._turned_to_another(self._open, row)
            if row.data.get("verdict") == "ask":
                self._change(doubted=True)
            elif row.meaning in self._answers:
                self._open.heard = row
        elif row.data.get("text") and row.text == "cut short":
            self._cut_short(row)

    def happened(self, event: Event, row: Row, case: Case, refused: str | None) -> None:
        """An event was applied to the case; `refused` is what had been read back before it."""
        if isinstance(event, Asked):
            self._asked(event.item, row, case)
        elif isinstance(event, Reopened):
            self._taken_back(event.item)
        if self._open is None or isinstance(event, Asked):
            return
        if isinstance(event, GaveWay | Restarted):
            self._open.after_another = True
        if isinstance(event, Restarted) and event.rebooted:
            self._change(question_ended_s=None, reply_at_s=None, times_asked=0)
        elif isinstance(event, ValueRefused):
            self._open.heard = None
            self._change(mismatched=(*self._open.loop.mismatched, refused or "?"))
        elif isinstance(event, ValueHeard | FeatureTold) or self._is_its_fact(event):
            self._open.heard = None
            self._replied()
            if isinstance(event, ValueHeard | FactHeard):
                self._change(read_back=event.spoken)
        elif isinstance(event, FactHeard):  # the answer to another item, or to none
            self._open.heard, self._open.after_another = None, True
        elif isinstance(event, TubeOut) and row.item == self._open.loop.item:
            self._open.heard = None
            self._replied()
            self._change(outcome="denied", settled_at_s=self._at(row.mono_s))
        self._settle(event, row, case)

    def undo(self, from_s: float) -> None:
        """What was asked from then on was led to by a word that was not meant."""
        self._done = [one for one in self._done if one.asked_at_s < from_s]
        if self._open is not None and self._open.loop.asked_at_s >= from_s:
            self._open = None

    def end(self) -> list[Loop]:
        """All loops, when the record is over; one that is open is left so."""
        self._leave(None)
        return self._done

    def _turned_to_another(self, now: _Open, row: Row) -> None:
        sure = row.data.get("verdict") == "accept"
        if sure and row.meaning not in (*self._answers, *_ABOUT_THE_QUESTION):
            now.after_another = True

    def _asked(self, item: str, row: Row, case: Case) -> None:
        if self._open is not None and self._open.loop.item == item:
            return  # it still is: asked once more, after a restart
        self._leave(f"“{self._brief.item(item).label}”")
        state = case.known.items[item]
        loop = Loop(item, self._to[item], self._at(row.mono_s))
        self._open = _Open(loop, state.standing, state.deferred_times)

    def _settle(self, event: Event, row: Row, case: Case) -> None:
        """Close the loop when the case has the item settled, by whatever event that was."""
        if self._open is None:
            return
        state = case.known.items[self._open.loop.item]
        put_off = state.deferred_times > self._open.deferred_times
        if put_off and self._last_heard is None:
            self._change(outcome="not answered")
            self._leave(None)
        elif put_off or (
            state.standing is not self._open.standing
            and state.standing in (Standing.DONE, Standing.RUNNING)
        ):
            heard = self._open.heard
            if not put_off or heard is None or heard.meaning == "decline":
                self._open.heard = None  # else it is a number that was not the wanted one
            self._replied()
            self._change(
                outcome="put off" if put_off else "closed",
                answer=CONFIRMED if state.value == CONFIRMED else state.answer,
                settled_at_s=self._at(row.mono_s),
            )
            self._leave(None)
        elif case.known.current != self._open.loop.item:
            self._leave(self._what_overtook(event))

    def _what_overtook(self, event: Event) -> str | None:
        if isinstance(event, Reopened):
            itself = self._open is not None and self._open.loop.item == event.item
            return "being asked anew" if itself else f"“{self._brief.item(event.item).label}”"
        if isinstance(event, Entered):
            return _OVERTAKEN_BY_PHASE.get(event.phase)
        return _OVERTAKEN_BY.get(event.name)

    def _leave(self, overtaken_by: str | None) -> None:
        """It is asked no more; `overtaken_by` is what came before its answer, if anything did."""
        self._did_not_match()
        if self._open is not None and self._open.loop.outcome == "left open" and overtaken_by:
            self._change(outcome="overtaken", overtaken_by=overtaken_by)
        if self._open is not None:
            self._done.append(self._open.loop)
        self._open = None

    def _replied(self) -> None:
        if self._open is not None and self._open.loop.reply_at_s is None and self._last_heard:
            reply_at_s = self._at(self._last_heard.mono_s)
            if reply_at_s >= self._open.loop.asked_at_s:
                self._change(reply_at_s=reply_at_s)

    def _did_not_match(self) -> None:
        """What was understood for sure and has led to nothing was no answer to this question."""
        if self._open is not None and self._open.heard is not None:
            text, self._open.heard = self._open.heard.text, None
            self._change(mismatched=(*self._open.loop.mismatched, text))

    def _question(self, now: _Open, row: Row) -> None:
        if row.meaning != "ask" or row.item != now.loop.item:
            return
        began_s = self._at(row.mono_s)
        ended_s = round(began_s + float(row.data.get("lasts_s", 0.0)), 2)
        if any(overlap((began_s, ended_s), call) for call in self._calls):
            return
        loop, first_s = now.loop, now.loop.question_ended_s
        if now.after_another and loop.reply_at_s is None:
            first_s = None
        again = not now.after_another or loop.times_asked == 0
        now.after_another = False
        self._change(
            times_asked=loop.times_asked + again,
            question_ended_s=ended_s if first_s is None else first_s,
        )

    def _cut_short(self, row: Row) -> None:
        """Somebody spoke into the question: as far as anybody listened, it ended there."""
        ended_s = None if self._open is None else self._open.loop.question_ended_s
        if ended_s is not None:
            self._change(question_ended_s=min(ended_s, self._at(row.mono_s)))

    def _is_its_fact(self, event: Event) -> bool:
        if self._open is None or not isinstance(event, FactHeard):
            return False
        return self._brief.item(self._open.loop.item).figure == event.figure

    def _taken_back(self, item: str) -> None:
        for place in reversed(range(len(self._done))):
            if self._done[place].item == item:
                self._done[place] = replace(self._done[place], taken_back=True)
                return

    def _change(self, **values: object) -> None:
        if self._open is not None:
            self._open.loop = replace(self._open.loop, **values)  # type: ignore[arg-type]

    def _at(self, mono_s: float) -> float:
        return round(mono_s - self._began_s, 2)
