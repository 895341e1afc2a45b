"""Several cases beside each other: a department's year, or a course's week."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import median, quantiles

from assistant.debrief.definitions import DEFINITIONS, Definition
from assistant.debrief.figures import figures
from assistant.debrief.reading import ScenarioFile, read_measured
from assistant.debrief.scoring import Scored
from assistant.debrief.verifying import altered_told
from assistant.errors import BadInput
from assistant.journal.journal import FILE_NAME, read_meta


@dataclass(frozen=True, slots=True)
class CaseFigures:
    """What is kept of one case: its numbers and what its loops tell, not its words."""

    case: str
    started_wall: str
    """Empty where dates are taken out."""
    wall_trusted: bool
    """Whether that clock was synchronised."""
    site: str
    rehearsal: bool
    """Its time was that of its sound."""
    values: Mapping[str, float | None]
    """Every measure by its name; None also for one that was cut short, as a brief broken off."""
    askings: tuple[tuple[str, bool, int, float | None], ...]
    """Of each asking: the item's short name, whether it was put off, how many answers did not
    match, and how long it took to settle, in s."""
    expected: tuple[Scored, ...] = ()
    """What a scenario expected, where one was given."""


@dataclass(frozen=True, slots=True)
class Spread:
    """One measure over several cases."""

    name: str
    known: int
    """In how many cases it is known."""
    lowest: float
    lower_quarter: float
    median: float
    upper_quarter: float
    highest: float

    @property
    def definition(self) -> Definition:
        """What the measure means."""
        return DEFINITIONS[self.name]


@dataclass(frozen=True, slots=True)
class ItemOver:
    """One item over several cases."""

    label: str
    asked: int
    put_off: int
    amiss: int
    """False hearings and wrong answers: what did not match, or was refused at the read-back."""
    median_to_settling_s: float | None


@dataclass(frozen=True, slots=True)
class ActionOver:
    """One action that a scenario expects, over several cases."""

    action: str
    due: int
    """How often it became due, and could be judged."""
    in_time: int
    late: int
    never: int
    median_took_s: float | None


def case_figures(
    folder: Path, scenario: ScenarioFile | None = None, *, redact: bool = False
) -> CaseFigures:
    """The numbers of one case. Raises BadInput when it cannot be read, or scored."""
    timeline, measures = read_measured(folder, scenario, redact=redact)
    brief = timeline.brief
    return CaseFigures(
        case=timeline.meta.case,
        started_wall=timeline.meta.started_wall,
        wall_trusted=timeline.meta.started_wall_trusted,
        site=timeline.meta.site,
        rehearsal=timeline.meta.clock == "sound",
        values={one.name: None if one.cut_short else one.value for one in figures(measures)},
        askings=tuple(
            (
                one.item if brief is None else brief.item(one.item).label,
                one.outcome == "put off",
                len(one.mismatched),
                one.to_settling_s,
            )
            for one in measures.loops
        ),
        expected=measures.expected,
    )


def all_cases(
    cases: Path, refused: list[str], scenario: ScenarioFile | None = None, *, redact: bool = False
) -> Iterator[CaseFigures]:
    """Every case of a folder, one after the other, in the order in which they began: by their own
    records, as a folder may have any name; where the clock was not synchronised, last.

    Why one cannot be read is added to `refused`. Raises BadInput when there is no such folder.
    """
    if not cases.is_dir():
        raise BadInput.in_file(cases, found="no such folder", allowed="a folder of cases")
    among = [one for one in cases.iterdir() if not one.is_symlink() and one.name[0] != "."]
    folders = [one for one in among if (one / FILE_NAME).is_file()]
    for number, folder in enumerate(sorted(folders, key=_began), 1):
        try:
            with altered_told(folder):
                found = case_figures(folder, scenario, redact=redact)
        except BadInput as fault:
            refused.append(str(fault))
            continue
        if redact:
            yield replace(found, case=f"case {number}", started_wall="")
        else:
            yield found


def _began(folder: Path) -> tuple[bool, str, str]:
    try:
        meta = read_meta(folder)
    except BadInput:
        return True, "", folder.name
    return not meta.started_wall_trusted, meta.started_wall, folder.name


def spreads(found: list[CaseFigures]) -> list[Spread]:
    """Each measure that at least one case knows, in the order of the definitions."""
    made = []
    for name in DEFINITIONS:
        values = sorted(value for one in found if (value := one.values.get(name)) is not None)
        if not values:
            continue
        low, middle, high = (
            quantiles(values, n=4, method="inclusive") if len(values) > 1 else [values[0]] * 3
        )
        made.append(Spread(name, len(values), values[0], low, middle, high, values[-1]))
    return made


def items_over(found: list[CaseFigures]) -> list[ItemOver]:
    """Each item over all cases, the ones most often put off first, then the longest."""
    asked: Counter[str] = Counter()
    put_off: Counter[str] = Counter()
    amiss: Counter[str] = Counter()
    took: defaultdict[str, list[float]] = defaultdict(list)
    for case in found:
        for label, off, wrong, settling_s in case.askings:
            asked[label] += 1
            put_off[label] += off
            amiss[label] += wrong
            if settling_s is not None:
                took[label].append(settling_s)
    made = [
        ItemOver(
            label,
            asked[label],
            put_off[label],
            amiss[label],
            round(median(took[label]), 2) if took[label] else None,
        )
        for label in asked
    ]
    return sorted(made, key=lambda one: (-one.put_off, -(one.median_to_settling_s or 0.0)))


def actions_over(found: list[CaseFigures]) -> list[ActionOver]:
    """Each expected action over all cases, the ones least often done in time first."""
    by_action: defaultdict[str, list[Scored]] = defaultdict(list)
    for case in found:
        for one in case.expected:
            by_action[one.action] += [one] if one.applies else []
    made = []
    for action, scored in by_action.items():
        count = Counter(one.outcome for one in scored)
        took = [one.took_s for one in scored if one.took_s is not None]
        middle = round(median(took), 2) if took else None
        counts = count["in time"], count["late"], count["never"]
        made.append(ActionOver(action, len(scored), *counts, middle))
    return sorted(made, key=lambda one: one.in_time / one.due if one.due else 2.0)
