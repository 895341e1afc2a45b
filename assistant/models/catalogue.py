"""The models that the project knows, as data.

Where a file is fetched from is up to the site. Size and SHA-256 say whether it is the right file.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KnownModel:
    """One published model file."""

    name: str
    about: str
    archive_bytes: int
    sha256: str
    """Of the archive, in lower-case hexadecimal."""
    licence: str


KNOWN = (
    KnownModel(
        name="vosk-small-en",
        about="small English model for the vosk engine",
        archive_bytes=41_205_931,
        sha256="30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498",
        licence="Apache-2.0",
    ),
)


def known_by_sha256(sha256: str) -> KnownModel | None:
    """The known model of that checksum, if it is one."""
    return next((model for model in KNOWN if model.sha256 == sha256), None)
