"""The options of the commands that hear: which recogniser, with which model."""

import argparse
from pathlib import Path

from assistant.grammar.readings import Engine
from assistant.hearing.engines import VOSK_MODEL, make_engine
from assistant.hearing.settings import read_hearing


def add_engine(parser: argparse.ArgumentParser) -> None:
    """`--engine NAME`, `--model NAME` and `--models DIR`."""
    parser.add_argument(
        "--engine",
        metavar="NAME",
        help="the recogniser, instead of the site's own (hearing.yaml): closed, whose model comes "
        "with it and which is used where a site names none, or vosk",
    )
    parser.add_argument(
        "--model",
        metavar="NAME",
        help="the model of the vosk engine, instead of the site's own, as `models list` names it",
    )
    add_models(parser)


def add_models(parser: argparse.ArgumentParser) -> None:
    """`--models DIR`."""
    parser.add_argument(
        "--models",
        type=Path,
        metavar="DIR",
        default=Path(__file__).parents[2] / "models",
        help="the folder of the models that do not come with the project",
    )


def open_engine(arguments: argparse.Namespace) -> Engine:
    """The recogniser that the command line names, or else the site.

    Raises BadInput when the site's choice makes no sense, or engine or model are not there.
    """
    engine, model = _chosen(arguments)
    return make_engine(engine, arguments.models, model=model)


def heard_by(arguments: argparse.Namespace) -> str:
    """Engine and model that `open_engine` opens, for people."""
    engine, model = _chosen(arguments)
    return f"vosk, with the model {model or VOSK_MODEL}" if engine == "vosk" else engine


def _chosen(arguments: argparse.Namespace) -> tuple[str, str | None]:
    return read_hearing(arguments.site).instead(arguments.engine, arguments.model)
