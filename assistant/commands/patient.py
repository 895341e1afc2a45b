"""`spoken-brief patient`: the simulated patient of a rehearsal, for teaching."""

import argparse
from pathlib import Path

from assistant.clock import minutes_and_seconds
from assistant.commands.options import add_cases, add_site
from assistant.commands.patient_live import play_live
from assistant.debrief.scenario import (
    SimulationScenario,
    check_fits,
    is_simulation,
    read_simulation,
)
from assistant.errors import BadInput
from assistant.patient.lesson import Lesson, play
from assistant.patient.picture import CAUTION, check_picture, draw
from assistant.rehearsal.scenario import Scenario, read_scenario
from assistant.site.site import Site, read_site

DESCRIPTION = (
    "Plays a rehearsal's patient alone, with the site's oximeter and its rule, and "
    "prints the calls; with --plot it draws the curve too. A cue that is given no time comes by "
    "itself: oxygen after half a minute, apnoea after four minutes, the bag fifteen seconds after "
    "the call, whatever follows two minutes later. With --live the patient is played beside a real "
    f"room, and the facilitator steers. {CAUTION}"
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    parser.add_argument(
        "scenario", type=Path, metavar="SCENARIO", help="a rehearsal, or a scenario"
    )
    parser.add_argument("--plot", type=Path, metavar="FILE", help="a .png, .svg or .pdf to draw")
    parser.add_argument(
        "--at",
        action="append",
        default=[],
        type=_cue_time,
        metavar="CUE=SECONDS",
        help="when one of the patient's cues comes, such as attempt-started=180",
    )
    parser.add_argument("--minutes", type=float, metavar="N", help="how long to play")
    parser.add_argument(
        "--live",
        action="store_true",
        help="beside a real room: play the patient in real time for the case that is open, on a "
        "port for `listen --port`; keys steer, and what they do goes on record",
    )
    add_site(parser)
    add_cases(parser)


def run(arguments: argparse.Namespace) -> int:
    """Play, print, and draw when asked."""
    site = read_site(arguments.site)
    scenario = _scenario(arguments.scenario, site)
    if arguments.live:
        if arguments.plot or arguments.at or arguments.minutes is not None:
            raise BadInput("--live: found --plot, --at or --minutes; allowed: none of them.")
        return play_live(scenario.patient, site, arguments.cases)
    cue_times_s = dict(arguments.at)
    for cue in cue_times_s:
        if cue not in scenario.patient.cues():
            known = ", ".join(scenario.patient.cues()) or "none"
            raise BadInput(
                f"--at: found {cue!r}; allowed: a cue of the scenario's patient ({known})."
            )
    if arguments.minutes is not None and not 0 < arguments.minutes <= 120:
        raise BadInput(f"--minutes: found {arguments.minutes:g}; allowed: above 0, up to 120.")
    if arguments.plot is not None:
        check_picture(arguments.plot)
    lasts_s = None if arguments.minutes is None else 60 * arguments.minutes
    lesson = play(scenario.patient, site.oximeter, cue_times_s, lasts_s)
    _print(lesson)
    if arguments.plot is not None:
        threshold_percent = site.oximeter.crossing.threshold_percent
        title = f"{scenario.name}: saturation and calls"
        draw(lesson, title, threshold_percent, arguments.plot)
        print(f"Drawn: {arguments.plot}")
    return 0


def _scenario(path: Path, site: Site) -> Scenario | SimulationScenario:
    """A rehearsal, or a simulation room's scenario; either has a patient."""
    if not is_simulation(path):
        return read_scenario(path, site)
    scenario = read_simulation(path)
    check_fits(scenario, path, site.brief, {drug.id for drug in site.formulary.drugs})
    return scenario


def _cue_time(text: str) -> tuple[str, float]:
    cue, _, seconds = text.partition("=")
    try:
        at_s = float(seconds)
    except ValueError:
        at_s = -1.0
    if not cue or not 0 <= at_s <= 7200:
        raise argparse.ArgumentTypeError(f"found {text!r}; allowed: a cue, =, and seconds")
    return cue, at_s


def _print(lesson: Lesson) -> None:
    events = [(phase.from_s, phase.name) for phase in (*lesson.breathing, *lesson.oximeter)]
    events += [(call.at_s, f"called: {call.text}") for call in lesson.calls]
    for at_s, what in sorted(events, key=lambda event: event[0]):
        number = min(range(len(lesson.at_s)), key=lambda n: abs(lesson.at_s[n] - at_s))
        shown = lesson.shown_percent[number]
        figure = "---" if shown is None else f"{shown:3d}"
        print(f"{minutes_and_seconds(at_s)}  {figure} %  {what}")
    seen = [one for one in lesson.shown_percent if one is not None]
    print(f"Lowest shown: {min(seen, default=0)} %. {CAUTION}")
