"""Reading a site's figures, and refusing what is wrong with them."""

from pathlib import Path

from assistant.dosing.checks import faults
from assistant.dosing.formulary import Formulary
from assistant.errors import BadInput
from assistant.files.yaml_files import line_in, read_yaml


def read_formulary(path: Path) -> Formulary:
    """Read a site's formulary and check its drugs, each and against one another.

    Raises BadInput, with one sentence, at the first thing that is wrong with it.
    """
    formulary = read_yaml(path, Formulary)
    for loc, found, allowed in faults(formulary):
        raise BadInput.in_file(
            path,
            line=line_in(path, *loc),
            key=".".join(str(step) for step in loc),
            found=found,
            allowed=allowed,
        )
    return formulary
