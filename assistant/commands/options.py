"""Options that several commands share."""

import argparse
import os
from pathlib import Path

from assistant.journal.folder import default_cases


def shipped_configs() -> Path:
    """The configs folder of the checkout, or the one that SPOKEN_BRIEF_CONFIGS names."""
    named = os.environ.get("SPOKEN_BRIEF_CONFIGS")
    return Path(named) if named else Path(__file__).parents[2] / "configs"


def add_site(parser: argparse.ArgumentParser) -> None:
    """`--site DIR`."""
    parser.add_argument(
        "--site",
        type=Path,
        metavar="DIR",
        default=shipped_configs() / "tarn-hollow",
        help="the site's folder of YAML files (default: the example site, Tarn Hollow)",
    )


def add_cases(parser: argparse.ArgumentParser) -> None:
    """`--cases DIR`."""
    parser.add_argument(
        "--cases",
        type=Path,
        metavar="DIR",
        default=default_cases(),
        help="where the folder of a case is made (default: %(default)s)",
    )


def add_engine(parser: argparse.ArgumentParser) -> None:
    """`--engine NAME` and `--models DIR`."""
    parser.add_argument(
        "--engine",
        default="closed",
        metavar="NAME",
        help="the recogniser: closed (default, its model is installed with it) or vosk",
    )
    add_models(parser)


def add_models(parser: argparse.ArgumentParser) -> None:
    """`--models DIR`."""
    parser.add_argument(
        "--models",
        type=Path,
        metavar="DIR",
        default=Path(__file__).parents[2] / "models",
        help="where models lie that are not installed with the project",
    )
