"""In which strengths a drug is supplied, which the site draws up, and how it is mixed."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, model_validator

from assistant.dosing.sourced import Amount, Sourced
from assistant.dosing.units import Quantity, amount_in, quantity, spoken, to_unit, written
from assistant.files.word_forms import Identifier, Spoken
from assistant.files.yaml_files import SiteModel
from assistant.language.tongue import ENGLISH, Tongue

MassUnit = Literal["mg", "mcg"]


class Supplied(Sourced):
    """The strengths that labels give; one of them stands on the box in hand."""

    amounts_per_ml: Annotated[tuple[Amount, ...], Field(min_length=1)]
    unit: MassUnit

    def strengths(self) -> Iterator[Quantity]:
        """Each of them."""
        for amount in self.amounts_per_ml:
            yield quantity(amount, f"{self.unit}/mL")


class Recipe(Sourced):
    """How a preparation is made: so much drawn up, or a powder dissolved, made up to a volume."""

    take_ml: Amount | None = None
    of_amount_per_ml: Amount | None = None
    """The strength that is drawn up; it must be one that is supplied."""
    powder_amount: Amount | None = None
    """Instead of the two: what the vial of powder holds."""
    unit: MassUnit
    to_ml: Amount
    """The volume that it is made up to, what was drawn up included."""
    with_what: Spoken
    """What is added: "saline"."""

    @model_validator(mode="after")
    def _drawn_up_or_powder(self) -> "Recipe":
        drawn_up = self.take_ml is not None and self.of_amount_per_ml is not None
        one_of_them = self.take_ml is not None or self.of_amount_per_ml is not None
        if drawn_up == (self.powder_amount is not None) or one_of_them != drawn_up:
            raise ValueError("either take_ml with of_amount_per_ml, or powder_amount")
        return self

    @property
    def drawn_from(self) -> Quantity | None:
        """The strength that is drawn up; None for a powder."""
        if self.of_amount_per_ml is None:
            return None
        return quantity(self.of_amount_per_ml, f"{self.unit}/mL")

    @property
    def strength(self) -> Quantity:
        """What the mixture comes to: the arithmetic of the recipe."""
        if self.drawn_from is not None and self.take_ml is not None:
            amount = self.drawn_from.magnitude * self.take_ml
        else:
            amount = self.powder_amount or Decimal(0)
        return quantity(amount / self.to_ml, f"{self.unit}/mL")

    def steps(self, drug: str, strength: Quantity, tongue: Tongue = ENGLISH) -> tuple[str, ...]:
        """What to do, in one spoken sentence each."""
        terms = tongue.terms.dose
        if self.drawn_from is not None and self.take_ml is not None:
            volume = spoken(quantity(self.take_ml, "mL"), tongue)
            drawn_from = spoken(self.drawn_from, tongue)
            first = terms.draw_up.format(volume=volume, drug=drug, strength=drawn_from)
        else:
            powder = spoken(quantity(self.powder_amount or Decimal(0), self.unit), tongue)
            first = terms.take_powder.format(drug=drug, amount=powder)
        made_up = spoken(quantity(self.to_ml, "mL"), tongue)
        return (
            first,
            terms.make_up.format(volume=made_up, with_what=self.with_what),
            terms.label.format(drug=drug, strength=spoken(strength, tongue)),
        )


class Preparation(SiteModel):
    """What the site has in the syringe or bag."""

    id: Identifier
    amount_per_ml: Amount
    unit: MassUnit
    graduation_ml: Amount | None = None
    """The finest mark of the syringe it is given from; volumes are rounded to it."""
    pump_step_ml_per_h: Amount | None = None
    """Instead, for a pump: the finest step of its rate."""
    recipe: Recipe | None = None
    """None when it is drawn up as it is supplied."""

    @model_validator(mode="after")
    def _syringe_or_pump(self) -> "Preparation":
        if (self.graduation_ml is None) == (self.pump_step_ml_per_h is None):
            raise ValueError("either graduation_ml or pump_step_ml_per_h")
        return self

    @property
    def strength(self) -> Quantity:
        """What a millilitre holds."""
        return quantity(self.amount_per_ml, f"{self.unit}/mL")

    @property
    def step(self) -> Quantity:
        """The finest volume, or rate, that can be set."""
        if self.graduation_ml is not None:
            return quantity(self.graduation_ml, "mL")
        return quantity(self.pump_step_ml_per_h or Decimal(0), "mL/h")

    def fault(self, supplied: Supplied) -> tuple[tuple[str, ...], str, str] | None:
        """Where, what was found and what is allowed, when it cannot be made of what is supplied."""
        strengths = [amount_in(one, "mg/mL") for one in supplied.strengths()]
        allowed = f"a strength that is supplied ({', '.join(map(written, supplied.strengths()))})"
        own = ("amount_per_ml",)
        if self.recipe is None:
            if amount_in(self.strength, "mg/mL") in strengths:
                return None
            return own, written(self.strength), f"{allowed}, or a recipe"
        drawn_from = self.recipe.drawn_from
        if drawn_from is not None and amount_in(drawn_from, "mg/mL") not in strengths:
            return ("recipe", "of_amount_per_ml"), written(drawn_from), allowed
        made = to_unit(self.recipe.strength, f"{self.unit}/mL")
        if made.magnitude != self.strength.magnitude:
            return own, written(self.strength), f"what the recipe comes to, {written(made)}"
        return None
