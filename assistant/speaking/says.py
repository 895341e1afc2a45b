"""What the assistant says: in a case, and when it listens live."""

from typing import Annotated

from assistant.files.templates import Template, only, with_all
from assistant.files.yaml_files import SiteModel
from assistant.speaking.vital_words import Plain


class Says(SiteModel):
    """What the assistant says of its own accord. Each `{…}` is filled in when it speaks."""

    opened: Annotated[Template, only("brief")]
    ask: Annotated[Template, with_all("ask", perhaps=("to",))]
    """The first item of a section, with whom it is put to."""
    ask_again: Annotated[Template, with_all("ask")]
    """An item that was deferred, or that nobody answered."""
    say_again: Plain
    """When somebody spoke and it was not surely understood."""
    too_early: Plain = "Again?"
    """When somebody answered before the end of the question, where nobody is heard while the
    assistant speaks; or what may have been a number, a choice or a role was not understood."""
    yes_or_no: Plain = "Yes, or no?"
    """When what may have been the answer to a check was not understood."""
    bare_yes: Annotated[Template, with_all("yes", perhaps=("no",))] = "Please say: {yes}. Or: {no}."
    """A yes that is too short to be believed, or says too little for this item."""
    confirm_read_back: Annotated[Template, with_all("item")] = "{item}, yes?"
    """A yes to this item was heard, and not for sure; or the item is a vital one. `{item}` is its
    name, or what was told of it in the speaker's own words."""
    not_wanted: Annotated[Template, with_all("value", "wanted")] = (
        "I heard {value}; {wanted} is wanted."
    )
    """A setting was told, and is not the wanted one; of a range, its two ends."""
    low_told_before: Annotated[Template, with_all("value")] = "{value} was told. Holding now, yes?"
    """Whether the pressure holds was answered with a plain yes, and a low one was told before."""
    seen_instead: Annotated[Template, with_all("value", "wanted")] = (
        "I see {value}; {wanted} is wanted."
    )
    """The saturation was said to be so, and the watcher sees another."""
    not_applicable: Plain = "not applicable"
    """As an answer, in the record and when it is told."""
    help: Plain = (
        "Say yes, or not yet; tell me why; say again; go back; hold on; what is left. "
        "Or ask for a dose."
    )
    """What may be said, in one breath."""
    help_briefs: Annotated[Template, with_all("start", "briefs")] = (
        "Say {start}. Or choose: {briefs}."
    )
    """The same before anything is asked, where a site has several briefs."""
    marked: Plain = "Marked."
    """Somebody marked the moment for the debrief; what was asked is still awaited."""
    brief_chosen: Annotated[Template, with_all("brief")] = "{brief}."
    """Somebody chose one of the site's briefs."""
    short_form: Plain = "In short."
    long_form: Plain = "In full."
    waiting: Annotated[Template, only("item")]
    """Asked often enough without an answer: the assistant goes quiet and waits."""
    deferred: Plain
    outstanding: Plain
    """"Not yet", for the second time."""
    noted: Annotated[Template, with_all("value")]
    read_back_number: Annotated[Template, with_all("number", "digits", perhaps=("unit",))]
    read_back: Annotated[Template, with_all("value")]
    refused_value: Plain
    clock_started: Annotated[Template, with_all("clock", perhaps=("lasts",))]
    clock_again: Annotated[Template, with_all("lasts", perhaps=("clock",))] = "Again, {lasts}."
    """It was not so all that time: the clock runs once more."""
    clock_left: Annotated[Template, with_all("clock", perhaps=("left",))]
    """Everything else is answered; the brief waits for a clock."""
    left: Annotated[Template, with_all("items", perhaps=("count",))]
    nothing_left: Plain
    held: Plain
    still_held: Plain = "Still holding."
    """Said after a while, in case it has been forgotten."""
    resumed: Plain
    stopped: Plain
    end_case: Plain
    kept_open: Plain
    ended: Plain
    no_way_back: Plain
    before_done: Plain
    before_done_open: Annotated[Template, with_all("items", perhaps=("count",))]
    before_done_no_drugs: Plain = "That was all. Say: begin the attempt."
    """Where drugs are in already, or none are to be given before the attempt."""
    before_done_no_drugs_open: Annotated[Template, with_all("items", perhaps=("count",))] = (
        "That was all, with {count} still open: {items}. Say: begin the attempt."
    )
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
    no_dose_told: Plain = "I have told you no dose yet."
    """To whoever asks for it again."""
    dose_no_age: Annotated[Template, with_all("number")] = (
        "Below {number} kilograms I need the age first. Tell me the age."
    )
    """Of a patient light enough to be a child, as long as the age is not known."""
    dose_drug_read_back: Annotated[Template, with_all("drug")]
    """A fixed dose, asked for while no weight is known."""
    dose_allergy: Annotated[Template, with_all("allergen", "dose")]
    dose_given_before: Annotated[Template, with_all("drug", "dose")] = "{drug} is in. {dose}"
    """Of a drug that was said to be in already."""
    told_feature: Annotated[Template, with_all("features", "otherwise")] = (
        "Told: {features}. {otherwise}"
    )
    """Something that was told of the patient bars a drug."""
    dose_no_pressure: Annotated[Template, with_all("dose")] = "The pressure is not known. {dose}"
    """Of a drug whose dose goes by it; it was asked for, and nobody had one."""
    dose_in_arrest: Annotated[Template, with_all("dose")] = "Not the dose for an arrest. {dose}"
    """While an arrest is timed: these are the doses around an intubation."""
    fact_again: Plain = "First this, once more."
    """A dose is asked for while something that it goes by awaits its yes."""
    not_so: Annotated[Template, with_all("item")] = "{item}: not yet."
    """An item that was said to be so, and then in its own words not to be."""
    taken_back: Plain = "Taken back."
    """A word that turned the case was not meant: said of something else, or misheard."""
    taken_back_named: Annotated[Template, with_all("words")] = "Taken back: {words}."
    """The same of words that were no mere yes: `{words}` as they were heard."""
    not_taken_back: Plain = "That is too long ago. Say what is so now."
    """The same, said too late."""
    told_allergy: Annotated[Template, with_all("drugs", "allergen")] = (
        "{drugs}: this patient is allergic to {allergen}."
    )
    """An allergy was told after the doses of these drugs, which are not in yet."""
    given_allergy: Annotated[Template, with_all("drug", "allergen")] = (
        "{drug} is in, and this patient is allergic to {allergen}."
    )
    """A drug went in that an allergy bars, whichever of the two was told first."""
    given_for_another_weight: Annotated[Template, with_all("drugs")] = (
        "{drugs}: in, for another weight."
    )
    """The weight was put right after these drugs went in, with doses for the one before."""
    allergen_of_class: Annotated[Template, with_all("allergen", "group")] = (
        "{allergen}, of the {group}"
    )
    """`{allergen}` above, where it bars another drug of its class, the `{group}`."""
    doses_changed: Annotated[Template, with_all("drugs")] = (
        "Another dose now of {drugs}. Ask again, before any goes in."
    )
    """Something was told that makes other doses of these drugs than were told before."""
    dose_usual_pressure: Annotated[Template, with_all("dose")]
    """The dose for a low pressure was asked for, and the drug has no separate one."""
    drug_absent: Annotated[Template, with_all("drug")]
    drug_maximum: Annotated[Template, with_all("drug", "maximum")]
    weight_again: Plain
    """A dose was asked for a weight that must be confirmed again."""
    ask_digits: Plain
    pounds: Annotated[Template, with_all("digits")] = "{digits}, pounds."
    """A weight that was told in pounds, before it is read back in kilograms."""
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
    saturation: Annotated[Template, with_all("percent", perhaps=("ago",))]
    """It was seen within three seconds; an older one is not told."""
    no_saturation: Plain
    attempt_started: Annotated[Template, only("number")]
    attempt_failed: Annotated[Template, with_all("plan")]
    tube_in: Plain
    worse: Plain = (
        "Off the ventilator: bag with oxygen. No wave, tube out. Hear both sides. Pass a suction "
        "catheter. Then airway pressure and blood pressure."
    )
    """It goes wrong after the tube: what to do, in the order in which it is done."""
    worse_without_tube: Plain = "Seal the mask with both hands, and bag with oxygen."
    """The same while nothing is in through which the patient is ventilated."""
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
    watcher_back: Plain = "Watching again."
    """After that, once the watcher has been back for a while."""


class LiveSays(SiteModel):
    """Said between cases, and about the assistant's own parts, when it listens live."""

    ready: Plain
    """The self-test found nothing wrong."""
    not_ready: Annotated[Template, with_all("faults")]
    not_hearing: Annotated[Template, with_all("faults")] = (
        "Not everything works. {faults} Nobody is heard until that is mended."
    )
    """The same where there is no sound to listen to, or nobody could hear an answer."""
    unsigned: Plain = "Site not signed."
    """Before either of the two, where two roles have not signed the site's files."""
    signed_before_change: Plain = "Site changed since it was signed."
    """Instead, where they had, and the files were changed afterwards."""
    microphone_silent: Plain
    loudspeaker_unheard: Plain
    hears_itself: Plain = "I hear myself, so nobody can interrupt me."
    """The self-test's, where `echo_cancelled` says that it should not."""
    oximeter_silent: Plain
    call_missing: Plain = "One of the saturation calls cannot be spoken as it is written."
    """The watcher's voice cannot make each of its calls: instead of one there comes the nearest
    that is true as well, or the tone alone."""
    disk_full: Plain
    clock_unset: Plain
    sound_back: Plain
    """Microphone and loudspeaker were gone and are back."""
    restarted: Plain
    """The program was restarted in the middle of a case."""
    restarted_briefly: Plain = "Restarted."
    """The same in an attempt or an arrest, when nobody has an ear for more, and is not heard
    meanwhile."""
    same_patient: Plain = "A case is still open. Same patient?"
    """A case was cut short, and goes on after more than a few minutes, or nobody knows how many."""
    record_unread: Plain = "I could not read all of this case's record."
    """The case goes on with a record that is damaged, or of a later version of the program."""
    case_laid_down: Plain = (
        "The case that was open cannot be read. It is kept as it is, and a new one is open."
    )
    """Its record is damaged, or the site's files that were kept with it."""
    sound_kept: Plain = "The sound of what is said to me is kept."
    """Said first of all in a case whose sound is kept."""
    not_spoken: Plain = "I cannot say the next thing. Please ask me again."
    """The voice gave no sound for a line."""
    microphone_lost: Plain = "I cannot hear: the microphone is gone."
    """Unplugged, or delivering nothing, while the loudspeaker still works."""
    loudspeaker_lost: Plain = "There is no loudspeaker."
    """For the log, and for whoever plugs one in: until then it cannot be said."""
    microphone_clipped: Plain = "The microphone is turned up too far."
    line_hums: Plain = "The microphone's line hums. Look for a loose plug."
    voice_faint: Plain = "I hear you only faintly. Bring the microphone nearer."
    nothing_understood: Plain = "I cannot understand anything just now. Say it again in a moment."
    """The recogniser could not take in what may be said, as where memory is short."""
    sound_missed: Plain = "I may have missed something just now."
    """The machine was too busy to take in every sound."""
