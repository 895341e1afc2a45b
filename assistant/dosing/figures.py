"""The other numbers of a site's room: breaths, tubes, sizes and cylinders, as data."""

from decimal import Decimal
from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from assistant.dosing.sourced import Amount, Published, Sourced, published_or_reasoned
from assistant.dosing.weights import Sex
from assistant.files.word_forms import Identifier, Spoken, Utterance
from assistant.files.yaml_files import SiteModel


class Setting(SiteModel):
    """A figure that the site has chosen, with the published range that it lies in."""

    published: Published
    reason: Spoken | None = None
    """Why the site leaves that range, where it does."""
    set_to: Amount

    @field_validator("set_to")
    @classmethod
    def _published_or_reasoned(cls, amount: Decimal, info: ValidationInfo) -> Decimal:
        return published_or_reasoned(amount, info)


class Ventilation(SiteModel):
    """How a ventilator is set at first."""

    tidal_ml_per_kg: Setting
    """Per kilogram of predicted body weight."""
    breaths_per_min: Setting
    acidotic_breaths_per_min: Setting
    """For a patient who has breathed hard against acid."""
    peep_cm_water: Setting
    oxygen_percent: Setting


class Tube(SiteModel):
    """The tube for a man or a woman."""

    sex: Sex
    size_mm: Setting
    """Inner diameter."""
    depth_cm: Setting
    """At the teeth."""


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
    water_litres: Amount
    """What it would hold of water: litres of oxygen for each bar of pressure."""
    full_bar: Amount


class Cylinders(SiteModel):
    """The cylinders of the site."""

    reserve_bar: Annotated[Decimal, Field(ge=0)]
    """Pressure at which a cylinder is changed; what lies below is not counted."""
    kinds: Annotated[tuple[Cylinder, ...], Field(min_length=1)]


class Figures(SiteModel):
    """All of figures.yaml."""

    ventilation: Ventilation
    tubes: Annotated[tuple[Tube, ...], Field(min_length=2, max_length=2)]
    sizes: tuple[SizeOf, ...] = ()
    cylinders: Cylinders

    def tube(self, sex: Sex) -> Tube:
        """The tube for that sex. Raises KeyError."""
        return {tube.sex: tube for tube in self.tubes}[sex]

    def size_of(self, thing: str) -> SizeOf:
        """By its id. Raises KeyError."""
        return {one.id: one for one in self.sizes}[thing]

    def cylinder(self, cylinder: str) -> Cylinder:
        """By its id. Raises KeyError."""
        return {one.id: one for one in self.cylinders.kinds}[cylinder]
