"""How much harm it does if a phrase is taken for said that was not, by its meaning."""

from assistant.brief.states import VITAL
from assistant.grammar.grammar import Danger

_DANGER = {
    "confirm": Danger.HIGH,
    "plain_yes": Danger.PLAIN,
    "not_applicable": Danger.HIGH,
    "number": Danger.NUMBER,
    "dose": Danger.ANSWERED,
    "dose_low_pressure": Danger.ANSWERED,
    "volume": Danger.ANSWERED,
    "maximum": Danger.ANSWERED,
    "dose_again": Danger.ANSWERED,
    "mix": Danger.ANSWERED,
    "cylinder": Danger.ANSWERED,
    "allergen": Danger.NUMBER,  # a name that was asked for
    "excluded": Danger.HIGH,
    "new_case": Danger.HIGH,
    "feature": Danger.OPTION,
    "wake_up": Danger.HIGH,
    "go_ahead": Danger.HIGH,
    "drug_given": Danger.ANSWERED,
    "go_now": Danger.HIGH,
    **dict.fromkeys(VITAL, Danger.HIGH),  # in doubt they are asked back in two words
    "attempt_in_doubt": Danger.LOW,  # does no more than ask back
    "wave_in_doubt": Danger.LOW,  # the same
    "decline": Danger.LOW,  # at worst an item stays open that was done
    "bare_yes": Danger.LOW,  # confirms nothing: the answer to it asks back
    "mark": Danger.LOW,  # changes nothing
    "start": Danger.LOW,  # at worst the first item is asked early
    "hold": Danger.LOW,  # a lone "wait": at worst it waits for "go on"
    "end_case": Danger.LOW,  # asked after before anything ends
    "stop": Danger.LOW,  # one that is missed is worse than a needless one
}


def danger_of(meaning: str, phrase: str) -> Danger:
    """Of that phrase of the wording, by what it means."""
    if "{weight_kg}" in phrase:
        return Danger.READ_BACK  # a weight is named with the drug
    if meaning == "hold" and " " in phrase:
        # Nearly all that is heard as a hold by mistake is heard as one of several words: "two
        # seconds" of "tube's fixed". Of 86 such 24 are left, and of 51 that were said 50.
        return Danger.USUAL
    return _DANGER.get(meaning, Danger.USUAL)
