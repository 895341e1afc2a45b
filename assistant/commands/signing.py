"""`spoken-brief check --against OTHER` and `--sign ROLE`: what a second person reads and signs."""

import argparse
from datetime import date
from pathlib import Path

from assistant.errors import BadInput
from assistant.site.differences import differences, must_be_a_site
from assistant.site.signature import Signing, read_signature, sign, signing_of


def add_signing(parser: argparse.ArgumentParser) -> None:
    """Add the two options."""
    parser.add_argument(
        "--against",
        type=Path,
        metavar="DIR",
        help="another version of the site: list what has changed from it to this one",
    )
    parser.add_argument(
        "--sign",
        metavar="ROLE",
        help="sign the files as they are, by role, not by name (pharmacist, say); two roles make "
        "a site signed, and any change undoes it",
    )


def refuse_signing(arguments: argparse.Namespace) -> None:
    """Raises BadInput for a role or another version that is none, before anything is said."""
    if arguments.against is not None:
        must_be_a_site(arguments.against)
    if arguments.sign is not None and not arguments.sign.strip():
        raise BadInput("--sign: found nothing; allowed: a role, such as pharmacist.")


def tell_signing(arguments: argparse.Namespace) -> None:
    """Say what was changed, sign if that was asked for, and say who has signed."""
    if arguments.against is not None:
        changed = list(differences(arguments.against, arguments.site))
        for line in changed or ["Nothing but comments and layout differs."]:
            print(line)
    if arguments.sign is not None:
        sign(arguments.site, arguments.sign, date.today())  # noqa: DTZ011 - the day where it is signed
    print(_told(arguments.site))


def _told(site: Path) -> str:
    found = read_signature(site)
    by = "" if found is None else ", ".join(f"{one.role} on {one.on}" for one in found.signed)
    match signing_of(site):
        case Signing.SIGNED:
            return f"Signed: {by}"
        case Signing.CHANGED:
            return f"Changed since it was signed: {by}"
        case Signing.UNSIGNED:
            return f"Not signed by two roles{f': {by} only' if by else ''}"
