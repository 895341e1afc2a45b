"""A site's formulary as data: all its drugs, for whom they are meant, and how they are checked."""

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, NamedTuple

from pydantic import BaseModel, Field

from assistant.dosing.drugs import Dose, Drug, Indication
from assistant.dosing.sourced import Amount, Sourced, Span, Status
from assistant.dosing.units import plain, quantity, to_unit, written
from assistant.errors import BadInput
from assistant.files.word_forms import Identifier, Respelling, Spoken, Utterance
from assistant.files.yaml_files import SiteModel, line_in, read_yaml
from assistant.language.tongue import ENGLISH, Tongue

COARSEST_ROUNDING = Decimal("0.1")
"""Rounding to the graduation may change no dose by more than this share of it.

This project's own limit, no source: a smaller syringe or a weaker strength is then needed.
"""


class Adults(SiteModel):
    """For whom the formulary is meant; nobody else gets a dose."""

    weight_kg: Span = Span(low=30, high=200)
    height_cm: Span = Span(low=130, high=230)
    age_years: Span = Span(low=18, high=110)
    obese_from_bmi: Amount = Decimal(30)
    """Body mass index, kg/m2, from which ideal, lean and adjusted weight replace total weight.

    The guideline that asks for them (AAGBI/SOBA, Anaesthesia 2015;70:859-76) is for obese adults:
    the lean weight of a slim person is below the ideal one, and would give too little. Obesity
    from 30 kg/m2 is the World Health Organization's (from memory).
    """


class Allergen(SiteModel):
    """What people are allergic to, as far as it bars a drug of this formulary."""

    id: Identifier
    called: Spoken
    said: Annotated[tuple[Utterance, ...], Field(min_length=1)]


class Absent(SiteModel):
    """A drug that the site does not have."""

    called: Utterance
    respellings: tuple[Respelling, ...] = ()


class Entry(NamedTuple):
    """What a spoken name stands for."""

    drug: Drug
    indication: Indication


class Formulary(SiteModel):
    """All the drugs of a site."""

    name: Spoken
    adults: Adults = Adults()
    allergens: tuple[Allergen, ...] = ()
    absent: tuple[Absent, ...] = ()
    """Drugs that people may ask for and that the site does not have: their names are listened for,
    so that they are refused and not taken for those of other drugs."""
    drugs: Annotated[tuple[Drug, ...], Field(min_length=1)]

    def drug(self, drug_id: str) -> Drug:
        """By its id. Raises KeyError."""
        return {drug.id: drug for drug in self.drugs}[drug_id]

    def allergen(self, allergen_id: str) -> Allergen:
        """By its id. Raises KeyError."""
        return {one.id: one for one in self.allergens}[allergen_id]

    def entry(self, key: str) -> Entry:
        """By the id of a drug, or of a drug and one of its uses: "propofol/sedation".

        Raises KeyError.
        """
        drug_id, _, indication_id = key.partition("/")
        drug = self.drug(drug_id)
        return Entry(drug, drug.indication(indication_id or None))

    def names(self) -> Iterator[tuple[str, str, tuple[str, ...]]]:
        """Each spoken name, the key of what it stands for, and its respellings."""
        for drug in self.drugs:
            for name in dict.fromkeys(drug.names()):
                yield name, drug.id, drug.respellings
            for indication in drug.indications:
                for name in indication.said:
                    yield name, f"{drug.id}/{indication.id}", indication.respellings

    def reasons(self, tongue: Tongue = ENGLISH) -> Iterator[str]:
        """A sentence for each dose that leaves its published range."""
        for drug in self.drugs:
            for indication in drug.indications:
                yield from self.reasons_of(drug, indication, tongue)

    def reasons_of(
        self, drug: Drug, indication: Indication, tongue: Tongue = ENGLISH
    ) -> Iterator[str]:
        """The same of the doses of one use of a drug."""
        sentence = tongue.terms.dose.leaves_range
        for dose in _doses(indication):
            if dose.reason is not None:
                yield sentence.format(
                    drug=drug.called, purpose=indication.purpose, reason=dose.reason
                )

    def from_memory(self) -> Iterator[str]:
        """Where the figures stand that were not looked up."""
        for drug in self.drugs:
            yield from _from_memory(drug, drug.id)


def read_formulary(path: Path) -> Formulary:
    """Read a site's formulary and check its drugs against one another.

    Raises BadInput, with a sentence for each thing that is wrong with it.
    """
    formulary = read_yaml(path, Formulary)
    complaints = [
        BadInput.in_file(
            path,
            line=line_in(path, *loc),
            key=".".join(str(step) for step in loc),
            found=found,
            allowed=allowed,
        )
        for loc, found, allowed in faults(formulary)
    ]
    if complaints:
        raise BadInput.all_of(complaints)
    return formulary


Fault = tuple[tuple[int | str, ...], str, str]
"""Where, what was found there, what is allowed."""


def faults(formulary: Formulary) -> Iterator[Fault]:
    """What is wrong with drugs that are each well-formed: with one another, and in proportion."""
    yield from _names_twice(formulary)
    allergens = {one.id for one in formulary.allergens}
    ids = {drug.id for drug in formulary.drugs}
    for at, drug in enumerate(formulary.drugs):
        for number, allergen in enumerate(drug.allergens):
            if allergen not in allergens:
                yield ("drugs", at, "allergens", number), repr(allergen), "one of the allergens"
        for number, other in enumerate(drug.sounds_like):
            if other not in ids - {drug.id}:
                yield ("drugs", at, "sounds_like", number), repr(other), "the id of another drug"
        for number, preparation in enumerate(drug.preparations):
            fault = preparation.fault(drug.supplied)
            if fault is not None:
                yield ("drugs", at, "preparations", number, *fault[0]), *fault[1:]
        for number in range(len(drug.indications)):
            for loc, found, allowed in _out_of_proportion(drug, number, formulary.adults):
                yield ("drugs", at, *loc), found, allowed


def _names_twice(formulary: Formulary) -> Iterator[Fault]:
    ids: set[str] = set()
    owners: dict[str, str] = {}
    for at, drug in enumerate(formulary.drugs):
        if drug.id in ids:
            yield ("drugs", at, "id"), repr(drug.id), "each drug's id once"
        ids.add(drug.id)
        named: list[tuple[tuple[int | str, ...], tuple[str, ...]]] = [
            (("called",), (drug.called,)),
            (("said",), drug.said),
            (("respellings",), drug.respellings),
        ]
        for number, one in enumerate(drug.indications):
            named += [
                (("indications", number, "said"), one.said),
                (("indications", number, "respellings"), one.respellings),
            ]
        for key, names in named:
            for name in names:
                if owners.setdefault(name, drug.id) != drug.id:
                    other = f"each name for one drug only, and {owners[name]} has it already"
                    yield ("drugs", at, *key), repr(name), other
    for number, absent in enumerate(formulary.absent):
        for name in (absent.called, *absent.respellings):
            if name in owners:
                only = "only drugs that are not on this formulary"
                yield ("absent", number), repr(name), only


def _out_of_proportion(drug: Drug, number: int, adults: Adults) -> Iterator[Fault]:
    """A step too coarse for the smallest dose; a maximum above all doses or below the usual."""
    indication = drug.indications[number]
    lightest_kg = 1
    if indication.dose.per_kilogram:
        lightest_kg, heaviest_kg = adults.weight_kg.low, adults.weight_kg.high
        least = indication.dose.usual * lightest_kg
        most = max(dose.high for dose in _doses(indication)) * heaviest_kg
        if not least <= indication.maximum.amount <= most:
            allowed = (
                f"from the usual dose at {lightest_kg} kg, {plain(least)}, to the high dose at "
                f"{heaviest_kg} kg, {plain(most)}"
            )
            yield (
                ("indications", number, "maximum", "amount"),
                plain(indication.maximum.amount),
                allowed,
            )
    preparation = drug.preparation(indication)
    step = preparation.step
    unit = indication.dose.given_unit
    smallest = quantity(min(dose.low for dose in _doses(indication)) * lightest_kg, unit)
    volume = to_unit(smallest / preparation.strength, str(step.units))
    coarsest = 2 * COARSEST_ROUNDING * volume
    if step > coarsest:
        allowed = (
            f"at most {written(coarsest)}, as the smallest dose {indication.purpose} is "
            f"{written(smallest)}"
        )
        which = drug.preparations.index(preparation)
        key = "graduation_ml" if preparation.graduation_ml is not None else "pump_step_ml_per_h"
        yield ("preparations", which, key), written(step), allowed


def _doses(indication: Indication) -> Iterator[Dose]:
    yield indication.dose
    if indication.when_pressure_is_low is not None:
        yield indication.when_pressure_is_low


def _from_memory(part: Any, where: str) -> Iterator[str]:
    if isinstance(part, Sourced) and part.status is Status.MEMORY:
        yield f"{where}: {part.source}"
    if isinstance(part, BaseModel):
        for name in type(part).model_fields:
            yield from _from_memory(getattr(part, name), f"{where}, {name.replace('_', ' ')}")
    elif isinstance(part, tuple):
        for one in part:
            yield from _from_memory(one, f"{where} {getattr(one, 'id', '')}".rstrip())
