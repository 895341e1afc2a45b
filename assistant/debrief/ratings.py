"""A facilitator's rating sheet, filled in by hand or in a spreadsheet, merged into a debrief.

Which things are rated, and on which scale, is the sheet's own; nothing is worked out from it.
"""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from io import StringIO
from pathlib import Path

from assistant.errors import BadInput
from assistant.files.plain_text import decoded

NEEDED = ("what", "score", "of")
COLUMNS = (*NEEDED, "remark", "rater")


@dataclass(frozen=True, slots=True)
class Rating:
    """One thing that somebody rated."""

    what: str
    score: float
    of: float
    """The best score that there is."""
    remark: str = ""
    rater: str = ""

    def told(self) -> str:
        """The score with its scale: 3 of 5."""
        return f"{self.score:g} of {self.of:g}"


def read_ratings(path: Path) -> tuple[Rating, ...]:
    """The rows of a sheet: comma-separated values under a header, in UTF-8.

    Raises BadInput with a sentence for each thing that is wrong.
    """
    allowed = f"comma-separated values with a header: {', '.join(COLUMNS)}"
    try:
        reader = csv.reader(StringIO(decoded(path, allowed), newline=""), strict=True)
        rows = [(reader.line_num, row) for row in reader]
    except csv.Error as fault:
        raise BadInput.in_file(path, found=f"no table ({fault})", allowed=allowed) from fault
    header = [name.strip().lower() for name in rows[0][1]] if rows else []
    unknown = [name for name in header if name not in COLUMNS]
    missing = [name for name in NEEDED if name not in header]
    if unknown or missing or len(set(header)) < len(header):
        found = f"the columns {', '.join(header) or 'none'}"
        raise BadInput.in_file(path, line=1, found=found, allowed=allowed)
    faults: list[BadInput] = []
    ratings = list(_rated(path, header, rows[1:], faults))
    if faults:
        raise BadInput.all_of(faults)
    return tuple(ratings)


def without_people(ratings: Sequence[Rating]) -> tuple[Rating, ...]:
    """The same without remarks, which may name somebody, and with raters by numbers."""
    raters = list(dict.fromkeys(one.rater for one in ratings if one.rater))
    numbers = {name: f"rater {number}" for number, name in enumerate(raters, 1)}
    return tuple(replace(one, remark="", rater=numbers.get(one.rater, "")) for one in ratings)


def _rated(
    path: Path, header: list[str], rows: list[tuple[int, list[str]]], faults: list[BadInput]
) -> Iterator[Rating]:
    for line, row in rows:
        if not any(cell.strip() for cell in row):
            continue
        if len(row) > len(header):
            found, allowed = f"{len(row)} cells", f"{len(header)}, as in the header"
            faults.append(BadInput.in_file(path, line=line, found=found, allowed=allowed))
            continue
        cells = dict.fromkeys(header, "") | dict(zip(header, map(str.strip, row), strict=False))
        of, score = _number(cells["of"]), _number(cells["score"])
        wrong: tuple[str, str] | None = None
        if not cells["what"]:
            wrong = "what", "what was rated"
        elif of is None or of <= 0:
            wrong = "of", "the best score, a number above 0"
        elif score is None or not 0 <= score <= of:
            wrong = "score", f"a number from 0 to {of:g}"
        if wrong is not None:
            key, allowed = wrong
            found = repr(cells[key])
            faults.append(BadInput.in_file(path, line=line, key=key, found=found, allowed=allowed))
        elif score is not None and of is not None:
            rest = cells.get("remark", ""), cells.get("rater", "")
            yield Rating(cells["what"], score, of, *rest)


def _number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if abs(number) <= 1e6 else None
