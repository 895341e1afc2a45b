"""`spoken-brief glance`: a page for a screen at the foot of the bed."""

import argparse
import signal
from pathlib import Path
from types import FrameType
from typing import NoReturn

from assistant.clock import MonotonicClock
from assistant.commands.options import add_cases, add_site
from assistant.errors import BadInput
from assistant.glance.case_reader import CaseReader
from assistant.glance.server import Application, Glance, serve
from assistant.glance.settings import LOOPBACK, wanted_glance
from assistant.glance.watcher_line import SaturationListener
from assistant.oximeter.messages import GLANCE_NAME
from assistant.site.site import read_site

DESCRIPTION = (
    "One page, to be read from across the room, on this machine only: the open "
    "item, what is left, the clocks, and the saturation with its threshold. It only reads, and "
    "nothing depends on it. The site's glance.yaml says where it is served; without that file "
    "there is none."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    add_site(parser)
    add_cases(parser)
    parser.add_argument(
        "--watcher",
        type=Path,
        metavar="SOCKET",
        help="where it is told the saturation by the watcher (default: beside the cases)",
    )


def run(arguments: argparse.Namespace) -> int:
    """Serve until SIGTERM or SIGINT."""
    signal.signal(signal.SIGTERM, _end)
    site = read_site(arguments.site)
    settings = wanted_glance(arguments.site)
    told: Path = arguments.watcher or arguments.cases / GLANCE_NAME
    try:
        line = SaturationListener(told, site.oximeter.crossing.threshold_percent)
    except OSError as fault:
        raise BadInput.in_file(
            told,
            found=f"a socket that cannot be made ({fault.strerror})",
            allowed="one in a folder that is there",
        ) from fault
    try:
        glance = Glance(site, settings, CaseReader(arguments.cases), line, MonotonicClock())
        application = Application(settings, glance.view, site.wording.language)
        server = serve(application, settings)
        address = settings.socket or f"http://{LOOPBACK}:{settings.port}/"
        print(
            f"{address} - smallest letter {settings.smallest_arcmin:.0f} minutes of arc from "
            f"{settings.read_from_m:g} m. Not a monitor's alarm.",
            flush=True,
        )
        server.run()
    finally:
        line.close()
    return 0


def _end(_signal: int, _frame: FrameType | None) -> NoReturn:
    raise SystemExit(0)  # which waitress takes as a reason to close
