"""What came of the trials in the answer window, and of what people said there."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from statistics import median

from scipy.stats import binomtest

from assistant.brief.valued_items import QuantityItem
from assistant.conversation.near_voice import REMEMBERED, NearVoice
from assistant.fitting.report import share
from assistant.fitting.spoken_words import MEANS, NOISE, ORDER, OTHER_WORD, is_person
from assistant.fitting.trials import Trial, Utterance
from assistant.fitting.voices import HELD_OUT_NATURAL
from assistant.fitting.window import AWAY, TRUE, YES, is_right, plain_items
from assistant.grammar.readings import Heard, Reading, Verdict
from assistant.hearing.engines.closed.verdicts import Fitted, fitted
from assistant.site.site import Site

RIGHT, READ_BACK, ASKED, NOTHING = "right", "read back", "asked back", "nothing"
CONFIRMS, OTHER = "taken for a confirmation", "taken for something else"
PEOPLE = tuple(f"a person's {word}" for word in MEANS)
_NOISY_DB = (None, 20.0, 10.0, 5.0)


class Judge:
    """Says what each trial comes to, by a fit and by the situation."""

    def __init__(self, by: Fitted, site: Site, trials: Iterable[Trial]) -> None:
        """Each voice is the one that answers in a case of its own, as loud as in these trials; who
        speaks from across the bay does so beside another voice's answers (`_answers_beside`).

        How loud people's recordings are beside each other means nothing.
        """
        self._by = by
        self._wanted = {
            name: item for name, item in plain_items(site).items() if isinstance(item, QuantityItem)
        }
        levels: dict[str, list[float]] = defaultdict(list)
        for trial in trials:
            if trial.said.kind in TRUE:
                found = (one.level_dbfs for one in trial.heard if one.level_dbfs is not None)
                levels[trial.condition.voice] += found
        self._near = {voice: _case_of(median(loud)) for voice, loud in levels.items() if loud}

    def outcome(self, trial: Trial) -> str:
        """One of the names above: the worst that its utterances come to."""
        found = [self._of(trial, one) for one in trial.heard]
        for worst in (CONFIRMS, OTHER, RIGHT, READ_BACK, ASKED):
            if worst in found:
                return worst
        return NOTHING

    def _of(self, trial: Trial, one: Utterance) -> str:
        verdict, one = one.verdict(self._by), one.taken(self._by)
        if verdict is Verdict.IGNORE:
            return NOTHING
        if verdict is Verdict.ASK:
            return ASKED
        if one.meaning == "plain_yes" and not is_person(trial) and self._is_doubted(trial, one):
            return READ_BACK
        if is_right(trial, one):
            return RIGHT
        return CONFIRMS if self.settles(one) else OTHER

    def _is_doubted(self, trial: Trial, one: Utterance) -> bool:
        """By the rule of a case: too faint beside its answers, or the room too loud."""
        near = self._near.get(self._answers_beside(trial), NearVoice())
        level_dbfs = one.level_dbfs
        return level_dbfs is not None and bool(near.doubt(_heard(level_dbfs, one.noise_dbfs)))

    def _answers_beside(self, trial: Trial) -> str:
        """The voice that answers in the case of this trial: of others' talk one of another
        synthesiser, by lot of what was said."""
        voice = trial.condition.voice
        if trial.said.kind not in AWAY:
            return voice
        made_by = voice.split()[0]
        others = [one for one in sorted(self._near) if one.split()[0] != made_by]
        return others[sum(map(ord, trial.said.text)) % len(others)] if others else voice

    def settles(self, one: Utterance) -> bool:
        """Whether an item would be done after that."""
        if one.meaning == "number":
            return any(item.wants(one.values["number"]) for item in self._wanted.values())
        return one.meaning in (*YES, "not_applicable")


def show(trials: Sequence[Trial], site: Site) -> None:
    """Print the tables."""
    judge = Judge(fitted(), site, trials)
    found = [(trial, judge.outcome(trial)) for trial in trials]
    _answers(found)
    _people(found)
    _dangers(found)


def _answers(found: Sequence[tuple[Trial, str]]) -> None:
    for title, natural in (("natural voices", True), ("robotic voices", False)):
        for kind in (*TRUE, "decline"):
            of_kind = [
                (trial, result)
                for trial, result in found
                if trial.said.kind == kind
                and (trial.condition.voice in HELD_OUT_NATURAL) is natural
                and (trial.said.meaning or kind in TRUE)
                and trial.condition.noise != "babble"
            ]
            cells = []
            for snr_db in _NOISY_DB:
                results = Counter(
                    result for trial, result in of_kind if trial.condition.snr_db == snr_db
                )
                if results:
                    heard = results[RIGHT] + results[READ_BACK]
                    cells.append(
                        f"{'clean' if snr_db is None else f'{snr_db:.0f} dB'} "
                        f"{share(results[RIGHT], results.total())}, read back {results[READ_BACK]}"
                        f" (heard {100 * heard / results.total():.0f} %)"
                    )
            print(f"{title}, {kind}: {'; '.join(cells)}")


def _people(found: Sequence[tuple[Trial, str]]) -> None:
    kinds: dict[str, Counter[str]] = defaultdict(Counter)
    for trial, result in found:
        if trial.said.kind in (*PEOPLE, OTHER_WORD, ORDER, NOISE):
            kinds[trial.said.kind][result] += 1
    for kind, results in kinds.items():
        print(f"{kind}: {dict(results)}; right {share(results[RIGHT], results.total())}")


def _dangers(found: Sequence[tuple[Trial, str]]) -> None:
    print("dangers")
    kinds: dict[str, list[tuple[Trial, str]]] = defaultdict(list)
    for trial, result in found:
        if trial.said.kind not in TRUE:
            kind = trial.said.kind
            level = f" {trial.condition.level_db:.0f} dB" if kind in AWAY else ""
            kinds[f"{kind}{level}"].append((trial, result))
    for kind, of_kind in sorted(kinds.items()):
        for name in (CONFIRMS, OTHER, READ_BACK):
            seen = [trial for trial, result in of_kind if result == name]
            if name != CONFIRMS and not seen:
                continue
            bound = binomtest(len(seen), len(of_kind), alternative="less").proportion_ci().high
            print(f"  {kind} {name}: {len(seen)} of {len(of_kind)}, at most {100 * bound:.2f} %")
            for trial in seen if kind != "others' yes" else ():
                taken = [(one.evidence.words, one.meaning) for one in trial.heard]
                print(f"    {trial.said.text!r} as {taken}, {trial.condition}")


def _case_of(level_dbfs: float) -> NearVoice:
    """What a case has learnt from somebody whose answers are that loud."""
    near = NearVoice()
    for _ in range(REMEMBERED):
        near.learn(_heard(level_dbfs, -96.0))
    return near


def _heard(level_dbfs: float, noise_dbfs: float | None) -> Heard:
    reading = Reading("yes confirmed", "confirm")
    return Heard(0.0, 0.0, reading, level_dbfs=level_dbfs, noise_dbfs=noise_dbfs)
