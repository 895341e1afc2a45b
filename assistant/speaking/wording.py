"""A site's wording: the assistant's own phrases, and what people may answer."""

from string import Formatter
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from assistant.files.templates import Template, only, with_all
from assistant.files.word_forms import Utterance, as_said
from assistant.files.yaml_files import SiteModel
from assistant.language.terms import Terms
from assistant.language.tongue import Language, Tongue
from assistant.speaking.pause_words import PauseSays
from assistant.speaking.vital_words import Answers, Plain, VitalSays, VitalWords
from assistant.speaking.voices import VoiceSettings


def _around(slot: str, *others: str) -> AfterValidator:
    """What people say around a slot: words, the slot once, perhaps the others."""

    def check(phrase: str) -> str:
        parts = list(Formatter().parse(phrase))
        used = [name for _, name, _, _ in parts if name is not None]
        words = "".join(literal for literal, _, _, _ in parts)
        slots_fit = used.count(slot) == 1 and sorted(set(used)) == sorted(used)
        if not (slots_fit and set(used) <= {slot, *others}):
            perhaps = ", ".join(f"{{{name}}}" for name in others)
            raise ValueError(f"words with {{{slot}}} once and perhaps {perhaps}")
        if words.strip():
            as_said(words)
        return as_said(phrase, also="{}_")

    return AfterValidator(check)


class Says(SiteModel):
    """What the assistant says of its own accord. `{…}` are filled in when it speaks."""

    opened: Annotated[Template, only("brief")]
    ask: Annotated[Template, with_all("ask", perhaps=("to",))]
    """The first item of a section, with whom it is put to."""
    ask_again: Annotated[Template, with_all("ask")]
    """An item that was deferred, or that nobody answered."""
    say_again: Plain
    """When somebody spoke and it was not surely understood."""
    too_early: Plain = "Again?"
    """When somebody answered before the end of the question, where nobody is heard while the
    assistant speaks."""
    bare_yes: Annotated[Template, with_all("yes", perhaps=("no",))] = "Please say: {yes}. Or: {no}."
    """A yes that is too short to be believed, or says too little for this item."""
    confirm_read_back: Annotated[Template, with_all("item")] = "{item}, yes?"
    """A yes to this item was heard, and not for sure; or the item is a vital one."""
    not_wanted: Annotated[Template, with_all("value", "wanted")] = (
        "I heard {value}; {wanted} is wanted."
    )
    """A setting was told, and is not the wanted one; of a range, its two ends."""
    not_applicable: Plain = "not applicable"
    """As an answer, in the record and when it is told."""
    help: Plain = (
        "Say yes, or not yet; why; say again; go back; hold on; what is left. Or ask for a dose."
    )
    """What may be said, in one breath."""
    marked: Plain = "Marked."
    """Somebody marked the moment for the debrief; what was asked is still awaited."""
    short_form: Plain = "In short."
    long_form: Plain = "In full."
    waiting: Annotated[Template, only("item")]
    """Asked often enough without an answer: the assistant goes quiet and waits."""
    deferred: Plain
    outstanding: Plain
    """Not yet, for the second time."""
    noted: Annotated[Template, with_all("value")]
    read_back_number: Annotated[Template, with_all("number", "digits", perhaps=("unit",))]
    read_back: Annotated[Template, with_all("value")]
    refused_value: Plain
    clock_started: Annotated[Template, with_all("clock", perhaps=("lasts",))]
    clock_left: Annotated[Template, with_all("clock", perhaps=("left",))]
    """Everything else is answered; the brief waits for a clock."""
    left: Annotated[Template, with_all("items", perhaps=("count",))]
    nothing_left: Plain
    held: Plain
    resumed: Plain
    stopped: Plain
    end_case: Plain
    kept_open: Plain
    ended: Plain
    no_way_back: Plain
    before_done: Plain
    before_done_open: Annotated[Template, with_all("items", perhaps=("count",))]
    went_now: Annotated[Template, only("count", "items")]
    """How many are open, and of those the vital ones by name, three at most."""
    went_now_few: Annotated[Template, with_all("count")] = "Going now, {count} open."
    """No vital one is among them."""
    went_now_nothing: Plain
    after_done: Plain
    after_done_open: Annotated[Template, with_all("items", perhaps=("count",))]
    dose_read_back: Annotated[Template, with_all("drug", "number", "digits")]
    dose_what_if: Annotated[Template, with_all("dose")]
    dose_dropped: Plain
    dose_no_weight: Plain
    dose_no_age: Annotated[Template, with_all("number")] = (
        "Below {number} kilograms I need the age first. Tell me the age."
    )
    """Of a patient light enough to be a child, as long as the age is not known."""
    dose_drug_read_back: Annotated[Template, with_all("drug")]
    """A fixed dose, asked for while no weight is known."""
    dose_allergy: Annotated[Template, with_all("allergen", "dose")]
    dose_usual_pressure: Annotated[Template, with_all("dose")]
    """The dose for a low pressure was asked for, and the drug has no separate one."""
    drug_absent: Annotated[Template, with_all("drug")]
    drug_maximum: Annotated[Template, with_all("drug", "maximum")]
    weight_again: Plain
    """A dose was asked for a weight that must be confirmed again."""
    ask_digits: Plain
    out_of_range: Annotated[Template, with_all("number", "low", "high", perhaps=("unit",))]
    mix_step: Annotated[Template, with_all("step", perhaps=("number", "count"))]
    mix_done: Annotated[Template, with_all("strength", perhaps=("drug",))]
    mix_not_yet: Plain
    mix_none: Annotated[Template, with_all("drug", "strength")]
    elapsed: Annotated[Template, with_all("what", "time")]
    elapsed_nothing: Plain
    elapsed_unknown: Annotated[Template, with_all("what")] = "{what}: unknown since the restart."
    """The machine was started anew while it ran."""
    who: Annotated[Template, with_all("task", "who")]
    who_unknown: Annotated[Template, with_all("task")]
    plan: Annotated[Template, with_all("plan")]
    plan_open: Annotated[Template, with_all("plan")]
    """The plan, before the team has agreed to it."""
    no_plan: Plain
    saturation: Annotated[Template, with_all("percent", "ago")]
    no_saturation: Plain
    attempt_started: Annotated[Template, only("number")]
    attempt_failed: Annotated[Template, with_all("plan")]
    tube_in: Plain
    drugs_in: Plain
    vital_open: Annotated[Template, with_all("items")] = "Open: {items}."
    """The drugs are in, or an attempt begins, and nobody was told of these vital items before."""
    drug_given: Annotated[Template, with_all("drug", "dose")] = "{drug} {dose} in."
    drug_given_plainly: Annotated[Template, with_all("drug")] = "{drug} in."
    """No dose was asked for it before."""
    pacing: Plain
    """The bag is paced from now on, one tick a breath."""
    pacing_every: Annotated[Template, with_all("seconds")] = (
        "One breath at each tick, every {seconds}."
    )
    """The same, at another rate than the usual one."""
    pacing_stopped: Plain
    record_lost: Plain
    watcher_lost: Plain


DrugNamed = Annotated[tuple[Annotated[str, _around("drug")], ...], Field(min_length=1)]
DrugAndWeight = Annotated[
    tuple[Annotated[str, _around("drug", "weight_kg")], ...], Field(min_length=1)
]


class Questions(SiteModel):
    """What people may ask at any time, by meaning; it is answered, then the item asked again."""

    dose: DrugAndWeight
    """`{drug}`, and `{weight_kg}` where they name a weight; the same in the next two."""
    dose_low_pressure: DrugAndWeight
    volume: DrugAndWeight
    maximum: DrugNamed
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
    saturation: Answers


class Facts(SiteModel):
    """What people may tell about the patient at any time; each is read back before it counts."""

    weight: Annotated[tuple[Annotated[str, _around("kilograms")], ...], Field(min_length=1)]
    weight_pounds: Annotated[tuple[Annotated[str, _around("pounds")], ...], Field(min_length=1)]
    height: Annotated[tuple[Annotated[str, _around("centimetres")], ...], Field(min_length=1)]
    height_feet: Annotated[tuple[Annotated[str, _around("feet")], ...], Field(min_length=1)]
    """`{feet}` stands for feet and inches: "five foot eight"."""
    age: Annotated[tuple[Annotated[str, _around("years")], ...], Field(min_length=1)]
    female: Answers
    male: Answers
    pressure_low: Answers
    pressure_recovered: Answers
    acidosis: Answers = ("the patient is acidotic", "there is acidosis")
    """The bag is paced faster then."""
    obstruction: Answers = ("the patient is obstructed", "the patient has asthma")
    """And slower then: the lungs must empty."""
    allergy: Annotated[tuple[Annotated[str, _around("allergen")], ...], Field(min_length=1)]


class MayBeSaid(Questions, Facts, VitalWords):
    """What people may say, by meaning."""

    confirm: Answers
    plain_yes: tuple[Utterance, ...] = ()
    """What people say for yes in passing: "yes", "check", "done". It counts only as an answer: soon
    after the question, from somebody near, and nothing else said around it."""
    bare_yes: tuple[Utterance, ...] = ()
    """A yes too short to be told from room talk: it confirms nothing, and is told what would."""
    not_applicable: tuple[Utterance, ...] = ()
    """An item does not apply to this patient; only for items that may not."""
    help: tuple[Utterance, ...] = ("what can i say", "what may i say")
    short_form: tuple[Utterance, ...] = ("short form", "short form please")
    long_form: tuple[Utterance, ...] = ("long form", "long form please")
    decline: Answers
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
    mark: tuple[Utterance, ...] = ()
    """Marks the moment for the debrief, and does nothing else; heard but in an attempt."""
    rescue_start: Answers = ("supraglottic airway now", "we go for the supraglottic")
    """Somebody decides for the supraglottic airway."""
    wake_up: Answers = ("we wake the patient up", "wake the patient up")
    """Somebody decides against any further attempt."""
    attempt_in_doubt: tuple[Utterance, ...] = ("can't see", "i can't see a thing", "no view")
    """Said in an attempt that may have failed by it; asked back, and a yes counts."""
    number: Annotated[tuple[Annotated[str, _around("number", "unit")], ...], Field(min_length=1)]
    """Around a number: `{number}`, `{number} {unit}`."""
    room_talk: tuple[Utterance, ...] = ()
    """Said in the room and not for the assistant: it soaks up what sounds like an answer."""


class LiveSays(SiteModel):
    """Said between cases, and about the assistant's own parts, when it listens live."""

    ready: Plain
    """The self-test found nothing wrong."""
    not_ready: Annotated[Template, with_all("faults")]
    unsigned: Plain = "Site not signed."
    """Before either of the two, where two roles have not signed the site's files."""
    signed_before_change: Plain = "Site changed since it was signed."
    """Instead, where they had, and the files were changed afterwards."""
    microphone_silent: Plain
    loudspeaker_unheard: Plain
    hears_itself: Plain = "I hear myself, so nobody can interrupt me."
    """The self-test's, where `echo_cancelled` says that it should not."""
    oximeter_silent: Plain
    disk_full: Plain
    clock_unset: Plain
    sound_back: Plain
    """Microphone and loudspeaker were gone and are back."""
    restarted: Plain
    """The program was restarted in the middle of a case."""
    record_unread: Plain = "I could not read all of this case's record."
    """The case goes on with a record that is damaged, or of a later version of the program."""
    not_spoken: Plain = "I cannot say the next thing. Please ask me again."
    """The voice gave no sound for a line."""
    microphone_lost: Plain = "I cannot hear: the microphone is gone."
    """Unplugged, or delivering nothing, while the loudspeaker still works."""
    microphone_clipped: Plain = "The microphone is turned up too far."
    line_hums: Plain = "The microphone's line hums. Look for a loose plug."
    voice_faint: Plain = "I hear you only faintly. Bring the microphone nearer."
    sound_missed: Plain = "I may have missed something just now."
    """The machine was too busy to take in every sound."""


class Timing(SiteModel):
    """How patient the assistant is."""

    ask_again_after_s: Annotated[float, Field(ge=2, le=60)] = 7.0
    ask_at_most: Annotated[int, Field(ge=1, le=10)] = 3
    """Times that one item is asked before the assistant goes quiet and waits."""
    breath_every_s: Annotated[float, Field(ge=2, le=12)] = 6.0
    """While the bag is paced."""
    breath_every_acidosis_s: Annotated[float, Field(ge=2, le=12)] = 3.0
    """The same for a patient who was told to be acidotic."""
    breath_every_obstruction_s: Annotated[float, Field(ge=2, le=12)] = 8.0
    """And for one who was told to be obstructed, acidotic or not."""
    answer_window_s: Annotated[float, Field(ge=2, le=30)] = 7.0
    """A plain yes that begins later than this after the question answers nothing."""
    tail_s: Annotated[float, Field(ge=0, le=2)] = 0.2
    """The microphone stays shut this long after the assistant has spoken."""


class Wording(SiteModel):
    """All of wording.yaml."""

    language: Language = "en"
    """Of the numbers, as they are said and heard."""
    terms: Terms = Terms()
    voice: VoiceSettings = VoiceSettings()
    echo_cancelled: bool = False
    """Whether the sound device, or the system, takes the assistant's own voice out of what its
    microphone hears. People may then speak while it does; the self-test checks it first."""
    timing: Timing = Timing()
    form: Literal["short", "long"] = "long"
    """Whether items are asked by their `call` or in full; both may be asked for aloud."""
    says: Says
    vital: VitalSays = VitalSays()
    pause: PauseSays = PauseSays()
    live: LiveSays
    may_be_said: MayBeSaid
    address: tuple[Utterance, ...] = ()
    """What people call the assistant. With it, a question or a fact about the patient that comes
    while nothing is being asked must begin with one of these words; without it, none must."""

    @property
    def tongue(self) -> Tongue:
        """The site's language with its terms."""
        return Tongue(self.language, self.terms)

    @property
    def phonetic_voice(self) -> str:
        """espeak-ng's voice that tells how the site's words are pronounced."""
        speaks = self.voice.engine == "espeak"
        return self.voice.name if speaks else self.tongue.phonetic_voice

    def for_need(self) -> tuple[str, ...]:
        """Every phrase with nothing to fill in: what has to come when all else fails is in it."""
        vital = self.vital.model_dump()
        asked_back = vital.pop("asked_back")
        pause = self.pause.model_dump()
        told = (self.says.model_dump(), self.live.model_dump(), vital, asked_back, pause)
        phrases = (phrase for one in told for phrase in one.values())
        return tuple(phrase for phrase in phrases if "{" not in phrase)
