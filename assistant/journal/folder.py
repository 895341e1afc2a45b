"""One case, one folder."""

import shutil
from pathlib import Path

import platformdirs

from assistant.clock import read_wall
from assistant.errors import BadInput


def default_cases() -> Path:
    """Where cases go when nobody says otherwise: the user's own data folder."""
    return platformdirs.user_data_path("spoken-brief") / "cases"


def new_case(cases: Path, site: Path) -> Path:
    """Make the folder of a new case, readable by its owner only, and never reuse one.

    The site's files are kept in it: the record can be understood when the site has changed them.

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
            (folder / "site").mkdir()
            for file in site.glob("*.yaml"):
                shutil.copyfile(file, folder / "site" / file.name)
            return folder
    except OSError as fault:
        raise BadInput.in_file(
            cases,
            found=f"a folder that cannot be written ({fault.strerror})",
            allowed="a folder for cases",
        ) from fault
    raise BadInput.in_file(cases, found="a thousand cases of one second", allowed="fewer")
