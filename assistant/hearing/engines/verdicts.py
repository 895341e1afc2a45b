"""How sure is sure enough: the thresholds of the closed engine, and why they are what they are."""

import math
from dataclasses import dataclass

from assistant.hearing.grammar import Danger
from assistant.hearing.heard import Verdict


@dataclass(frozen=True, slots=True)
class Bar:
    """What one kind of phrase must reach.

    `ratio`: log-probability per token relative to the model's own free decode of the same sound
    (0 is "exactly what the model would have written"). `margin`: nats ahead of the best phrase that
    means something else.
    """

    ratio: float
    margin: float


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Measured by the benchmark on synthetic voices; see docs/hearing.md."""

    accept_low: Bar = Bar(ratio=-1.5, margin=0.7)
    accept_usual: Bar = Bar(ratio=-1.2, margin=1.2)
    accept_high: Bar = Bar(ratio=-1.0, margin=1.5)
    ask: Bar = Bar(ratio=-2.0, margin=0.5)
    one_word_ratio: float = 0.3
    """By how much the ratio of a one-word phrase must be better: short sounds resemble anything."""
    one_word_margin: float = 0.5
    slots_ratio: float = -1.0
    """By how much that of a phrase with slots may be worse: the model cannot spell drug names."""

    def bar(self, danger: Danger, words: int, slots: int) -> Bar:
        """The bar for accepting a phrase of so many words, with so many filled slots."""
        bar = {
            Danger.LOW: self.accept_low,
            Danger.USUAL: self.accept_usual,
            Danger.HIGH: self.accept_high,
        }[danger]
        if words == 1:
            return Bar(bar.ratio + self.one_word_ratio, bar.margin + self.one_word_margin)
        if slots:
            return Bar(bar.ratio + self.slots_ratio, bar.margin)
        return bar


def judge(
    thresholds: Thresholds,
    *,
    danger: Danger,
    words: int,
    slots: int,
    ratio: float,
    margin: float,
    rival: str,
) -> tuple[Verdict, str]:
    """The verdict, and in a few words why it is not ACCEPT."""
    bar = thresholds.bar(danger, words, slots)
    ask = thresholds.ask
    unlike = f"too unlike anything that may be said now (ratio {ratio:.2f})"
    close = f"too close to {rival!r} (margin {margin:.1f})"
    if ratio < min(ask.ratio, bar.ratio - 0.5):
        return Verdict.IGNORE, unlike
    if ratio < bar.ratio:
        return Verdict.ASK, f"not clear enough (ratio {ratio:.2f})"
    if margin < bar.margin:
        return Verdict.ASK, close
    return Verdict.ACCEPT, ""


def confidence(ratio: float, margin: float) -> float:
    """0 … 1, growing with both: for the record and the display, never for a decision."""
    likeness = 1 / (1 + math.exp(-2.5 * (ratio + 1.2)))
    lead = 1 - math.exp(-max(margin, 0.0) / 1.5)
    return round(likeness * lead, 3)
