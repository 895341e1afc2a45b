"""`spoken-brief check`: read all of a site's files and its rehearsals."""

import argparse
from collections.abc import Iterator, Sequence
from pathlib import Path

from assistant.commands.engine_options import add_engine, heard_by, open_engine
from assistant.commands.hearing_check import compare_hearing, told_of_hearing
from assistant.commands.learning import learn_site
from assistant.commands.options import add_site, check_item, shipped_configs
from assistant.commands.phrase_hearing import (
    CONFUSED,
    PhraseHeard,
    Place,
    hear_phrases,
    outcomes,
    places,
    told,
)
from assistant.commands.signing import add_signing, refuse_signing, tell_signing
from assistant.commands.vocabulary import respellings, unheard
from assistant.commands.whole_site import whole_site
from assistant.dosing.handling import remarks as remarks_on_drugs
from assistant.dosing.known_names import remarks as remarks_on_names
from assistant.errors import BadInput
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Engine
from assistant.hearing.engines.closed import answer_spellings, name_bias
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.hearing.engines.closed.negation import denials, is_near_its_denial
from assistant.hearing.engines.closed.spellings import with_spellings
from assistant.oximeter.remarks import remarks as remarks_on_oximeter
from assistant.phrasebook.near_pairs import alike_in
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.rehearsal.scenario import read_scenario
from assistant.site.brief_remarks import remarks as remarks_on_brief
from assistant.site.folder import unread
from assistant.site.remarks import remarks as remarks_on_site
from assistant.site.site import Site, load_site
from assistant.speaking.voices import VoiceSettings, open_voice

DESCRIPTION = (
    "Reads all of a site's files, and any rehearsals named, and gives one sentence for each thing "
    "that is wrong; no command that a team relies on starts with a site that this one refuses. "
    "Warns of phrases that sound alike but mean different things, of confirmations that sound like "
    "their own denial, of words that the recogniser does not know (with what sounds like them), "
    "and of files in the folder that nothing reads."
)

HEARD_VOICES = (VoiceSettings(engine="espeak", name="en-us", words_per_minute=150),)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    add_site(parser)
    add_engine(parser)
    parser.add_argument(
        "--learn",
        action="store_true",
        help="have synthetic voices say each drug that has no respellings, and each plain answer, "
        "and keep what the recogniser writes and how readily it hears each drug (once; some "
        "seconds a drug, one second an answer)",
    )
    parser.add_argument(
        "--hear",
        action="store_true",
        help="have two synthetic voices say every phrase, in quiet and in noise, and list those "
        "that are asked back, not heard or taken for another (half an hour; ends with 1 if any is)",
    )
    parser.add_argument(
        "--item",
        metavar="ITEM",
        help="with --hear: only the answers to this item of the brief (a minute)",
    )
    parser.add_argument(
        "--hearing",
        action="store_true",
        help="also hear the reference set, and say how far this machine is from the reference "
        "(half a minute; ends with 1 if anything is taken here that must not be)",
    )
    add_signing(parser)
    parser.add_argument(
        "scenarios", nargs="*", type=Path, metavar="SCENARIO", help="rehearsals to check as well"
    )


def run(arguments: argparse.Namespace) -> int:
    """Check, and count what there is."""
    refuse_signing(arguments)
    site = whole_site(arguments.site)
    among = _heard_at(arguments, site)
    for path in arguments.scenarios:
        read_scenario(path, site)
    grammar = Phrasebook(site).when_asking("anything")
    if arguments.learn:
        learn_site(grammar)
    engine = open_engine(arguments)
    warnings = [
        *_alike(site, grammar),
        *(_of_the_embedded_engine(grammar) if engine.name == ClosedGrammarEngine.name else ()),
        *unheard(engine, grammar),
        *respellings(engine, grammar, site.wording.phonetic_voice),
    ]
    items = list(site.brief.items())
    print(f"{site.brief.name}: {len(items)} items in {len(site.brief.sections)} sections")
    print(f"{site.formulary.name}: {len(site.formulary.drugs)} drugs")
    print(f"Heard by: {heard_by(arguments)}")
    for figure in site.formulary.from_memory():
        print(f"From memory, check it: {figure}")
    for one in site.formulary.confirmed:
        print(f"Outside the program's reference: {one.told()}")
    for remark in (
        *remarks_on_drugs(site.formulary),
        *remarks_on_names(site.formulary),
        *remarks_on_brief(site.brief, site.formulary),
        *remarks_on_site(site),
        *remarks_on_oximeter(site.oximeter),
    ):
        print(remark)
    for drug in site.formulary.drugs:
        if drug.sounds_like:
            print(f"Asked apart by name: {drug.called}, not {' or '.join(drug.sounds_like)}")
    for warning in warnings:
        print(warning)
    for path in unread(arguments.site):
        print(f"Not read: {path}")
    print(f"Called: {site.oximeter.crossing.threshold_percent} % and below, once per fall")
    for path in arguments.scenarios:
        print(f"{path}: fits")
    tell_signing(arguments)
    heard = _hear(among, engine) if arguments.hear else 0
    return max(heard, _hearing() if arguments.hearing else 0)


def _heard_at(arguments: argparse.Namespace, site: Site) -> list[Place]:
    """Where what is said is to be heard. Raises BadInput for an item that the brief has not."""
    item = arguments.item
    if item is None:
        return list(places(site)) if arguments.hear else []
    if not arguments.hear:
        raise BadInput(f"--item: found {item!r} without --hear; allowed: --hear --item ITEM.")
    check_item(item, (one.id for one in site.brief.items()))
    return [one for one in places(site) if one.name == item]


def _hear(among: Sequence[Place], engine: Engine) -> int:
    """How each phrase is heard: a line for each that was not taken, then the counts."""
    voices = {one.name: open_voice(one) for one in HEARD_VOICES}
    try:
        voices["joe"] = open_voice(VoiceSettings(engine="natural", name="joe"))
    except BadInput as fault:  # it comes with the extra [rehearsal]
        print(f"Heard by one voice only: {fault}")
    found: list[PhraseHeard] = []
    for one in hear_phrases(among, engine, voices):
        if not found or found[-1].place != one.place:
            print(f"{one.place} …", flush=True)
        found.append(one)
        line = told(one)
        if line:
            print(line, flush=True)
    for line in outcomes(found):
        print(line)
    return 1 if any(one.outcome == CONFUSED for one in found) else 0


def _hearing() -> int:
    """Say how this machine hears; the exit code."""
    found = compare_hearing(load_site(shipped_configs() / "tarn-hollow"))
    for line in told_of_hearing(found):
        print(line)
    return 1 if found.dangerous else 0


def _alike(site: Site, grammar: Grammar) -> Iterator[str]:
    """A warning for each pair that sounds alike and is not refused for it."""
    try:
        for pair in alike_in(grammar, site.wording.phonetic_voice):
            yield (
                f"Sound alike, mean different things: {pair.one!r} and {pair.other!r} "
                f"({pair.differ:.0%} of their sounds differ)"
            )
    except OSError as fault:
        yield f"Not checked, whether phrases sound alike: {fault}"


def _of_the_embedded_engine(grammar: Grammar) -> Iterator[str]:
    yield from _near_their_denial(grammar)
    drugs = with_spellings(grammar).fillers.get("drug", ())
    new = [one.words for one in drugs if name_bias.stored_bias(one) is None]
    if new and len(drugs) > 1:
        yield (
            f"New to the recogniser: {', '.join(new)}. `check --learn` measures how readily it"
            " hears other drugs in their place"
        )
    unlearnt = answer_spellings.unlearnt(grammar)
    if unlearnt:
        yield (
            f"Plain answers that are new to the recogniser: {len(unlearnt)}, {unlearnt[0]!r} among "
            "them. `check --learn` finds how else it writes them"
        )


def _near_their_denial(grammar: Grammar) -> Iterator[str]:
    """A warning for each confirmation that has to be heard too well to be believed."""
    for pattern in grammar.patterns:
        if pattern.meaning == "confirm" and is_near_its_denial(pattern.words):
            denied = denials(pattern.words)
            nearest = next((one for one in denied if "'ll " in one), denied[0])
            yield (
                f"Sounds like its own denial: {pattern.words!r} and {nearest!r};"
                " better: what was done, with a verb such as saw, took or went"
            )
