"""One dose as an answer: what it rests on, and how it is told.

Not a substitute for the label in hand: the licensed clinician decides, and every sentence says so.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from assistant.dosing.audible import audible
from assistant.dosing.drawing_up import FASTEST_PUMP_ML_PER_H
from assistant.dosing.drugs import Indication
from assistant.dosing.sourced import Limit
from assistant.dosing.units import (
    Quantity,
    amount_in,
    half_up,
    plain,
    quantity,
    said_in,
    spoken,
    spoken_twice,
    written,
)
from assistant.dosing.weights import WeightKind
from assistant.language.dose_terms import DoseTerms
from assistant.language.tongue import ENGLISH, Tongue

MOST_ROUNDING = Decimal("0.05")
"""Rounding by more of a dose is said, and pointed out by `check`; our own limit, no source."""
CHECK_THE_LABEL = ENGLISH.terms.dose.check


@dataclass(frozen=True, slots=True)
class DoseAnswer:
    """One dose, with all that it rests on."""

    drug_id: str
    drug: str
    indication: Indication
    low_pressure: bool
    """Whether it is the separate dose for a patient whose pressure is low."""
    reduced: bool
    """Whether it is the separate dose for the old."""
    for_age: bool
    """Whether that is for the age, and not for being frail."""
    weight_kg: Decimal | None
    """The weight that the dose went by; None for a fixed dose."""
    weight_kind: WeightKind | None
    body_mass_index: Decimal | None
    """Where it decided between total weight and another; kg/m2, to a tenth."""
    dose: Quantity
    """Calculated and capped, not rounded; a rate for an infusion."""
    volume: Quantity
    """Rounded to the syringe's graduation in mL, or to the pump's step in mL/h."""
    strength: Quantity
    vials: int | None
    """How many are opened for it; None where that is not stated."""
    mixes: int | None
    """How often it is mixed for it; None where it is not mixed, and for an infusion."""
    syringe_ml: Decimal | None
    """The syringe that holds it; None for an infusion."""
    too_fast: bool
    """Whether the pump would run faster than is usual."""
    capped: bool
    rounded: bool
    """Whether the volume was rounded."""
    source: str
    working: str
    cautions: tuple[str, ...]

    def spoken(self, tongue: Tongue = ENGLISH) -> str:
        """To be spoken: from ten on to a tenth of the unit, below ten to a hundredth.

        A teen or a ten is said in digits too: the weight was read back, dose and volume are not.
        """
        terms = tongue.terms.dose
        return self._told(terms.dose_first, terms.capped, tongue)

    def volume_first(self, tongue: Tongue = ENGLISH) -> str:
        """For somebody who asks for the volume: the same figures, the volume first."""
        terms = tongue.terms.dose
        return self._told(terms.volume_first, terms.capped_after, tongue)

    def _told(self, sentence: str, capped: str, tongue: Tongue) -> str:
        terms = tongue.terms.dose
        dose = spoken_twice(_audible(said_in(self.dose, self.strength)), tongue)
        volume = spoken_twice(self.volume, tongue)
        return sentence.format(
            opening=self._opening(
                lambda measured: spoken(measured, tongue), tongue.numbers.say_number, terms
            ),
            dose=capped.format(dose=dose) if self.capped else dose,
            volume=self._rounding(tongue).format(volume=volume) if self.rounded else volume,
            strength=spoken(said_in(self.strength, self.strength), tongue),
            check=" ".join((*self._minded(tongue), terms.check)),
        )

    def _minded(self, tongue: Tongue) -> Iterator[str]:
        """What is said besides: several vials or mixes, a pump that runs fast, how it is given."""
        terms = tongue.terms.dose
        if self.vials is not None and self.vials > 1:
            yield terms.vials.format(count=tongue.numbers.say_number(self.vials))
        if self.mixes is not None and self.mixes > 1:
            yield terms.mixes.format(count=tongue.numbers.say_number(self.mixes))
        if self.too_fast:
            yield terms.fast_pump.format(rate=tongue.numbers.say_number(FASTEST_PUMP_ML_PER_H))
        yield from self.indication.said_with_dose

    def drawn_up(self) -> str:
        """From how many vials and into which syringe, in writing; empty where neither is known."""
        vials = f"{self.vials} vial{'' if self.vials == 1 else 's'}" if self.vials else ""
        syringe = f"syringe of {plain(self.syringe_ml)} mL" if self.syringe_ml else ""
        mixes = f"{self.mixes} mixes" if self.mixes is not None and self.mixes > 1 else ""
        return ", ".join(filter(None, (vials, mixes, syringe)))

    def _rounding(self, tongue: Tongue) -> str:
        """What is said of a rounded volume: by how much, where that is more than a little."""
        terms = tongue.terms.dose
        share = amount_in(self.volume * self.strength / self.dose, "") - 1
        if abs(share) <= MOST_ROUNDING:
            return terms.rounded
        percent = tongue.numbers.say_number(half_up(abs(share) * 100, Decimal(1)))
        much = terms.rounded_up if share > 0 else terms.rounded_down
        return much.replace("{percent}", percent)

    def written(self) -> str:
        """The same in writing, with digits."""
        capped = "capped at the maximum of " if self.capped else ""
        rounded = " (rounded)" if self.rounded else ""
        opening = self._opening(written, plain, ENGLISH.terms.dose)
        mind = " ".join((*self._minded(ENGLISH), CHECK_THE_LABEL))
        return (
            f"{opening}: {capped}{written(_audible(self.dose))} = "
            f"{written(self.volume)}{rounded} of {written(self.strength)}. {mind}"
        )

    def _opening(
        self, shown: Callable[[Quantity], str], number: Callable[[Decimal], str], terms: DoseTerms
    ) -> str:
        separate = terms.low_pressure if self.low_pressure else ""
        if self.reduced:
            separate = terms.for_age if self.for_age else terms.for_frailty
        return terms.opening.format(
            drug=f"{self.drug[:1].upper()}{self.drug[1:]}",
            purpose=self.indication.purpose,
            pressure=separate,
            basis=self._basis(shown, number, terms),
        )

    def _basis(
        self, shown: Callable[[Quantity], str], number: Callable[[Decimal], str], terms: DoseTerms
    ) -> str:
        if self.weight_kg is None or self.weight_kind is None:
            return terms.fixed_rate if self.indication.dose.infusion else terms.fixed_dose
        kind = terms.weights.named(self.weight_kind.value)
        weight = shown(quantity(self.weight_kg, "kg"))
        if self.body_mass_index is None:
            return terms.by_weight.format(weight=weight, kind=kind)
        index = number(self.body_mass_index)
        return terms.by_weight_and_index.format(weight=weight, kind=kind, index=index)


def maximum_of(use: Indication, amount: str, tongue: Tongue = ENGLISH) -> str:
    """What the maximum of a use is the most of, in words: "at most 180 mg at once"."""
    terms = tongue.terms.dose
    sentence = {
        Limit.SINGLE_DOSE: terms.most_at_once,
        Limit.TOTAL: terms.most_in_all,
        Limit.STARTING_RATE: terms.highest_starting_rate,
        Limit.HIGHEST_RATE: terms.highest_rate,
    }[use.maximum.limit]
    return sentence.format(amount=amount)


def _audible(dose: Quantity) -> Quantity:
    return quantity(audible(Decimal(dose.magnitude)), str(dose.units))
