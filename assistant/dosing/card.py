"""A site's drug card for one patient, as a page to print or look at.

Plain on purpose: one table in black on white, in the order of the formulary. Nothing is grouped by
weight, and no colour carries a meaning.
"""

from collections.abc import Iterator
from dataclasses import replace
from html import escape

from assistant.dosing.answers import CHECK_THE_LABEL, maximum_of
from assistant.dosing.doses import dose_of, refuse_unless_adult
from assistant.dosing.drugs import Drug, Indication
from assistant.dosing.formulary import Formulary
from assistant.dosing.patient import Patient
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import written

_PAGE = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>{title}</title>
<style>
body {{ font: 11pt/1.35 sans-serif; margin: 1.5em; color: #000; background: #fff; }}
table {{ border-collapse: collapse; width: 100%; table-layout: fixed; }}
th:nth-child(1), th:nth-child(2) {{ width: 14%; }}
th:nth-child(3) {{ width: 9%; }}
th:nth-child(4), th:nth-child(5) {{ width: 15%; }}
th, td {{ border: 1px solid #000; padding: .25em .4em; text-align: left; vertical-align: top; }}
td {{ overflow-wrap: break-word; }}
thead {{ display: table-header-group; }}
tr {{ break-inside: avoid; }}
small {{ font-size: 8.5pt; }}
@media print {{ body {{ font-size: 9.5pt; margin: 0; }} }}
</style>
</head>
<body>
<h1>{title}</h1>
<p><strong>{patient}</strong></p>
<p>{caution}</p>
<table>
<thead><tr><th>Drug</th><th>For</th><th>Dose</th><th>Volume</th><th>When the pressure is low</th>\
<th>Note</th></tr></thead>
<tbody>
{rows}
</tbody>
</table>
{confirmed}<p><small>Sources: {sources}</small></p>
</body>
</html>
"""
_CAUTION = (
    "Not a medical device. Local protocol and the licensed clinician decide. "
    f"{CHECK_THE_LABEL} A card for one patient only: destroy it after use."
)


def card(formulary: Formulary, patient: Patient) -> str:
    """The page, as HTML that loads nothing else.

    A drug without a dose for this patient keeps its row, with the reason in it. Raises NoDose when
    the weight or height is not an adult's: then there is no dose at all.
    """
    refuse_unless_adult(patient, formulary.adults)
    return _PAGE.format(
        title=escape(f"{formulary.name}: doses"),
        patient=escape(patient.written()),
        caution=escape(_CAUTION),
        rows="\n".join(
            _row(formulary, drug, use, patient)
            for drug in formulary.drugs
            for use in drug.indications
        ),
        confirmed="".join(
            f"<p>Outside the program's reference: {escape(one.told())}</p>\n"
            for one in formulary.confirmed
        ),
        sources=escape("; ".join(dict.fromkeys(_sources(formulary)))),
    )


def _row(formulary: Formulary, drug: Drug, use: Indication, patient: Patient) -> str:
    dose, volume = _dose(formulary, drug, use, replace(patient, low_pressure=False))
    if use.when_pressure_is_low is None and use.never_when_pressure_is_low is None:
        low = "as usual"
    else:
        found = _dose(formulary, drug, use, replace(patient, low_pressure=True))
        low = " = ".join(filter(None, found))
    cells = (drug.called, use.purpose, dose, volume, low, " ".join(_mind(drug, use)))
    return f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in cells)}</tr>"


def _dose(formulary: Formulary, drug: Drug, use: Indication, patient: Patient) -> tuple[str, str]:
    """Dose and volume; when there is no dose, the reason and an empty volume."""
    try:
        answer = dose_of(
            drug,
            patient,
            adults=formulary.adults,
            syringes=formulary.syringes,
            indication=use.id,
        )
    except NoDose as refusal:
        return str(refusal), ""
    capped = " (capped at the maximum)" if answer.capped else ""
    if answer.reduced:
        capped += " (reduced for age)" if answer.for_age else " (reduced for frailty)"
    rounded = " (rounded)" if answer.rounded else ""
    volume = f"{written(answer.volume)}{rounded} of {written(answer.strength)}"
    if answer.drawn_up():
        volume += f" ({answer.drawn_up()})"
    return f"{written(answer.dose)}{capped}", volume


def _mind(drug: Drug, use: Indication) -> Iterator[str]:
    for check in use.ask_before:
        yield f"First: {check.ask}"
    most = maximum_of(use, written(use.maximum.most.quantity))
    yield f"{most[:1].upper()}{most[1:]}."
    if use.when_old is not None:
        frail = ", and for the frail," if use.when_old.frail_too else ""
        yield f"From {use.when_old.from_age_years} years on{frail} usually {use.when_old.usual}."
    recipe = drug.preparation(use).recipe
    if recipe is not None:
        yield " ".join(recipe.steps(drug.called, drug.preparation(use).strength, drug.supplied))
    yield from use.said_with_dose
    yield from drug.cautions


def _sources(formulary: Formulary) -> Iterator[str]:
    for drug in formulary.drugs:
        for use in drug.indications:
            yield f"{use.dose.published.source} ({use.dose.published.status.value})"
