"""Dose questions: drug and weight are read back and confirmed before any dose is spoken."""

from assistant.brief.desk import Desk, Happening, Steps
from assistant.brief.going_on import go_on
from assistant.dosing.doses import dose_of
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import plain
from assistant.hearing.heard import Reading
from assistant.speaking.mouth import Line


def ask_dose(desk: Desk, reading: Reading) -> Steps:
    weight_kg = reading.values.get("weight_kg", desk.case.known.weight_kg)
    if weight_kg is None:
        yield Line(desk.says.dose_no_weight, "no-weight")
        yield from go_on(desk)
        return
    drug = desk.site.formulary.drug(str(reading.values["drug"]))
    kilograms = int(weight_kg)
    what_if = kilograms != desk.case.known.weight_kg
    yield Happening(
        "dose-queried",
        f"{drug.called} for {kilograms} kg?",
        values={"drug": drug.id, "weight_kg": kilograms, "what_if": what_if},
    )
    yield from go_on(desk)


def tell_dose(desk: Desk) -> Steps:
    quote = desk.case.known.quote
    if quote is None:
        return
    formulary = desk.site.formulary
    try:
        answer = dose_of(
            formulary.drug(quote.drug),
            quote.weight_kg,
            adults=formulary.adults,
            height_cm=desk.case.known.height_cm,
        )
    except NoDose as refusal:
        yield Happening("dose-dropped", str(refusal))
        yield Line(str(refusal), "dose-refused")
        yield from go_on(desk)
        return
    yield Happening(
        "dose-told",
        answer.written(),
        values={
            "drug": quote.drug,
            "weight_kg": quote.weight_kg,
            "what_if": quote.what_if,
            "dose": plain(answer.dose.amount),
            "unit": answer.dose.unit.value,
            "volume_ml": plain(answer.volume_ml),
            "source": answer.source,
        },
    )
    spoken = answer.spoken()
    yield Line(
        desk.filled(desk.says.dose_what_if, dose=spoken) if quote.what_if else spoken, "dose"
    )
    yield from go_on(desk)
