"""The runs of the machine that a case goes through: its clock goes on, the machine's does not."""

from collections.abc import Iterable
from typing import Any

from assistant.journal.rows import Row


def boot_row(boot: str, shift_s: float) -> dict[str, Any]:
    """What the row of another run holds: the case's clock is the machine's plus `shift_s`."""
    return {"boot": boot, "shift_s": shift_s}


def boots(rows: Iterable[Row]) -> dict[str, float]:
    """The runs after the first, in order, by their identity: the shift in s of each."""
    told = ((row.data.get("boot"), row.data.get("shift_s")) for row in rows)
    return {
        boot: float(shift_s)
        for boot, shift_s in told
        if isinstance(boot, str) and isinstance(shift_s, int | float)
    }
