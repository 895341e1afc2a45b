"""A case read, measured, scored by a scenario, and without its people if need be, in one go."""

from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from assistant.debrief.findings import Measures
from assistant.debrief.measures import measure
from assistant.debrief.redaction import redacted, redacting
from assistant.debrief.scenario import SimulationScenario, check_fits, read_simulation
from assistant.debrief.timeline import Timeline, read_timeline
from assistant.errors import BadInput
from assistant.files.plain_yaml import read_plain_yaml
from assistant.journal.folder import KEPT_SITE


class ScenarioFile(NamedTuple):
    """A scenario, and the file that it stands in."""

    path: Path
    scenario: SimulationScenario

    @classmethod
    def read(cls, path: Path) -> "ScenarioFile":
        """Read it. Raises BadInput."""
        return cls(path, read_simulation(path))


def read_measured(
    case: Path, file: ScenarioFile | None = None, *, redact: bool = False
) -> tuple[Timeline, Measures]:
    """All of a case's folder, and what can be measured of it.

    Raises BadInput when it cannot be read, or the scenario is for another brief.
    """
    timeline = read_timeline(case)
    if file is not None:
        if timeline.brief is None:
            raise BadInput.in_file(
                case, found="a case without a brief", allowed="one whose brief can be read"
            )
        check_fits(file.scenario, file.path, timeline.brief, _kept_drugs(case))
    measures = measure(timeline, None if file is None else file.scenario)
    if not redact:
        return timeline, measures
    # Scored before a facilitator's words are taken out: they may be what was expected.
    names = redacting(timeline)
    expected = tuple(
        replace(one, action=names(one.action), after=names(one.after)) for one in measures.expected
    )
    timeline = redacted(timeline)
    return timeline, replace(measure(timeline), expected=expected)


def _kept_drugs(case: Path) -> set[str] | None:
    """The drugs of the site's formulary as it was in this case; None where it cannot be read."""
    try:
        content = read_plain_yaml(case / KEPT_SITE / "formulary.yaml").content
        return {one["id"] for one in content["drugs"]}
    except (BadInput, KeyError, TypeError):
        return None
