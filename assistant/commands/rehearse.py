"""`spoken-brief rehearse`: a whole case with nobody in the room, on real sound."""

import argparse
import sys
import time
from contextlib import nullcontext
from pathlib import Path

from assistant.commands.engine_options import add_engine, open_engine
from assistant.commands.options import add_cases, add_site, shipped_configs
from assistant.commands.rehearse_text import run_in_text
from assistant.commands.transcript import Transcript
from assistant.commands.vocabulary import unheard
from assistant.commands.whole_site import whole_site
from assistant.errors import BadInput
from assistant.files.plain_yaml import read_plain_yaml
from assistant.journal.folder import new_case
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.conductor import RECORDING_NAME, Conductor
from assistant.rehearsal.outcome import Outcome, compare
from assistant.rehearsal.room_speakers import Player
from assistant.rehearsal.scenario import Scenario, read_scenario
from assistant.rehearsal.tempo import before_s, lines, paces
from assistant.site.site import Site
from assistant.speaking.voices import open_voice

DESCRIPTION = (
    "Plays scripted replies with synthetic voices into a simulated room, with its noise and the "
    "assistant's own voice, and recognises them from the sound of that room; a simulated patient "
    "wears a simulated oximeter on a pseudo-terminal. Leaves the record of the case and the sound "
    "of the room in a folder. Ends with 1 if the case did not end as the scenario expects."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    parser.add_argument(
        "scenario",
        nargs="?",
        type=Path,
        metavar="SCENARIO",
        help="a rehearsal file (default: a night shift at Tarn Hollow)",
    )
    add_site(parser)
    add_cases(parser)
    add_engine(parser)
    parser.add_argument(
        "--real-time",
        action="store_true",
        help="in real time, with the watcher in a process of its own",
    )
    parser.add_argument(
        "--play", action="store_true", help="play the room aloud; implies --real-time"
    )
    parser.add_argument(
        "--times",
        action="store_true",
        help="print afterwards how long each item of the brief took, and who took how much of it",
    )
    parser.add_argument(
        "--text",
        nargs="?",
        type=Path,
        const=Path("-"),
        metavar="FILE",
        help="without sound: type what is heard and read what is said, or play a script (a file, "
        "or piped in); this exercises neither hearing nor voice",
    )


def run(arguments: argparse.Namespace) -> int:
    """Rehearse, showing each thing said and heard with its time."""
    site = whole_site(arguments.site)
    if arguments.text is not None:
        sound = (arguments.real_time, arguments.play, arguments.times, arguments.scenario)
        if any(sound):
            raise BadInput(
                "--text has no sound; allowed: no rehearsal file, --real-time, --play or --times "
                "beside it."
            )
        return run_in_text(site, arguments.text, arguments.cases)
    night_shift = shipped_configs() / "rehearsals" / "night-shift.yaml"
    scenario = _rehearsal(arguments.scenario or night_shift, site)
    engine = open_engine(arguments)
    for warning in unheard(engine, Phrasebook(site).when_asking("anything")):
        print(f"{warning} (`check` offers some)", file=sys.stderr)
    # Whatever may be missing is missed before there is a case.
    _try_voices(site, scenario)
    with Player() if arguments.play else nullcontext() as player:
        folder = new_case(arguments.cases, site.files)
        print(f"{scenario.name}, at {site.brief.name}. Case: {folder}\n", flush=True)
        began_s = time.monotonic()
        conductor = Conductor(
            site,
            scenario,
            folder,
            engine,
            real_time=arguments.real_time or arguments.play,
            player=player,
            show=Transcript().show,
        )
        finished = conductor.run()
        outcome = compare(scenario, finished)
    if arguments.times:
        print()
        for line in lines(paces(site.brief, finished.rows), before_s(site.brief, finished.rows)):
            print(line)
    _sum_up(outcome, folder, time.monotonic() - began_s)
    return 1 if outcome.faults else 0


def _rehearsal(path: Path, site: Site) -> Scenario:
    """Raises BadInput; for a file of another kind with the command that takes it."""
    try:
        return read_scenario(path, site)
    except BadInput as fault:
        raise _of_another_kind(path) or fault from fault


def _of_another_kind(path: Path) -> BadInput | None:
    if not path.is_file():
        return None
    if path.suffix == ".txt":
        allowed = f"a rehearsal; a script is played by: rehearse --text {path}"
        return BadInput.in_file(path, found="a script in text", allowed=allowed)
    try:
        content = read_plain_yaml(path).content
    except BadInput:
        return None
    if isinstance(content, dict) and "patient" in content and "replies" not in content:
        return BadInput.in_file(
            path,
            found="a scenario for a simulation room, in which nobody replies",
            allowed=f"a rehearsal; a scenario is for: patient {path} --live, "
            f"and debrief CASE --scenario {path}",
        )
    return None


def _try_voices(site: Site, scenario: Scenario) -> None:
    """Raises BadInput when a voice is not there; espeak-ng tells only when it has to speak."""
    for settings in (site.wording.voice, *(one.voice for one in scenario.people.values())):
        open_voice(settings).render("ready")


def _sum_up(outcome: Outcome, folder: Path, took_s: float) -> None:
    print(
        f"\n{outcome.lasted_s:.0f} s of the room in {took_s:.0f} s; "
        f"{outcome.understood} of {outcome.said} spoken replies understood correctly at once; "
        f"threshold calls: {outcome.calls}."
    )
    print(f"Record: spoken-brief debrief {folder}\nSound:  {folder / RECORDING_NAME}")
    for fault in outcome.faults:
        print(f"Not as expected: {fault}")
