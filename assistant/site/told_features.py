"""What a drug's questions name of the brief."""

from collections.abc import Iterator

from assistant.brief.brief import Brief
from assistant.brief.conditions import TOLD
from assistant.dosing.formulary import Formulary
from assistant.files.faults import Fault


def untold_features(formulary: Formulary, brief: Brief) -> Iterator[Fault]:
    """Each name under `told_by` that is no feature of the brief: where, what, what is allowed.

    A drug would not be barred by what nobody can tell.
    """
    known = {*TOLD, *(one.id for one in brief.features)}
    allowed = f"a feature of brief.yaml, or one of: {', '.join(TOLD)}"
    for loc, _, use in formulary.placed_uses():
        for row, check in enumerate(use.ask_before):
            for name in check.told_by:
                if name not in known:
                    yield Fault((*loc, "ask_before", row, "told_by"), name, allowed)
