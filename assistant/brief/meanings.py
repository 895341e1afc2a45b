"""What people may mean, a row each: what is done at it, also where it was not surely heard, and how
much harm it does if it was not said at all.

Their words are a site's own (`speaking/may_be_said.py`, `speaking/vital_words.py`, its items); in
which states they are heard is in `states`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from assistant.brief import (
    answers,
    asked_back,
    attempt,
    brief_questions,
    closing,
    commands,
    denied,
    dose_questions,
    drugs_given,
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
    unsure,
    vital,
)
from assistant.brief.moment import Moment, Steps
from assistant.brief.states import INSTEAD, LATE, NOT_SO, UNDONE, VITAL
from assistant.brief.unsure import as_heard
from assistant.grammar.grammar import Danger
from assistant.grammar.readings import Reading

Act = Callable[[Moment, Reading], Steps]


@dataclass(frozen=True, slots=True)
class Meaning:
    """What is to be known of one."""

    act: Act | None
    """What is done at it; None of a yes and a no, which is the state's own."""
    danger: Danger = Danger.USUAL
    """How much harm it does if it is taken for said and was not."""
    unsure: Callable[[Moment, Reading], Steps | None] = unsure.ask_again
    """What is done where it was not surely heard; gives None where that is the same."""
    is_answer: bool = False
    """Whether it is an answer to what was asked or read back, and nothing else."""


MEANINGS: Final[Mapping[str, Meaning]] = {
    # Answers to what is asked or read back.
    "confirm": Meaning(None, Danger.HIGH, unsure.a_yes, is_answer=True),
    "plain_yes": Meaning(None, Danger.PLAIN, unsure.a_yes, is_answer=True),
    # It confirms nothing: the answer to it asks back.
    "bare_yes": Meaning(answers.bare_yes, Danger.LOW, as_heard, is_answer=True),
    # At worst an item stays open that was done.
    "decline": Meaning(None, Danger.LOW, is_answer=True),
    "not_applicable": Meaning(answers.not_applicable, Danger.HIGH, is_answer=True),
    "number": Meaning(numbers_told.number, Danger.NUMBER, unsure.number, is_answer=True),
    "choose": Meaning(
        answers.choose_or_name, Danger.OPTION, answers.read_value_back, is_answer=True
    ),
    "name": Meaning(answers.choose_or_name, Danger.OPTION, answers.read_value_back, is_answer=True),
    # A name that was asked for.
    "allergen": Meaning(patient.allergy, Danger.NUMBER, as_heard, is_answer=True),
    "denied": Meaning(vital.wave_denied, Danger.HIGH, asked_back.wave_in_doubt, is_answer=True),
    "go_ahead": Meaning(pause.pass_pause, Danger.HIGH, is_answer=True),
    "feature": Meaning(special.feature, Danger.OPTION),
    "no_feature": Meaning(special.no_feature, Danger.OPTION),
    "excluded": Meaning(dose_questions.excluded, Danger.HIGH),
    "same_patient": Meaning(same_patient.same_patient),
    "another_patient": Meaning(closing.new_case),
    # What is told of other items than the one that is asked.
    LATE: Meaning(out_of_turn.take_late, unsure=as_heard),
    NOT_SO: Meaning(out_of_turn.not_so),
    UNDONE: Meaning(out_of_turn.undone),
    INSTEAD: Meaning(out_of_turn.instead, Danger.OPTION),
    "wave_there": Meaning(asked_back.wave_there, Danger.HIGH, as_heard),
    # Questions.
    **dict.fromkeys(
        dose_questions.DOSES, Meaning(dose_questions.ask_dose, Danger.ANSWERED, as_heard)
    ),
    "maximum": Meaning(dose_questions.ask_maximum, Danger.ANSWERED),
    "dose_again": Meaning(dose_questions.ask_dose_again, Danger.ANSWERED),
    "mix": Meaning(mixing.ask_mix, Danger.ANSWERED),
    "predicted_weight": Meaning(room_questions.predicted_weight),
    "tube": Meaning(room_questions.tube),
    "ventilator": Meaning(room_questions.ventilator),
    "ventilator_acidotic": Meaning(room_questions.ventilator_acidotic),
    "ventilator_obstructed": Meaning(room_questions.ventilator_obstructed),
    "size_of": Meaning(room_questions.size_of),
    "cylinder": Meaning(room_questions.cylinder, Danger.ANSWERED),
    "saturation": Meaning(room_questions.saturation),
    "given": Meaning(handover.given),
    "handover": Meaning(handover.handover),
    "worse": Meaning(handover.worse),
    "first_steps": Meaning(handover.first_steps),
    "elapsed": Meaning(brief_questions.elapsed),
    "who": Meaning(brief_questions.who),
    "plan": Meaning(brief_questions.plan),
    "patient": Meaning(brief_questions.patient),
    "why": Meaning(commands.why),
    "left": Meaning(commands.left),
    "help": Meaning(commands.what_to_say),
    # Facts about the patient.
    "weight": Meaning(patient.weight, unsure=as_heard),
    "weight_wrong": Meaning(facts.weight_wrong, unsure=as_heard),
    "weight_pounds": Meaning(patient.weight_pounds, unsure=as_heard),
    "height": Meaning(patient.height, unsure=as_heard),
    "height_feet": Meaning(patient.height_feet, unsure=as_heard),
    "age": Meaning(patient.age, unsure=as_heard),
    "female": Meaning(patient.female, unsure=as_heard),
    "male": Meaning(patient.male, unsure=as_heard),
    "pressure": Meaning(numbers_told.pressure_told, unsure=as_heard),
    "pressure_low": Meaning(patient.pressure_low, unsure=as_heard),
    "pressure_recovered": Meaning(patient.pressure_recovered, unsure=as_heard),
    "allergy": Meaning(patient.allergy, unsure=as_heard),
    "acidosis": Meaning(patient.acidosis, unsure=as_heard),
    "obstruction": Meaning(patient.obstruction, unsure=as_heard),
    "feature_told": Meaning(patient.feature_told, unsure=as_heard),
    "feature_denied": Meaning(denied.feature_denied, unsure=as_heard),
    "allergy_denied": Meaning(denied.allergy_denied, unsure=as_heard),
    # What turns the case; in doubt it is asked back in two words.
    **dict.fromkeys(VITAL, Meaning(asked_back.heard_for_sure, Danger.HIGH, asked_back.ask_back)),
    # These do no more than ask back.
    "attempt_in_doubt": Meaning(asked_back.attempt_in_doubt, Danger.LOW, as_heard),
    "wave_in_doubt": Meaning(asked_back.wave_perhaps_lost, Danger.LOW, as_heard),
    "wake_up": Meaning(vital.wake_up, Danger.HIGH),
    "pulse_back": Meaning(vital.pulse_back, unsure=unsure.pulse_back),
    "drug_given": Meaning(drugs_given.drug_given, Danger.ANSWERED),
    # Commands.
    "start": Meaning(commands.start, Danger.LOW),  # at worst the first item is asked early
    "brief": Meaning(commands.choose_brief),
    "go_now": Meaning(commands.go_now, Danger.HIGH),
    "repeat": Meaning(commands.repeat),
    "short_form": Meaning(commands.short_form),
    "long_form": Meaning(commands.long_form),
    "back": Meaning(commands.back, unsure=unsure.back),
    "hold": Meaning(commands.hold, Danger.LOW),  # a lone "wait": at worst it waits for "go on"
    "stop": Meaning(commands.stop, Danger.LOW),  # one that is missed is worse than a needless one
    "resume": Meaning(commands.resume),
    "pace": Meaning(attempt.pace),
    "pace_stop": Meaning(attempt.pace_stop),
    "mark": Meaning(commands.mark, Danger.LOW, as_heard),  # changes nothing
    "end_case": Meaning(closing.end_case, Danger.LOW, as_heard),  # asked after before anything ends
    "new_case": Meaning(closing.new_case, Danger.HIGH),
}
_OF_A_STATE: Final[Mapping[str, Act]] = {
    "answer_item": answers.answer_item,
    "put_off_item": answers.put_off_item,
    "take_value": answers.take_value,
    "refuse_value": answers.refuse_value,
    "confirm_dose_question": dose_questions.confirm_dose_question,
    "drop_dose_question": dose_questions.drop_dose_question,
    "take_fact": facts.take_fact,
    "refuse_fact": facts.refuse_fact,
    "mix_next_step": mixing.mix_next_step,
    "mix_wait": mixing.mix_wait,
    "close_case": closing.close_case,
    "keep_case_open": closing.keep_case_open,
    "ask_what_stands": commands.ask_what_stands,
    "take_vital_word": asked_back.take_vital_word,
    "drop_vital_word": asked_back.drop_vital_word,
    "command_in_doubt": asked_back.command_in_doubt,
    "pass_pause": pause.pass_pause,
    "ask_what_is_open": pause.ask_what_is_open,
}
"""What a yes and a no do in each state, by the names in the states' own rows."""
ACTS: Final[Mapping[str, Act]] = {
    **_OF_A_STATE,
    **{name: one.act for name, one in MEANINGS.items() if one.act is not None},
}
"""All that may be done at what was said, by the names that `StateRow.act` gives."""
ANSWERS: Final = frozenset(name for name, one in MEANINGS.items() if one.is_answer)
