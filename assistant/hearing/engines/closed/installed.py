"""Where the closed engine's model lies: in the installed wheel `moonshine-voice`."""

from importlib.util import find_spec
from pathlib import Path

from assistant.errors import BadInput


def installed_model() -> Path:
    """The folder of the model inside the installed wheel, found without importing the package."""
    spec = find_spec("moonshine_voice")
    for place in (spec.submodule_search_locations or ()) if spec else ():
        folder = Path(place) / "assets" / "tiny-en"
        if folder.is_dir():
            return folder
    raise BadInput(
        "The closed engine's model is not installed: found no moonshine_voice/assets/tiny-en;"
        " allowed: moonshine-voice 0.0.73, the wheel that carries it."
    )
