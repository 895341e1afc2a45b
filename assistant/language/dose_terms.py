"""The sentences in which doses and the other numbers of the room are told. English by default."""

from typing import Annotated

from assistant.files.templates import Template, all_of, with_all
from assistant.files.word_forms import Spoken
from assistant.files.yaml_files import SiteModel


class WeightTerms(SiteModel):
    """The kinds of weight that a dose goes by."""

    total: Spoken = "total"
    ideal: Spoken = "ideal"
    lean: Spoken = "lean"
    adjusted: Spoken = "adjusted"
    predicted: Spoken = "predicted"

    def named(self, kind: str) -> str:
        """By the name of its field."""
        words: str = getattr(self, kind)
        return words


class DoseTerms(SiteModel):
    """How a dose is told, and why there is none."""

    opening: Annotated[Template, all_of("drug", "purpose", "pressure", "basis")] = (
        "{drug} {purpose}{pressure}, {basis}"
    )
    low_pressure: Spoken = ", low pressure dose"
    for_age: Spoken = ", reduced for age"
    """In the place of `{pressure}`, for the separate dose of the old."""
    for_frailty: Spoken = ", reduced for frailty"
    """The same, for somebody who is frail and not old."""
    by_weight: Annotated[Template, all_of("weight", "kind")] = "{weight} {kind} weight"
    by_weight_and_index: Annotated[Template, all_of("weight", "kind", "index")] = (
        "{weight} {kind} weight for body mass index {index}"
    )
    """Where the index decided between total weight and another: it says which, and why."""
    weights: WeightTerms = WeightTerms()
    fixed_dose: Spoken = "fixed dose"
    fixed_rate: Spoken = "fixed rate"
    dose_first: Annotated[Template, all_of("opening", "dose", "volume", "strength", "check")] = (
        "{opening}: {dose}. That is {volume} of {strength}. {check}"
    )
    volume_first: Annotated[Template, all_of("opening", "dose", "volume", "strength", "check")] = (
        "{opening}: {volume} of {strength}. That is {dose}. {check}"
    )
    capped: Annotated[Template, all_of("dose")] = "capped at the maximum of {dose}"
    capped_after: Annotated[Template, all_of("dose")] = "{dose}, capped at the maximum"
    """As `capped`, where the dose comes last."""
    most_at_once: Annotated[Template, all_of("amount")] = "at most {amount} at once"
    most_in_all: Annotated[Template, all_of("amount")] = "at most {amount} in all"
    highest_starting_rate: Annotated[Template, all_of("amount")] = (
        "highest rate to start with {amount}"
    )
    highest_rate: Annotated[Template, all_of("amount")] = "highest rate {amount}"
    rounded: Annotated[Template, all_of("volume")] = "{volume}, rounded,"
    rounded_up: Annotated[Template, all_of("volume", "percent")] = (
        "{volume}, rounded up by {percent} percent,"
    )
    """Instead, where the volume holds more than a twentieth more than the dose."""
    rounded_down: Annotated[Template, all_of("volume", "percent")] = (
        "{volume}, rounded down by {percent} percent,"
    )
    vials: Annotated[Template, all_of("count")] = "That takes {count} vials."
    """Said when it takes more than one."""
    mixes: Annotated[Template, all_of("count")] = "That takes {count} mixes."
    """The same of what is mixed by a recipe."""
    fast_pump: Annotated[Template, all_of("rate")] = (
        "That is fast for a pump, above {rate} millilitres an hour."
    )
    check: Spoken = "Check the label in hand."
    none: Annotated[Template, all_of("drug", "reason")] = "No dose of {drug}: {reason}"
    none_at_low_pressure: Annotated[Template, with_all("drug", "reason", perhaps=("purpose",))] = (
        "No {drug} {purpose} while the pressure is low: {reason}."
    )
    leaves_range: Annotated[Template, all_of("drug", "purpose", "reason")] = (
        "{drug} {purpose} is {reason}."
    )
    """Said with a dose that the site gives outside its published range."""
    weight_unknown: Spoken = "I do not know the weight."
    body_unknown: Annotated[Template, with_all("missing", perhaps=("kind",))] = (
        "it goes by {kind} weight here, and I do not know {missing}."
    )
    too_small: Spoken = "it is too small to draw up at this strength."
    the_height: Spoken = "the height"
    the_sex: Spoken = "the sex"
    either: Annotated[Template, all_of("one", "other")] = "{one} or {other}"
    both: Annotated[Template, all_of("one", "other")] = "{one} and {other}"
    draw_up: Annotated[Template, all_of("volume", "drug", "strength")] = (
        "Draw up {volume} of {drug}, {strength}."
    )
    take_powder: Annotated[Template, all_of("drug", "amount")] = (
        "Take the vial of {drug} powder, {amount}."
    )
    not_from: Annotated[Template, all_of("strengths")] = "Not from {strengths}."
    """The ampoules of the same drug that are not for this."""
    nor: Spoken = "or"
    apart: Annotated[Template, all_of("drug", "others")] = "{drug}, not {others}"
    """A name that sounds like others, as it is read back; `nor` stands between these."""
    add: Annotated[Template, all_of("added", "with_what", "volume")] = (
        "Add {added} of {with_what}: {volume} in all."
    )
    empty_bag: Annotated[Template, all_of("taken", "volume", "with_what")] = (
        "Take {taken} out of a bag of {volume} of {with_what}."
    )
    into_bag: Annotated[Template, all_of("drawn")] = "Put the {drawn} into the bag."
    make_up: Annotated[Template, all_of("volume", "with_what")] = (
        "Make it up to {volume} with {with_what}."
    )
    label: Annotated[Template, all_of("drug", "strength")] = (
        "Mix it and label it: {drug}, {strength}."
    )


class RoomTerms(SiteModel):
    """How the other numbers of the room are told."""

    unknown: Annotated[Template, all_of("missing")] = "I do not know {missing}: tell me."
    predicted_weight: Annotated[Template, all_of("weight", "volume", "per_kilogram")] = (
        "Predicted body weight {weight}. Tidal volume {volume}: {per_kilogram} for each kilogram."
    )
    ventilator: Annotated[
        Template, all_of("whom", "breaths", "oxygen", "peep", "plateau", "volume")
    ] = (
        "Ventilator {whom}: {breaths} breaths a minute, {oxygen} percent oxygen, peep {peep}, "
        "plateau at most {plateau}, {volume}."
    )
    to_start_with: Spoken = "to start with"
    for_acidosis: Spoken = "for acidosis"
    for_obstruction: Spoken = "for trapped air, with a long time to breathe out"
    tidal_volume: Annotated[Template, all_of("volume")] = "tidal volume {volume}"
    tidal_per_kilogram: Annotated[Template, all_of("volume", "unknown")] = (
        "tidal volume {volume} for each kilogram of predicted body weight. {unknown}"
    )
    """While height or sex is not known: `{unknown}` says so."""
    tube: Annotated[Template, all_of("whom", "size", "depth")] = (
        "Tube for {whom}: size {size}, {depth} at the teeth."
    )
    other_tube: Annotated[Template, all_of("whom", "size", "depth")] = (
        "For {whom}: size {size}, {depth} at the teeth."
    )
    """The second of two."""
    depth_by_height: Annotated[Template, all_of("depth")] = "By height, about {depth}."
    """Before a tube's depth is read back that is far from it."""
    men: Spoken = "men"
    women: Spoken = "women"
    cylinder: Annotated[Template, all_of("cylinder", "bar", "litres", "minutes", "reserve")] = (
        "{cylinder}, {bar} bar, {litres} litres a minute: about {minutes}, with {reserve} bar left "
        "at the end."
    )
    cylinder_holds: Annotated[Template, all_of("cylinder", "full", "bar")] = (
        "The {cylinder} holds at most {full} bar; I heard {bar}."
    )
    no_flow: Spoken = "Without a flow there is no time to tell."
