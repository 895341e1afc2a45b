"""Unpacks a model's ZIP: only into its own folder, and only up to a limit."""

import lzma
import shutil
import stat
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import IO

from assistant.errors import BadInput

MOST_UNPACKED_BYTES = 4_000_000_000
MOST_ENTRIES = 10_000
_PIECE_BYTES = 1 << 20
_DAMAGED = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    EOFError,
    ValueError,
    NotImplementedError,
)
_FILE_MODE, _FOLDER_MODE = 0o644, 0o755
"""Set whatever the umask is: the assistant's own user has to read the files."""


def unpack(archive: Path, into: Path, *, most_bytes: int = MOST_UNPACKED_BYTES) -> None:
    """Unpack into the existing, empty folder `into`; a single folder around everything is left out.

    Everything is checked before anything is written. Raises BadInput for what is no ZIP, for an
    entry that would land elsewhere, is no plain file, stands twice or is encrypted, for more than
    `most_bytes` unpacked, and for a ZIP that is damaged; OSError where it cannot be written.
    """
    try:
        with zipfile.ZipFile(archive) as opened:
            entries = _judged(archive, opened.infolist(), most_bytes)
            around = _folder_around(list(entries))
            for path, entry in entries.items():
                target = into.joinpath(*path.parts[around:])
                target.parent.mkdir(parents=True, exist_ok=True)
                with opened.open(entry) as source, target.open("xb") as kept:
                    _copy(archive, source, kept, entry)
    except (*_DAMAGED, OSError) as fault:
        if isinstance(fault, OSError) and fault.errno is not None:  # bzip2 raises one without
            raise
        raise _refused(archive, f"a damaged file ({fault})", "a whole ZIP archive") from fault
    for kept_path in into.rglob("*"):
        kept_path.chmod(_FOLDER_MODE if kept_path.is_dir() else _FILE_MODE)
    into.chmod(_FOLDER_MODE)


def _judged(
    archive: Path, entries: list[zipfile.ZipInfo], most_bytes: int
) -> dict[PurePosixPath, zipfile.ZipInfo]:
    """The files by their path inside the archive."""
    if len(entries) > MOST_ENTRIES:
        raise _refused(archive, f"{len(entries)} entries", f"at most {MOST_ENTRIES}")
    files: dict[PurePosixPath, zipfile.ZipInfo] = {}
    for entry in entries:
        path = _inside(archive, entry)
        if entry.is_dir():
            continue
        if entry.flag_bits & 0x1:
            raise _refused(archive, f"the encrypted file {entry.filename!r}", "plain files")
        if path in files:
            raise _refused(archive, f"{entry.filename!r} twice", "each file once")
        files[path] = entry
    for path in files:
        if any(parent in files for parent in path.parents):
            raise _refused(archive, f"{str(path)!r} inside a file", "files inside folders")
    unpacked = sum(entry.file_size for entry in files.values())
    if unpacked > most_bytes:
        raise _refused(archive, f"{unpacked} bytes when unpacked", f"at most {most_bytes}")
    free = shutil.disk_usage(archive.parent).free
    if unpacked > free:
        raise _refused(archive, f"{unpacked} bytes when unpacked", f"the {free} bytes left on disk")
    return files


def _inside(archive: Path, entry: zipfile.ZipInfo) -> PurePosixPath:
    # `orig_filename` is the name as written; zipfile itself cuts it at a NUL.
    name = entry.orig_filename
    path = PurePosixPath(name)
    if (
        not path.parts
        or path.is_absolute()
        or ".." in path.parts
        or any(bad in name for bad in ("\\", "\0", ":"))
    ):
        raise _refused(archive, f"the entry {name!r}", "paths inside the archive's own folder")
    kind = stat.S_IFMT(entry.external_attr >> 16)
    if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
        raise _refused(archive, f"{name!r}, a link or a device", "plain files and folders")
    return path


def _folder_around(paths: list[PurePosixPath]) -> int:
    """1 when all files lie in one and the same top folder, else 0."""
    tops = {path.parts[0] for path in paths}
    return int(len(tops) == 1 and all(len(path.parts) > 1 for path in paths))


def _copy(archive: Path, source: IO[bytes], kept: IO[bytes], entry: zipfile.ZipInfo) -> None:
    # The sizes were judged as the archive's index states them: no byte more is taken.
    left = entry.file_size
    while piece := source.read(_PIECE_BYTES):
        left -= len(piece)
        if left < 0:
            raise _refused(
                archive, f"{entry.filename!r}, longer than its index says", "its true length"
            )
        kept.write(piece)
    if left:
        raise _refused(
            archive, f"{entry.filename!r}, shorter than its index says", "its true length"
        )


def _refused(archive: Path, found: str, allowed: str) -> BadInput:
    return BadInput.in_file(archive, found=found, allowed=allowed)
