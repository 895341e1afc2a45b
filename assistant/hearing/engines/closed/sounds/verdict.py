"""Whether the sounds alone are enough for a plain answer, or to ask back what acts at once."""

from dataclasses import dataclass

from assistant.hearing.engines.closed.sounds.opinion import SoundEvidence


@dataclass(frozen=True, slots=True)
class SoundLeads:
    """How well the sounds must fit, whatever the likelihood is that is made of them all."""

    behind: float
    """Nats a sound that the answer may be behind the likeliest sounds."""
    behind_short: float
    """The same of an answer of few sounds, which a few others pass for: "all set", "extended"."""
    short: int
    """Fewer sounds than this are few."""
    other_meaning: float
    """Nats ahead of what means something else."""
    other_meaning_short: float
    """The same of an answer of few sounds, unless by its words it is the same."""
    behind_at_once: float
    """The same as `behind`, of what acts at once and would only be asked back."""
    other_meaning_at_once: float
    """The same as `other_meaning`, of that."""
    taken_back: float
    """Nats ahead of the answer with what people put around it to take it back."""
    words_taken_back: float
    """The same by the words, of what fits those best."""
    clear: float
    """From so far ahead of it, no words speak against it."""
    checked: float
    """What the words settle is held against its sounds only where it leads its denials and itself
    taken back by less than this, by its words."""
    contradicts: float
    """So far behind it (below 0), and what the words settle is asked back all the same."""
    more: float
    """Nats that may be gained if more was said before or after."""
    early_s: float
    """How long the sound may go on before the first sound of the answer, the 0.3 s that the ear
    keeps among it: noise may have swallowed an "is it" there."""
    late_s: float
    """The same after the last one, with the silence that ends an utterance."""


def is_like(leads: SoundLeads, found: SoundEvidence, *, agrees: bool) -> bool:
    """Whether it fits its sounds, and better than what means something else. `agrees`: by its words
    it is the same."""
    short = found.sounds < leads.short
    if found.ratio < -(leads.behind_short if short else leads.behind):
        return False
    alone = short and not agrees
    return found.margin >= (leads.other_meaning_short if alone else leads.other_meaning)


def doubt(leads: SoundLeads, found: SoundEvidence) -> str:
    """Why it may have been taken back, as far as its sounds tell; empty: it was not."""
    if found.taken_back_margin < leads.taken_back:
        return f"sounds too much like itself taken back (margin {found.taken_back_margin:.1f})"
    if found.more_nats > leads.more:
        return "more was said around it"
    if found.early_s > leads.early_s or found.late_s > leads.late_s:
        return "it took longer than its sounds"
    return ""


def is_asked_back(leads: SoundLeads, found: SoundEvidence) -> bool:
    """Whether what acts at once, and was not understood by its words, may have been said: it is
    asked back, and does nothing by itself."""
    like = found.ratio >= -leads.behind_at_once and found.margin >= leads.other_meaning_at_once
    return like and not doubt(leads, found)


def contradiction(leads: SoundLeads, found: SoundEvidence) -> str:
    """Why the sounds ask back what the words settle; empty: they do not."""
    if found.taken_back_margin < leads.contradicts:
        return f"sounds more like itself taken back (margin {found.taken_back_margin:.1f})"
    return ""
