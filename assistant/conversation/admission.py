"""What of the things that were heard counts: now, as an answer, and from how near."""

from dataclasses import dataclass, replace

from assistant.brief.case import Case
from assistant.brief.states import VITAL, State
from assistant.conversation.gate import Gate
from assistant.conversation.last_prompt import OUTSIDE, LastPrompt
from assistant.conversation.near_voice import Nearness, NearVoice
from assistant.grammar.readings import NOT_FOR_ME, Heard, Reading, Verdict
from assistant.hearing.ear import SPOKEN_OVER
from assistant.phrasebook.sense import makes_sense


@dataclass(frozen=True, slots=True)
class Admitted:
    """Something that was heard, with the verdict that counts."""

    heard: Heard
    too_early: bool
    """It is most likely an answer, of which only the end was heard: it is asked for again."""
    unclear: bool = False
    """It may have been the answer, and nothing was understood."""
    voice: Nearness = "unknown"
    """From how near it came, for the record."""


class Admission:
    """Weighs what the engine understood against what was asked, when, and who spoke before."""

    def __init__(self, case: Case, gate: Gate, prompt: LastPrompt) -> None:
        self._case = case
        self._gate = gate
        self._prompt = prompt
        self._near = NearVoice()

    def admit(self, heard: Heard, *, speaking: bool, amid: bool) -> Admitted:
        """The verdict that counts, with why it is another than the engine's.

        `speaking`: the assistant still speaks; `amid`: it is silent in the middle of a line.
        """
        if heard.reading.why == SPOKEN_OVER and self._turns_the_case(heard):
            return Admitted(heard, too_early=False, voice=self._near.whose(heard))
        why_not = self._objection(heard, speaking=speaking, amid=amid)
        reading = heard.reading
        vital = amid and reading.meaning in VITAL  # that is asked back
        too_early = not (why_not or vital) and self._is_early_answer(heard)
        if why_not == OUTSIDE and self._counts_later(heard):
            reading = self._told_later(reading)
        elif why_not:
            reading = replace(reading, verdict=Verdict.IGNORE, why=why_not)
        elif reading.meaning == "plain_yes" and reading.verdict is Verdict.ACCEPT:
            doubt = self._near.doubt(heard)
            if doubt:
                reading = replace(reading, verdict=Verdict.ASK, why=doubt)
        voice = self._near.whose(heard)
        return Admitted(
            replace(heard, reading=reading),
            too_early=too_early,
            unclear=not (too_early or amid) and self._is_unclear(heard) and voice != "other",
            voice=voice,
        )

    def learn(self, heard: Heard) -> None:
        """That counted: whoever said it speaks to the assistant."""
        self._near.learn(heard)

    def _turns_the_case(self, heard: Heard) -> bool:
        """Whether it is a word that is asked back though somebody spoke over it."""
        meaning = heard.reading.meaning
        understood = heard.reading.verdict is Verdict.ASK and meaning in VITAL
        return understood and not heard.cut_start and makes_sense(self._case, meaning)

    def _counts_later(self, heard: Heard) -> bool:
        """Whether somebody near tells in the item's own words, long after it was asked, that it is
        so. A yes is nothing then, but for one that somebody waits for."""
        item, reading = self._case.current, heard.reading
        asking = self._case.state is State.ASKING
        told = asking and item is not None and bool(item.told_in(reading.text))
        sure = reading.verdict is Verdict.ACCEPT and not self._near.doubt(heard)
        return sure and (told or self._prompt.given_up)

    def _told_later(self, reading: Reading) -> Reading:
        """What it is taken for: of an item it is read back; of what was read back before, whoever
        says yes has to hear it again."""
        if self._case.state is State.ASKING:
            return replace(reading, verdict=Verdict.ASK, why=OUTSIDE)
        return replace(reading, meaning="repeat", why=OUTSIDE)

    def _is_early_answer(self, heard: Heard) -> bool:
        """Whether only the end of it was heard, of what is most likely an answer.

        What was understood all the same may have had a "not" before it.
        """
        understood = heard.reading.verdict is not Verdict.IGNORE
        if understood or not (heard.cut_start or heard.early_start):
            return heard.cut_start
        return self._prompt.is_just_over(heard) and not self._near.is_farther_away(heard)

    def _is_unclear(self, heard: Heard) -> bool:
        """Whether somebody may have answered in words that are not known here. Talk that was
        understood as that is none, nor is what came near no words at all."""
        reading = heard.reading
        unlike = reading.verdict is Verdict.IGNORE and reading.why != NOT_FOR_ME
        return unlike and bool(reading.text) and self._prompt.may_be_answered_by(heard)

    def _objection(self, heard: Heard, *, speaking: bool, amid: bool) -> str:
        """Why something that was understood does not count all the same; "" when it does."""
        if heard.reading.verdict is Verdict.IGNORE:
            return ""
        if heard.reading.why == SPOKEN_OVER:
            return SPOKEN_OVER
        if not makes_sense(self._case, heard.reading.meaning):
            return "not listened for now"  # an engine that reads what it was not asked to
        return self._prompt.objection(
            heard, may_interrupt=self._gate.may_interrupt or amid, speaking=speaking
        )
