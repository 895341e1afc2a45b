"""Fits the engine's verdict on the tuning voices and writes it down with where it comes from."""

import json
import random
from collections.abc import Iterable, Sequence
from dataclasses import asdict, replace
from datetime import UTC, datetime
from importlib.metadata import version
from math import log

import numpy as np
from scipy.optimize import minimize
from scipy.special import expit

from assistant.fitting.jitter import COPIES, DEVIATION, jittered
from assistant.fitting.spoken_words import OTHER_WORD, is_person, speaker
from assistant.fitting.trials import Trial, Utterance
from assistant.fitting.window import AWAY, YES, is_right
from assistant.grammar.readings import Verdict
from assistant.hearing.engines.closed.evidence import features
from assistant.hearing.engines.closed.judging import Told
from assistant.hearing.engines.closed.sounds.opinion import figures
from assistant.hearing.engines.closed.sounds.verdict import SoundLeads
from assistant.hearing.engines.closed.verdicts import (
    FITTED,
    SOUNDS,
    Fitted,
    Leads,
    accepted_as,
    fitted,
)

WRONG_PER_MILLE = {
    "high": 0.0,
    "option": 0.0,
    "answered": 0.0,
    "number": 5.0,
    "read back": 5.0,
    "usual": 2.0,
    "low": 5.0,
    "plain": 1.0,
    "lone": 5.0,
    SOUNDS: 0.0,
}
"""So many of the trials may end with a wrong acceptance: none of what is dangerous, nor of what is
answered at once (noise can swallow the weight at the end of a question), nor of what the sounds
settle; a plain answer by its words hardly ever, so far at 5 dB only, and it counts only in its
situation; a dose question, a weight or a drug now and then, as it is read back before it counts; a
command hardly ever."""
LEAST_LIKELIHOOD = {
    "high": 0.85,
    "option": 0.7,
    "answered": 0.95,
    "number": 0.05,
    "read back": 0.6,
    "usual": 0.92,
    "low": 0.75,
    "plain": 0.75,
    "lone": 0.6,
    SOUNDS: 0.75,
}
"""Nothing less likely to be right is accepted, however seldom it was wrong."""
ASK_LIKELIHOOD = {
    "high": 0.3,
    "option": 0.3,
    "answered": 0.3,
    "number": 0.05,
    "read back": 0.3,
    "usual": 0.5,
    "low": 0.5,
    "plain": 0.5,
    "lone": 0.5,
    SOUNDS: 0.5,
}
"""As likely as this to be right is worth asking back: below, room talk would be asked back for it
more often than what was said."""
WINDOW_FITS = ("plain", "low", "lone", SOUNDS)
"""The thresholds that the trials in the answer window fit."""
SEED = 26
SPARE_LOG_ODDS = 0.5
"""Above the worst that was seen, where nothing may be accepted."""
LEADS = Leads(
    other_meaning=1.0,
    dangerous=4.0,
    dangerous_apart=2.0,
    harmless=0.0,
    lone=2.0,
    lone_stands_out=3.3,
    plain=1.0,
    plain_lone=3.3,
    other_value=2.6,
    setting_value=5.0,
    goes_on=4.0,
    denial=6.5,
    near_denial=8.46,
    doubt=7.0,
    doubt_on_time=4.0,
    on_time=0.3,
    more_behind_free=0.3,
    usual_behind_free=1.2,
    plain_behind_free=1.2,
    lone_behind_free=0.1,
    plain_slow=0.65,
    answered_slow=0.3,
)
"""Chosen on the same voices. Who changes one has to keep what was measured for it:

- `denial`: a denial was led by 2.8 at most where it does not sound like the phrase ("we'll see", of
  "we saw"), in quiet; by 6.0 in noise that swallows an "if".
- `near_denial`: by 7.76 at most where it does ("isn't", "we'll seal"). Under a pulse tone a first
  word of this sort leaves 8.7: what begins with one is asked back by the ear there.
- `dangerous`, `dangerous_apart`: of 300 dangerous phrases that came out best and had not been said,
  none as likely as 80 % led another meaning by between 0.4 and 8. Those that led by more had their
  own denial near, or behind.
- `usual_behind_free`: of 60 usual phrases accepted rightly none was further behind than 1.2 a
  token, of 9 wrongly 4.
- `answered_slow`: of 25 questions without a weight that were heard rightly none was slower than
  0.05; one whose weight was lost by 0.44.
- `plain_slow`: 98 of 100 right plain answers of several words were no slower than 0.6; three that
  lost an "if he can" at the end by 0.74 and more.
- `doubt_on_time`, `on_time`: of 5,600 sentences that are no answer, none that came out as one, no
  slower than 0.4 and clear by all else, led itself taken back by more than 0.3. Of 46 true answers
  that were refused for that alone, no slower than 0.3, all but three led by 4 and more.
- `setting_value`: of 20 wanted settings two led another number by less than 5; two fifties that
  were fifteens by 3.6 and 4.2.
"""
SOUND_LEADS = SoundLeads(
    behind=2.3,
    behind_short=1.3,
    behind_unsaid=0.85,
    short=6,
    other_meaning=0.2,
    other_meaning_short=4.0,
    other_meaning_agreed=1.0,
    behind_at_once=2.0,
    other_meaning_at_once=3.0,
    behind_number=0.7,
    behind_number_agreed=1.5,
    other_meaning_number=2.0,
    more_number=1.5,
    taken_back=1.5,
    words_taken_back=2.0,
    against_words=4.0,
    clear=6.0,
    checked=8.0,
    contradicts=-6.0,
    hardly_log_odds=1.6,
    unlike=3.0,
    contradicts_lone=-2.0,
    unlike_lone=1.0,
    more=3.0,
    early_s=0.45,
    late_s=0.65,
)
"""Chosen on the same voices. Who changes one has to keep what was measured for it:

- `early_s`, `late_s`, `behind`, `more`: of 880 plain answers 95 in a hundred began by 0.42 s, ended
  less than 0.58 s before the end, were at most 1.7 behind, and gained less than 0.4 by more.
- `short`, `behind_short`: of 2,200 sentences that are no answer, all that were one by their sounds
  had five sounds at most and were 1.6 behind and more.
- `behind_unsaid`: of 225 answers that their sounds settled two were none, 0.92 and 1.21 behind with
  nothing in their words; all but 16 of the right ones were nearer than 0.85.
- `contradicts`, `checked`: of 740 answers that their words settled rightly one was 6 behind itself
  taken back; a "back above ninety five is it", by its words in noise the answer alone, by 17 and
  more, and led that by its words by 5.6. One in ten of the right ones leads by less than 8.
- `contradicts_lone`, `unlike`: an "off" was a "yes" ahead of itself by 0.8; another, by its words,
  3.3 a sound behind and 6.9 behind something else. No right one was either.
- `hardly_log_odds`, `taken_back`: two that are no answer, "it's draining no" and "yes in theory",
  were settled by their words with log odds of 1.2 and led themselves taken back by 1.1 and 0.5; so
  did seven of 800 right ones.
- those of a `number`: of 99 short numbers that their words left open 28 were right by these, and
  three another, which is read back; so was one of 370 sentences of talk.
- `against_words`: of 18 sentences that came out as a harmless command or question by their words,
  and clearly as a plain answer by their sounds, all were that.
"""
_FOR, _LINGER, _HURRY = (0.0, None), (-1.0, 0.0), (-2.0, 0.0)
"""Synthetic voices hardly ever hurry or linger: how much that says of people they cannot teach."""
_SENSE: dict[str, tuple[float | None, float | None]] = {
    **dict.fromkeys(("ratio of a long phrase", "mean"), _FOR),
    **dict.fromkeys(("margin", "value margin", "longer margin", "denial margin"), _FOR),
    **dict.fromkeys(("ratio", "taken back margin"), _FOR),
    "more": _LINGER,
    "slow": _LINGER,
    "fast": _HURRY,
}


def fit(trials: Sequence[Trial]) -> None:
    """Fit, and write `fitted.json` beside the engine."""
    # Its own voice is muted, or cancelled before the engine: at these levels it is for reporting.
    trials = [
        one for one in trials if one.condition.noise != "own voice" or one.condition.snr_db is None
    ]
    as_heard = [(trial, one) for trial in trials for one in trial.heard if one.for_me]
    chance = random.Random(SEED)
    heard = as_heard + [(trial, copy) for trial, one in as_heard for copy in jittered(one, chance)]
    by = Fitted(
        weights={
            "fixed": _weights(one for one in heard if not _is_filled(one)),
            "filled": _weights(filter(_is_filled, heard)),
            SOUNDS: fitted().weights[SOUNDS],
        },
        accept=dict.fromkeys(WRONG_PER_MILLE, -99.0),
        ask={sort: _log_odds(least) for sort, least in ASK_LIKELIHOOD.items()},
        leads=LEADS,
        sound_leads=SOUND_LEADS,
        provenance={},
    )
    by = replace(by, accept=_thresholds(by, heard, len(trials) * (1 + COPIES)))
    _write(replace(by, provenance=_provenance(trials)))


def fit_window(trials: Sequence[Trial]) -> None:
    """Fit the threshold of plain answers to trials in the answer window and to people's words.

    And that of declines and stops, which are lone words as often. What others say farther away is
    left out: that it is no answer, its words do not tell. So are people's other words, one of 170
    of which is a "yes" to any ear: of these 0.5 % may be taken for one, and are counted instead.
    All else stays as it is written.
    """
    chance = random.Random(SEED)
    by = replace(fitted(), leads=LEADS, sound_leads=SOUND_LEADS)
    heard = [
        (trial, copy)
        for trial in trials
        for one in trial.heard
        if one.for_me and trial.said.kind not in (*AWAY, OTHER_WORD)
        for copy in (one, *jittered(one, chance))
    ]
    anew = dict.fromkeys(WINDOW_FITS, -99.0)
    by = replace(
        by,
        weights={**by.weights, SOUNDS: _sound_weights(heard)},
        accept={**by.accept, **anew},
        ask={**by.ask, **{sort: _log_odds(ASK_LIKELIHOOD[sort]) for sort in anew}},
    )
    found = _thresholds(by, heard, len(trials) * (1 + COPIES))
    by = replace(by, accept={**by.accept, **{sort: found[sort] for sort in anew}})
    made_by = "python -m assistant.fitting fit-window"
    window = {**_provenance(trials), "made by": made_by, "fits": WINDOW_FITS}
    _write(replace(by, provenance={**by.provenance, "window": window}))


def _write(by: Fitted) -> None:
    FITTED.write_text(json.dumps(asdict(by), indent=1, ensure_ascii=False) + "\n", "utf-8")
    print(FITTED.read_text("utf-8"))


def _is_filled(heard: tuple[Trial, Utterance]) -> bool:
    return heard[1].evidence.filled


def _weights(heard: Iterable[tuple[Trial, Utterance]]) -> dict[str, float]:
    heard = list(heard)
    found = [features(one.evidence) for _, one in heard]
    return _logistic(found, np.array([is_right(trial, one) for trial, one in heard]))


def _sound_weights(heard: Iterable[tuple[Trial, Utterance]]) -> dict[str, float]:
    """Of all plain answers that the sounds offered, whatever the words say."""
    offered = [(trial, one.sounds) for trial, one in heard if one.sounds is not None]
    right = np.array([trial.said.meaning in YES for trial, _ in offered])
    return _logistic([figures(sounds) for _, sounds in offered], right)


def _logistic(found: list[dict[str, float]], right: np.ndarray) -> dict[str, float]:
    """The weights of a logistic regression, and its constant; the weights keep their sense.

    Likeness may only speak for a phrase and strangeness only against it: else the accidents of few
    voices would teach it, say, that a word is the likelier the less it fits.
    """
    names = list(found[0])
    table = np.array([[one[name] for name in names] for one in found])
    mean, scale = table.mean(axis=0), np.maximum(table.std(axis=0), 1e-9)
    scaled = (table - mean) / scale
    sign = np.where(right, 1.0, -1.0)

    def loss(at: np.ndarray) -> tuple[float, np.ndarray]:
        lead = sign * (scaled @ at[1:] + at[0])
        pull = -sign * expit(-lead)
        slope = np.concatenate([[pull.sum()], scaled.T @ pull + at[1:]])
        return float(np.logaddexp(0, -lead).sum() + 0.5 * (at[1:] ** 2).sum()), slope

    bounds: list[tuple[float | None, float | None]] = [(None, None)]
    for name, width in zip(names, scale, strict=True):
        ends = _SENSE.get(name, (None, None))
        low, high = (None if end is None else end * width for end in ends)
        bounds.append((low, high))
    best = minimize(loss, np.zeros(len(names) + 1), jac=True, bounds=bounds, method="L-BFGS-B").x
    weights = best[1:] / scale
    constant = float(best[0] - (weights * mean).sum())
    named = zip(names, np.round(weights, 4).tolist(), strict=True)
    return {**dict(named), "constant": round(constant, 4)}


def _log_odds(likelihood: float) -> float:
    return round(log(likelihood / (1 - likelihood)), 2)


def _thresholds(
    by: Fitted, heard: Iterable[tuple[Trial, Utterance]], trials: int
) -> dict[str, float]:
    """From which log odds so few are wrong, among what the leads let pass."""
    wrong: dict[str, list[float]] = {name: [] for name in by.accept}
    for trial, one in heard:
        if one.verdict(by) is Verdict.ACCEPT and not is_right(trial, one.taken(by)):
            sort, log_odds = _accepted_by(by, one)
            wrong[sort].append(log_odds)
    found = {}
    for sort, scores in wrong.items():
        allowed = int(WRONG_PER_MILLE[sort] / 1000 * trials)
        spare = 0.0 if WRONG_PER_MILLE[sort] else SPARE_LOG_ODDS
        above = sorted(scores, reverse=True)[allowed:]
        least = _log_odds(LEAST_LIKELIHOOD[sort])
        found[sort] = round(max([least, *(score + spare + 0.01 for score in above[:1])]), 2)
    return found


def _accepted_by(by: Fitted, one: Utterance) -> tuple[str, float]:
    """The name of the threshold that lets it pass, and the log odds that this is put on."""
    if one.sounds is not None and one.told(by) is Told.ANSWER:
        return SOUNDS, by.sound_log_odds(one.sounds)
    return accepted_as(by.leads, one.evidence, one.danger), by.log_odds(one.evidence)


def _provenance(trials: Sequence[Trial]) -> dict[str, object]:
    return {
        "made by": "python -m assistant.fitting fit",
        "on": datetime.now(UTC).date().isoformat(),
        "engine": f"moonshine tiny-en of moonshine-voice {version('moonshine-voice')}",
        "voices": sorted({one.condition.voice for one in trials if not is_person(one)}),
        "people": len({speaker(one) for one in trials if is_person(one)}),
        "noises": sorted({trial.condition.noise for trial in trials}),
        "snr_db": sorted(
            {one.condition.snr_db for one in trials if one.condition.snr_db is not None}
        ),
        "trials": len(trials),
        "jittered copies of each": COPIES,
        "jitter": DEVIATION,
        "wrong per mille": WRONG_PER_MILLE,
        "least likelihood": LEAST_LIKELIHOOD,
        "spare log odds": SPARE_LOG_ODDS,
    }
