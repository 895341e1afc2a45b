"""Whether the sounds alone are enough for a plain answer, to ask back what acts at once, or to read
back a number."""

from dataclasses import dataclass

from assistant.hearing.engines.closed.sounds.opinion import SoundEvidence


@dataclass(frozen=True, slots=True)
class SoundLeads:
    """How well the sounds must fit, whatever the likelihood is that is made of them all."""

    behind: float
    """Nats a sound that the answer may be behind the likeliest sounds."""
    behind_short: float
    """The same of an answer of few sounds, which a few others pass for: "all set", "extended"."""
    behind_unsaid: float
    """The same where the words have nothing: farther behind, it is asked back."""
    short: int
    """Fewer sounds than this are few."""
    other_meaning: float
    """Nats ahead of what means something else."""
    other_meaning_short: float
    """The same of an answer of few sounds."""
    other_meaning_agreed: float
    """The same of one that by its words is the same."""
    behind_at_once: float
    """The same as `behind`, of what acts at once and would only be asked back."""
    other_meaning_at_once: float
    """The same as `other_meaning`, of that."""
    behind_number: float
    """The same as `behind`, of a number that would be read back."""
    behind_number_agreed: float
    """The same of one that its words have ahead too."""
    other_meaning_number: float
    """The same as `other_meaning`, of that: of any phrase."""
    more_number: float
    """The same as `more`, of that: "seventy" is also the end of "one hundred and seventy"."""
    taken_back: float
    """Nats ahead of the answer with what people put around it to take it back."""
    words_taken_back: float
    """The same by the words, of what fits those best."""
    against_words: float
    """Nats ahead of what means something else, where by its words it surely is a harmless one."""
    clear: float
    """From so far ahead of it, no words speak against it."""
    checked: float
    """What the words settle is held against its sounds only where it leads its denials and itself
    taken back by less than this, by its words."""
    contradicts: float
    """So far behind it (below 0), and what the words settle is asked back all the same; also so far
    behind what means something else, if it is `unlike` its sounds besides."""
    hardly_log_odds: float
    """What the words settle with no more than this must lead itself taken back by its sounds as
    what those settle."""
    unlike: float
    """Nats a sound behind the likeliest sounds."""
    contradicts_lone: float
    """The same as `contradicts`, of a lone word: of a "flat" noise makes a "yes"."""
    unlike_lone: float
    """The same as `unlike`, of that."""
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
    if not short:
        return found.margin >= leads.other_meaning
    return found.margin >= (leads.other_meaning_agreed if agrees else leads.other_meaning_short)


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


def is_read_back(leads: SoundLeads, found: SoundEvidence, *, agrees: bool) -> bool:
    """Whether a number that is asked for was said: it is read back, and counts only after that.
    `agrees`: its words have the same one ahead of all else, if not surely."""
    if found.more_nats > leads.more_number:
        return False
    if agrees:
        return found.ratio >= -leads.behind_number_agreed
    return found.ratio >= -leads.behind_number and found.margin >= leads.other_meaning_number


def contradiction(leads: SoundLeads, found: SoundEvidence, *, hardly: bool, lone: bool) -> str:
    """Why the sounds ask back what the words settle; empty: they do not. `hardly`: the words are
    but just sure of it; `lone`: they are one."""
    if found.taken_back_margin < (leads.taken_back if hardly else leads.contradicts):
        return f"sounds more like itself taken back (margin {found.taken_back_margin:.1f})"
    unlike = leads.unlike_lone if lone else leads.unlike
    contradicts = leads.contradicts_lone if lone else leads.contradicts
    if found.ratio < -unlike and found.margin < contradicts:
        return f"sounds more like something else (margin {found.margin:.1f})"
    return ""
