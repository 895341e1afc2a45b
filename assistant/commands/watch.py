"""`spoken-brief watch`: the oximeter watcher alone, a process of its own."""

import argparse
import logging
import os
import time
from collections.abc import Callable, Iterable
from pathlib import Path

from assistant.clock import MonotonicClock, SoundClock
from assistant.commands.options import add_site
from assistant.errors import BadInput
from assistant.journal.at_hand import IDLE, made_memory
from assistant.journal.folder import KEPT_SITE
from assistant.journal.following import Following
from assistant.journal.in_memory import takes_records
from assistant.journal.only_one import only_one
from assistant.oximeter.feed import Feed
from assistant.oximeter.messages import GLANCE_NAME
from assistant.oximeter.process import STEP_S, run_watcher
from assistant.oximeter.replay import RawRecording, ReplayFeed
from assistant.oximeter.settings import OximeterSettings
from assistant.oximeter.sources import open_feed
from assistant.oximeter.trial import Trial
from assistant.site.watcher_files import read_watcher_files
from assistant.speaking.voices import open_voice

log = logging.getLogger(__name__)

DESCRIPTION = (
    "Reads the site's oximeter and calls the saturation once each time it falls to "
    "the site's threshold, whatever the conversation is doing. It is no monitor and has no alarm. "
    "With --dry it prints what it reads and what it would call, and makes no sound."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    where = parser.add_mutually_exclusive_group(required=True)
    where.add_argument("--case", type=Path, metavar="DIR", help="watch for the case in this folder")
    where.add_argument(
        "--follow",
        type=Path,
        metavar="CASES",
        help="watch for whichever case is open, one after the other, in this folder of cases",
    )
    where.add_argument(
        "--dry",
        action="store_true",
        help="print samples, without case or sound: to try a device",
    )
    parser.add_argument("--port", metavar="PORT", help="instead of the site's own serial port")
    parser.add_argument(
        "--layout", metavar="NAME", help="another of the layouts in the site's oximeter.yaml"
    )
    parser.add_argument(
        "--replay", type=Path, metavar="FILE", help="a recording instead of a device"
    )
    parser.add_argument(
        "--record-raw",
        type=Path,
        metavar="FILE",
        help="keep the bytes that are read, with times",
    )
    parser.add_argument("--loudspeaker", metavar="NAME", help="its name, or part of it")
    parser.add_argument(
        "--glance",
        type=Path,
        metavar="SOCKET",
        help="where a glance display listens (default: beside the cases that are followed)",
    )
    parser.add_argument(
        "--ends-with", type=int, metavar="PID", help="end when this parent process ends"
    )
    add_site(parser)


def run(arguments: argparse.Namespace) -> int:
    """Watch until told to end."""
    if arguments.replay is not None and (arguments.port or arguments.record_raw):
        raise BadInput("watch: found --replay with a port; allowed: a recording or a device.")
    site = read_watcher_files(arguments.site)
    settings = _with_layout(site.oximeter, arguments.layout)
    _refuse_what_is_no_case(arguments.case)
    _refuse_what_is_no_port(arguments, settings)
    lock = None if arguments.follow is None else _only_watcher(arguments.follow)
    at_once = arguments.dry and arguments.replay is not None
    clock: MonotonicClock | SoundClock = SoundClock() if at_once else MonotonicClock()
    keep = RawRecording(arguments.record_raw) if arguments.record_raw else None
    feed = open_feed(settings, clock, port=arguments.port, replay=arguments.replay, keep=keep)
    try:
        if arguments.dry:
            _try(settings, feed, clock)
        else:
            run_watcher(
                _at_hand(arguments),
                settings,
                open_voice(site.voice).render,
                feed,
                output_device=arguments.loudspeaker,
                ends_with_parent_pid=arguments.ends_with,
                glance=_glance(arguments),
                idle=None if arguments.follow is None else IDLE,
            )
    finally:
        feed.close()
        if keep is not None:
            keep.close()
        if lock is not None:
            os.close(lock)
    return 0


def _refuse_what_is_no_case(case: Path | None) -> None:
    """A mistyped folder would be watched for nobody."""
    if case is None or (case / KEPT_SITE).is_dir():
        return
    found = "a folder without a case" if case.is_dir() else "no such folder"
    raise BadInput.in_file(case, found=found, allowed="a case's folder")


def _refuse_what_is_no_port(arguments: argparse.Namespace, settings: OximeterSettings) -> None:
    """A port that is missing may be plugged in later; a file or a folder is refused."""
    port = Path(arguments.port or settings.port)
    if arguments.replay is None and port.exists() and not port.is_char_device():
        raise BadInput(f"{port}: found something that is no serial port; allowed: a serial port.")


def _at_hand(arguments: argparse.Namespace) -> Callable[[], Path]:
    case: Path = arguments.case
    return (lambda: case) if arguments.follow is None else Following(arguments.follow)


def _glance(arguments: argparse.Namespace) -> Path | None:
    named: Path | None = arguments.glance
    if named is None and arguments.follow is not None:
        named = arguments.follow / GLANCE_NAME
    return named


def _only_watcher(cases: Path) -> int:
    """Two watchers would share one oximeter, and each would lose half of it.

    The lock is on the folder, which needs no disk that can be written; returns its descriptor.
    """
    return only_one(cases, lambda: _opened(cases), "watcher that follows these cases")


def _opened(cases: Path) -> int:
    folder = cases
    if not takes_records(cases):
        log.warning("%s takes no record; it is watched all the same", cases)
        folder = cases if cases.is_dir() else made_memory(cases)
    return os.open(folder, os.O_RDONLY | os.O_DIRECTORY)


def _with_layout(settings: OximeterSettings, layout: str | None) -> OximeterSettings:
    if layout is None:
        return settings
    if layout not in settings.layouts:
        raise BadInput(
            f"--layout: found {layout!r}; allowed: a layout of the site's oximeter.yaml: "
            f"{', '.join(settings.layouts)}."
        )
    return settings.model_copy(update={"layout": layout})


def _try(settings: OximeterSettings, feed: Feed, clock: MonotonicClock | SoundClock) -> None:
    """Print what comes until the recording is over, or somebody presses Ctrl-C."""
    trial, fault = Trial(settings, clock.now_s()), ""
    try:
        while not (isinstance(feed, ReplayFeed) and feed.over):
            for sample in feed.read():
                _print(trial.take(sample))
            _print(trial.pass_time(clock.now_s()))
            if feed.fault != fault:
                fault = feed.fault
                _print([f"{trial.at(clock.now_s())}  {feed.name}: {fault or 'in order'}"])
            if isinstance(clock, SoundClock):
                clock.move_to(clock.now_s() + STEP_S)
            else:
                time.sleep(STEP_S)
    except KeyboardInterrupt:
        print()
    tally = trial.tally
    lowest = "none" if tally.lowest_percent is None else f"{tally.lowest_percent} %"
    print(
        f"{tally.samples} samples, {tally.usable} usable by what the device says, "
        f"{tally.believed} believed; lowest saturation {lowest}; "
        f"{len(tally.calls)} calls would have been made."
    )


def _print(lines: Iterable[str]) -> None:
    for line in lines:
        print(line, flush=True)
