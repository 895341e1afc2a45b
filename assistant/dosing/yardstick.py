"""The program's own reference of published ranges, which is no part of a site: yardstick.yaml."""

from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Annotated

from pydantic import Field, model_validator

from assistant.dosing.drugs import Dose, Route, Use
from assistant.dosing.sourced import Amount, Published, Sourced
from assistant.dosing.stated import (
    DoseFigure,
    Figure,
    LastsRange,
    OnsetRange,
    Range,
    StrengthFigure,
    VolumeFigure,
    range_of,
)
from assistant.dosing.weights import WeightKind
from assistant.files.word_forms import Identifier, Utterance
from assistant.files.yaml_files import SiteModel, read_yaml

PATH = Path(__file__).with_name("yardstick.yaml")
_ADULTS = ("kg", "cm", "years", "kg/m2")


class KnownUse(Sourced):
    """The widest published figures of one use of a drug by one route."""

    use: Use
    route: Route
    range: str
    """Without a weight: by each of `weights`."""
    weights: tuple[WeightKind, ...] = (WeightKind.TOTAL,)
    low_pressure: str | None = None
    """Another range for a patient whose pressure is low; "never" where nothing may be given."""
    old: bool = False
    """Whether a site has a separate dose for the old, within the range."""
    frail: bool = False
    """Whether that is for the frail too."""
    most: DoseFigure | None = None
    given_from: Annotated[tuple[StrengthFigure, ...], Field(min_length=1)]
    questions: Annotated[int, Field(ge=0)] = 0
    minded: Annotated[int, Field(ge=0)] = 0
    """How many sentences at least are said with the dose."""
    onset: OnsetRange
    lasts: LastsRange

    @model_validator(mode="after")
    def _can_be_read(self) -> "KnownUse":
        self.ranges()
        return self

    def is_of(self, dose: Dose) -> bool:
        """Whether it is about such a dose: both rates or both not, both by a weight or both not."""
        one, other = self.ranges()[0].low, dose.usual
        return one.at(1).is_like(other.at(1)) and (one.weight is None) == (other.weight is None)

    def ranges(self, *, low_pressure: bool = False) -> tuple[Range, ...]:
        """The range by each weight; for a low pressure its own, where there is one."""
        text = self.range
        if low_pressure and self.low_pressure not in (None, "never"):
            text = str(self.low_pressure)
        if "/kg" not in text:
            return (range_of(text),)
        return tuple(range_of(f"{text} {kind.value} weight") for kind in self.weights)


class KnownDrug(SiteModel):
    """What is published of one drug."""

    drug: Identifier
    names: tuple[Utterance, ...] = ()
    """Other names of the same drug."""
    strengths: Annotated[tuple[StrengthFigure, ...], Field(min_length=1)]
    """Those that it is supplied in, anywhere."""
    vials: tuple[VolumeFigure, ...] = ()
    """What one vial, ampoule or ready-made syringe holds, as it is sold."""
    cautions: Annotated[int, Field(ge=0)] = 0
    """How many a site states at least."""
    allergens: Annotated[int, Field(ge=0)] = 0
    sounds_like: tuple[Identifier, ...] = ()
    """Drugs that it is taken for by ear; a site that has both states it of each."""
    uses: Annotated[tuple[KnownUse, ...], Field(min_length=1)]


class KnownClass(SiteModel):
    """Drugs to which allergies are told of together."""

    name: Annotated[Identifier, Field(alias="class")]
    drugs: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    """Those of the reference."""
    others: tuple[Utterance, ...] = ()


class Ends(SiteModel):
    """Where the low and the high end of a site's range may lie."""

    low: str
    high: str

    def hold(self, low: Decimal, high: Decimal) -> bool:
        """Whether both ends lie there."""
        return all(
            ends.low.amount <= end <= ends.high.amount
            for end, ends in (
                (low, range_of(self.low, _ADULTS)),
                (high, range_of(self.high, _ADULTS)),
            )
        )


class KnownAdults(SiteModel):
    """For whom doses of adults are meant."""

    weight_kg: Ends
    height_cm: Ends
    age_years: Ends
    obese_from_bmi: Ends
    ask_age_below_kg: Ends
    ask_height_from_kg: Ends


class KnownRoom(SiteModel):
    """The other numbers of the room."""

    tidal_volume: Published
    breaths: Published
    acidotic_breaths: Published
    obstructed_breaths: Published
    peep: Published
    plateau: Published
    oxygen: Published
    size: Published
    depth: Published


class Yardstick(SiteModel):
    """All of yardstick.yaml."""

    factor: Annotated[Amount, Field(ge=1)]
    """By how much a figure may lie outside."""
    adults: KnownAdults
    room: KnownRoom
    classes: tuple[KnownClass, ...]
    drugs: tuple[KnownDrug, ...]

    def drug(self, drug_id: str) -> KnownDrug | None:
        """By its generic name; None for a drug that is not in it."""
        return next((one for one in self.drugs if one.drug == drug_id), None)

    def named(self) -> dict[str, str]:
        """Every name of a drug, with the drug's generic one."""
        names = {name: name for one in self.classes for name in one.others}
        names |= {one.drug: one.drug for one in self.drugs}
        return names | {name: one.drug for one in self.drugs for name in one.names}

    def class_of(self, drug: str) -> str | None:
        """By its generic name; None for a drug of none."""
        return next((one.name for one in self.classes if drug in (*one.drugs, *one.others)), None)

    def allowed(self, ranges: tuple[Range, ...], figure: Figure) -> Range | None:
        """The range by the figure's own weight, widened; None when there is none of its kind."""
        like = (one for one in ranges if one.low.is_like(figure))
        return next((one.widened(self.factor) for one in like), None)

    def sources(self) -> Iterator[str]:
        """Every source, once."""
        yield from dict.fromkeys(use.source for drug in self.drugs for use in drug.uses)


@cache
def yardstick() -> Yardstick:
    """The reference that ships with the program. Raises BadInput when it was damaged."""
    return read_yaml(PATH, Yardstick)
