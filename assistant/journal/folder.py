"""One case, one folder."""

import hashlib
import shutil
from collections.abc import Mapping
from pathlib import Path

import platformdirs

from assistant.clock import read_wall
from assistant.errors import BadInput
from assistant.files.disk import sync_file, sync_folder

KEPT_SITE = "site"
"""The folder of a case with the site's files as they were when it was opened."""


def default_cases() -> Path:
    """Where cases go when nobody says otherwise: the user's own data folder."""
    return platformdirs.user_data_path("spoken-brief") / "cases"


def new_case(cases: Path, site_files: Mapping[str, bytes]) -> Path:
    """Make the folder of a new case, readable by its owner only, and never reuse one.

    The site's files are kept in it, by their names, as they were read when they were taken into
    use: the record can be understood when the site has changed them since.

    The name is the wall time for the eye; what orders cases is the record inside.
    """
    stem = read_wall().at[:19].replace(":", "-")
    try:
        cases.mkdir(mode=0o700, parents=True, exist_ok=True)
        for number in range(1, 1000):
            folder = cases / (stem if number == 1 else f"{stem}-{number}")
            try:
                folder.mkdir(mode=0o700)
            except FileExistsError:
                continue
            _keep_site(folder, site_files)
            return folder
    except OSError as fault:
        raise BadInput.in_file(
            cases,
            found=f"a folder that cannot be written ({fault.strerror})",
            allowed="a folder for cases",
        ) from fault
    raise BadInput.in_file(cases, found="a thousand cases of one second", allowed="fewer")


def _keep_site(folder: Path, site_files: Mapping[str, bytes]) -> None:
    """Write the site's files into a case, on disk when this returns: a case that a power cut leaves
    without them cannot go on. Where that fails, no half of a case is left."""
    try:
        (folder / KEPT_SITE).mkdir(mode=0o700)
        for name, content in site_files.items():
            kept = folder / KEPT_SITE / name
            kept.touch(mode=0o600)
            kept.write_bytes(content)
            sync_file(kept)
        for one in (folder / KEPT_SITE, folder, folder.parent):
            sync_folder(one)
    except OSError:
        shutil.rmtree(folder, ignore_errors=True)
        raise


def hashes(folder: Path) -> dict[str, str]:
    """Each file of a folder by its name, with its SHA-256 in hexadecimal; none where it is not."""
    if not folder.is_dir():
        return {}
    files = sorted(one for one in folder.iterdir() if one.is_file())
    return {one.name: hashlib.sha256(one.read_bytes()).hexdigest() for one in files}
