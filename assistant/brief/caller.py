"""The caller: what to do and to say next.

It decides and touches nothing. Each decision comes as steps, one after the other; whoever runs
them records and applies an event before asking for the next step, so that the case is always up
to date here and its record always explains it.
"""

from collections.abc import Callable

from assistant.brief import (
    answers,
    attempt,
    brief_questions,
    closing,
    commands,
    denied,
    dose_questions,
    facts,
    handover,
    mixing,
    numbers_told,
    out_of_turn,
    patient,
    pause,
    room_questions,
    same_patient,
    special,
    timing,
    vital,
)
from assistant.brief.agenda import timed
from assistant.brief.case import Case
from assistant.brief.decisions import SiteDecisions
from assistant.brief.events.asking import Answered
from assistant.brief.events.base import Event
from assistant.brief.events.course import ClockEnded, GaveWay
from assistant.brief.events.vital import TakenBack, WaveDue
from assistant.brief.going_on import ask_next, ask_on, go_on
from assistant.brief.item import Standing
from assistant.brief.items import AnyItem
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.phases import Phase
from assistant.brief.prompts import HOLDING, prompt
from assistant.brief.said_again import says_it_again
from assistant.brief.seen import seen_meanwhile
from assistant.brief.states import (
    COMMANDS_IN_DOUBT,
    FACTS,
    INSTEAD,
    LATE,
    NOT_SO,
    STATES,
    UNDONE,
    VITAL,
    State,
)
from assistant.brief.turns import Turn
from assistant.brief.valued_items import FeaturesItem
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled

ACTS: dict[str, Callable[[Moment, Reading], Steps]] = {
    # What a yes and a no do in each state, by the names in the states' own rows.
    "answer_item": answers.answer_item,
    "put_off_item": answers.put_off_item,
    "take_value": answers.take_value,
    "refuse_value": answers.refuse_value,
    "confirm_dose_question": dose_questions.confirm_dose_question,
    "excluded": dose_questions.excluded,
    "drop_dose_question": dose_questions.drop_dose_question,
    "take_fact": facts.take_fact,
    "refuse_fact": facts.refuse_fact,
    "mix_next_step": mixing.mix_next_step,
    "mix_wait": mixing.mix_wait,
    "close_case": closing.close_case,
    "keep_case_open": closing.keep_case_open,
    "same_patient": same_patient.same_patient,
    "ask_what_stands": commands.ask_what_stands,
    # Everything else that people say, by its meaning.
    "bare_yes": answers.bare_yes,
    "not_applicable": answers.not_applicable,
    LATE: out_of_turn.take_late,
    NOT_SO: out_of_turn.not_so,
    UNDONE: out_of_turn.undone,
    INSTEAD: out_of_turn.instead,
    "denied": vital.wave_denied,
    "number": numbers_told.number,
    "choose": answers.choose_or_name,
    "name": answers.choose_or_name,
    "feature": special.feature,
    "no_feature": special.no_feature,
    **dict.fromkeys(dose_questions.DOSES, dose_questions.ask_dose),
    "maximum": dose_questions.ask_maximum,
    "dose_again": dose_questions.ask_dose_again,
    "mix": mixing.ask_mix,
    "predicted_weight": room_questions.predicted_weight,
    "tube": room_questions.tube,
    "ventilator": room_questions.ventilator,
    "ventilator_acidotic": room_questions.ventilator_acidotic,
    "ventilator_obstructed": room_questions.ventilator_obstructed,
    "size_of": room_questions.size_of,
    "cylinder": room_questions.cylinder,
    "saturation": room_questions.saturation,
    "given": handover.given,
    "handover": handover.handover,
    "worse": handover.worse,
    "first_steps": handover.first_steps,
    "elapsed": brief_questions.elapsed,
    "who": brief_questions.who,
    "plan": brief_questions.plan,
    "patient": brief_questions.patient,
    "weight": patient.weight,
    "weight_wrong": facts.weight_wrong,
    "weight_pounds": patient.weight_pounds,
    "height": patient.height,
    "height_feet": patient.height_feet,
    "age": patient.age,
    "female": patient.female,
    "male": patient.male,
    "pressure": numbers_told.pressure_told,
    "pressure_low": patient.pressure_low,
    "pressure_recovered": patient.pressure_recovered,
    "allergy": patient.allergy,
    "allergen": patient.allergy,
    "acidosis": patient.acidosis,
    "obstruction": patient.obstruction,
    "feature_told": patient.feature_told,
    "feature_denied": denied.feature_denied,
    "allergy_denied": denied.allergy_denied,
    "why": commands.why,
    "repeat": commands.repeat,
    "help": commands.what_to_say,
    "short_form": commands.short_form,
    "long_form": commands.long_form,
    "back": commands.back,
    "left": commands.left,
    "hold": commands.hold,
    "stop": commands.stop,
    "resume": commands.resume,
    "end_case": closing.end_case,
    "new_case": closing.new_case,
    "another_patient": closing.new_case,
    "start": commands.start,
    "brief": commands.choose_brief,
    "go_now": commands.go_now,
    "take_vital_word": vital.take_vital_word,
    "command_in_doubt": vital.command_in_doubt,
    "drop_vital_word": vital.drop_vital_word,
    **dict.fromkeys(VITAL, vital.heard_for_sure),
    "pass_pause": pause.pass_pause,
    "ask_what_is_open": pause.ask_what_is_open,
    "go_ahead": pause.pass_pause,
    "drug_given": timing.drug_given,
    "attempt_in_doubt": vital.attempt_in_doubt,
    "wave_in_doubt": vital.wave_perhaps_lost,
    "wave_there": vital.wave_there,
    "wake_up": vital.wake_up,
    "pulse_back": vital.pulse_back,
    "mark": commands.mark,
    "pace": attempt.pace,
    "pace_stop": attempt.pace_stop,
}
_SETTLES_NOTHING = (
    "number",
    "allergen",
    *dose_questions.DOSES,
    *FACTS,
    LATE,
    "end_case",
    "bare_yes",
    "attempt_in_doubt",
    "wave_in_doubt",
    "wave_there",
    "mark",
)
"""Meanings whose own act reads back what was heard, asks for its digits, says what counts, or
changes nothing."""
_VALUES = ("choose", "name")
_ANSWERS_A_QUESTION = (
    *("dose", "dose-refused", "dose-dropped", "maximum", "drug-absent", "no-weight", "no-age"),
    *("told", "elapsed", "who", "plan", "patient", "given", "handover", "worse", "first-steps"),
    *("left", "why", "help", "no-dose"),
)
"""Tags of the lines that whoever did not catch them may have said again."""


_WAITS_FOR_THE_WAVE = (State.CHECKING, State.QUOTING, State.STATING, State.MIXING)
"""What is open there comes after it, as after a vital word."""


class Caller:
    """Steps through the brief of one case."""

    def __init__(self, site: SiteDecisions, case: Case) -> None:
        self._now = Moment(site, case)
        self._is_due = False
        """Whether a clock has ended since it was asked what that makes due."""

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
        if self._now.case.state is State.DOUBTING and reading.meaning in COMMANDS_IN_DOUBT:
            act = "command_in_doubt"
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
            elif step.tag in _ANSWERS_A_QUESTION:
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

        An answer is read back, and counts only once that is confirmed for sure: a doubtful yes
        alone settles nothing, and a bare one nothing ever. A vital word is asked back. All else is
        asked anew, but not during a hold: people talk then, and whoever was meant says it again.
        """
        yield from self._remembering(reading, self._asked_back(reading), sure=False)

    def _asked_back(self, reading: Reading) -> Steps:
        case = self._now.case
        is_yes = reading.meaning in ("confirm", "plain_yes")
        doubtful_yes = is_yes and case.state is State.ASKING
        if reading.meaning in VITAL:
            yield from vital.ask_back(self._now, reading)
        elif reading.meaning == "denied":
            yield from vital.wave_in_doubt(self._now, reading)
        elif reading.meaning == "number" and numbers_told.cannot_be(self._now, reading):
            if case.state is State.CHECKING and numbers_told.is_put_right(self._now, reading):
                yield from answers.refuse_value(self._now, reading)
            else:
                yield from self._say_again(reading.meaning)
        elif reading.meaning in _SETTLES_NOTHING:
            yield from self.heard(reading)
        elif doubtful_yes or reading.meaning in _VALUES:
            yield from answers.read_value_back(self._now, reading)
        elif case.state is State.ATTEMPTING and reading.meaning == "back":
            pass  # who looks has no ear for a question
        elif case.state is not State.HELD or reading.meaning == "pulse_back":
            yield from self._say_again(reading.meaning)

    def _say_again(self, meaning: str) -> Steps:
        """Ask for it anew; what comes out the same and no surer is asked back by its content."""
        present = self._now.present
        again, present.unsure = present.unsure == meaning, meaning
        if again and meaning in COMMANDS_IN_DOUBT:
            yield from vital.ask_back(self._now, Reading(meaning, meaning))
        elif again and STATES[self._now.case.state].reads_back:
            yield from go_on(self._now)
        else:
            yield Line(self._now.says.say_again, "again", self._now.case.known.current)

    def too_early(self) -> Steps:
        """Somebody answered before the end of the question, and was heard from the middle only."""
        yield Line(self._now.says.too_early, "again", self._now.case.known.current)

    def not_understood(self) -> Steps:
        """Somebody has said something when an answer was awaited, and it was none that is known: in
        a word, what is."""
        case, says = self._now.case, self._now.says
        item, plain = case.current, self._now.site.wording.may_be_said.plain_yes
        if case.state is State.ASKING and item is not None:
            settled_by_yes = bool(plain) and item.confirmed and not item.telling_only
        else:
            settled_by_yes = case.state in (State.CHECKING, State.DOUBTING)
        text = says.yes_or_no if settled_by_yes else says.too_early
        yield Line(text, "again", case.known.current)

    def prompt(self) -> Line | None:
        """The line that awaits an answer in the present state, if one does, whole."""
        return prompt(self._now, whole=True)

    def nobody_answered(self, times: int) -> Steps:
        """The prompt was said that many times and nobody has answered it."""
        self._now.present.told = ()
        if self._now.case.state is State.HELD and self._now.case.known.held_quietly:
            if not self._now.case.known.is_arrested:  # "stop" may have been said to somebody else
                yield Line(self._now.says.still_held, "reminded")
            return
        line, timing = prompt(self._now), self._now.site.wording.timing
        if line is None:
            return
        if line.tag == HOLDING:
            yield Line(self._now.says.still_held, HOLDING)
            return
        if self._now.case.state is State.DOUBTING and times > 1:
            yield Line(self._now.says.refused_value, "refused")
            yield from vital.drop_doubt(self._now)
            return
        current = self._now.case.current
        led_on = None if current is None else self._instead_of_asking(current, times)
        if led_on is not None:
            yield from led_on
        elif times < timing.ask_at_most:
            yield Line(filled(self._now.says.ask_again, ask=line.text), line.tag, line.item)
        elif times == timing.ask_at_most:
            item = current if self._now.case.state in (State.ASKING, State.CHECKING) else None
            what = self._now.tongue.terms.an_answer if item is None else item.label
            yield Line(filled(self._now.says.waiting, item=what), "waiting", line.item)

    def _instead_of_asking(self, item: AnyItem, times: int) -> Steps | None:
        """What is done where nobody answers, in place of asking again; None where it is asked.

        Between attempts nobody is waited for: the saturation is what is looked after then. What
        nobody has answered twice is put off.
        """
        now = self._now
        if now.case.state is not State.ASKING:
            return None
        seen = seen_meanwhile(now)
        if seen is not None:
            return answers.take_seen(now, *seen)
        between = now.case.known.phase is Phase.BETWEEN
        in_vain = between and times > 1
        if item.offered or item.told_meanwhile or in_vain:
            return answers.put_off(now, item)
        told = now.case.known.items[item.id].value
        if isinstance(item, FeaturesItem) and told is not None:
            return special.settle_features(now, item)
        return None

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
        case = self._now.case
        for name, clock in case.known.clocks.items():
            over = clock.lasts_s is not None and now_s - clock.started_s >= clock.lasts_s
            if not (over and clock.running) or case.state is State.ENDED:
                continue
            ended = ClockEnded(clock=name)
            yield Happened(ended, f"{name}: {clock.lasts_s:.0f} s are over")
            self._is_due = True

    def ask_what_is_due(self, *, unasked: bool) -> Steps:
        """Something waited for a clock that has ended: it is asked, once nobody is speaking.

        A wave comes before what is asked or read back, whatever it is; all else when its turn has
        come. `unasked`: no answer is awaited just now; whoever has just been asked something is
        given the time to answer it, which leads on to the wave as well.
        """
        if not unasked:
            return
        seen = seen_meanwhile(self._now)
        if seen is not None and self._now.case.state in (State.ASKING, State.READY):
            self._is_due = False
            yield from answers.take_seen(self._now, *seen)
            return
        due = timed(self._now.case, Standing.DUE) if self._is_due else []
        self._is_due = False
        if self._now.case.current in due:  # an answer has led to it already
            return
        state, at_once = self._now.case.state, any(one.asked_at_once for one in due)
        bagged = any(one.told_meanwhile for one in due)
        if due and state in (State.ASKING, State.READY):
            if self._now.case.current is None or at_once or bagged:
                yield from ask_next(self._now)
        elif due and state is State.HELD and not self._now.case.known.is_arrested:
            yield from timing.clock_ended(self._now, due)
        elif at_once and state in _WAITS_FOR_THE_WAVE:
            yield Happened(WaveDue(), "the wave, before what was open")
            yield from ask_on(self._now)

    def time_to_call(self, *, unasked: bool) -> Steps:
        """What is due to be called of the time, where no line is in its way.

        `unasked`: no answer is awaited just now, though a question may stand.
        """
        if self._now.case.state is not State.ENDED and self._now.case.brief.timed_calls:
            yield from timing.call_times(self._now, unasked=unasked)
