"""`spoken-brief models`: list, fetch and import the models that no wheel carries."""

import argparse
import os
import sys
from importlib.metadata import version
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, DownloadColumn, Progress, TimeRemainingColumn
from rich.table import Table

from assistant.commands.engine_options import add_models
from assistant.errors import BadInput
from assistant.hearing.engines import VOSK_MODEL
from assistant.hearing.engines.closed.installed import installed_model
from assistant.models.catalogue import KNOWN, KnownModel
from assistant.models.fetching import fetch
from assistant.models.shelf import Installed, Shelf

FROM_VARIABLE = "SPOKEN_BRIEF_MODEL_FROM"

DESCRIPTION = (
    "The default recogniser's model is installed with the project. Others are kept in "
    "folders of their own; each is checked before it is put in its place."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")

    listing = actions.add_parser("list", help="what is installed, and what could be")
    add_models(listing)
    listing.set_defaults(run_action=run_list)

    fetching = actions.add_parser(
        "fetch",
        help="fetch a known model",
        description="Fetches the file from the address that you give, goes on where an earlier "
        "attempt stopped, and installs it only when size and SHA-256 are the known ones.",
    )
    fetching.add_argument("name", metavar="NAME", help=", ".join(model.name for model in KNOWN))
    fetching.add_argument(
        "--from",
        dest="address",
        metavar="URL",
        default=os.environ.get(FROM_VARIABLE),
        help=f"the address of the file (default: the one in {FROM_VARIABLE})",
    )
    _add_place(fetching)
    fetching.set_defaults(run_action=run_fetch)

    importing = actions.add_parser(
        "import",
        help="install a model from a ZIP file",
        description="For a machine without a network: the ZIP of a Vosk model, brought by hand.",
    )
    importing.add_argument("archive", type=Path, metavar="FILE.zip")
    _add_place(importing)
    importing.set_defaults(run_action=run_import)


def run(arguments: argparse.Namespace) -> int:
    """List, fetch or import."""
    return int(arguments.run_action(arguments))


def run_list(arguments: argparse.Namespace) -> int:
    """Show them all."""
    table = Table(box=None, pad_edge=False)
    for heading in ("folder", "model", "licence"):
        table.add_column(heading, overflow="fold")
    table.add_column("size", justify="right", no_wrap=True)
    table.add_row("(with the program)", *_embedded())
    shelf = Shelf(arguments.models)
    there = shelf.installed()
    for model in there:
        table.add_row(model.folder.name, *_shown(model))
    names = {model.origin.name for model in there if model.origin}
    for known in KNOWN:
        if known.name not in names:
            about = f"{known.name}, {known.about}"
            table.add_row("(not installed)", about, known.licence, _megabytes(known.archive_bytes))
    console = Console()
    console.print(table)
    console.print(f"Models folder: {shelf.folder}", soft_wrap=True, highlight=False)
    return 0


def run_fetch(arguments: argparse.Namespace) -> int:
    """Fetch, check, unpack, put in place."""
    model = _known(arguments.name)
    if not arguments.address:
        raise BadInput(
            f"No address to fetch {model.name} from: found neither --from nor {FROM_VARIABLE}; "
            "allowed: an http or https address of the file."
        )
    shelf = Shelf(arguments.models)
    shelf.check_free(arguments.place, replace=arguments.replace)
    with shelf.held():
        bar = Progress(
            "{task.description}",
            BarColumn(),
            DownloadColumn(),
            TimeRemainingColumn(),
            console=Console(stderr=True),
            disable=not sys.stderr.isatty(),
        )
        with bar:
            task = bar.add_task(model.name, total=model.archive_bytes)
            archive = fetch(
                model,
                arguments.address,
                shelf.downloads(),
                progress=lambda there: bar.update(task, completed=there),
            )
        put = shelf.put(archive, arguments.place, replace=arguments.replace)
        archive.unlink()
    _report(put)
    return 0


def run_import(arguments: argparse.Namespace) -> int:
    """Check, unpack, put in place."""
    shelf = Shelf(arguments.models)
    with shelf.held():
        put = shelf.put(arguments.archive, arguments.place, replace=arguments.replace)
    _report(put)
    if put.origin and not put.origin.licence:
        print("Not one of the known models: judge its hearing and its licence yourself.")
    return 0


def _add_place(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--as",
        dest="place",
        metavar="NAME",
        default=VOSK_MODEL,
        help="the folder among the models, as hearing.yaml names it (default: %(default)s)",
    )
    parser.add_argument("--replace", action="store_true", help="replace a model of that name")
    add_models(parser)


def _known(name: str) -> KnownModel:
    for model in KNOWN:
        if model.name == name:
            return model
    names = ", ".join(model.name for model in KNOWN)
    raise BadInput(f"There is no known model {name!r}: found {name!r}; allowed: {names}.")


def _embedded() -> tuple[str, str, str]:
    about = "moonshine tiny-en, the default engine's"
    try:
        folder = installed_model()
    except BadInput:
        return f"{about}: MISSING", "MIT", ""
    size_bytes = sum(path.stat().st_size for path in folder.iterdir() if path.is_file())
    return f"{about} (moonshine-voice {version('moonshine-voice')})", "MIT", _megabytes(size_bytes)


def _shown(model: Installed) -> tuple[str, str, str]:
    origin = model.origin
    if origin is None:
        return "put there by hand", "not known", _megabytes(model.on_disk_bytes)
    return origin.name, origin.licence or "not known", _megabytes(model.on_disk_bytes)


def _megabytes(size_bytes: int) -> str:
    return f"{size_bytes / 1e6:.1f} MB"


def _report(put: Installed) -> None:
    print(f"Installed: {put.folder} ({_megabytes(put.on_disk_bytes)})")
