"""`spoken-brief listen`: live, on the microphone and the loudspeaker of this machine."""

import argparse
import logging
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from assistant.clock import Clock, MonotonicClock
from assistant.commands.engine_options import add_engine, open_engine
from assistant.commands.options import add_cases, add_site
from assistant.commands.vocabulary import unheard
from assistant.commands.whole_site import whole_site
from assistant.errors import BadInput
from assistant.live.heartbeat import Heartbeat
from assistant.live.only_listener import only_listener
from assistant.live.session import Session
from assistant.live.soundcard import SoundCard
from assistant.panel.gpio import open_panel
from assistant.panel.panel import BarePanel, Panel
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.speaking.voices import open_voice

log = logging.getLogger(__name__)

DESCRIPTION = (
    "Tests itself, waits for the words that open a case, and calls the brief. "
    "If it is stopped in the middle of a case, it carries on with that case when started again."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    add_site(parser)
    add_cases(parser)
    parser.add_argument("--microphone", metavar="NAME", help="its name, or part of it")
    parser.add_argument("--loudspeaker", metavar="NAME", help="its name, or part of it")
    parser.add_argument("--port", metavar="PORT", help="the oximeter's, instead of the site's own")
    parser.add_argument(
        "--no-watcher",
        action="store_true",
        help="do not start the watcher, because it runs as a service of its own",
    )
    add_engine(parser)


def run(arguments: argparse.Namespace) -> int:
    """Listen until SIGTERM or SIGINT."""
    logging.basicConfig(format="%(message)s")
    logging.getLogger("assistant").setLevel(logging.INFO)
    stop = threading.Event()
    for ending in (signal.SIGTERM, signal.SIGINT):
        signal.signal(ending, lambda *_: stop.set())
    site = whole_site(arguments.site)
    engine = open_engine(arguments)
    lock = only_listener(arguments.cases)
    for warning in unheard(engine, Phrasebook(site).when_asking("anything")):
        print(f"{warning} (`check` offers some)", file=sys.stderr)
    for one in site.formulary.confirmed:
        print(f"Outside the program's reference: {one.told()}", file=sys.stderr)
    clock = MonotonicClock()
    with _watcher(arguments):
        session = Session(
            site,
            arguments.cases,
            clock=clock,
            engine=engine,
            voice=open_voice(site.wording.voice),
            card=SoundCard(clock, arguments.microphone, arguments.loudspeaker),
            heartbeat=Heartbeat(clock),
            panel=_panel(site.folder, clock),
        )
        session.run(stop.is_set)
    os.close(lock)
    return 0


def _panel(site: Path, clock: Clock) -> Panel:
    """A panel that cannot be used is no reason not to listen."""
    try:
        return open_panel(site, clock)
    except BadInput as fault:
        log.warning("%s Going on without pedal, light and buzzer.", fault)
        return BarePanel()


@contextmanager
def _watcher(arguments: argparse.Namespace) -> Iterator[None]:
    """The watcher, for as long as nothing worse than an ordinary end happens to this process.

    Killed, it leaves the watcher running: a patient who is being watched stays watched.
    """
    if arguments.no_watcher:
        yield
        return
    port = () if arguments.port is None else ("--port", arguments.port)
    child = subprocess.Popen(
        [
            *(sys.executable, "-m", "assistant", "watch", "--follow", str(arguments.cases)),
            *("--site", str(arguments.site), *port),
        ],
        stdin=subprocess.DEVNULL,
    )
    try:
        yield
    finally:
        child.terminate()
        child.wait()
