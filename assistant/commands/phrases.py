"""`spoken-brief phrases`: what people may say, item by item, to read or as a sheet to print."""

import argparse
import html
from collections.abc import Iterator
from pathlib import Path

from assistant.commands.options import add_site, check_item
from assistant.files.named_files import FOR_ALL, write_whole
from assistant.phrasebook.sheet import USUAL, Answers, answers, any_time, usual
from assistant.site.site import Site, load_site

DESCRIPTION = (
    "Prints what settles each item of the brief and what puts it off, and what may be said at any "
    "time. With --html it writes the same as a sheet for the team, to be printed."
)
_STYLE = (
    "body{font:11pt/1.35 sans-serif;margin:1.2em;max-width:60em}h1{font-size:1.3em}"
    "h2{font-size:1.05em;border-bottom:1px solid #999;margin:1.2em 0 .3em}"
    "section{break-inside:avoid}dl{margin:.2em 0 .8em;display:grid;grid-template-columns:13em 1fr;"
    "gap:.1em .8em}dt{color:#444}dd{margin:0}h3{font-size:1em;margin:.6em 0 0}"
    "@media (max-width:35em){dl{grid-template-columns:1fr}}@page{margin:14mm}"
    "@media print{body{font-size:9pt;line-height:1.25;margin:0;max-width:none;columns:2;"
    "column-gap:7mm}h1,h1+p{column-span:all}dl{grid-template-columns:7.5em 1fr}"
    "h2,h3{break-after:avoid}}"
)
CAUTION = (
    "Not a medical device. Local protocol and the licensed clinician decide. Anything that is not "
    "clearly understood is asked again. For … say a number or a name."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""
    add_site(parser)
    parser.add_argument("--item", metavar="ITEM", help="only this item of the brief")
    parser.add_argument("--html", type=Path, metavar="FILE", help="write a sheet to print")


def run(arguments: argparse.Namespace) -> int:
    """Print or write them."""
    site = load_site(arguments.site)
    item = arguments.item
    if item is not None:
        check_item(item, (one.id for one in site.brief.items()))
    found = list(answers(site, item))
    if arguments.html is None:
        for line in _lines(site, found, everything=item is None):
            print(line)
        return 0
    page = "\n".join(_page(site, found, everything=item is None))
    write_whole(arguments.html, page.encode(), mode=FOR_ALL)
    print(f"Written: {arguments.html}")
    return 0


def _lines(site: Site, found: list[Answers], *, everything: bool) -> Iterator[str]:
    shared = usual(site) if everything else {}
    if everything:
        yield "to most items:"
        for meaning, phrases in shared.items():
            yield f"  {USUAL[meaning]}: {', '.join(phrases)}"
    for one in found:
        yield f"{one.item.id}: {one.item.call or one.item.ask}"
        for name, phrases in one.rows(shared):
            yield f"  {name}: {', '.join(phrases)}"
    if everything:
        yield "at any time that makes sense:"
        for called, phrases in any_time(site).items():
            yield f"  {called}: {', '.join(phrases)}"


def _page(site: Site, found: list[Answers], *, everything: bool) -> Iterator[str]:
    title = html.escape(f"{site.brief.name}: what may be said")
    yield f'<!doctype html><html lang="{site.wording.language}"><meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width,initial-scale=1">'
    yield f"<title>{title}</title><style>{_STYLE}</style><h1>{title}</h1><p>{CAUTION}</p>"
    shared = usual(site) if everything else {}
    if everything:
        yield "<h2>To most items</h2><dl>"
        for meaning, phrases in shared.items():
            yield from _row(USUAL[meaning], phrases)
        yield "</dl><h2>To each item</h2>"
    for one in found:
        yield f"<section><h3>{html.escape(one.item.call or one.item.ask)}</h3><dl>"
        for name, phrases in one.rows(shared):
            yield from _row(name, phrases)
        yield "</dl></section>"
    if everything:
        yield "<h2>At any time that makes sense</h2><dl>"
        for called, phrases in any_time(site).items():
            yield from _row(called, phrases)
        yield "</dl>"


def _row(name: str, phrases: tuple[str, ...]) -> Iterator[str]:
    yield f"<dt>{html.escape(name)}</dt><dd>{html.escape(' · '.join(phrases))}</dd>"
