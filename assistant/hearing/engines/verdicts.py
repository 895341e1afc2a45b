"""How sure is sure enough: the thresholds of the closed engine, and why they are what they are."""

import math
from dataclasses import dataclass, replace

from assistant.hearing.grammar import Danger
from assistant.hearing.heard import Verdict


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the search found for the best phrase, in nats."""

    ratio: float
    """Per token, relative to the model's own free decode: 0 is what it would have written."""
    mean: float
    """Per token, by itself. In noise the free decode is poor too, and the ratio says little."""
    margin: float
    """Ahead of the best phrase that means something else."""


@dataclass(frozen=True, slots=True)
class Bar:
    """What a phrase must reach, each of the three, to be accepted."""

    ratio: float
    mean: float
    margin: float

    def clear(self, evidence: Evidence, slack: float = 0.0) -> bool:
        """Whether the sound is enough like the phrase."""
        return evidence.ratio >= self.ratio - slack and evidence.mean >= self.mean - slack


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Fitted on three natural and two robotic voices, clean and at 10 dB; see docs/hearing.md.

    Rightly heard commands have ratios of -0.8 and better clean, -1.1 in noise (5th percentile);
    room talk that resembles a phrase of several words begins at -1.4, one that resembles a single
    word at -0.7 ("ready" for "thirty").
    """

    low: Bar = Bar(ratio=-1.4, mean=-2.4, margin=0.7)
    """A wrong acceptance costs a sentence."""
    usual: Bar = Bar(ratio=-1.2, mean=-2.2, margin=1.2)
    high: Bar = Bar(ratio=-1.0, mean=-2.0, margin=1.5)
    """Confirmations, weights and drugs."""
    one_word: Bar = Bar(ratio=0.35, mean=0.6, margin=1.0)
    """A phrase of one word must be better by this: short sounds resemble anything ("comfort" is
    "confirmed", "yeah" is "yes")."""
    with_drug: float = 0.3
    """A long phrase may be worse by this in ratio: no spelling of a drug name is what the model
    would write, and its many other words make up for it."""
    long_words: int = 6
    ask_slack: float = 0.5
    """Worse than the bar by this much, and well ahead of any rival, it is worth asking back."""

    def bar(self, danger: Danger, words: int) -> Bar:
        """The bar for a phrase of so many words."""
        bar = {Danger.LOW: self.low, Danger.USUAL: self.usual, Danger.HIGH: self.high}[danger]
        if words == 1:
            more = self.one_word
            return Bar(bar.ratio + more.ratio, bar.mean + more.mean, bar.margin + more.margin)
        if words >= self.long_words:
            return replace(bar, ratio=bar.ratio - self.with_drug)
        return bar


def judge(
    thresholds: Thresholds, evidence: Evidence, *, danger: Danger, words: int, rival: str
) -> tuple[Verdict, str]:
    """The verdict, and in a few words why it is not ACCEPT."""
    bar = thresholds.bar(danger, words)
    ahead = evidence.margin >= bar.margin
    if bar.clear(evidence):
        if ahead:
            return Verdict.ACCEPT, ""
        return Verdict.ASK, f"too close to {rival!r} (margin {evidence.margin:.1f})"
    if ahead and bar.clear(evidence, slack=thresholds.ask_slack):
        return Verdict.ASK, f"not clear enough ({_figures(evidence)})"
    return Verdict.IGNORE, f"too unlike anything that may be said now ({_figures(evidence)})"


def confidence(evidence: Evidence) -> float:
    """0 … 1, growing with each figure: for the record and the display, never for a decision."""
    likeness = 1 / (1 + math.exp(-2.5 * (min(evidence.ratio, 0.0) + 1.2)))
    lead = 1 - math.exp(-max(evidence.margin, 0.0) / 1.5)
    return round(likeness * lead, 3)


def _figures(evidence: Evidence) -> str:
    return f"ratio {evidence.ratio:.2f}, mean {evidence.mean:.2f}"
