"""A facilitator's own rows of a case: moments marked, loops between people, a patient steered.

They are in a file of their own of the same form as the watcher's: whoever writes there can neither
lock, delay nor tear what the assistant and the watcher write.
"""

from pathlib import Path

from assistant.clock import MonotonicClock
from assistant.errors import BadInput
from assistant.journal.journal import look_on, read_meta
from assistant.oximeter.record import WatcherRecord, WatcherRow, row_now

RECORD_NAME = "facilitator.sqlite"
MARK = "mark"
LOOPS = ("call-out", "check-back", "closed")
"""The three steps of a loop between people, as a facilitator taps them."""
KINDS = (MARK, *LOOPS)
STEERED = "steered"
"""The kind of a row that tells what was done to the simulated patient."""


class FacilitatorRecord:
    """Writes the facilitator's rows of one case, while the case goes on."""

    def __init__(self, case: Path) -> None:
        """Raises BadInput when there is no case, or it has no clock that others can read."""
        self.case = case.resolve()  # the link to the case at hand may lead elsewhere later
        self._clock = MonotonicClock()
        self._rows_seen = 0
        self._over = False
        meta = read_meta(self.case)
        if meta.clock != self._clock.name:
            raise BadInput.in_file(
                case,
                found="a case that runs by the clock of its sound",
                allowed="a live one, or a rehearsal with --real-time",
            )

    def add(self, kind: str, text: str) -> WatcherRow:
        """Write one row; it is on disk when this returns.

        Raises BadInput when the case has ended; OSError when the disk does not take it.
        """
        if self.is_over():
            raise BadInput.in_file(
                self.case, found="a case that has ended", allowed="one that is going on"
            )
        row = row_now(self._clock.now_s(), self._clock.name, "event", text, {"kind": kind})
        # A record of its own each time: a row that was told to have failed is not written later.
        record = WatcherRecord(self.case / RECORD_NAME)
        record.add(row)
        record.close()
        if record.fault:
            raise OSError(0, record.fault, str(self.case / RECORD_NAME))
        return row

    def is_over(self) -> bool:
        """Whether the case has ended."""
        _, rows = look_on(self.case, self._rows_seen)
        self._rows_seen += len(rows)
        self._over = self._over or any(row.data.get("event") == "ended" for row in rows)
        return self._over
