"""What a page shows of a case: words and numbers, ready to be put into its tables."""

from collections.abc import Mapping
from typing import Any

from assistant.debrief.drugs import Drugs, Reason, SpokenDose, WentIn
from assistant.debrief.figures import Figure, figures
from assistant.debrief.findings import Measures
from assistant.debrief.key_moments import key_moments
from assistant.debrief.lanes import numbered_calls
from assistant.debrief.measured_lines import outcome_of, unheard
from assistant.debrief.report import Shown
from assistant.debrief.timeline import Timeline
from assistant.debrief.times import clock, short_time

View = Mapping[str, Any]
AT_A_GLANCE = (
    *("brief_s", "loops_closed_percent", "closed_at_first_asking_percent", "median_to_answer_s"),
    *("oxygen_to_drugs_s", "drugs_to_tube_s", "no_breath_s", "attempts", "call_to_response_s"),
    "low_s",
)
_WHY_NONE: Mapping[Reason, str] = {
    "rate": "which is a rate, and no dose that went in",
    "arrest": "but in an arrest the dose is another one",
    "in doubt": "but the weight was in doubt by then",
}


def happened(timeline: Timeline, measures: Measures) -> list[View]:
    """What the case came to, which stands before all numbers."""
    shown = Shown(timeline)
    return [
        {
            "at": clock(one.at_s),
            "what": f"{one.what[0].upper()}{one.what[1:]}",
            "said": one.quoted,
            "spo2": shown.at(one.at_s),
        }
        for one in key_moments(timeline, measures)
    ]


def at_a_glance(measures: Measures) -> list[View]:
    """The few numbers that stand at the head."""
    found = {one.name: one for one in figures(measures)}
    shown = [found[name] for name in AT_A_GLANCE if name in found]
    told = [_at_a_glance(one) for one in shown if one.value is not None or one.remark]
    lowest = measures.lowest_saturation
    if lowest is not None:
        value = f"{lowest.spo2_percent} % at {clock(lowest.at_s)}"
        told.append({"name": "Lowest saturation on record", "value": value, "remark": ""})
    said = measures.utterances
    told.append(
        {
            "name": "Utterances to the assistant, and room talk",
            "value": f"{said.heard} and {said.ignored}",
            "remark": "",
        }
    )
    return told


def _at_a_glance(figure: Figure) -> View:
    if figure.value is None:  # what is not known has a remark only
        value, remark = figure.remark, ""
    elif figure.definition.unit == "s":
        value, remark = short_time(figure.value), figure.remark
    else:
        value, remark = figure.told(), ""
    return {"name": figure.definition.title, "value": value, "remark": remark}


def called(timeline: Timeline, measures: Measures) -> list[View]:
    """The watcher's calls, by the numbers that they have in the drawing."""
    responses = {one.called_at_s: one for one in measures.responses}
    unheard_at = {one.at_s: unheard(one) for one in measures.calls + measures.losses if one.unheard}
    found: list[View] = []
    for number, one in numbered_calls(timeline):
        answer = None if one.at_s is None else responses.get(one.at_s)
        how = "not known" if measures.items is None else ""
        how = how if answer is None else answer.how or "nothing on record"
        counts = answer is not None and answer.how is not None and not answer.already
        took = ""
        if answer is not None and counts:
            took = "not known" if answer.took_s is None else short_time(answer.took_s)
        text = one.text + (f" ({unheard_at[one.at_s]})" if one.at_s in unheard_at else "")
        found.append(
            {"number": number, "at": clock(one.at_s), "text": text, "how": how, "took": took}
        )
    return found


def attempts(measures: Measures) -> list[View]:
    """Each attempt as it was told."""
    return [
        {
            "number": one.number,
            "at": clock(one.started_at_s),
            "lasted": short_time(one.lasted_s),
            "outcome": outcome_of(one) or "not told",
            "told": "; ".join(one.told) or "not told",
        }
        for one in measures.attempts
    ]


def clocks(measures: Measures) -> list[View]:
    """Each run of each clock."""
    found: list[View] = []
    for one in measures.clocks:
        lasted = "not known: the machine was started anew" if one.unknown else "to the end"
        if one.lasted_s is not None:
            lasted = short_time(one.lasted_s)
        found.append({"name": one.name, "at": clock(one.started_at_s), "lasted": lasted})
    return found


def doses(drugs: Drugs) -> list[View]:
    """Each dose that the assistant has spoken, and until when it held."""
    found: list[View] = []
    for one in drugs.doses:
        value = one.entry.values
        volume, per_h = value.get("volume_ml"), value.get("volume_ml_per_h")
        what_if = ", what if" if one.what_if else ""
        found.append(
            {
                "at": clock(one.entry.at_s),
                "spoken": f"{value.get('drug', '?')}, {_use(one)}",
                "dose": one.amount,
                "volume": f"{volume} mL" if volume else f"{per_h} mL/h" if per_h else "",
                "weight": f"{one.told_for}{what_if}{_until(one)}",
            }
        )
    return found


def _use(dose: SpokenDose) -> str:
    return str(dose.entry.values.get("indication", "?")).replace("-", " ")


def _until(dose: SpokenDose) -> str:
    if dose.held_until_s is None:
        return ""
    by = f" ({dose.outdated_by})" if dose.outdated_by else ""
    return f"; outdated at {clock(dose.held_until_s)}{by}"


def given(drugs: Drugs) -> list[View]:
    """What was told to be in, each drug by its name, with the dose that was told for this patient;
    or why none was in force."""
    return [
        {
            "at": clock(one.at_s),
            "text": f"{_what_went_in(one)}{_against(one)}.",
            "taken_back": "" if one.taken_back_at_s is None else clock(one.taken_back_at_s),
        }
        for one in drugs.given
    ]


def _what_went_in(one: WentIn) -> str:
    if one.drug is None:
        return "the drugs, without their names"
    if one.amount is not None:
        return f"{one.drug}; {one.amount} was told{_put_right(one)}"
    if one.dose is None:
        return f"{one.drug}; no dose was asked for"
    if one.why_none == "again":
        return f"{one.drug}, given again; no new dose was asked for"
    return f"{one.drug}; {_why_no_dose(one, one.dose)}"


def _against(one: WentIn) -> str:
    return f"; against an allergy to {' and '.join(one.against)}" if one.against else ""


def _why_no_dose(one: WentIn, told: SpokenDose) -> str:
    if told.what_if:
        return f"a dose was told for another weight only, {told.told_for}"
    was = f"{told.amount} was told for {told.told_for}, "
    if one.why_none is not None:
        return f"{was}{_WHY_NONE[one.why_none]}"
    by = f" by “{told.outdated_by}”" if told.outdated_by else ""
    return f"{was}and outdated at {clock(told.held_until_s)}{by}"


def _put_right(one: WentIn) -> str:
    if one.put_right is None:
        return ""
    at_s, weight_kg = one.put_right
    return f"; weight put right to {weight_kg:g} kg at {clock(at_s)}, after it was in"


def expected(measures: Measures) -> list[View]:
    """What a scenario expected."""
    shapes = {"in time": "closed", "late": "later", "never": "open"}
    return [
        {
            "mark": shapes.get(one.outcome, ""),
            "action": one.action,
            "outcome": one.told,
            "why": one.why,
            "took": short_time(one.took_s) if one.applies else "",
            "within": short_time(one.within_s),
            "after": one.after,
            "at": "" if one.due_at_s is None else clock(one.due_at_s),
        }
        for one in measures.expected
    ]
