"""What speaks for the best phrase and against it, and how that is put into figures."""

import math
from dataclasses import dataclass

from assistant.hearing.engines.closed.pace import pace, syllables

LEAD_NATS = 8.0
"""A rival further behind than this is no rival; the lead is then said to be this."""
DENIAL_NATS = 16.0
"""The same for a denial, which differs by a word or two and is therefore never far behind."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the search found for the best phrase; likelihoods and leads in nats."""

    words: str
    filled: bool
    """Whether the phrase has a drug, a number or another filler in it."""
    voice_s: float
    """How long somebody spoke."""
    ratio: float
    """Per token, relative to the model's own free decode: 0 is what it would have written."""
    mean: float
    """Per token, by itself. In noise the free decode is poor too, and the ratio says little."""
    margin: float = math.inf
    """Ahead of the best phrase that means something else."""
    value_margin: float = math.inf
    """Ahead of the best phrase of the same meaning with another drug or number in it."""
    longer_margin: float = math.inf
    """Ahead of the best phrase that goes on where this one ends ("... of ketamine for fifty
    kilos"): noise eats the ends of sentences."""
    denial_margin: float = math.inf
    """Ahead of its own denials (`negation.denials`); only of what is dangerous."""
    doubt_margin: float = math.inf
    """Ahead of itself with what people put around an answer to take it back; of a plain answer."""
    said_more: bool = False
    """Whether the model's own free decode has the phrase in it, and more: "what is the plan for
    lunch", "once we saw the wave come"."""


def features(evidence: Evidence) -> dict[str, float]:
    """The figures that the verdict is weighed from, each bounded on the side of the hopeless."""
    length = math.log(syllables(evidence.words))
    ratio = max(evidence.ratio, -4.0)
    took = pace(evidence.words, evidence.voice_s)
    return {
        "ratio of a long phrase": ratio * length,
        "mean": max(evidence.mean, -5.0),
        "margin": min(evidence.margin, LEAD_NATS),
        "value margin": min(evidence.value_margin, LEAD_NATS),
        "longer margin": min(evidence.longer_margin, LEAD_NATS),
        "denial margin": min(evidence.denial_margin, DENIAL_NATS),
        "length": length,
        "one word": float(" " not in evidence.words),
        "slow": max(took, 0.0),
        "fast": max(-took, 0.0),
    }
