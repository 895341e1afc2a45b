"""In which strengths a drug is supplied, which the site draws up, and how it is mixed."""

from decimal import Decimal
from typing import Annotated

from pydantic import Field, model_validator

from assistant.dosing.sourced import Sourced
from assistant.dosing.stated import Figure, MassFigure, PumpFigure, StrengthFigure, VolumeFigure
from assistant.dosing.units import Quantity, said_in, spoken, to_unit, written
from assistant.files.complaints import WrongWithinError
from assistant.files.word_forms import Identifier, Spoken
from assistant.files.yaml_files import SiteModel
from assistant.language.tongue import ENGLISH, Tongue

LARGEST_SYRINGE_ML = 60
"""What is made up to more goes into a bag (common practice, no source)."""


class Supplied(Sourced):
    """The strengths that labels give; one of them stands on the box in hand."""

    strengths: Annotated[tuple[StrengthFigure, ...], Field(min_length=1)]


class Recipe(Sourced):
    """How a preparation is made: an amount drawn up, or a powder dissolved, and made up to a
    volume."""

    draw_up: VolumeFigure | None = None
    of: StrengthFigure | None = None
    """The strength that is drawn up; it must be one that is supplied."""
    powder: MassFigure | None = None
    """Instead of the two: what the vial of powder holds."""
    make_up_to: VolumeFigure
    """The volume that it is made up to, what was drawn up included."""
    with_what: Spoken
    """What is added: "saline"."""
    bag: bool = False
    """Whether it goes into a full bag of that volume, from which as much is first taken out."""

    @model_validator(mode="after")
    def _drawn_up_or_powder(self) -> "Recipe":
        drawn_up = self.draw_up is not None and self.of is not None
        one_of_them = self.draw_up is not None or self.of is not None
        if drawn_up == (self.powder is not None) or one_of_them != drawn_up:
            raise ValueError("either draw_up with of, or powder")
        if self.draw_up is not None and self.draw_up.amount > self.make_up_to.amount:
            raise WrongWithinError(f"not below draw_up, {self.draw_up}", "make_up_to")
        if self.make_up_to.amount > LARGEST_SYRINGE_ML and not self.bag:
            raise WrongWithinError(f"true for more than {LARGEST_SYRINGE_ML} mL", "bag")
        return self

    @property
    def strength(self) -> Quantity:
        """What the mixture comes to: the arithmetic of the recipe."""
        if self.of is not None and self.draw_up is not None:
            drawn: Quantity = self.of.quantity * self.draw_up.quantity
        else:
            drawn = (self.powder or Figure(Decimal(0), "mg")).quantity
        mixed: Quantity = drawn / self.make_up_to.quantity
        return mixed

    def steps(
        self, drug: str, strength: Figure, supplied: Supplied, tongue: Tongue = ENGLISH
    ) -> tuple[str, ...]:
        """What to do, in one spoken sentence each; ampoules that are not for this are named."""
        terms = tongue.terms.dose
        volume = spoken(self.make_up_to.quantity, tongue)
        label = terms.label.format(drug=drug, strength=_said(strength, tongue))
        if self.of is None or self.draw_up is None:
            powder = self.powder or Figure(Decimal(0), "mg")
            return (
                terms.take_powder.format(drug=drug, amount=spoken(powder.quantity, tongue)),
                terms.make_up.format(volume=volume, with_what=self.with_what),
                label,
            )
        drawn = spoken(self.draw_up.quantity, tongue)
        draw_up = terms.draw_up.format(volume=drawn, drug=drug, strength=_said(self.of, tongue))
        of = self.of.quantity
        others = [_said(one, tongue) for one in supplied.strengths if one.quantity != of]
        if others:
            draw_up += " " + terms.not_from.format(strengths=f" {terms.nor} ".join(others))
        if self.bag:
            empty = terms.empty_bag.format(taken=drawn, volume=volume, with_what=self.with_what)
            return empty, draw_up, terms.into_bag.format(drawn=drawn), label
        added = spoken(self.make_up_to.quantity - self.draw_up.quantity, tongue)
        return (
            draw_up,
            terms.add.format(added=added, with_what=self.with_what, volume=volume),
            label,
        )


def _said(strength: Figure, tongue: Tongue) -> str:
    return spoken(said_in(strength.quantity, strength.quantity), tongue)


class Preparation(SiteModel):
    """What the site has in the syringe or bag."""

    id: Identifier
    strength: StrengthFigure
    vial: VolumeFigure | None = None
    """What one vial, ampoule or ready-made syringe of it holds; their number is then told."""
    graduation: VolumeFigure | None = None
    """The finest mark of the syringe it is given from; volumes are rounded to it, and to coarser
    marks where a larger one of the formulary's `syringes` is needed."""
    pump_step: PumpFigure | None = None
    """Instead, for a pump: the finest step of its rate."""
    recipe: Recipe | None = None
    """None when it is drawn up as it is supplied."""

    @model_validator(mode="after")
    def _syringe_or_pump(self) -> "Preparation":
        if (self.graduation is None) == (self.pump_step is None):
            raise ValueError("either graduation or pump_step")
        return self

    @property
    def step(self) -> Figure:
        """The finest volume, or rate, that can be set."""
        return self.graduation or self.pump_step or Figure(Decimal(0), "mL")

    def fault(self, supplied: Supplied) -> tuple[tuple[str, ...], str, str] | None:
        """Where, what was found and what is allowed, when it cannot be made of what is supplied."""
        strengths = [one.quantity for one in supplied.strengths]
        listed = ", ".join(map(str, supplied.strengths))
        allowed = f"a strength that is supplied ({listed})"
        own = ("strength",)
        if self.recipe is None:
            if self.strength.quantity in strengths:
                return None
            return own, str(self.strength), f"{allowed}, or a recipe"
        if self.recipe.of is not None and self.recipe.of.quantity not in strengths:
            return ("recipe", "of"), str(self.recipe.of), allowed
        made = to_unit(self.recipe.strength, self.strength.unit)
        if made.magnitude != self.strength.amount:
            return own, str(self.strength), f"what the recipe comes to, {written(made)}"
        return None
