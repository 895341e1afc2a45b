"""What people may say to the assistant, by meaning."""

from string import Formatter
from typing import Annotated

from pydantic import AfterValidator, Field, model_validator

from assistant.files.complaints import WrongWithinError
from assistant.files.word_forms import Utterance, as_said
from assistant.files.yaml_files import SiteModel
from assistant.speaking.vital_words import Answers, VitalWords


def _around(slot: str, *others: str, first: bool = False) -> AfterValidator:
    """What people say around a slot: words, the slot once, perhaps the others.

    `first`: before any of the others.
    """

    def check(phrase: str) -> str:
        parts = list(Formatter().parse(phrase))
        used = [name for _, name, _, _ in parts if name is not None]
        words = "".join(literal for literal, _, _, _ in parts)
        slots_fit = used.count(slot) == 1 and sorted(set(used)) == sorted(used)
        slots_fit &= not first or used[:1] == [slot]
        if not (slots_fit and set(used) <= {slot, *others}):
            after = " after it" if first else ""
            perhaps = "".join(f" and perhaps {{{name}}}{after}" for name in others)
            raise ValueError(f"words with {{{slot}}} once{perhaps}")
        if words.strip():
            as_said(words)
        return as_said(phrase, also="{}_")

    return AfterValidator(check)


DrugNamed = Annotated[tuple[Annotated[str, _around("drug")], ...], Field(min_length=1)]
DrugAndWeight = Annotated[
    tuple[Annotated[str, _around("drug", "weight_kg")], ...], Field(min_length=1)
]


FeaturesNamed = Annotated[
    tuple[Annotated[str, _around("feature", "also")], ...], Field(min_length=1)
]


class Questions(SiteModel):
    """What people may ask at any time, by meaning; it is answered, then the item asked again."""

    dose: DrugAndWeight
    """`{drug}`, and `{weight_kg}` where they name a weight; the same in the next two."""
    dose_low_pressure: DrugAndWeight
    volume: DrugAndWeight
    maximum: DrugNamed
    dose_again: Answers = ("what was the dose", "say the dose again")
    """The dose that was told last."""
    mix: DrugNamed
    predicted_weight: Answers
    """Predicted body weight, and the tidal volume that goes by it."""
    tube: Answers
    ventilator: Answers
    ventilator_acidotic: Answers
    ventilator_obstructed: Answers = (
        "ventilator settings for asthma",
        "ventilator settings for air trapping",
    )
    size_of: Annotated[tuple[Annotated[str, _around("thing")], ...], Field(min_length=1)]
    cylinder: Annotated[
        tuple[Annotated[str, _around("cylinder", "bar", "litres")], ...], Field(min_length=1)
    ]
    elapsed: Answers
    who: Annotated[tuple[Annotated[str, _around("task")], ...], Field(min_length=1)]
    plan: Answers
    patient: tuple[Utterance, ...] = ()
    """What is known of the patient: weight, what is special, pressure, allergies, doses told."""
    saturation: Answers
    given: tuple[Utterance, ...] = ()
    """Which drugs are in, and since when."""
    handover: Answers = ("give the handover", "handover please")
    """Everything that whoever takes over needs, in one breath."""
    worse: Answers = ("it's getting worse", "the patient is getting worse")
    """Something goes wrong later: what to do first, in a few words of the site."""


class Facts(SiteModel):
    """What people may tell about the patient at any time; each is read back before it counts."""

    weight: Annotated[tuple[Annotated[str, _around("kilograms")], ...], Field(min_length=1)]
    weight_wrong: tuple[Utterance, ...] = ("the weight is wrong", "wrong weight")
    """The weight that is known is in doubt, and asked for."""
    weight_pounds: Annotated[tuple[Annotated[str, _around("pounds")], ...], Field(min_length=1)]
    height: Annotated[tuple[Annotated[str, _around("centimetres")], ...], Field(min_length=1)]
    height_feet: Annotated[tuple[Annotated[str, _around("feet")], ...], Field(min_length=1)]
    """`{feet}` stands for feet and inches: "five foot eight"."""
    age: Annotated[tuple[Annotated[str, _around("years")], ...], Field(min_length=1)]
    female: Answers
    male: Answers
    pressure: tuple[Annotated[str, _around("systolic", "lower", first=True)], ...] = (
        "the pressure is {systolic} over {lower}",
        "the pressure is {systolic}",
    )
    """The blood pressure as a number, of which the lower one is not kept."""
    pressure_low: Answers
    pressure_recovered: Answers
    acidosis: Answers = ("the patient is acidotic", "there is acidosis")
    """The bag is then paced faster."""
    obstruction: Answers = ("the patient is obstructed", "the patient has asthma")
    """The bag is then paced slower: the lungs must empty."""
    allergy: Annotated[
        tuple[Annotated[str, _around("allergen", "also_allergen")], ...], Field(min_length=1)
    ]

    allergy_denied: tuple[Annotated[str, _around("allergen")], ...] = ()
    """One that was told and is none: it is taken back after a yes."""


class MayBeSaid(Questions, Facts, VitalWords):
    """What people may say, by meaning."""

    confirm: Answers
    plain_yes: tuple[Utterance, ...] = ()
    """What people say for yes in passing: "yes", "check", "done". It counts only as an answer: soon
    after the question, from somebody near, and nothing else said around it."""
    bare_yes: tuple[Utterance, ...] = ()
    """A yes too short to be told from room talk: it confirms nothing, and whoever says it hears
    what would."""
    not_applicable: tuple[Utterance, ...] = ()
    """An item does not apply to this patient; only for items that may not."""
    feature: FeaturesNamed = ("{feature} and {also}",)
    """Two of the site's features in one breath; one by itself is as the brief has it."""
    help: tuple[Utterance, ...] = ("what can i say", "what may i say")
    short_form: tuple[Utterance, ...] = ("short form", "short form please")
    long_form: tuple[Utterance, ...] = ("long form", "long form please")
    decline: Answers
    takes_back: tuple[Utterance, ...] = ()
    """Those of `decline` that nobody begins an answer with ("but not yet"): said soon after an item
    came up, they take back the answer before it."""
    repeat: Answers
    why: Answers
    back: Answers
    hold: Answers
    resume: Answers
    left: Answers
    stop: Answers
    end_case: Answers
    go_now: Answers
    new_case: Answers
    """Opens a case when none is at hand."""
    same_patient: tuple[Utterance, ...] = ()
    """Besides a yes, to "Same patient?" of a case that was cut short; heard only there."""
    another_patient: tuple[Utterance, ...] = ()
    """The same for a no: that case is ended, and a new one opened."""
    start: Answers
    pace: Answers
    pace_stop: Answers
    go_ahead: Answers = ("clear to go", "clear to give the drugs")
    """Ends the pause before the drugs; a plain yes does not."""
    drug_given: Annotated[tuple[Annotated[str, _around("drug")], ...], Field(min_length=1)] = (
        "{drug} in",
        "{drug} given",
    )
    """A drug is in; it goes on record with its dose, where that was asked for."""
    pulse_back: tuple[Utterance, ...] = ()
    """After an arrest: its clock stops."""
    mark: tuple[Utterance, ...] = ()
    """Marks the moment for the debrief, and does nothing else; not heard during an attempt."""
    wake_up: Answers = ("we wake the patient up", "wake the patient up")
    """Somebody decides against any further attempt."""
    attempt_in_doubt: tuple[Utterance, ...] = ("can't see", "i can't see a thing", "no view")
    """Said in an attempt that may have failed by it; asked back, and a yes counts."""
    wave_in_doubt: tuple[Utterance, ...] = ()
    """The same of a wave, once something is in ("no trace"). What the item of the wave takes for a
    no counts there at once."""
    excluded: tuple[Utterance, ...] = ()
    """Besides `confirm`, a yes to what must be excluded before a dose, which takes no plain one."""
    number: Annotated[tuple[Annotated[str, _around("number", "unit")], ...], Field(min_length=1)]
    """Around a number: `{number}`, `{number} {unit}`."""
    number_instead: tuple[Annotated[str, _around("number", "unit")], ...] = ()
    """A number in place of the one that was just said back ("no {number}"): of what is read back,
    or of the item before, where the next has just come up."""
    yes_first: tuple[Utterance, ...] = ()
    """What people begin an answer with: "yes, both working", "okay, done". One of these, of
    `hesitations` or of the next three may stand before or after an answer without changing it."""
    yes_last: tuple[Utterance, ...] = ()
    """What they end an answer with that is more than a yes: "both working, thanks"."""
    no_first: tuple[Utterance, ...] = ()
    """The same, for what says that it is not so: "no, only one"."""
    no_last: tuple[Utterance, ...] = ()
    """The same, at its end: "not yet, sorry"."""
    hesitations: tuple[Utterance, ...] = ()
    """What people say before they know their answer, whichever it is: "um, yes"."""
    number_again: tuple[Annotated[str, _around("number", "unit")], ...] = ()
    """A number that was read back, said once more with a yes ("yes {number}"): that is a yes, and
    another number is read back in its place."""
    blood_pressure: tuple[Annotated[str, _around("number", "lower", first=True)], ...] = (
        "{number} over {lower}",
    )
    """How people tell it when the systolic pressure is asked for; the lower number is not kept."""
    allergen: tuple[Annotated[str, _around("allergen", "also_allergen")], ...] = (
        "{allergen}",
        "yes {allergen}",
    )
    """What a patient is allergic to, when that is asked."""
    room_talk: tuple[Utterance, ...] = ()
    """Said in the room and not to the assistant: listed here, it is not taken for an answer that
    it sounds like."""

    @model_validator(mode="after")
    def _takes_back_what_it_declines(self) -> "MayBeSaid":
        for at, words in enumerate(self.takes_back):
            if words not in self.decline:
                raise WrongWithinError("words that are in decline too", "takes_back", at)
        return self
