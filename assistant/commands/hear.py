"""`spoken-brief hear`: what the assistant would make of recordings, by the live path."""

import argparse
import json
from pathlib import Path
from typing import Any

from assistant.audio.sound import read_wav
from assistant.brief.items import ITEM_KINDS
from assistant.commands.engine_options import add_engine, open_engine
from assistant.commands.options import add_site
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Engine, Heard, Verdict
from assistant.hearing.ear import Ear, hear_file
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import load_site

KINDS = (*dict.fromkeys((*ITEM_KINDS, "number", "question", "anything")),)

DESCRIPTION = (
    "Prints one JSON line per WAV, of any sample rate: what the assistant would "
    "have made of it while asking an item of that kind. The sound goes block by block through "
    "the same end-pointing and the same recogniser as a microphone's."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    parser.add_argument(
        "--asking",
        choices=KINDS,
        default="anything",
        metavar="KIND",
        help=f"what is being asked: {', '.join(KINDS)}",
    )
    parser.add_argument("files", nargs="+", type=Path, metavar="FILE")
    add_site(parser)
    add_engine(parser)


def run(arguments: argparse.Namespace) -> int:
    """Read all files first: nothing is half done because of the last one."""
    site = load_site(arguments.site)
    engine = open_engine(arguments)
    grammar = Phrasebook(site).when_asking(arguments.asking)
    recordings = [(path, read_wav(path)) for path in arguments.files]
    for path, samples in recordings:
        heard = _hear(engine, grammar, samples)
        print(json.dumps({"file": str(path), **_told(heard)}), flush=True)
    return 0


def _hear(engine: Engine, grammar: Grammar, samples: Any) -> list[Heard]:
    # An ear of its own for each file: no file's noise is another's.
    ear = Ear(engine)
    ear.expect(grammar)
    return hear_file(ear, samples)


def _told(heard: list[Heard]) -> dict[str, Any]:
    """What counts of a recording: its first accepted utterance, as in a live answer window."""
    readings = [one.reading for one in heard]
    accepted = [reading for reading in readings if reading.verdict is Verdict.ACCEPT]
    if not readings:
        return {
            "text": "",
            "meaning": None,
            "values": {},
            "confidence": 0.0,
            "accepted": False,
            "why": "no voice in it",
            "utterances": 0,
        }
    best = accepted[0] if accepted else max(readings, key=lambda reading: reading.confidence)
    return {
        "text": best.text,
        "meaning": best.meaning or None,
        "values": dict(best.values),
        "confidence": round(best.confidence, 3),
        "accepted": best.verdict is Verdict.ACCEPT,
        "why": best.why,
        "utterances": len(heard),
    }
