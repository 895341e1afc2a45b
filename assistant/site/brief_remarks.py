"""What `check` says of a brief that is allowed, and that a second person should look at."""

from collections.abc import Iterator

from assistant.brief.brief import Attempts, Brief
from assistant.brief.conditions import condition
from assistant.brief.confirmed_items import WaveItem
from assistant.brief.phases import AIRWAY_IN, Phase
from assistant.brief.valued_items import NumberItem
from assistant.dosing.formulary import Formulary, doses_of
from assistant.site.reachable import may_ask

USUAL_LOW_MMHG = (70, 110)
"""Between these a systolic pressure is mostly called low; common practice, no source."""
USUAL_SHOCK_INDEX = (0.5, 2)
"""Between these it mostly tells of shock; common practice, no source."""

ALWAYS_REACHED = (Phase.SUPRAGLOTTIC, Phase.FRONT_OF_NECK)
"""By `rescue_start` and by `cannot_oxygenate`, whatever the plan says."""


def remarks(brief: Brief, formulary: Formulary) -> Iterator[str]:
    """A sentence for each of them."""
    yield from _low_pressures(brief)
    yield from _shock_indices(brief)
    yield from _waves(brief)
    yield from _led_to_nothing(brief)
    yield from _ends_of_the_plan(brief.attempts)
    yield from _said_again(brief.attempts)
    if _by_weight(formulary):
        yield from _no_weight(brief)


def _low_pressures(brief: Brief) -> Iterator[str]:
    least, most = USUAL_LOW_MMHG
    for item in brief.items():
        if not isinstance(item, NumberItem) or item.sets != "pressure_mmhg":
            continue
        below = item.low_pressure_below
        if below is None:
            yield f"No number counts as a low pressure: {item.id}, without low_pressure_below"
        elif not least <= below <= most:
            yield f"Unusual for a low pressure: {item.id}, below {below:g} mmHg"


def _shock_indices(brief: Brief) -> Iterator[str]:
    whens = {one for _, section, item in brief.placed() for one in (*section.when, *item.when)}
    least, most = USUAL_SHOCK_INDEX
    for text in sorted(whens):
        one = condition(text)
        if one.name == "shock_index" and not least <= one.number <= most:
            yield f"Unusual for a shock index: {text}"


def _waves(brief: Brief) -> Iterator[str]:
    for phase in AIRWAY_IN:
        if not any(isinstance(item, WaveItem) for item in brief.items_of(phase)):
            yield f"No item asks for a carbon dioxide wave in the phase {phase.value}"


def _led_to_nothing(brief: Brief) -> Iterator[str]:
    led = {Phase(step.then): None for step in brief.attempts.after_failure}
    for item in brief.items():
        for option in item.options_among(brief.roster):
            if option.leads is not None:
                led[option.leads] = None
    for phase in led:
        if phase is not Phase.BETWEEN and not any(brief.items_of(phase)):
            yield f"Nothing is asked in the phase {phase.value}, to which the plan leads"
    for phase in ALWAYS_REACHED:
        if phase not in led and not any(brief.items_of(phase)):
            yield f"Nothing is asked in the phase {phase.value}, to which a word leads at any time"


def _ends_of_the_plan(plan: Attempts) -> Iterator[str]:
    """Where the last attempt that is agreed on leads to another one."""
    last = plan.after_failure[min(plan.at_most, len(plan.after_failure)) - 1]
    if last.then == Phase.BETWEEN.value:
        yield f"After failed attempt {plan.at_most}, the last one agreed on, another one is next"


def _said_again(plan: Attempts) -> Iterator[str]:
    """Fewer steps than attempts: the last one is said from then on."""
    steps = len(plan.after_failure)
    if steps < plan.at_most:
        text = plan.after_failure[-1].say
        yield f"After failed attempt {steps + 1} of {plan.at_most}, as after {steps}: {text!r}"


def _by_weight(formulary: Formulary) -> bool:
    """Whether any dose goes by a weight."""
    uses = (use for drug in formulary.drugs for use in drug.indications)
    return any(dose.per_kilogram for use in uses for dose in doses_of(use))


def _no_weight(brief: Brief) -> Iterator[str]:
    if not any(item.figure == "weight_kg" for item in brief.items()):
        yield "No item asks for the weight, by which doses go; it can only be told"
        return
    for choice in brief.briefs:
        asked = any(
            item.figure == "weight_kg" and may_ask(choice, section, item)
            for _, section, item in brief.placed()
            if section.phase is Phase.BEFORE
        )
        if not asked:
            yield f"Asks for no weight, by which doses go: {choice.called}"
