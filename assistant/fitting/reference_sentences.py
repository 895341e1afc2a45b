"""The sentences of the reference set, for the example site."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

ITEMS = "suction", "oxygen-on", "sustained-carbon-dioxide"
"""Of the example site; all else is a kind of question, as for `Phrasebook.when_asking`."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """What is being asked, what is said then, and what that means."""

    asking: str
    text: str
    means: str = ""
    """Empty: nothing that may be said then."""
    values: Mapping[str, str | float] = field(default_factory=dict)


SENTENCES: Sequence[Sentence] = (
    Sentence("suction", "yes confirmed", "confirm"),
    Sentence("suction", "yes", "plain_yes"),
    Sentence("suction", "both working", "plain_yes"),
    Sentence("suction", "done", "plain_yes"),
    Sentence("suction", "not yet", "decline"),
    Sentence("suction", "no", "decline"),
    Sentence("suction", "not confirmed", "decline"),
    Sentence("suction", "that is wrong", "decline"),
    Sentence("suction", "not both working"),
    Sentence("suction", "is that confirmed"),
    Sentence("suction", "he was not confirmed"),
    Sentence("suction", "thank you"),
    Sentence("suction", "can you pass me the tape"),
    Sentence("suction", "the farmer went to market"),
    Sentence("oxygen-on", "we saw the mask held on", "confirm"),
    Sentence("oxygen-on", "we'll see the mask held on"),
    Sentence("oxygen-on", "if we saw the mask held on"),
    Sentence("sustained-carbon-dioxide", "we saw the wave go on", "confirm"),
    Sentence("sustained-carbon-dioxide", "we'll see the wave go on"),
    Sentence("sustained-carbon-dioxide", "we didn't see the wave go on"),
    Sentence("number", "seven zero kilos", "number", {"number": 70.0}),
    Sentence("number", "one hundred and twelve kilos", "number", {"number": 112.0}),
    Sentence("number", "eighty four kilos", "number", {"number": 84.0}),
    Sentence("number", "about the usual"),
    Sentence("question", "what is the dose of rocuronium", "dose", {"drug": "rocuronium"}),
    Sentence("question", "what is the dose of ketamine", "dose", {"drug": "ketamine"}),
    Sentence("question", "how do i mix norepinephrine", "mix", {"drug": "norepinephrine"}),
    Sentence("question", "what is the dose for lunch"),
)
