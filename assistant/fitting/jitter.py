"""The same trials as another processor would have heard them.

The recogniser calculates with 8 bits, and processors round differently. What that does to the
figures of a verdict was measured on the kernels of an emulated ARM Cortex-A72, a Pi 4's processor,
against those of x86-64 (docs/hearing-trials.md); so much is added to the figures here, by lot, so
that a fit does not hang on the processor that it was made on.
"""

import math
import random
from collections.abc import Iterator
from dataclasses import replace

from assistant.fitting.trials import Utterance
from assistant.hearing.engines.closed.evidence import Evidence

COPIES = 3
"""Of each utterance, besides the one that was heard."""
DEVIATION = {
    "ratio": 0.052,
    "mean": 0.030,
    "margin": 0.32,
    "value_margin": 0.32,
    "longer_margin": 0.32,
    "denial_margin": 0.29,
    "doubt_margin": 0.29,
}
"""Standard deviations, of normal distributions nine tenths of which lie within the measured 90th
percentile. The leads over other values and longer phrases are given that of a lead over another
meaning: too few of them were measured."""


def jittered(utterance: Utterance, chance: random.Random) -> Iterator[Utterance]:
    """Copies of an utterance with its figures moved as another processor might move them."""
    for _ in range(COPIES):
        yield replace(utterance, evidence=_moved(utterance.evidence, chance))


def _moved(evidence: Evidence, chance: random.Random) -> Evidence:
    figures = {name: getattr(evidence, name) for name in DEVIATION}
    moved = {
        name: value + chance.gauss(0.0, DEVIATION[name])
        for name, value in figures.items()
        if math.isfinite(value)
    }
    return replace(evidence, **moved)
