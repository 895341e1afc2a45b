"""A site's formulary as data: all its drugs, and for whom they are meant."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Annotated, Any, NamedTuple

from pydantic import BaseModel, Field, field_validator, model_validator

from assistant.dosing.drawing_up import USUAL_SYRINGES, Syringe, fault_of
from assistant.dosing.drugs import Dose, Drug, Indication
from assistant.dosing.sourced import Amount, Sourced, Span, Status
from assistant.files.complaints import WrongWithinError
from assistant.files.plain_yaml import Loc
from assistant.files.word_forms import Identifier, Respelling, Spoken, Utterance
from assistant.files.yaml_files import SiteModel
from assistant.language.tongue import ENGLISH, Tongue


class Adults(SiteModel):
    """For whom the formulary is meant; nobody else gets a dose."""

    weight_kg: Span = Span(low=30, high=200)
    height_cm: Span = Span(low=130, high=230)
    age_years: Span = Span(low=18, high=110)
    ask_age_below_kg: Annotated[int, Field(ge=1, le=300)] = 45
    """Below this weight no dose is told before the age: a child may weigh as much as a small adult.
    A weight of 45 kg is usual at thirteen years (from memory)."""
    obese_from_bmi: Amount = Decimal(30)
    """Body mass index, kg/m2, from which ideal, lean and adjusted weight replace total weight.

    The guideline that asks for them (AAGBI/SOBA, Anaesthesia 2015;70:859-76) is for obese adults:
    the lean weight of a slim person is below the ideal one, and would give too little. Obesity
    from 30 kg/m2 is the World Health Organization's (from memory).
    """
    ask_height_from_kg: Annotated[int, Field(ge=1, le=300)] = 80
    """Below this weight total weight is used while height or sex is unknown, as few such patients
    are obese. 80 kg are 30 kg/m2 at 163 cm, about the mean height of women (from memory)."""


class Allergen(SiteModel):
    """Something people may be allergic to that bars a drug of this formulary."""

    id: Identifier
    called: Spoken
    said: Annotated[tuple[Utterance, ...], Field(min_length=1)]
    ingredient: bool = False
    """Whether it is something that drugs contain (sulphites) and not a class of drugs: an
    allergy to one of those drugs then says nothing about the others."""


class Absent(SiteModel):
    """A drug that the site does not have."""

    called: Utterance
    respellings: tuple[Respelling, ...] = ()


class Confirmed(SiteModel):
    """Something that the program's own reference does not bear out, and who answers for it.

    It holds for exactly what was found there: any other figure is refused again.
    """

    place: Spoken
    """As the complaint names it: "ketamine/induction/dose/usual"."""
    found: Spoken
    """What stands there, as the complaint names it: "6 mg/kg total weight"."""
    reason: Spoken
    by: Annotated[tuple[Spoken, ...], Field(min_length=2)]
    """Two roles or more, such as pharmacist and head of department; no names of persons."""

    @model_validator(mode="after")
    def _two_roles(self) -> "Confirmed":
        if len({one.strip().lower() for one in self.by}) < len(self.by):
            raise WrongWithinError("different roles", "by")
        return self

    def told(self) -> str:
        """One line for whoever starts the program, and for the card."""
        return f"{self.place}: {self.found}, {self.reason} ({' and '.join(self.by)})"


class Allergy(NamedTuple):
    """What a patient may be told to be allergic to, with the words for it."""

    id: str
    called: str
    said: tuple[str, ...]


class Entry(NamedTuple):
    """What a spoken name stands for."""

    drug: Drug
    indication: Indication


class Formulary(SiteModel):
    """All the drugs of a site."""

    name: Spoken
    adults: Adults = Adults()
    syringes: tuple[Syringe, ...] = Field(default_factory=lambda: USUAL_SYRINGES, min_length=1)
    """The site's syringes, smallest first. A volume is rounded to the marks of the smallest that
    holds it. If left out: the usual ones of 1 to 60 mL."""
    allergens: tuple[Allergen, ...] = ()
    """What bars several drugs, or is no drug. Each drug, and each absent one, is one by its own
    names besides, unlisted: an allergy to it is heard and read back as such. It is told with its
    dose, and with those of the other drugs of its class: all that list the allergen, or that it
    names."""
    further_allergens: tuple[Allergen, ...] = ()
    """Allergies that bar none of these drugs by themselves (latex, penicillin): recorded when
    told, and said with every dose."""
    absent: tuple[Absent, ...] = ()
    """Drugs that people may ask for and that the site does not have: their names are listened for,
    so that they are refused and not taken for those of other drugs."""
    confirmed: tuple[Confirmed, ...] = ()
    """Figures outside the program's own reference, each confirmed by two roles."""
    drugs: Annotated[tuple[Drug, ...], Field(min_length=1)]

    @field_validator("syringes")
    @classmethod
    def _in_order(cls, syringes: tuple[Syringe, ...]) -> tuple[Syringe, ...]:
        fault = fault_of(syringes)
        if fault is not None:
            raise ValueError(fault)
        return syringes

    def drug(self, drug_id: str) -> Drug:
        """By its id. Raises KeyError."""
        return {drug.id: drug for drug in self.drugs}[drug_id]

    def allergen(self, allergen_id: str) -> Allergy:
        """By its id. Raises KeyError."""
        return {one.id: one for one in self.all_allergens()}[allergen_id]

    def stated_allergens(self) -> tuple[Allergen, ...]:
        """Those that bar a drug, and the further ones, as the site states them."""
        return (*self.allergens, *self.further_allergens)

    def all_allergens(self) -> tuple[Allergy, ...]:
        """The same, and each drug and each absent one by its own names.

        A drug's name that an allergen has too stands for the drug; an allergen with the id of a
        drug has all of its names.
        """
        drugs = {one.id: one for one in self._drugs_by_name()}
        taken = {name for one in drugs.values() for name in one.said}
        stated = []
        for one in self.stated_allergens():
            own = tuple(words for words in one.said if words not in taken)
            drug = drugs.pop(one.id, None)
            stated.append(Allergy(one.id, one.called, own if drug is None else (*own, *drug.said)))
        return (*stated, *drugs.values())

    def barred_by(self, drug: Drug) -> tuple[str, ...]:
        """The ids of the allergies that bar it: to itself, to what it lists and what names it, and
        to another drug of its class."""
        others = (one.id for one in self._drugs_by_name() if self.class_with(drug, one.id))
        return (drug.id, *(one.id for one in self._groups_of(drug.id)), *others)

    def class_with(self, drug: Drug, allergen_id: str) -> Allergen | None:
        """The class of drugs by which an allergy to another drug bars this one; None where none
        does."""
        if allergen_id == drug.id:
            return None
        classes = [one for one in self._groups_of(drug.id) if not one.ingredient]
        return next((one for one in classes if one in self._groups_of(allergen_id)), None)

    def _drugs_by_name(self) -> Iterator[Allergy]:
        """The drugs and the absent ones, as what somebody may be allergic to."""
        for drug in self.drugs:
            yield Allergy(drug.id, drug.called, tuple(dict.fromkeys(drug.names())))
        for absent in self.absent:
            yield Allergy(absent.called, absent.called, (absent.called,))

    def _groups_of(self, drug_id: str) -> list[Allergen]:
        """The allergens that a drug lists, or that name it; of an absent one those that name it."""
        listed = {one for drug in self.drugs if drug.id == drug_id for one in drug.allergens}
        names = {name for one in self._drugs_by_name() if one.id == drug_id for name in one.said}
        return [
            one
            for one in self.stated_allergens()
            if one.id in listed or not names.isdisjoint(one.said)
        ]

    def allergies_told_with(self, drug: Drug) -> tuple[Allergy, ...]:
        """Which allergies are named with a dose of this drug: those that bar it, and all further
        ones."""
        further = {one.id for one in self.further_allergens}
        told = further.union(self.barred_by(drug))
        return tuple(one for one in self.all_allergens() if one.id in told)

    def sound_like(self, drug: Drug) -> tuple[str, ...]:
        """The names of the other drugs here that are taken for its own; of no absent ones."""
        here = {one.id: one.called for one in self.drugs}
        return tuple(here[other] for other in drug.sounds_like if other in here)

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

    def placed_uses(self) -> Iterator[tuple[Loc, Drug, Indication]]:
        """Each use of each drug, with its place in the file."""
        for at, drug in enumerate(self.drugs):
            for number, use in enumerate(drug.indications):
                yield ("drugs", at, "indications", number), drug, use

    def reasons_of(
        self, drug: Drug, indication: Indication, tongue: Tongue = ENGLISH
    ) -> Iterator[str]:
        """A sentence for each dose of one use of a drug that leaves its published range."""
        sentence = tongue.terms.dose.leaves_range
        for dose in doses_of(indication):
            if dose.reason is not None:
                yield sentence.format(
                    drug=drug.called, purpose=indication.purpose, reason=dose.reason
                )

    def from_memory(self) -> Iterator[str]:
        """Where the figures stand that were not looked up."""
        for drug in self.drugs:
            yield from _from_memory(drug, drug.id)


def doses_of(indication: Indication) -> Iterator[Dose]:
    """Its dose and, where it has them, the doses for a low pressure and for the old."""
    separate = (indication.when_pressure_is_low, indication.when_old)
    yield indication.dose
    yield from (dose for dose in separate if dose is not None)


def _from_memory(part: Any, where: str) -> Iterator[str]:
    if isinstance(part, Sourced) and part.status is Status.MEMORY:
        yield f"{where}: {part.source}"
    if isinstance(part, BaseModel):
        for name in type(part).model_fields:
            yield from _from_memory(getattr(part, name), f"{where}, {name.replace('_', ' ')}")
    elif isinstance(part, tuple):
        for one in part:
            yield from _from_memory(one, f"{where} {getattr(one, 'id', '')}".rstrip())
