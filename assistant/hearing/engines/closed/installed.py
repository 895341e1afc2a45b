"""Where the closed engine's models lie, in installed wheels, and that they are the fitted ones."""

import hashlib
from importlib.util import find_spec
from pathlib import Path

from assistant.errors import BadInput


def installed_model() -> Path:
    """The folder of the model inside the installed wheel, found without importing the package."""
    folder = inside("moonshine_voice", "assets/tiny-en")
    if folder is not None:
        return folder
    raise BadInput(
        "The closed engine's model is not installed: found no moonshine_voice/assets/tiny-en;"
        " allowed: moonshine-voice 0.0.73, the wheel that carries it."
    )


def inside(package: str, name: str) -> Path | None:
    """A folder or file of an installed package; None where it is not there."""
    spec = find_spec(package)
    places = (spec.submodule_search_locations or ()) if spec else ()
    return next((path for place in places if (path := Path(place) / name).exists()), None)


def check_same(path: Path, sha256: str, allowed: str) -> None:
    """Raises BadInput where the file is another than the fit was made with."""
    with path.open("rb") as file:
        if hashlib.file_digest(file, "sha256").hexdigest() != sha256:
            raise BadInput.in_file(
                path, found="another file than the fit was made with", allowed=allowed
            )
