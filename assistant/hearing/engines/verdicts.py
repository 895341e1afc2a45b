"""How sure is sure enough: the thresholds of the closed engine, and why they are what they are."""

import math
from dataclasses import dataclass

from assistant.hearing.grammar import Danger
from assistant.hearing.heard import Verdict


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the search found for the best phrase, in nats."""

    ratio: float
    """Per token, relative to the model's own free decode: 0 is what it would have written."""
    mean: float
    """Per token, by itself. In noise the free decode is poor too, and the ratio says little."""
    worst: float
    """Of the token that the model wanted least, relative to what it wanted in its place: a long
    phrase that fits but for one word has a good ratio ("ketamine" heard in "sugammadex")."""
    margin: float
    """Ahead of the best phrase that means something else."""


@dataclass(frozen=True, slots=True)
class Bar:
    """What a phrase must reach in each of the four to be accepted."""

    ratio: float
    mean: float
    worst: float
    margin: float

    def moved(self, by: "Bar") -> "Bar":
        """A stricter bar, or with negative figures a laxer one."""
        return Bar(
            self.ratio + by.ratio,
            self.mean + by.mean,
            self.worst + by.worst,
            self.margin + by.margin,
        )

    def is_like(self, evidence: Evidence) -> bool:
        """Whether the sound is enough like the phrase, whatever else it may be like."""
        return (
            evidence.ratio >= self.ratio
            and evidence.mean >= self.mean
            and evidence.worst >= self.worst
        )


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Fitted on synthetic voices, clean and in noise at 10 dB; see docs/hearing.md.

    Rightly heard commands have ratios of -0.8 and better clean, -1.1 in noise (5th percentile),
    and no token worse than -4.7 (1st percentile). Room talk that resembles a phrase of several
    words begins at a ratio of -1 with a token of -6 ("right" for "that's right"); a single word
    is resembled sooner ("ready" for "thirty", ratio -0.7).
    """

    low: Bar = Bar(ratio=-1.4, mean=-2.4, worst=-6.5, margin=0.7)
    """A wrong acceptance costs a sentence."""
    usual: Bar = Bar(ratio=-1.2, mean=-2.2, worst=-5.5, margin=1.2)
    high: Bar = Bar(ratio=-1.0, mean=-2.0, worst=-5.0, margin=1.5)
    """Confirmations, weights and drugs."""
    one_word: Bar = Bar(ratio=0.35, mean=0.6, worst=0.5, margin=1.0)
    """A phrase of one word must be better by this: short sounds resemble anything ("comfort" is
    "confirmed", "yeah" is "yes")."""
    one_long_word: Bar = Bar(ratio=0.3, mean=0.4, worst=0.5, margin=1.0)
    """One of eight letters and more ("confirmed") has more to be told by."""
    long: Bar = Bar(ratio=-0.3, mean=0.0, worst=-1.0, margin=0.0)
    """A phrase of six words and more may be worse by this: no spelling of a drug name is what the
    model would have written, and the many other words make up for it."""
    ask: Bar = Bar(ratio=-0.5, mean=-0.5, worst=-4.0, margin=0.0)
    """Worse than the bar by this much, and well ahead of any rival, is worth asking back."""

    def bar(self, danger: Danger, phrase: str) -> Bar:
        """The bar for a phrase, by its danger and its length."""
        bar = {Danger.LOW: self.low, Danger.USUAL: self.usual, Danger.HIGH: self.high}[danger]
        words = len(phrase.split())
        if words == 1:
            return bar.moved(self.one_word if len(phrase) < 8 else self.one_long_word)
        if words >= 6:
            return bar.moved(self.long)
        return bar


def judge(
    thresholds: Thresholds, evidence: Evidence, *, danger: Danger, phrase: str, rival: str
) -> tuple[Verdict, str]:
    """The verdict, and in a few words why it is not ACCEPT."""
    bar = thresholds.bar(danger, phrase)
    ahead = evidence.margin >= bar.margin
    if bar.is_like(evidence):
        if ahead:
            return Verdict.ACCEPT, ""
        return Verdict.ASK, f"too close to {rival!r} (margin {evidence.margin:.1f})"
    if ahead and bar.moved(thresholds.ask).is_like(evidence):
        return Verdict.ASK, f"not clear enough ({_figures(evidence)})"
    return Verdict.IGNORE, f"too unlike anything that may be said now ({_figures(evidence)})"


def confidence(evidence: Evidence) -> float:
    """0 … 1, growing with each figure: for the record and the display, never for a decision."""
    likeness = 1 / (1 + math.exp(-2.5 * (min(evidence.ratio, 0.0) + 1.2)))
    lead = 1 - math.exp(-max(evidence.margin, 0.0) / 1.5)
    return round(likeness * lead, 3)


def _figures(evidence: Evidence) -> str:
    return f"ratio {evidence.ratio:.2f}, mean {evidence.mean:.2f}, worst {evidence.worst:.1f}"
