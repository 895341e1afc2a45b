"""What is listened for, as a team reads it: the answers to each item, and what else may be said."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from assistant.brief.decisions import SiteDecisions
from assistant.brief.items import AnyItem
from assistant.brief.states import State
from assistant.grammar.grammar import SLOT
from assistant.phrasebook.phrasebook import Phrasebook

CALLED = {
    "confirm": "settles it",
    "plain_yes": "settles it, if said soon after the call",
    "bare_yes": "settles nothing here",
    "not_applicable": "does not apply",
    "decline": "not yet",
    "denied": "it is not so",
    "number": "a number",
    "allergen": "is read back",
    "choose": "a choice",
    "name": "a role",
    "feature": "is true of this patient",
    "no_feature": "nothing, or nothing else",
}
"""The meanings that answer an item, in plain words."""
ANY_TIME = {
    "start": "begins the brief",
    "brief": "chooses a brief",
    "new_case": "opens a new case",
    "same_patient": "the same patient, of a case cut short",
    "another_patient": "another patient, of a case cut short",
    "repeat": "says it again",
    "why": "why that is asked",
    "help": "what may be said now",
    "left": "what is left",
    "back": "takes back the last answer or word",
    "number_instead": "another number than was heard",
    "number_again": "a yes to a number read back",
    "hold": "holds the questions",
    "resume": "goes on",
    "stop": "silence",
    "short_form": "shorter questions",
    "long_form": "longer questions",
    "feature_told": "true of this patient",
    "feature_denied": "not true of this patient",
    "weight": "the weight",
    "weight_pounds": "the weight in pounds",
    "weight_wrong": "the weight is wrong",
    "height": "the height",
    "height_feet": "the height in feet and inches",
    "age": "the age",
    "female": "a woman",
    "male": "a man",
    "pressure": "the blood pressure",
    "pressure_low": "the pressure is low",
    "pressure_recovered": "the pressure is low no more",
    "acidosis": "acid in the blood",
    "obstruction": "air is trapped",
    "allergy": "an allergy",
    "allergy_denied": "an allergy that is none",
    "dose": "asks a dose",
    "dose_low_pressure": "asks a dose for a low pressure",
    "volume": "asks how many millilitres",
    "maximum": "asks the most of a drug",
    "dose_again": "the last dose again",
    "mix": "asks how to mix",
    "excluded": "a yes before a dose: none of what it asks about",
    "drug_given": "a drug is in",
    "given": "asks what was given",
    "go_ahead": "ends the pause before the drugs",
    "drugs_in": "the drugs are in",
    "pace": "starts pacing the bag",
    "pace_stop": "stops pacing the bag",
    "go_now": "goes to the attempt without the rest",
    "attempt_start": "an attempt begins",
    "attempt_failed": "the attempt failed",
    "attempt_in_doubt": "perhaps failed: is asked back",
    "tube_in": "the tube is in",
    "tube_past_cords": "the tube is past the cords",
    "tube_out": "the tube is out",
    "wave_lost": "no carbon dioxide wave",
    "wave_in_doubt": "perhaps no wave: is asked back",
    "cannot_ventilate": "no breath gets in",
    "cannot_oxygenate": "no oxygen gets in: front of neck",
    "rescue_start": "the supraglottic airway is next",
    "rescue_in": "the supraglottic airway is in",
    "neck_open": "the tube through the neck is in",
    "wake_up": "the patient is to wake up",
    "arrest": "the heart has stopped",
    "pulse_back": "the pulse is back",
    "worse": "it gets worse",
    "first_steps": "asks for the agreed first steps",
    "saturation": "asks the saturation",
    "elapsed": "asks the clocks",
    "who": "asks who does what",
    "plan": "asks the plan for failed attempts",
    "patient": "asks what is known of the patient",
    "predicted_weight": "asks the predicted weight",
    "tube": "asks the tube's size and depth",
    "size_of": "asks another size",
    "ventilator": "asks the ventilator's settings",
    "ventilator_acidotic": "the settings for acidosis",
    "ventilator_obstructed": "the settings for trapped air",
    "cylinder": "asks how long a cylinder lasts",
    "handover": "asks the handover",
    "mark": "marks the moment for the debrief",
    "end_case": "ends the case",
}
"""What else may be said, in plain words, in the order in which a team reads it."""
NOT_BY_ITSELF = ("blood_pressure", "takes_back", "room_talk")
"""Listed with the numbers and the not yets of the items; the last is said to nobody."""
USUAL = {
    "confirm": "a full yes",
    "plain_yes": "a yes in passing",
    "bare_yes": "settles nothing by itself",
    "decline": "a usual not yet",
    "yes_first": "before a yes or a choice",
    "yes_last": "after more than a yes",
    "no_first": "before a not yet",
    "no_last": "after a not yet",
    "hesitations": "before any answer",
}
"""What stands in a list for the words of that meaning that are the same to every item."""
_READ_BACK = "is read back, if said soon after the call"
"""A yes in passing to a vital item."""
_FEW_NUMBERS = 4
"""So many ways to tell a number show how it is told."""


@dataclass(frozen=True, slots=True)
class Answers:
    """An item and what answers it, by meaning, each with its phrases; for a slot stands "…"."""

    item: AnyItem
    phrases: dict[str, tuple[str, ...]]

    def rows(self, usual: Mapping[str, Sequence[str]]) -> Iterator[tuple[str, tuple[str, ...]]]:
        """What each meaning is called, and its phrases; the usual ones by the name of their list,
        with those of them that it does not take. Without `usual`, of one item by itself, all are
        listed; else a few ways to tell a number, and no yes that settles nothing anywhere."""
        for meaning, phrases in self.phrases.items():
            vital = meaning == "plain_yes" and self.item.doubts_a_plain_yes
            of = ("confirm", "plain_yes", "bare_yes") if meaning == "bare_yes" else (meaning,)
            lists = {name: usual[name] for name in of if name in usual}
            told = {name: words for name, words in lists.items() if name != "bare_yes"}
            named = [_named(name, words, phrases) for name, words in told.items()]
            listed = {one for words in lists.values() for one in words}
            own = [one for one in phrases if one not in listed]
            if usual and meaning == "number":
                own = _few(own)
            if row := (*filter(None, named), *own):
                yield _READ_BACK if vital else CALLED[meaning], row


def _few(numbers: Sequence[str]) -> list[str]:
    """The first ways to tell a number, and one that takes two, as a blood pressure has."""
    rest = numbers[_FEW_NUMBERS:]
    two = [one for one in rest if one.count("…") > 1][:1]
    return [*numbers[:_FEW_NUMBERS], *two, *(["and the like"] if len(rest) > len(two) else [])]


def _named(name: str, usual: Sequence[str], phrases: Sequence[str]) -> str:
    """The name of a list, where any of it is among the phrases."""
    others = [f'"{one}"' for one in usual if one not in phrases]
    if len(others) == len(usual):
        return ""
    return " except ".join(filter(None, (USUAL[name], ", ".join(others))))


def answers(site: SiteDecisions, item_id: str | None = None) -> Iterator[Answers]:
    """Each item of the brief with what answers it; only one, when that is named.

    Raises KeyError when the brief has no such item.
    """
    book = Phrasebook(site)
    items: Iterable[AnyItem] = (
        site.brief.items() if item_id is None else (site.brief.item(item_id),)
    )
    for item in items:
        grouped: dict[str, list[str]] = {}
        for pattern in book.heard_in(State.ASKING, item).patterns:
            answers_it = pattern.meaning in (*item.answered_by, "confirm", "bare_yes")
            if pattern.for_me and answers_it and not pattern.is_longer:
                grouped.setdefault(pattern.meaning, []).append(pattern.words)
        phrases = {name: tuple(map(_shown, grouped[name])) for name in CALLED if name in grouped}
        yield Answers(item, phrases)


def usual(site: SiteDecisions) -> dict[str, tuple[str, ...]]:
    """What answers most items in the same words, by meaning: it is listed once."""
    said = site.wording.may_be_said
    return {name: tuple(found) for name in USUAL if (found := getattr(said, name))}


def any_time(site: SiteDecisions) -> dict[str, tuple[str, ...]]:
    """What may be said besides answers, by what it is called."""
    said = site.wording.may_be_said
    found: dict[str, tuple[str, ...]] = {}
    for meaning, called in ANY_TIME.items():
        named = [words for _, means, _, words in site.brief.named() if means == meaning]
        if phrases := (*getattr(said, meaning, ()), *chain(*named)):
            found[called] = tuple(map(_shown, phrases))
    return found


def _shown(words: str) -> str:
    return SLOT.sub("…", words)
