"""What a drug's questions name of the brief."""

from collections.abc import Iterator

from assistant.brief.brief import Brief
from assistant.brief.conditions import TOLD
from assistant.dosing.formulary import Formulary
from assistant.files.complaints import Fault


def untold_features(formulary: Formulary, brief: Brief) -> Iterator[Fault]:
    """Each name under `told_by` that is no feature of the brief: where, what, what is allowed.

    A drug would not be barred by what nobody can tell.
    """
    known = {*TOLD, *(one.id for one in brief.features)}
    for number, drug in enumerate(formulary.drugs):
        for place, use in enumerate(drug.indications):
            for row, check in enumerate(use.ask_before):
                at = ("drugs", number, "indications", place, "ask_before", row, "told_by")
                for name in check.told_by:
                    if name not in known:
                        allowed = f"a feature of brief.yaml, or one of: {', '.join(TOLD)}"
                        yield at, name, allowed
