"""How sure is sure enough: the fitted weights and thresholds of the closed engine.

They come from `fitted.json`, which the hearing bench writes (assistant/fitting): two logistic
regressions on tuning voices, of phrases with a number or drug in them and of fixed ones, tell how
likely it is that the best phrase was what was said, and each danger has its own thresholds on that.
A third one does so for plain answers by their sounds. Nothing in the file is typed by hand.
"""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from assistant.grammar.grammar import Danger
from assistant.grammar.readings import Verdict
from assistant.hearing.engines.closed.evidence import Evidence, features
from assistant.hearing.engines.closed.negation import is_near_its_denial
from assistant.hearing.engines.closed.pace import pace, syllables
from assistant.hearing.engines.closed.sounds.opinion import SoundEvidence, figures
from assistant.hearing.engines.closed.sounds.verdict import (
    SoundLeads,
    contradiction,
    doubt,
    is_like,
    is_read_back,
)

FITTED = Path(__file__).parent / "fitted.json"
_NEVER_SYLLABLES = 2
_SHORT_LETTERS = 5
"""A word with fewer has hardly more sounds than one syllable, as "okay" has."""
SOUNDS = "sounds"
"""The name of weights and thresholds that go by the sounds alone."""
_ACCEPTED_AS = {Danger.SETTING: Danger.OPTION}
_ASKED_AS = {Danger.SETTING: Danger.NUMBER}
"""A setting is accepted by the thresholds of a choice, which settles an item as it does, and asked
back by those of a number, which is read back as it is."""


@dataclass(frozen=True, slots=True)
class Leads:
    """How far the best phrase must be ahead, in nats, however likely it is by itself."""

    other_meaning: float
    dangerous: float
    """The same of a confirmation or a command that acts at once: "affiliated" is but three nats
    behind "affirmative" in noise."""
    dangerous_apart: float
    """The same where it has several words and does not sound like its denial."""
    harmless: float
    """The same of a decline, a bare yes, a stop of several words: a decoy has lost in the search
    already, and to be wrong costs nothing."""
    lone: float
    """The same of these where they are a lone word: "go" is less than two nats behind "no"."""
    lone_stands_out: float
    """The same from which such a word is accepted as "lone" is, by less likelihood."""
    plain: float
    """The same of a plain yes of several words."""
    plain_lone: float
    """The same where it is a lone word."""
    other_value: float
    """The same phrase with another drug or number in it: eight and eighty. Not asked of what is
    read back before it counts."""
    setting_value: float
    """The same of a setting, where the wanted number settles an item: "fifty litres" in noise was a
    "fifteen" by four nats. What is nearer is read back."""
    goes_on: float
    """A phrase that goes on where this one ends."""
    denial: float
    """The same words denied, asked, on a condition, or as what is only meant."""
    near_denial: float
    """The same where they sound alike (`negation.is_near_its_denial`)."""
    doubt: float
    """A plain answer with what people put before or after it to take it back: "drawn up soon"."""
    doubt_on_time: float
    """The same where it has several words and took no longer than they usually do: what is put
    around them takes its own time."""
    on_time: float
    """No lead: so much slower than usual (`pace.pace`) that may be."""
    more_behind_free: float
    """No lead: so far, a token, a phrase may be behind what the model writes unprompted when that
    has the phrase in it, and more; nearer, and the phrase alone is as likely."""
    usual_behind_free: float
    """The same of a usual phrase, whatever the model writes: by all else a long one comes off well
    when one word was another, "what is that saturation on"."""
    plain_behind_free: float
    """The same of a plain answer: "two suctions working soon" is one with a word left over."""
    lone_behind_free: float
    """The same where that is one syllable or hardly more: a faint "off" was a "yes" by all else, an
    "okay who" in noise an "okay"."""
    plain_slow: float
    """No lead: so much slower than usual (`pace.pace`) a plain answer of several words may be.
    Noise may swallow the "if he can" after it, but not the time that it took."""
    answered_slow: float
    """No lead: so much slower than usual (`pace.pace`) a question that is answered at once may be.
    Noise swallows the "for eighty kilos" at its end, but not the time that it took."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """All that was fitted."""

    weights: Mapping[str, Mapping[str, float]]
    """Of "fixed" and "filled" phrases and of "sounds", by the name of the feature; their sum with
    that of the name "constant" is a likelihood as log odds."""
    accept: Mapping[str, float]
    ask: Mapping[str, float]
    """Log odds from which to accept and to ask back, by the value of the danger; to accept a "lone"
    word that stands out, and a plain answer by its "sounds"."""
    leads: Leads
    sound_leads: SoundLeads
    provenance: Mapping[str, Any]

    def log_odds(self, evidence: Evidence) -> float:
        """How likely it is that the best phrase was said: above 0, more likely than not."""
        return self._weighed("filled" if evidence.filled else "fixed", features(evidence))

    def sound_log_odds(self, evidence: SoundEvidence) -> float:
        """The same of a plain answer by its sounds alone."""
        return self._weighed(SOUNDS, figures(evidence))

    def _weighed(self, sort: str, found: Mapping[str, float]) -> float:
        weights = self.weights[sort]
        return weights["constant"] + sum(found[name] * weights[name] for name in found)


@cache
def fitted() -> Fitted:
    """What the bench wrote."""
    written = json.loads(FITTED.read_text(encoding="utf-8"))
    leads, sound_leads = Leads(**written["leads"]), SoundLeads(**written["sound_leads"])
    return Fitted(**{**written, "leads": leads, "sound_leads": sound_leads})


def judge(by: Fitted, evidence: Evidence, *, danger: Danger, rival: str) -> tuple[Verdict, str]:
    """The verdict, and in a few words why it is not ACCEPT."""
    log_odds = by.log_odds(evidence)
    if log_odds < by.ask[_ASKED_AS.get(danger, danger).value]:
        return Verdict.IGNORE, f"too unlike anything that may be said now ({log_odds:.1f})"
    leads = by.leads
    doubt = _too_close(leads, evidence, danger, rival) or _too_strange(leads, evidence, danger)
    if doubt:
        return Verdict.ASK, doubt
    if log_odds < by.accept[accepted_as(leads, evidence, danger)]:
        return Verdict.ASK, f"not clear enough ({log_odds:.1f})"
    return Verdict.ACCEPT, ""


def by_sounds(
    by: Fitted, by_words: Verdict, words: Evidence, *, danger: Danger, heard: SoundEvidence | None
) -> tuple[Verdict, str] | None:
    """The verdict on a plain answer by its sounds, and why it is not ACCEPT; None where the words
    decide. `danger`: of the phrase that fits the words best, of which `words` tells.

    The sounds settle what the words leave open, and what those would ignore they may ask back. What
    is something else by its words they do not settle, nor what may be taken back by them, unless it
    is quite clear; but what is harmless gives way (`_gives_way`) to sounds that are clear. And what
    the words settle they do not, where it sounds much more like itself taken back.
    """
    if heard is None:
        return None
    leads, log_odds = by.sound_leads, by.sound_log_odds(heard)
    if by_words is Verdict.ACCEPT and danger is Danger.PLAIN:
        hardly = by.log_odds(words) < leads.hardly_log_odds
        lone = " " not in words.words
        why = contradiction(leads, heard, hardly=hardly, lone=lone)
        return (Verdict.ASK, why) if why else None
    agrees = words.words == heard.words
    is_else = by_words is not Verdict.IGNORE and danger is not Danger.PLAIN
    is_it = log_odds >= by.ask[SOUNDS] and is_like(leads, heard, agrees=agrees)
    if not is_it or (is_else and not _gives_way(leads, by_words, danger, heard)):
        return None
    why = doubt(leads, heard)
    if agrees and not why and heard.taken_back_margin < leads.clear:
        why = _taken_back_by_words(by, words)
    unsaid = by_words is Verdict.IGNORE and heard.ratio < -leads.behind_unsaid
    if not why and (unsaid or log_odds < by.accept[SOUNDS]):
        why = f"not clear enough ({log_odds:.1f})"
    if why:
        return (Verdict.ASK, why) if by_words is Verdict.IGNORE else None
    if is_else and not _is_idle(leads, by_words, danger, heard):
        return Verdict.ASK, f"its words say {words.words!r}"
    return Verdict.ACCEPT, ""


def _gives_way(leads: SoundLeads, by_words: Verdict, danger: Danger, heard: SoundEvidence) -> bool:
    """Whether it is harmless by its words, as a "hang on" of "head up", and not so surely that the
    sounds are wrong: the answer is read back."""
    surely = by_words is Verdict.ACCEPT and heard.margin < leads.against_words
    return danger in (Danger.LOW, Danger.USUAL) and not surely


def _is_idle(leads: SoundLeads, by_words: Verdict, danger: Danger, heard: SoundEvidence) -> bool:
    """Whether its words are no more than a doubtful question, which the sounds may settle."""
    doubtful = by_words is Verdict.ASK and danger is Danger.USUAL
    return doubtful and heard.margin >= leads.against_words


def is_number_by_sounds(
    by: Fitted, by_words: Verdict, *, danger: Danger, heard: SoundEvidence | None, agrees: bool
) -> bool:
    """Whether a number that is asked for is read back for its sounds, where the words have nothing,
    or but a doubtful phrase. `danger`, `agrees`: of the phrase that fits the words best; it is that
    number. What is another one by its words stays that, or nothing: of people's digits 21 of 21
    were that one, and not what the sounds said."""
    if by_words is Verdict.ACCEPT or (danger is Danger.NUMBER and not agrees):
        return False
    in_words = danger is Danger.NUMBER and by_words is Verdict.ASK
    return heard is not None and not in_words and is_read_back(by.sound_leads, heard, agrees=agrees)


def _taken_back_by_words(by: Fitted, words: Evidence) -> str:
    lead = min(words.denial_margin, words.doubt_margin)
    if lead < by.sound_leads.words_taken_back:
        return f"too close to itself taken back (margin {lead:.1f})"
    return "more was said around it" if words.said_more else ""


def accepted_as(leads: Leads, evidence: Evidence, danger: Danger) -> str:
    """By which of the thresholds it is accepted: that of its danger, but for a lone "no" or "stop".

    Where nothing comes near such a word, less will do: the sum of the figures is hard on it.
    """
    lone = danger is Danger.LOW and " " not in evidence.words
    stands_out = lone and evidence.margin >= leads.lone_stands_out
    return "lone" if stands_out else _ACCEPTED_AS.get(danger, danger).value


def is_taken_back(leads: Leads, evidence: Evidence) -> bool:
    """Whether a plain answer hardly leads its denials, or what people take it back with."""
    return evidence.denial_margin < leads.denial or evidence.doubt_margin < _doubt(leads, evidence)


def confidence(by: Fitted, evidence: Evidence) -> float:
    """The same likelihood as 0 ... 1, for the record and the display."""
    return likelihood(by.log_odds(evidence))


def likelihood(log_odds: float) -> float:
    """Log odds as 0 ... 1."""
    return round(1 / (1 + math.exp(-log_odds)), 3)


def _too_strange(leads: Leads, evidence: Evidence, danger: Danger) -> str:
    """Why it may not be what was said, though nothing that may be said is near it."""
    # More around a decline is a decline all the same: "not confirmed yet".
    said_more = evidence.said_more and danger is not Danger.LOW
    if said_more and evidence.ratio < -leads.more_behind_free:
        return "more was said around it"
    if danger is Danger.USUAL and evidence.ratio < -leads.usual_behind_free:
        return "something else was said much more clearly"
    if danger is Danger.PLAIN and evidence.ratio < -_plain_behind_free(leads, evidence):
        return "something else was said much more clearly"
    slowest = _slowest(leads, evidence, danger)
    if pace(evidence.words, evidence.voice_s) > slowest:
        return "it took longer than its words"
    if danger is Danger.HIGH and _is_too_short(evidence):
        return "too short to be believed in something dangerous"
    return ""


def _slowest(leads: Leads, evidence: Evidence, danger: Danger) -> float:
    """Beyond which pace more may have been said; a lone word may be drawn out."""
    if danger is Danger.PLAIN and " " in evidence.words:
        return leads.plain_slow
    return leads.answered_slow if danger is Danger.ANSWERED else math.inf


def _plain_behind_free(leads: Leads, evidence: Evidence) -> float:
    short = syllables(evidence.words) == 1 or len(evidence.words) < _SHORT_LETTERS
    return leads.lone_behind_free if short else leads.plain_behind_free


def _is_too_short(evidence: Evidence) -> bool:
    """Several words of two syllables: the model hears "that's right" in an "uh huh", quite sure."""
    several = " " in evidence.words and not evidence.filled
    return several and syllables(evidence.words) <= _NEVER_SYLLABLES


def _too_close(leads: Leads, evidence: Evidence, danger: Danger, rival: str) -> str:
    near = is_near_its_denial(evidence.words)
    if evidence.margin < _other_meaning(leads, evidence, danger, near=near):
        return f"too close to {rival!r} (margin {evidence.margin:.1f})"
    # What is read back is put to whoever said it anyway: asking "did you say" would be no safer.
    other_value = leads.setting_value if danger is Danger.SETTING else leads.other_value
    if danger is not Danger.READ_BACK and evidence.value_margin < other_value:
        return f"too close to {rival!r} (margin {evidence.value_margin:.1f})"
    if evidence.longer_margin < leads.goes_on:
        return f"too close to a longer phrase (margin {evidence.longer_margin:.1f})"
    if evidence.denial_margin < (leads.near_denial if near else leads.denial):
        return f"too close to its own denial (margin {evidence.denial_margin:.1f})"
    if evidence.doubt_margin < _doubt(leads, evidence):
        return f"too close to itself taken back (margin {evidence.doubt_margin:.1f})"
    return ""


def _doubt(leads: Leads, evidence: Evidence) -> float:
    """How far a plain answer must be ahead of itself taken back."""
    on_time = pace(evidence.words, evidence.voice_s) <= leads.on_time
    return leads.doubt_on_time if on_time and " " in evidence.words else leads.doubt


def _other_meaning(leads: Leads, evidence: Evidence, danger: Danger, *, near: bool) -> float:
    """How far ahead of another meaning it must be; `near`: it sounds like its denial."""
    lone = " " not in evidence.words
    if danger is Danger.HIGH:
        return leads.dangerous if near or lone else leads.dangerous_apart
    if danger is Danger.PLAIN:
        return leads.plain_lone if lone else leads.plain
    if danger is Danger.LOW:
        return leads.lone if lone else leads.harmless
    return leads.other_meaning
