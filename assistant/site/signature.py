"""Who has signed a site's files: the sum of what they hold, roles and dates, in signature.yaml.

A signature says that two people, by their roles, have read these very files. It proves nothing
against somebody who means harm: whoever may write the files may also write the signature.
"""

import hashlib
from datetime import date
from enum import Enum
from pathlib import Path
from typing import Annotated

import yaml
from pydantic import Field

from assistant.files.named_files import FOR_ALL, write_whole
from assistant.files.word_forms import SUM_PATTERN, Spoken
from assistant.files.yaml_files import SiteModel, read_yaml_if_there
from assistant.site.folder import files_of

NAME = "signature.yaml"
LEAST_ROLES = 2
"""Whoever changed the files, and a second person who has read the change."""


class Signed(SiteModel):
    """One role that answers for the files."""

    role: Spoken
    """Such as pharmacist; no name of a person."""
    on: date


class Signature(SiteModel):
    """All of signature.yaml; `check --sign ROLE` writes it."""

    sha256: Annotated[str, Field(pattern=SUM_PATTERN)]
    """The sum of the site's other files, names and contents."""
    signed: Annotated[tuple[Signed, ...], Field(min_length=1)]


class Signing(Enum):
    """How a site stands with its signatures."""

    SIGNED = "signed"
    UNSIGNED = "unsigned"
    """By nobody, or by one role only."""
    CHANGED = "changed"
    """Since it was signed."""


def sum_of(folder: Path) -> str:
    """SHA-256 of the names and contents of a site's files, its signature left out."""
    whole = hashlib.sha256()
    for name, content in files_of(folder).items():
        if name != NAME:
            whole.update(f"{name} {hashlib.sha256(content).hexdigest()}\n".encode())
    return whole.hexdigest()


def read_signature(folder: Path) -> Signature | None:
    """The site's signature; None without one. Raises BadInput for a damaged one."""
    return read_yaml_if_there(folder / NAME, Signature)


def signing_of(folder: Path) -> Signing:
    """Whether two roles have signed what is there now. Raises BadInput for a damaged signature."""
    signature = read_signature(folder)
    if signature is None:
        return Signing.UNSIGNED
    if signature.sha256 != sum_of(folder):
        return Signing.CHANGED
    roles = {one.role.strip().lower() for one in signature.signed}
    return Signing.SIGNED if len(roles) >= LEAST_ROLES else Signing.UNSIGNED


def sign(folder: Path, role: str, on: date) -> Signature:
    """Add a role to the signature; files that were changed since begin a new one.

    Raises BadInput when the file cannot be written, and for a damaged signature.
    """
    found, now = read_signature(folder), sum_of(folder)
    before = () if found is None or found.sha256 != now else found.signed
    others = tuple(one for one in before if one.role.strip().lower() != role.strip().lower())
    signature = Signature(sha256=now, signed=(*others, Signed(role=role.strip(), on=on)))
    text = yaml.safe_dump(signature.model_dump(mode="json"), sort_keys=False, allow_unicode=True)
    heading = "# Written by `spoken-brief check --sign ROLE`. Roles, no names of persons.\n"
    write_whole(folder / NAME, (heading + text).encode(), mode=FOR_ALL)
    return signature
