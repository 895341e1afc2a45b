"""`spoken-brief hear`: what the assistant would make of recordings, by the live path."""

import argparse
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from assistant.audio.sound import read_wav
from assistant.brief.items import ITEM_KINDS
from assistant.brief.states import State
from assistant.commands.engine_options import add_engine, open_engine
from assistant.commands.options import add_site
from assistant.commands.whole_site import whole_site
from assistant.conversation.near_voice import NearVoice
from assistant.errors import BadInput
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Engine, Heard, Verdict
from assistant.hearing.ear import Ear, hear_file
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import Site

KINDS = (*dict.fromkeys((*ITEM_KINDS, "number", "question", "anything")),)

DESCRIPTION = (
    "Prints one JSON line for each WAV file, of any sample rate: what the assistant would have "
    "made of it while asking an item of that kind. The sound takes the same path as a "
    "microphone's, block by block. With `--asking confirm` each file is an answer given in time to "
    "a plain item: a plain yes that counts is a confirmation, and one that does not is a bare yes. "
    "Files that cannot be read are named at the end, with exit code 2; the others are heard all "
    "the same."
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
    situation = parser.add_mutually_exclusive_group()
    situation.add_argument(
        "--vital", action="store_true", help="the item is vital: a plain yes is read back"
    )
    situation.add_argument(
        "--outside",
        action="store_true",
        help="outside the answer window: a plain yes counts for nothing",
    )
    parser.add_argument(
        "files", nargs="+", type=Path, metavar="FILE", help="WAV files, one utterance each"
    )
    add_site(parser)
    add_engine(parser)


def run(arguments: argparse.Namespace) -> int:
    """Hear each file that can be heard.

    Raises BadInput at the end, with a sentence for each of the others: none takes the answers of
    those beside it.
    """
    site = whole_site(arguments.site)
    engine = open_engine(arguments)
    grammar = _grammar(site, arguments.asking)
    counts = not (arguments.vital or arguments.outside)
    unheard: list[BadInput] = []
    for path in arguments.files:
        try:
            samples = read_wav(path)
        except BadInput as fault:
            unheard.append(fault)
            continue
        heard = _hear(engine, grammar, samples)
        told = _told([_in_its_situation(one, counts=counts) for one in heard])
        print(json.dumps({"file": str(path), **told}), flush=True)
    if unheard:
        raise BadInput.all_of(unheard)
    return 0


def _grammar(site: Site, kind: str) -> Grammar:
    """What may be said to an item of that kind: of `confirm`, to the first plain one."""
    book = Phrasebook(site)
    if kind == "confirm":
        for item in site.brief.items():
            if item.kind == kind and not (item.doubts_a_plain_yes or item.telling_only):
                return book.heard_in(State.ASKING, item)
    return book.when_asking(kind)


def _in_its_situation(heard: Heard, *, counts: bool) -> Heard:
    """A plain yes as what it comes to."""
    reading = heard.reading
    if reading.meaning != "plain_yes":
        return heard
    doubt = NearVoice().doubt(heard)
    if counts and reading.verdict is Verdict.ACCEPT and not doubt:
        return replace(heard, reading=replace(reading, meaning="confirm"))
    why = reading.why or doubt or "a plain yes does not count here"
    verdict = Verdict.ASK if reading.verdict is Verdict.ACCEPT else reading.verdict
    return replace(heard, reading=replace(reading, meaning="bare_yes", verdict=verdict, why=why))


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
