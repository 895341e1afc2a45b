"""How sure is sure enough: the thresholds of the closed engine, and why they are what they are."""

import math
from dataclasses import dataclass

from assistant.hearing.engines.pace import syllables
from assistant.hearing.grammar import Danger
from assistant.hearing.heard import Verdict

_NEVER_SYLLABLES, _SHORT_SYLLABLES, _LONG_SYLLABLES = 2, 3, 5


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
    value_margin: float = math.inf
    """Ahead of the best phrase of the same meaning with another drug or number in it."""
    longer_margin: float = math.inf
    """Ahead of the best phrase that goes on where this one ends ("… of ketamine for fifty kilos"):
    noise eats the ends of sentences."""


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
    short_confirmation: Bar = Bar(ratio=0.3, mean=0.8, worst=2.0, margin=1.0)
    """A dangerous phrase of several words but up to three syllables must be better by this. What
    the model likes to write into noise is among them: "yes please" became "yes it is".
    """
    one_dangerous_word: Bar = Bar(ratio=0.05, mean=0.8, worst=0.3, margin=1.0)
    """A dangerous phrase that is one word: "confirmed"."""
    long_filled: Bar = Bar(ratio=0.0, mean=0.45, worst=0.0, margin=0.0)
    long_filled_clear: Bar = Bar(ratio=0.0, mean=1.0, worst=-2.5, margin=0.0)
    """For a phrase with slots and of six words and more: where the sound is clear otherwise, one
    token may be poor, as no spelling of a drug name is what the model would have written."""
    long_fixed: Bar = Bar(ratio=-0.3, mean=-0.4, worst=-2.5, margin=1.0)
    """A phrase without slots of five syllables and more may be worse by this: nothing that was
    said to others came near one."""
    value: float = 2.6
    """Nats ahead of the same phrase with another drug or number in it: eight and eighty."""
    longer: float = 5.0
    """Nats ahead of a phrase that goes on where this one ends."""
    ask: Bar = Bar(ratio=-0.5, mean=-0.5, worst=-4.0, margin=0.0)
    """Worse than the bar by this much, and well ahead of any rival, is worth asking back."""

    def bar(self, danger: Danger, phrase: str, *, filled: bool = False, mean: float = 0.0) -> Bar:
        """The bar for a phrase, by its danger and its length; `filled`: it has slots.

        `mean` is the phrase's own, which says how clear the sound is.
        """
        bar = {Danger.LOW: self.low, Danger.USUAL: self.usual, Danger.HIGH: self.high}[danger]
        words, length = len(phrase.split()), syllables(phrase)
        if words == 1 and danger is Danger.HIGH and not filled:
            return bar.moved(self.one_dangerous_word)
        if words == 1:
            return bar.moved(self.one_word if len(phrase) < 8 else self.one_long_word)
        if filled:
            clear = mean >= bar.mean + self.long_filled_clear.mean
            long = self.long_filled_clear if clear else self.long_filled
            return bar.moved(long) if words >= 6 else bar
        if length >= _LONG_SYLLABLES and words >= 3 and danger is not Danger.LOW:
            return bar.moved(self.long_fixed)
        if length <= _SHORT_SYLLABLES and danger is Danger.HIGH:
            return bar.moved(self.short_confirmation)
        return bar


def judge(
    thresholds: Thresholds,
    evidence: Evidence,
    *,
    danger: Danger,
    phrase: str,
    rival: str,
    filled: bool = False,
) -> tuple[Verdict, str]:
    """The verdict, and in a few words why it is not ACCEPT."""
    bar = thresholds.bar(danger, phrase, filled=filled, mean=evidence.mean)
    short_of = _too_close(thresholds, bar, evidence, rival)
    if not short_of and danger is Danger.HIGH and not filled and _is_too_short(phrase):
        short_of = "too short to be believed in something dangerous"
    if bar.is_like(evidence):
        return (Verdict.ASK, short_of) if short_of else (Verdict.ACCEPT, "")
    if not short_of and bar.moved(thresholds.ask).is_like(evidence):
        return Verdict.ASK, f"not clear enough ({_figures(evidence)})"
    return Verdict.IGNORE, f"too unlike anything that may be said now ({_figures(evidence)})"


def _is_too_short(phrase: str) -> bool:
    """Several words of two syllables: the model hears "that's right" in an "uh huh", quite sure."""
    return " " in phrase and syllables(phrase) <= _NEVER_SYLLABLES


def _too_close(thresholds: Thresholds, bar: Bar, evidence: Evidence, rival: str) -> str:
    if evidence.margin < bar.margin:
        return f"too close to {rival!r} (margin {evidence.margin:.1f})"
    if evidence.value_margin < thresholds.value:
        return f"too close to {rival!r} (margin {evidence.value_margin:.1f})"
    if evidence.longer_margin < thresholds.longer:
        return f"too close to a longer phrase (margin {evidence.longer_margin:.1f})"
    return ""


def confidence(evidence: Evidence) -> float:
    """0 … 1, growing with each figure: for the record and the display, never for a decision."""
    likeness = 1 / (1 + math.exp(-2.5 * (min(evidence.ratio, 0.0) + 1.2)))
    lead = 1 - math.exp(-max(evidence.margin, 0.0) / 1.5)
    return round(likeness * lead, 3)


def _figures(evidence: Evidence) -> str:
    return f"ratio {evidence.ratio:.2f}, mean {evidence.mean:.2f}, worst {evidence.worst:.1f}"
