"""The other numbers of a site's room: breaths, tubes, sizes and cylinders, as data."""

from decimal import Decimal
from typing import Annotated

from pydantic import AfterValidator, Field, ValidationInfo, field_validator, model_validator

from assistant.dosing.sourced import Published, Sourced, published_or_reasoned
from assistant.dosing.stated import BarFigure, Figure, LitresFigure, RoomFigure
from assistant.dosing.units import plain
from assistant.dosing.weights import Sex
from assistant.files.complaints import WrongWithinError
from assistant.files.word_forms import Identifier, Spoken, Utterance
from assistant.files.yaml_files import SiteModel

CYLINDER_MARGIN = Decimal("0.15")
"""Oxygen is taken for an ideal gas, and labels are rounded; this project's own limit, no source."""


class Setting(SiteModel):
    """A figure that the site has chosen, with the published range that it lies in."""

    published: Published
    reason: Spoken | None = None
    """Why the site leaves that range, where it does."""
    set_to: RoomFigure

    @field_validator("set_to")
    @classmethod
    def _published_or_reasoned(cls, figure: Figure, info: ValidationInfo) -> Figure:
        return published_or_reasoned(figure, info)


def _in(unit: str) -> AfterValidator:
    """A setting in that unit only."""

    def check(setting: Setting) -> Setting:
        if setting.set_to.measured_in != unit:
            raise ValueError(f"the unit {unit}")
        return setting

    return AfterValidator(check)


class Ventilation(SiteModel):
    """How a ventilator is set at first."""

    tidal_volume: Annotated[Setting, _in("mL/kg predicted weight")]
    """Per kilogram of predicted body weight."""
    breaths: Annotated[Setting, _in("/min")]
    acidotic_breaths: Annotated[Setting, _in("/min")]
    """For a patient who has breathed hard against acid."""
    obstructed_breaths: Annotated[Setting, _in("/min")]
    """For a patient whose air gets out slowly: few, so that each breath has time to get out."""
    peep: Annotated[Setting, _in("cmH2O")]
    plateau: Annotated[Setting, _in("cmH2O")]
    """The highest plateau pressure, told with every setting."""
    oxygen: Annotated[Setting, _in("%")]


class Tube(SiteModel):
    """The tube for a man or a woman."""

    sex: Sex
    size: Annotated[Setting, _in("mm")]
    """Inner diameter."""
    depth: Annotated[Setting, _in("cm")]
    """At the teeth."""


class DepthByHeight(Sourced):
    """A published rule for a tube's depth at the teeth, by the patient's height.

    It is never given as an order: it only shows when a depth is far from it.
    """

    per_centimetre: Annotated[Decimal, Field(gt=0, le=Decimal("0.5"))]
    """Centimetres of tube for each centimetre of height."""
    plus_cm: Annotated[Decimal, Field(ge=-20, le=20)]
    far_cm: Annotated[Decimal, Field(ge=1, le=6)]
    """A depth this far off, or more, is read back with what the height suggests."""

    def depth_cm(self, height_cm: int) -> Decimal:
        """At the teeth, in cm, for an adult of that height."""
        return self.per_centimetre * height_cm + self.plus_cm


class SizeOf(Sourced):
    """Something that comes in sizes, and the site's rule for it."""

    id: Identifier
    said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    """As it is asked for: "laryngoscope blade"."""
    rule: Spoken
    """The whole answer."""


class Cylinder(Sourced):
    """A kind of oxygen cylinder."""

    id: Identifier
    called: Spoken
    said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    water: LitresFigure
    """The water it would hold: litres of oxygen for each bar of pressure."""
    full: BarFigure
    holds: LitresFigure
    """Oxygen in the full cylinder, as its label says: water times pressure must come near it."""

    @model_validator(mode="after")
    def _comes_to_its_label(self) -> "Cylinder":
        litres = self.water.amount * self.full.amount
        if abs(litres - self.holds.amount) > CYLINDER_MARGIN * self.holds.amount:
            raise WrongWithinError(
                f"a cylinder whose water and pressure come to what it holds: {self.water} x "
                f"{self.full} = {plain(litres)} L",
                "holds",
            )
        return self


class Cylinders(SiteModel):
    """The cylinders of the site."""

    reserve: BarFigure
    """The pressure at which a cylinder is changed; what is below does not count."""
    kinds: Annotated[tuple[Cylinder, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _reserve_is_a_small_part(self) -> "Cylinders":
        least = min(kind.full.amount for kind in self.kinds)
        if not least / 50 <= self.reserve.amount <= least / 4:
            raise WrongWithinError(
                f"a fiftieth to a quarter of a full cylinder, {plain(least / 50)} to "
                f"{plain(least / 4)} bar",
                "reserve",
            )
        return self


class Figures(SiteModel):
    """All of figures.yaml."""

    ventilation: Ventilation
    tubes: Annotated[tuple[Tube, ...], Field(min_length=2, max_length=2)]
    depth_by_height: DepthByHeight | None = None
    """If left out, no depth is called unusual."""
    sizes: tuple[SizeOf, ...] = ()
    cylinders: Cylinders

    @model_validator(mode="after")
    def _each_once(self) -> "Figures":
        named: tuple[tuple[tuple[str, ...], str, list[object]], ...] = (
            (("tubes",), "sex", [one.sex for one in self.tubes]),
            (("sizes",), "id", [one.id for one in self.sizes]),
            (("cylinders", "kinds"), "id", [one.id for one in self.cylinders.kinds]),
        )
        for loc, key, values in named:
            for at, value in enumerate(values):
                if value in values[:at]:
                    raise WrongWithinError(f"each {key} once here", *loc, at, key)
        return self

    def tube(self, sex: Sex) -> Tube:
        """The tube for that sex. Raises KeyError."""
        return {tube.sex: tube for tube in self.tubes}[sex]

    def size_of(self, thing: str) -> SizeOf:
        """By its id. Raises KeyError."""
        return {one.id: one for one in self.sizes}[thing]

    def cylinder(self, cylinder: str) -> Cylinder:
        """By its id. Raises KeyError."""
        return {one.id: one for one in self.cylinders.kinds}[cylinder]
