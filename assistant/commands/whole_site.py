"""The site of the commands that a team relies on: refused as `check` refuses it."""

from pathlib import Path

from assistant.glance.settings import read_glance
from assistant.site.site import Site, load_site


def whole_site(folder: Path) -> Site:
    """The site that a team relies on, with all that belongs to it.

    Raises BadInput, with a sentence for each thing that is wrong with any of its files.
    """
    return load_site(folder, also=(read_glance,))
