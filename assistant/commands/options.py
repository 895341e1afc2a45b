"""Options that several commands share."""

import argparse
import os
from pathlib import Path

from assistant.grammar.readings import Engine
from assistant.hearing.engines import VOSK_MODEL, make_engine
from assistant.hearing.settings import read_hearing
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
    """`--engine NAME`, `--model NAME` and `--models DIR`."""
    parser.add_argument(
        "--engine",
        metavar="NAME",
        help="the recogniser, instead of the site's own (hearing.yaml): closed, whose model is "
        "installed with it and which a site has that names none, or vosk",
    )
    parser.add_argument(
        "--model",
        metavar="NAME",
        help="the model of the vosk engine, instead of the site's own, as `models list` names it",
    )
    add_models(parser)


def open_engine(arguments: argparse.Namespace) -> Engine:
    """The recogniser that the command line names, or else the site.

    Raises BadInput when the site's choice makes no sense, or engine or model are not there.
    """
    engine, model = _chosen(arguments)
    return make_engine(engine, arguments.models, model=model)


def heard_by(arguments: argparse.Namespace) -> str:
    """Engine and model that `open_engine` opens, for people."""
    engine, model = _chosen(arguments)
    return engine if engine == "closed" else f"{engine}, with the model {model or VOSK_MODEL}"


def _chosen(arguments: argparse.Namespace) -> tuple[str, str | None]:
    return read_hearing(arguments.site).instead(arguments.engine, arguments.model)


def add_models(parser: argparse.ArgumentParser) -> None:
    """`--models DIR`."""
    parser.add_argument(
        "--models",
        type=Path,
        metavar="DIR",
        default=Path(__file__).parents[2] / "models",
        help="where models lie that are not installed with the project",
    )
