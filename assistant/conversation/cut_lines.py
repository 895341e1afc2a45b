"""Lines that were not said to their end: what of them is said later."""

from typing import Final

from assistant.speaking.mouth import CutLine, Line, Urgency
from assistant.speaking.tags import AWAITING, Tag

_LONG: Final[tuple[Tag, ...]] = ("ask", "pause")
"""Tags of the lines that read something out before they ask."""
_ONLY_WHOLE: Final[tuple[Tag, ...]] = (
    *("dose", "maximum", "told", "told-allergy", "given-allergy"),
    *("doses-changed", "given-weight"),
)
"""Tags of lines that say nothing by halves: nobody goes by the second half of a dose, or knows by
the first half of a warning which drug it is about."""
_MOST: Final = 2 / 3
"""Whoever has heard so much of a line has heard what it is about."""


class CutLines:
    """Remembers the line that was cut last."""

    def __init__(self) -> None:
        self._cut_before: Line | None = None
        self._unsaid: Line | None = None
        self._waiting: CutLine | None = None
        self._rest: Line | None = None

    def after_a_call(self, cut: CutLine) -> Line | None:
        """What is said of it after the watcher's call; None if nothing.

        It goes on with the sentence that was cut. A time would not be true any more, and what was
        nearly said or is cut in the same place twice would only keep everybody from being heard;
        but what awaits an answer, and a dose, is said to its end.
        """
        rest = self._said_after(cut)
        if rest is not None and rest.urgency is not Urgency.SAFETY:  # that is said in any case
            self._rest, self._waiting = rest, cut
        return rest

    def began(self, line: Line) -> None:
        """A line begins; the one that a call had cut waits no more."""
        if line is self._rest:
            self._rest = self._waiting = None

    def waiting(self) -> CutLine | None:
        """The line that a call had cut and that has not begun again; asked when nothing that waits
        is said any more."""
        waiting, self._rest, self._waiting = self._waiting, None, None
        return waiting

    def _said_after(self, cut: CutLine) -> Line | None:
        line = cut.line
        before, self._cut_before = self._cut_before, cut.rest
        if line.urgency is Urgency.SAFETY or line.tag in _ONLY_WHOLE:
            return line
        if line.tag in AWAITING:
            return cut.rest
        nearly_said = cut.left_s <= (1 - _MOST) * cut.lasts_s
        if line.urgency is Urgency.TIME or nearly_said or before == cut.rest:
            return None
        return cut.rest

    def by_words(self, cut: CutLine) -> None:
        """Somebody has cut it, by words that may be about something else."""
        self._unsaid = cut.rest if cut.line.tag in _LONG else None

    def gone_on_with(self, line: Line) -> Line:
        """The line to say in place of that one: what was not said of it, if it is its question, in
        whichever words.

        Nobody agrees to a plan of which only the beginning was heard.
        """
        unsaid = self._unsaid
        if unsaid is None or (unsaid.tag, unsaid.item) != (line.tag, line.item):
            return line
        self._unsaid = None
        return line if unsaid.text in line.text else unsaid
