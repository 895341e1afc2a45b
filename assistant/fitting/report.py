"""What came of the trials: shares with their intervals, each danger by name, and a picture."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from scipy.stats import binomtest

from assistant.brief.states import FACTS
from assistant.fitting.corpus import ANYTHING, DECLINES, NOT_FOR_ME, grammars, plain
from assistant.fitting.room import SNR_DB
from assistant.fitting.trials import Trial, Utterance
from assistant.fitting.voices import HELD_OUT_NATURAL
from assistant.fitting.window import YES, is_right
from assistant.grammar.grammar import SLOT
from assistant.grammar.readings import Verdict
from assistant.hearing.engines.closed.verdicts import Fitted, fitted
from assistant.hearing.soundalikes import phonemes, unlikeness
from assistant.site.site import Site

RIGHT, ASKED, IGNORED = "right", "asked back", "ignored"
GROUPS = {
    "commands, confirmations, declines": ("command", "confirmation", "decline"),
    "dose question, drug and weight": ("dose",),
    "dose question, drug only": ("drug",),
    "weight": ("weight",),
}
TALK = ("talk", "decoy")
TALK_ACTED_ON = "talk taken for a command or question"
TALK_DECLINES = "talk taken for a decline"
TALK_READ_BACK = "talk read back as a number or fact"
TALK_SAYS_YES = "talk taken for a bare yes: answered with what would confirm"
TALK_PLAIN_YES = "talk taken for a plain yes: it counts as an answer in time and from near"
TOLD_AT_ONCE = "wrong dose told at once: of another drug, or for the patient's own weight"
READ_BACK = (*FACTS, "number", "end_case")
"""Meanings that are read back, or asked after, before anything is done."""
DANGERS = {
    "decline taken for a confirmation": DECLINES,
    "hedge or question taken for a confirmation": ("hedge",),
    "talk taken for a confirmation": TALK,
    "command taken for a confirmation": ("command", "weight", "dose", "drug"),
    TALK_ACTED_ON: NOT_FOR_ME,
    TALK_DECLINES: NOT_FOR_ME,
    TALK_READ_BACK: NOT_FOR_ME,
    TALK_SAYS_YES: NOT_FOR_ME,
    TALK_PLAIN_YES: NOT_FOR_ME,
    "command taken for another": ("command", "confirmation", "decline"),
    "wrong number": ("weight",),
    TOLD_AT_ONCE: ("dose", "drug"),
    "wrong drug or weight in a dose question": ("dose", "drug"),
}
"""By name, and the kinds of sentences in which each can happen."""
_ANSWERS = {
    "decline": TALK_DECLINES,
    "bare_yes": TALK_SAYS_YES,
    "plain_yes": TALK_PLAIN_YES,
}
_VOICED = ("babble", "own voice")
_ALIKE_BELOW = 0.4
"""Talk that differs from a phrase of the site in fewer of its sounds was written to resemble it."""
_SHIFTS = [step / 4 for step in range(-16, 17)]


def outcome(trial: Trial, by: Fitted) -> str:
    """`right`, `asked back`, `ignored`, or the name of a danger."""
    verdicts = [(one, one.verdict(by)) for one in trial.heard]
    accepted = [one for one, verdict in verdicts if verdict is Verdict.ACCEPT]
    wrong = [one for one in accepted if not is_right(trial, one)]
    if wrong:
        worst = next((one for one in wrong if one.meaning in YES), wrong[0])
        return danger(trial.said.kind, worst)
    if accepted:
        return RIGHT
    return ASKED if any(verdict is Verdict.ASK for _, verdict in verdicts) else IGNORED


def danger(kind: str, taken: Utterance) -> str:
    """Which of the dangers it is to have accepted that."""
    names = [name for name, kinds in DANGERS.items() if kind in kinds]
    confirms = [name for name in names if name.endswith("for a confirmation")]
    # A plain yes settles as much, in time and from near; of talk it is told by itself.
    settles = taken.meaning == "confirm" or (taken.meaning in YES and kind not in NOT_FOR_ME)
    if settles and confirms:
        return confirms[0]
    if kind in NOT_FOR_ME:
        if taken.meaning in _ANSWERS:
            return _ANSWERS[taken.meaning]
        read_back = taken.meaning in READ_BACK or "weight_kg" in taken.values
        return TALK_READ_BACK if read_back else TALK_ACTED_ON
    if TOLD_AT_ONCE in names and taken.meaning == "dose" and "weight_kg" not in taken.values:
        return TOLD_AT_ONCE
    return next(name for name in names if name not in (*confirms, TOLD_AT_ONCE))


def show(trials: Sequence[Trial], site: Site, picture: Path | None) -> None:
    """Print all tables."""
    by = fitted()
    found = [(trial, outcome(trial, by)) for trial in trials]
    natural = [one for one in found if one[0].condition.voice in HELD_OUT_NATURAL]
    robotic = [one for one in found if one[0].condition.voice not in HELD_OUT_NATURAL]
    for title, half in (("natural voices", natural), ("robotic voices", robotic)):
        plain = [one for one in half if _is_plain(one[0])]
        print(f"\n{title}, close or at the trolley, accepted rightly at once by dB over the noise")
        _table(plain, lambda trial: trial.condition.snr_db, SNR_DB)
        for distance in ("close", "trolley"):
            print(f"of these, {distance}")
            so_far = [one for one in plain if one[0].condition.distance == distance]
            _table(so_far, lambda trial: trial.condition.snr_db, SNR_DB)
    print("\nnatural voices, commands, with noise, by noise")
    _row("", [one for one in natural if one[0].condition.snr_db], lambda one: one.condition.noise)
    print("\nnatural voices, commands, by distance")
    _row("", natural, lambda one: one.condition.distance)
    print("\ndangers")
    _dangers(found)
    print("\ntalk: answered with something, asked back")
    _answered(found, site)
    worked_s = sorted(trial.worked_s / trial.sound_s for trial, _ in found)
    print(f"\nreal-time factor, one thread, median {worked_s[len(worked_s) // 2]:.2f}")
    if picture is not None:
        draw(trials, by, picture)


def share(right: int, total: int) -> str:
    """In per cent, with the exact 95 % interval."""
    low, high = binomtest(right, total).proportion_ci(method="exact")
    return f"{100 * right / total:.0f} % ({100 * low:.0f}-{100 * high:.0f}) of {total}"


def _is_plain(trial: Trial) -> bool:
    """Where the aims apply: nobody else talks, and the speaker is not across the room."""
    condition = trial.condition
    alone = condition.noise not in _VOICED or condition.snr_db is None
    return alone and condition.distance != "across"


def _table(
    found: Iterable[tuple[Trial, str]],
    column: Callable[[Trial], object],
    columns: Sequence[object],
) -> None:
    for title, kinds in GROUPS.items():
        counts: dict[object, Counter[str]] = defaultdict(Counter)
        for trial, result in found:
            if trial.said.kind in kinds:
                counts[column(trial)][result] += 1
        cells = [
            f"{'clean' if one is None else f'{one:.0f} dB'} {share(counts[one][RIGHT], total)}"
            for one in columns
            if (total := counts[one].total())
        ]
        print(f"  {title}: {'; '.join(cells)}")


def _row(title: str, found: Iterable[tuple[Trial, str]], column: Callable[[Trial], str]) -> None:
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for trial, result in found:
        if trial.said.kind in GROUPS["commands, confirmations, declines"]:
            counts[column(trial)][result] += 1
    for name, results in sorted(counts.items()):
        print(f"  {title}{name}: {share(results[RIGHT], results.total())}")


def _dangers(found: Sequence[tuple[Trial, str]]) -> None:
    for name, kinds in DANGERS.items():
        asked = [(trial, result) for trial, result in found if trial.said.kind in kinds]
        if not asked:
            continue
        seen = [trial for trial, result in asked if result == name]
        bound = binomtest(len(seen), len(asked), alternative="less").proportion_ci().high
        print(f"  {name}: {len(seen)} of {len(asked)}, at most {100 * bound:.2f} % (95 %)")
        for trial in seen:
            taken = [one.evidence.words for one in trial.heard]
            print(f"    {trial.said.text!r} as {taken}, {trial.condition}")


def _answered(found: Sequence[tuple[Trial, str]], site: Site) -> None:
    """What the room hears in answer to its talk, by how much that sounds like a phrase."""
    talk = [(trial, result) for trial, result in found if trial.said.kind in TALK]
    phrases = [
        one.words
        for one in grammars(site)[ANYTHING].patterns
        if one.for_me and not SLOT.search(one.words)
    ]
    texts = {plain(trial.said.text) for trial, _ in talk}
    sounds = phonemes([*phrases, *texts])
    differ = {
        text: min(unlikeness(sounds[text], sounds[phrase]) for phrase in phrases) for text in texts
    }
    for title, alike in (("like a phrase", True), ("unlike all", False)):
        of_them = [
            result
            for trial, result in talk
            if (differ[plain(trial.said.text)] < _ALIKE_BELOW) is alike
        ]
        if not of_them:
            continue
        for taken in (TALK_ACTED_ON, *_ANSWERS.values(), TALK_READ_BACK, ASKED):
            seen = of_them.count(taken)
            bound = binomtest(seen, len(of_them), alternative="less").proportion_ci().high
            print(f"  {title}: {taken}: {seen} of {len(of_them)}, at most {100 * bound:.2f} %")


def draw(trials: Sequence[Trial], by: Fitted, path: Path) -> None:
    """The operating curves: what is accepted, rightly and wrongly, as the thresholds move."""
    from matplotlib import pyplot

    curves: dict[str, list[float]] = defaultdict(list)
    for shift in _SHIFTS:
        moved = replace(by, accept={sort: at + shift for sort, at in by.accept.items()})
        found = [(trial, outcome(trial, moved)) for trial in trials]
        for title, kinds in GROUPS.items():
            of_them = [result for trial, result in found if trial.said.kind in kinds]
            curves[title].append(100 * of_them.count(RIGHT) / max(1, len(of_them)))
        for title, names in _WRONG.items():
            curves[title].append(sum(result in names for _, result in found))
    figure, (upper, lower) = pyplot.subplots(2, 1, sharex=True, figsize=(8, 7))
    for title in GROUPS:
        upper.plot(_SHIFTS, curves[title], label=title)
    for title, style in zip(_WRONG, ("-", "--", "-.", ":"), strict=True):
        lower.plot(_SHIFTS, curves[title], style, label=title)
    upper.set_ylabel("accepted rightly at once, %")
    lower.set_ylabel(f"accepted wrongly, of {len(trials)}")
    lower.set_yscale("symlog", linthresh=1)
    lower.set_xlabel("thresholds moved by, log odds (0: as shipped)")
    for axes in (upper, lower):
        axes.axvline(0, color="grey", linewidth=0.8)
        axes.grid(alpha=0.3)
        axes.legend()
    figure.tight_layout()
    figure.savefig(path, dpi=110)


_WRONG = {
    "a confirmation that was none": [name for name in DANGERS if "a confirmation" in name],
    "talk acted on, or another command": [TALK_ACTED_ON, "command taken for another"],
    "talk as a decline or a bare yes, or read back": [*_ANSWERS.values(), TALK_READ_BACK],
    "a wrong number or drug": [name for name in DANGERS if name.startswith("wrong")],
}
