"""Fetches one known file over a connection that may break, and checks its checksum."""

import time
import urllib.error
import urllib.request
from collections.abc import Callable
from email.message import Message
from http.client import HTTPException
from pathlib import Path
from urllib.parse import urlsplit

from assistant.errors import BadInput
from assistant.models.catalogue import KnownModel
from assistant.models.shelf import sha256_of

TRIES_WITHOUT_PROGRESS = 4
_SILENCE_S = 20.0
_PIECE_BYTES = 1 << 16

Progress = Callable[[int], None]
"""Called with the number of bytes received so far."""


def fetch(
    model: KnownModel,
    address: str,
    folder: Path,
    *,
    progress: Progress = lambda _: None,
    wait_s: float = 2.0,
) -> Path:
    """The whole, checked file in `folder`; a download that was cut off before is continued.

    `wait_s` is the pause after a broken connection, doubled each time that nothing has come.
    Raises BadInput when the address is not one, answers with anything but the file, or stops
    answering; what has come so far is kept. A file of the wrong checksum is deleted.
    """
    if not _is_address(address):
        raise BadInput(f"--from: found {address!r}; allowed: an http or https address of the file.")
    part = folder / f"{model.name}-{model.sha256[:12]}.part"
    if not part.exists() or part.stat().st_size > model.archive_bytes:
        part.write_bytes(b"")
    tries_left = TRIES_WITHOUT_PROGRESS
    fault = ""
    while (had := part.stat().st_size) < model.archive_bytes:
        progress(had)
        if tries_left == 0:
            raise BadInput(
                f"{address}: found {had} of {model.archive_bytes} bytes ({fault}); allowed: the "
                "whole file; the same command goes on where it stopped."
            )
        if tries_left < TRIES_WITHOUT_PROGRESS:
            time.sleep(wait_s * 2 ** (TRIES_WITHOUT_PROGRESS - tries_left - 1))
        fault = _go_on(model, address, part, had, progress)
        came = part.stat().st_size > had
        tries_left = TRIES_WITHOUT_PROGRESS - 1 if came else tries_left - 1
    progress(model.archive_bytes)
    checksum = sha256_of(part)
    if checksum != model.sha256:
        part.unlink()
        raise BadInput(
            f"{address}: found a file with SHA-256 {checksum}; allowed: the one of {model.name}, "
            f"{model.sha256}."
        )
    return part


def _is_address(address: str) -> bool:
    """Whether it can be asked for as it is written: signs beyond ASCII have to be escaped."""
    try:
        parts = urlsplit(address)
        named = parts.scheme in ("http", "https") and bool(parts.hostname) and parts.port != 0
        parts.netloc.encode("idna")
    except ValueError:  # UnicodeError is one
        return False
    return named and address.isascii() and not any(sign.isspace() for sign in address)


def _go_on(model: KnownModel, address: str, part: Path, had: int, progress: Progress) -> str:
    """Append what one connection brings; returns why it ended, empty when it ended well."""
    request = urllib.request.Request(address, headers={"Range": f"bytes={had}-"} if had else {})  # noqa: S310 - http(s) only
    try:
        with urllib.request.urlopen(request, timeout=_SILENCE_S) as answer:  # noqa: S310
            begins, whole = _what_comes(answer.status, answer.headers)
            if whole not in (None, model.archive_bytes):
                raise BadInput(
                    f"{address}: found a file of {whole} bytes; allowed: the "
                    f"{model.archive_bytes} bytes of {model.name}."
                )
            if begins not in (0, had):
                return f"it offers bytes from {begins}"
            # A server without range requests sends the file from its start.
            with part.open("ab" if begins else "wb") as kept:
                at = begins
                while piece := answer.read(_PIECE_BYTES):
                    at += len(piece)
                    if at > model.archive_bytes:
                        raise BadInput(
                            f"{address}: found more than {model.archive_bytes} bytes; allowed: the "
                            f"size of {model.name}."
                        )
                    kept.write(piece)
                    progress(at)
    except urllib.error.HTTPError as fault:
        if fault.code < 500 and fault.code != 429:
            raise BadInput(
                f"{address}: found {fault.code} {fault.reason}; allowed: an address of the file."
            ) from fault
        return f"{fault.code} {fault.reason}"
    except (OSError, HTTPException) as fault:  # refused, cut, silent
        return str(getattr(fault, "reason", "") or fault) or type(fault).__name__
    return "the connection ended early"


def _what_comes(status: int, headers: Message) -> tuple[int, int | None]:
    """From which byte on, and the size of the whole file where it is stated."""
    if status == 206:
        # "bytes 100-199/200" (RFC 9110, section 14.4)
        span, _, whole = str(headers.get("Content-Range", "")).removeprefix("bytes ").partition("/")
        first = span.partition("-")[0]
        return (
            int(first) if first.isdigit() else -1,
            int(whole) if whole.isdigit() else None,
        )
    length = str(headers.get("Content-Length", ""))
    return 0, int(length) if length.isdigit() else None
