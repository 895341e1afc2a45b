"""The folder in which models lie, one folder each; a new one is put there whole or not at all."""

import fcntl
import json
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from hashlib import file_digest
from pathlib import Path
from tempfile import mkdtemp

from assistant.errors import BadInput
from assistant.files.disk import sync_folder
from assistant.files.named_files import to_read
from assistant.files.plain_json import read_json
from assistant.files.word_forms import FOLDER_PATTERN
from assistant.models.archive import unpack
from assistant.models.catalogue import known_by_sha256

ORIGIN_NAME = "origin.json"
"""Beside the model's own files: which archive they came from."""
DOWNLOADS_NAME = ".downloads"
MODEL_NAME = FOLDER_PATTERN
"""Of a model's folder."""
_OF_A_VOSK_MODEL = ("am/final.mdl", "conf", "graph")


@dataclass(frozen=True, slots=True)
class Origin:
    """Where an installed model came from."""

    name: str
    """The known model's, or the name of the file that was imported."""
    archive_bytes: int
    sha256: str
    licence: str
    """Empty when the project does not know the model."""


@dataclass(frozen=True, slots=True)
class Installed:
    """One folder of the shelf."""

    folder: Path
    origin: Origin | None
    """None for a folder that somebody put there by hand."""

    @property
    def on_disk_bytes(self) -> int:
        """Of all its files together."""
        return sum(path.stat().st_size for path in self.folder.rglob("*") if path.is_file())


class Shelf:
    """A models folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def installed(self) -> list[Installed]:
        """What lies there, by name."""
        if not self.folder.is_dir():
            return []
        return [
            Installed(path, _read_origin(path))
            for path in sorted(self.folder.iterdir())
            if path.is_dir() and not path.name.startswith(".")
        ]

    def model(self, name: str) -> Path:
        """The folder of the model of that name. Raises BadInput when there is none."""
        _check_name(name)
        place = self.folder / name
        if not place.is_dir():
            there = ", ".join(model.folder.name for model in self.installed()) or "none is there"
            raise BadInput.in_file(
                self.folder,
                found=f"no model called {name!r} ({there})",
                allowed="one that is there; `spoken-brief models fetch` and `models import` bring "
                f"one, with --as {name}",
            )
        return place

    def downloads(self) -> Path:
        """The folder for unfinished downloads; made when it is not there."""
        path = self.folder / DOWNLOADS_NAME
        with _writable(self.folder):
            path.mkdir(parents=True, exist_ok=True)
        return path

    @contextmanager
    def held(self) -> Iterator[None]:
        """One change at a time. Raises BadInput while another process is changing the folder."""
        with (self.downloads() / "lock").open("w") as lock:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError as fault:
                raise BadInput.in_file(
                    self.folder, found="another installation at work", allowed="one at a time"
                ) from fault
            yield

    def check_free(self, name: str, *, replace: bool) -> None:
        """Raise BadInput when a model cannot be put there under that name."""
        _check_name(name)
        if (self.folder / name).exists() and not replace:
            raise BadInput.in_file(
                self.folder / name,
                found="a model of that name",
                allowed="another name with --as, or --replace",
            )

    def put(self, archive: Path, name: str, *, replace: bool = False) -> Installed:
        """Unpack an archive beside the shelf's models, check it, then move it into place at once.

        Raises BadInput, leaving the shelf as it was, when the archive is refused or is no model.
        """
        self.check_free(name, replace=replace)
        to_read(archive, "a model's ZIP archive")
        origin = _origin_of(archive)
        with _writable(self.folder):
            beside = Path(mkdtemp(prefix="unpacking-", dir=self.downloads()))
            try:
                model = beside / "model"
                model.mkdir()
                unpack(archive, model)
                _check_is_a_model(archive, model)
                kept = model / ORIGIN_NAME
                kept.write_text(json.dumps(asdict(origin), indent=1) + "\n", encoding="utf-8")
                kept.chmod(0o644)
                _sync(model)
                self._move(model, name, beside / "replaced")
            finally:
                shutil.rmtree(beside, ignore_errors=True)
        return Installed(self.folder / name, origin)

    def _move(self, model: Path, name: str, aside: Path) -> None:
        place = self.folder / name
        if place.exists():
            place.rename(aside)
        try:
            model.rename(place)
        except OSError:
            if aside.exists():
                aside.rename(place)
            raise
        sync_folder(self.folder)


def _check_name(name: str) -> None:
    if not re.fullmatch(MODEL_NAME, name):
        raise BadInput(
            f"The name of a model's folder: found {name!r}; allowed: lower-case letters, "
            "digits, dots, dashes and underscores."
        )


def sha256_of(path: Path) -> str:
    """The checksum of a file, in lower-case hexadecimal."""
    with path.open("rb") as opened:
        return file_digest(opened, "sha256").hexdigest()


@contextmanager
def _writable(folder: Path) -> Iterator[None]:
    try:
        yield
    except OSError as fault:
        raise BadInput.in_file(
            folder,
            found=f"a folder that cannot be written ({fault.strerror})",
            allowed="a folder for models with room in it",
        ) from fault


def _origin_of(archive: Path) -> Origin:
    checksum = sha256_of(archive)
    known = known_by_sha256(checksum)
    return Origin(
        name=known.name if known else archive.name,
        archive_bytes=archive.stat().st_size,
        sha256=checksum,
        licence=known.licence if known else "",
    )


def _check_is_a_model(archive: Path, model: Path) -> None:
    missing = [part for part in _OF_A_VOSK_MODEL if not (model / part).exists()]
    if missing:
        raise BadInput.in_file(
            archive,
            found=f"an archive without {', '.join(missing)}",
            allowed="an archive of a Vosk model",
        )


def _read_origin(folder: Path) -> Origin | None:
    with suppress(OSError, ValueError, TypeError):
        return Origin(**read_json((folder / ORIGIN_NAME).read_text(encoding="utf-8")))
    return None


def _sync(folder: Path) -> None:
    """A power cut after the move must not leave a model with holes."""
    for path in folder.rglob("*"):
        if path.is_file():
            with path.open("rb") as opened:
                os.fsync(opened.fileno())
        else:
            sync_folder(path)
    sync_folder(folder)
