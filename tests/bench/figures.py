"""How many slips in a site's figures are noticed: `python -m tests.bench.figures [SITE]`.

Every figure of the formulary and of the room's numbers is changed, one slip at a time, as a person
slips: a decimal point, a unit, the weight it goes by, minute for hour, a line lost, another route.
It prints how many of each kind the program refuses when it reads the site, how many `check` warns
of, and each slip that neither notices. docs/dosing.md says why those are let through.
"""

import copy
import json
import re
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import yaml
from pydantic import ValidationError

from assistant.dosing.checks import faults
from assistant.dosing.figures import Figures
from assistant.dosing.formulary import Formulary
from assistant.dosing.handling import remarks
from assistant.dosing.plausibility import implausible
from assistant.dosing.room_plausibility import implausible_room

SHIPPED = Path(__file__).parents[2] / "configs" / "tarn-hollow"
Place = tuple[int | str, ...]
NUMBER = re.compile(r"(?<![\w.])\d+(?:\.\d+)?(?![\w.])")
QUANTITY = re.compile(r"^\d+(?:\.\d+)?(?: to \d+(?:\.\d+)?)? \S+(?: (\w+) weight)?$")
WEIGHTS = ("total", "ideal", "lean", "adjusted", "predicted")
MASSES = {"mg": ("mcg", "g"), "mcg": ("mg", "g")}
TIMES = {"/h": "/min", "/min": "/h"}
SAFETY = ("when_pressure_is_low", "when_old", "never_when_pressure_is_low", "ask_before", "maximum",
          "sounds_like", "allergens", "cautions", "reason", "said_with_dose")  # fmt: skip


class Slip(NamedTuple):
    """One slip: its kind, where, and the two files' contents with it."""

    kind: str
    where: str
    formulary: Any
    figures: Any
    drug: str | None
    """The drug that it is in."""


class Told(NamedTuple):
    """What the program says of a site's figures."""

    refused: tuple[str, ...]
    warned: tuple[str, ...]


def slips(formulary: Any, figures: Any) -> Iterator[Slip]:
    """Every single slip of both files."""
    ids = [drug["id"] for drug in formulary["drugs"]]
    for kind, where, change in _changes(formulary):
        first = where.split("/")[0].split(":")[0]
        drug = first if first in ids else None
        yield Slip(kind, where, _changed(formulary, change), figures, drug)
    for kind, where, change in _changes(figures):
        yield Slip(kind, where, formulary, _changed(figures, change), ids[0])


Change = Callable[[Any], None]


def _changed(content: Any, change: Change) -> Any:
    other = copy.deepcopy(content)
    change(other)
    return other


def _changes(content: Any) -> Iterator[tuple[str, str, Change]]:
    for at, value in _leaves(content):
        for kind, new in _of_value(at, value):
            yield kind, f"{_named(content, at)}: {value} -> {new}", _set(at, new)
    for number, drug in enumerate(content.get("drugs", ())):
        yield from _of_drug(content, number, drug)
    if "drugs" in content:
        yield "lower age limit 1", "adults", _set(("adults", "age_years", "low"), 1)


def _of_value(at: Place, value: Any) -> Iterator[tuple[str, Any]]:
    """The slips of one value."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        for kind, factor in (("x 10", 10), ("x 0.1", 0.1)):
            changed = round(value * factor, 9)
            yield kind, int(changed) if changed == int(changed) else changed
        return
    if not isinstance(value, str):
        return
    if at[-1] == "route":
        yield "route", "intramuscular"
        yield "route", "subcutaneous"
    if at[-1] == "goes_by":
        yield from (("weight", one) for one in WEIGHTS if one != value)
    if at[-1] == "unit" or QUANTITY.match(value):
        yield from _of_quantity(value)


def _of_quantity(text: str) -> Iterator[tuple[str, str]]:
    for found in NUMBER.finditer(text):
        for kind, factor in (("x 10", 10), ("x 0.1", 0.1)):
            number = f"{float(found[0]) * factor:.9f}".rstrip("0").rstrip(".")
            yield kind, text[: found.start()] + number + text[found.end() :]
    yield from _other_units(text)


def _other_units(text: str) -> Iterator[tuple[str, str]]:
    """The same numbers in another mass, per another time, of another weight."""
    mass = re.search(r"\b(mg|mcg)\b", text)
    if mass is not None:
        yield from (
            ("unit", text[: mass.start()] + one + text[mass.end() :]) for one in MASSES[mass[0]]
        )
    for old, new in TIMES.items():
        if re.search(rf"{old}\b", text):
            yield "time", re.sub(rf"{old}\b", new, text)
            break
    weight = re.search(r"(\w+) weight$", text)
    if weight is not None:
        yield from (("weight", text.replace(weight[1], one)) for one in WEIGHTS if one != weight[1])


def _of_drug(content: Any, number: int, drug: Any) -> Iterator[tuple[str, str, Change]]:
    at: Place = ("drugs", number)
    for part_at, part in ((at, drug), *((a, p) for a, p in _parts(drug, at))):
        for key in SAFETY:
            if part.get(key):
                yield "removed", f"{_named(content, part_at)}: {key}", _remove((*part_at, key))
    for which, one in enumerate(drug["preparations"]):
        yield from _of_recipe(content, (*at, "preparations", which), one)
    for which, use in enumerate(drug["indications"]):
        yield from _throughout(content, (*at, "indications", which), use)


def _parts(drug: Any, at: Place) -> Iterator[tuple[Place, Any]]:
    for which, use in enumerate(drug["indications"]):
        here = (*at, "indications", which)
        yield here, use
        yield (*here, "dose"), use["dose"]


def _of_recipe(content: Any, at: Place, one: Any) -> Iterator[tuple[str, str, Change]]:
    """The volume of a recipe and, so that its arithmetic stays right, the strength with it."""
    volume = next((key for key in ("make_up_to", "to_ml") if key in one.get("recipe", {})), None)
    if volume is None:
        return
    strength = "strength" if "strength" in one else "amount_per_ml"
    for factor in (10, 0.1, 2, 0.5):

        def change(other: Any, factor: float = factor) -> None:
            part = _at(other, at)
            part["recipe"][volume] = _times(part["recipe"][volume], factor)
            part[strength] = _times(part[strength], 1 / factor)

        yield "recipe", f"{_named(content, at)}: volume x {factor} with its strength", change


def _throughout(content: Any, at: Place, use: Any) -> Iterator[tuple[str, str, Change]]:
    """The same other unit, time or weight in every figure of one use, so that they agree."""
    kinds: dict[tuple[str, str], list[tuple[Place, str]]] = {}
    for place, value in _leaves(use):
        if isinstance(value, str) and place[0] != "acts":
            for kind, new in _of_value(place, value):
                if kind not in ("unit", "time", "weight"):
                    continue
                units = re.sub(NUMBER, "", new)
                which = units.rsplit(" ", 2)[1] if kind == "weight" and " " in units else kind
                if kind == "unit":
                    which = re.search(r"\b(g|mg|mcg)\b", units)[0]  # type: ignore[index]
                kinds.setdefault((kind, which), []).append((place, new))
    for (kind, which), changes in kinds.items():

        def change(other: Any, changes: list[tuple[Place, str]] = changes) -> None:
            for place, new in changes:
                _set((*at, *place), new)(other)

        yield f"{kind} throughout", f"{_named(content, at)}: {which}", change


def _times(value: Any, factor: float) -> Any:
    if isinstance(value, str):
        return NUMBER.sub(lambda found: f"{float(found[0]) * factor:.9f}".rstrip("0").rstrip("."),
                          value, count=1)  # fmt: skip
    return round(value * factor, 9)


def _leaves(part: Any, at: Place = ()) -> Iterator[tuple[Place, Any]]:
    if isinstance(part, dict):
        for key, value in part.items():
            yield from _leaves(value, (*at, key))
    elif isinstance(part, list):
        for number, value in enumerate(part):
            yield from _leaves(value, (*at, number))
    else:
        yield at, part


def _at(content: Any, at: Place) -> Any:
    for step in at:
        content = content[step]
    return content


def _set(at: Place, new: Any) -> Change:
    def change(content: Any) -> None:
        _at(content, at[:-1])[at[-1]] = new

    return change


def _remove(at: Place) -> Change:
    return lambda content: _at(content, at[:-1]).pop(at[-1])


def _named(content: Any, at: Place) -> str:
    """The place with ids instead of numbers."""
    names, part = [], content
    for step in at:
        part = part[step]
        names.append(part["id"] if isinstance(part, dict) and "id" in part else str(step))
    return "/".join(name for name in names if name not in ("drugs", "indications", "preparations"))


def told(formulary: Any, figures: Any, drug: str | None = None) -> Told:
    """What the site is refused for, and what `check` warns of, for these contents.

    Of the formulary only one drug is read, where one is named.
    """
    if drug is not None:
        # With all that sound like it, as they name one another.
        alike = [
            one for one in formulary["drugs"] if drug in (one["id"], *one.get("sounds_like", ()))
        ]
        formulary = {**formulary, "absent": [], "drugs": alike}
    try:
        whole = Formulary.model_validate_json(json.dumps(formulary))
        room = Figures.model_validate_json(json.dumps(figures))
    except ValidationError as fault:
        return Told((str(fault),), ())
    refused = (*faults(whole), *implausible(whole), *implausible_room(room))
    return Told(tuple(map(str, refused)), tuple(remarks(whole)))


def outcome(slip: Slip, before: Told) -> str:
    """Whether a slip is refused, warned of or silent; `before` is what is told without it."""
    told_of = told(slip.formulary, slip.figures, slip.drug)
    if told_of.refused:
        return "refused"
    return "warned" if told_of.warned != before.warned else "silent"


def main(folder: Path) -> None:
    """Print the shares, and what was not noticed."""
    formulary, figures = (
        yaml.safe_load((folder / name).read_text(encoding="utf-8"))
        for name in ("formulary.yaml", "figures.yaml")
    )
    refused = told(formulary, figures).refused
    if refused:
        raise SystemExit(f"The site itself is refused: {refused}")
    before = {
        drug: told(formulary, figures, drug)
        for drug in (None, *(one["id"] for one in formulary["drugs"]))
    }
    counts: Counter[tuple[str, str]] = Counter()
    silent = []
    for slip in slips(formulary, figures):
        found = outcome(slip, before[slip.drug])
        counts[slip.kind, found] += 1
        if found == "silent":
            silent.append(f"{slip.kind}: {slip.where}")
    print(f"{'slip':20} {'all':>5} {'refused':>8} {'warned of':>10} {'silent':>7}")
    for kind in (*dict.fromkeys(kind for kind, _ in counts), ""):
        row = [
            sum(n for (k, o), n in counts.items() if kind in ("", k) and which in ("", o))
            for which in ("", "refused", "warned", "silent")
        ]
        print(f"{kind or 'all':20} {row[0]:5} {row[1]:8} {row[2]:10} {row[3]:7}")
    print(f"noticed: {100 * (1 - len(silent) / counts.total()):.1f} %")
    for line in silent:
        print(f"silent: {line}")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else SHIPPED)
