"""Reading a site's figures, and refusing what is wrong with them."""

from collections.abc import Iterable
from pathlib import Path

from assistant.dosing.checks import faults
from assistant.dosing.figures import Figures
from assistant.dosing.formulary import Formulary
from assistant.dosing.plausibility import implausible
from assistant.dosing.room_plausibility import implausible_room
from assistant.errors import BadInput
from assistant.files.faults import Fault, complaint
from assistant.files.yaml_files import read_yaml


def read_formulary(path: Path) -> Formulary:
    """Read a site's formulary and check its drugs, each and against one another.

    Raises BadInput, with a sentence for each thing that is wrong with it.
    """
    formulary = read_yaml(path, Formulary)
    _refuse(path, (*faults(formulary), *implausible(formulary)))
    return formulary


def read_figures(path: Path) -> Figures:
    """Read the other numbers of a site's room.

    Raises BadInput, with a sentence for each thing that is wrong with them.
    """
    figures = read_yaml(path, Figures)
    _refuse(path, implausible_room(figures))
    return figures


def _refuse(path: Path, wrong: Iterable[Fault]) -> None:
    complaints = [complaint(path, fault) for fault in wrong]
    if complaints:
        raise BadInput.all_of(complaints)
