"""The simulated patient beside a real room: people speak, and the patient is played for them.

He begins anew with each case that is opened, and follows what the record tells of it, as in a
rehearsal. A facilitator may steer him besides; each time goes on record as the facilitator's.
"""

from pathlib import Path

from assistant.clock import MonotonicClock
from assistant.errors import BadInput
from assistant.journal.at_hand import case_at_hand
from assistant.journal.facilitator import STEERED, FacilitatorRecord
from assistant.journal.journal import look_on
from assistant.oximeter.settings import SerialLayout
from assistant.patient.course import Course, SimulatedPatient, Steer
from assistant.patient.finger import SimulatedOximeter, open_pty

LOOK_EVERY_S = 0.5
"""How often the record is looked at."""
BEGAN = "a simulated patient"
"""On record before anything is done to him."""


class Bedside:
    """Plays one patient after the other on one pseudo-terminal, at the speed of life."""

    def __init__(self, course: Course, layout: SerialLayout, cases: Path) -> None:
        self._course = course
        self._layout = layout
        self._cases = cases
        self._clock = MonotonicClock()
        self._port = open_pty()
        self.case: Path | None = None
        """The one at hand, for which he is played."""
        self._rows_seen = 0
        self._look_at_s = 0.0
        self._begin(None)

    @property
    def port(self) -> str:
        """Where the watcher finds the oximeter."""
        return self._port.slave_path

    @property
    def shown_percent(self) -> int:
        """What the oximeter shows, if it shows anything."""
        return self._oximeter.shown_percent

    def step(self) -> None:
        """Play on to now."""
        now_s = self._clock.now_s()
        if now_s >= self._look_at_s:
            self._look_at_s = now_s + LOOK_EVERY_S
            self._look()
        self._oximeter.step(self._clock.now_s() - self._began_s)

    def steer(self, how: Steer) -> bool:
        """Do that to the patient; return whether it is on record, as it is while a case is open."""
        self._patient.steer(how)
        return self._told(how.value)

    def _begin(self, case: Path | None) -> None:
        self.case, self._began_s = case, self._clock.now_s()
        self._patient = SimulatedPatient(self._course)
        self._oximeter = SimulatedOximeter(self._patient, self._layout, self._port.master_fd)
        # What a case has come to before he is there is not made up for.
        self._rows_seen = 0 if case is None else len(look_on(case, 0)[1])
        self._told(BEGAN)  # whoever reads the record has to know that nobody real was there

    def _told(self, text: str) -> bool:
        if self.case is None:
            return False
        try:
            FacilitatorRecord(self.case).add(STEERED, text)
        except (BadInput, OSError):  # it has just ended, or the disk is full: he is played on
            return False
        return True

    def _look(self) -> None:
        case = case_at_hand(self._cases)
        if case != self.case:
            self._begin(case)
        if case is None:
            return
        _, rows = look_on(case, self._rows_seen)
        self._rows_seen += len(rows)
        for row in rows:
            if "event" in row.data:
                for cue in (row.data["event"], f"{row.data['event']}-{row.item}"):
                    self._patient.cue(cue, self._clock.now_s() - self._began_s)
