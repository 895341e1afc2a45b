"""What a site may get wrong in its phrases: every slip of a long list is noticed by `load_site`."""

from collections.abc import Callable

import pytest

from tests.site.slips import Site, Slip, item, text


def said(meaning: str, words: str) -> Slip:
    """One more phrase of that meaning."""
    return (
        f"{words!r} among {meaning}",
        lambda site: site["wording"]["may_be_said"].setdefault(meaning, []).append(words),
    )


def of_item(name: str, key: str, words: str) -> Slip:
    """One more phrase of that item."""
    return (
        f"{words!r} among {key} of {name}",
        lambda site: item(site, name).setdefault(key, []).append(words),
    )


def says(key: str, words: str, part: str = "says") -> Slip:
    """Another sentence of the assistant's."""
    return f"{part}.{key}: {words!r}", lambda site: site["wording"][part].update({key: words})


def option(name: str, words: str) -> Slip:
    """What one option of a choice is called, and another too."""
    return f"{words!r} for two options", lambda site: item(site, name)["options"][-1][
        "said"
    ].append(words)


def role(words: str) -> Slip:
    """What one role is called, and another too."""
    return f"{words!r} for two roles", lambda site: site["brief"]["roster"][-1]["said"].append(
        words
    )


DOUBLE: tuple[Slip, ...] = (
    # The cases of which a site is known to have stumbled over.
    said("confirm", "no"),
    of_item("allergies", "confirmations", "no"),
    said("go_now", "yes confirmed"),
    option("first-laryngoscope", "video laryngoscope"),
    role("the consultant"),
    said("attempt_failed", "the tube went through"),
    of_item("allergies", "confirmations", "check"),
    of_item("bag-and-valve", "confirmations", "yes"),
    # A yes that is also something else.
    *(said("confirm", words) for words in ("not yet", "say that again", "stop", "hold on")),
    *(
        said("plain_yes", words)
        for words in ("no", "not yet", "negative", "tell me why", "yes confirmed")
    ),
    *(said("bare_yes", words) for words in ("yes", "done", "yes confirmed", "no")),
    *(said("decline", words) for words in ("yes", "yes confirmed", "correct", "okay")),
    # A command that is also an answer, a question, or another command.
    *(said("stop", words) for words in ("yes", "no", "say that again")),
    *(said("repeat", words) for words in ("yes", "what is left", "stop")),
    *(said("hold", words) for words in ("yes confirmed", "not yet")),
    *(said("end_case", words) for words in ("yes confirmed", "stop")),
    *(said("go_now", words) for words in ("not yet", "stop", "done")),
    *(said("tube_in", words) for words in ("the attempt failed", "the drugs went in")),
    said("attempt_start", "the drugs went in"),
    said("start", "what is left"),
    said("drugs_in", "begin the attempt"),
    said("pace", "no more pacing"),
    said("pace_stop", "yes"),
    said("back", "not yet"),
    said("left", "tell me why"),
    # A question or a fact that is also another.
    said("dose", "maximum of {drug}"),
    said("volume", "dose of {drug}"),
    said("mix", "dose of {drug}"),
    said("dose_low_pressure", "what is the dose of {drug}"),
    said("weight", "the height is {kilograms} centimetres"),
    said("age", "the weight is {years} kilos"),
    said("male", "the patient is a woman"),
    said("plan", "yes confirmed"),
    said("saturation", "the weight is seventy kilos"),
    said("elapsed", "dose of ketamine"),
    # What an item is not to hear: only a word of "back", and one that it would hear.
    of_item("neck-wave", "not_heard", "stop"),
    of_item("neck-wave", "not_heard", "no weight"),
    # Without that, "no wave" sounds like "no wait".
    text("neck-wave", "not_heard", []),
    # An item's own answers.
    *(
        of_item("bag-and-valve", key, words)
        for key, words in (
            ("confirmations", "bag and valve on"),
            ("confirmations", "not yet"),
            ("plain_answers", "no"),
            ("plain_answers", "stop"),
            ("does_not_apply", "bag and valve on"),
            ("does_not_apply", "not yet"),
        )
    ),
    of_item("allergies", "confirmations", "none known"),
    of_item("nasal-oxygen", "plain_answers", "fifteen litres"),
)
NEAR: tuple[Slip, ...] = (
    said("decline", "yes collect"),
    said("decline", "we saw the mask held off"),
    said("go_now", "begin the attempts"),
    said("attempt_failed", "the tube went true"),
    option("first-laryngoscope", "video laryngoscopes"),
    role("the consultants"),
    said("stop", "yes corrects"),
    of_item("allergies", "confirmations", "yes"),
    of_item("allergies", "confirmations", "all good"),
    said("confirm", "confirmed"),
    said("confirm", "okay"),
    said("confirm", "that's it"),
)
LOST: tuple[Slip, ...] = (
    says("read_back_number", "Correct?"),
    says("read_back_number", "I heard {number}. Correct?"),
    says("read_back_number", "I heard {digits}. Correct?"),
    says("dose_read_back", "For {number}: {digits}. Correct?"),
    says("dose_read_back", "{drug}. Correct?"),
    says("dose_drug_read_back", "Correct?"),
    says("read_back", "Correct?"),
    says("confirm_read_back", "Yes?"),
    says("dose_what_if", "For that weight only."),
    says("dose_allergy", "An allergy is known: {dose}"),
    says("dose_allergy", "{allergen} is known."),
    says("ask", "Next, {to}."),
    says("ask_again", "Again."),
    says("noted", "Noted."),
    says("mix_step", "Step {number} of {count}."),
    says("attempt_failed", "Failed."),
    says("saturation", "{ago} ago."),
    says("out_of_range", "Not possible."),
    says("read_back", "{valeu}. Correct?"),
    says("deferred", "Later {item}."),
    says("help", "Say {yes."),
    says("not_ready", "Not ready.", "live"),
    text("saturation-call", "ask", "Will everyone act at {treshold}?"),
    text("allergies", "ask", "Allergies {told}?"),
    text("allergies", "why", "After induction {it} looks like any other."),
)


def _threshold_in_words(site: Site) -> None:
    """As a site had it before it changed the threshold."""
    for section in site["brief"]["sections"]:
        for one in section["items"]:
            for key in ("ask", "call", "why"):
                one[key] = one.get(key, "-").replace("{threshold}", "ninety-three")
    site["oximeter"]["crossing"] = {"threshold_percent": 92}


SPOKEN: tuple[Slip, ...] = (
    ("ten wanted", lambda site: item(site, "nasal-oxygen").update(wanted_low=10, wanted_high=10)),
    text("nasal-oxygen", "call", "Nasal oxygen, five litres?"),
    text("oxygen-on", "lasts_s", 120),
    text("oxygen-on", "ask_again", "Two minutes are up: was the mask sealed throughout?"),
    ("threshold in words", _threshold_in_words),
)

DENIED: tuple[tuple[Slip, str], ...] = (
    (of_item("suction", "plain_answers", "no suction here"), "'no' in it"),
    (of_item("suction", "plain_answers", "both not working"), "'not' in it"),
    (of_item("suction", "plain_answers", "are both working"), "asks"),
    (of_item("suction", "plain_answers", "only one"), "not_yet"),
    (of_item("suction", "plain_answers", "almost working"), "'almost' in it"),
    (of_item("sustained-carbon-dioxide", "plain_answers", "not much of a wave"), "'not' in it"),
    (of_item("sustained-carbon-dioxide", "denied_by", "good wave"), "denied_by"),
    (of_item("allergies", "confirmations", "we did not go through them"), "'not' in it"),
    (of_item("oxygen-on", "confirmations", "is the mask held on"), "asks"),
    (of_item("allergies", "plain_noes", "are there no allergies"), "asks"),
    (of_item("bag-and-valve", "not_yet", "yes"), "a mere yes"),
    (said("plain_yes", "almost ready"), "'almost' in it"),
    (said("plain_yes", "i guess so"), "'guess' in it"),
    (said("confirm", "yes not wrong"), "'not' in it"),
    (said("go_ahead", "not clear to go"), "'not' in it"),
    (said("drugs_in", "drugs not in"), "'not' in it"),
    (said("tube_in", "has the tube gone in"), "asks"),
    (said("drug_given", "no {drug} given"), "'no' in it"),
    (of_item("special", "nothing_said", "yes"), "a mere yes"),
    (said("pulse_back", "pulse gone"), "'gone' in it"),
    (said("attempt_failed", "the attempt worked"), "'worked' in it"),
    (said("neck_open", "supraglottic in place"), "'supraglottic' in it"),
    (said("rescue_in", "in through the neck"), "'neck' in it"),
)
LEGITIMATE: tuple[Slip, ...] = (
    of_item("allergies", "plain_noes", "no allergies at all"),
    of_item("mouth-and-teeth", "plain_noes", "no loose teeth"),
    # "It's on" is a yes to others and a no to the collar.
    of_item("collar", "not_yet", "yes the collar's on"),
    of_item("saturation-call", "plain_answers", "will be done"),
    said("cannot_oxygenate", "no oxygen at all now"),
    said("attempt_failed", "it isn't going through"),
    said("wave_lost", "no trace any more"),
    said("attempt_failed", "it hasn't worked"),
    of_item("special", "nothing_said", "that's it"),
)


def test_the_site_itself_is_in_order(written: Callable[[Slip], str]) -> None:
    """Written anew with nothing changed, nothing is complained of."""
    assert written(("nothing", lambda site: site["brief"].update(name="Tarn Hollow"))) == ""


def test_every_slip_in_a_phrase_is_noticed(written: Callable[[Slip], str]) -> None:
    """At least sixty double meanings, and near pairs, lost placeholders and stale numbers."""
    assert len(DOUBLE) >= 60
    unseen = [slip[0] for slip in (*DOUBLE, *NEAR, *LOST, *SPOKEN) if not written(slip)]
    assert unseen == []


@pytest.mark.parametrize(("slip", "told"), DENIED, ids=lambda one: str(one[0]))
def test_no_yes_denies_doubts_or_asks(
    written: Callable[[Slip], str], slip: Slip, told: str
) -> None:
    """A phrase that a site lists among what confirms, and that says something else."""
    assert told in written(slip)


@pytest.mark.parametrize("slip", LEGITIMATE, ids=lambda one: str(one[0]))
def test_a_no_where_it_belongs_is_allowed(written: Callable[[Slip], str], slip: Slip) -> None:
    """A vital word that is a no, and an answer that confirms by one and is listed as such."""
    assert written(slip) == ""
