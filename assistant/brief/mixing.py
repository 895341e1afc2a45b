"""How a drug is mixed: read out one step at a time, each confirmed before the next."""

from assistant.brief.dose_questions import found, not_here
from assistant.brief.events.asides import MixBegun, MixDone, MixStep
from assistant.brief.going_on import go_on
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.prompts import recipe_steps
from assistant.dosing.drugs import Drug, Indication
from assistant.dosing.formulary import Entry
from assistant.dosing.units import said_in, spoken
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled


def ask_mix(now: Moment, reading: Reading) -> Steps:
    """The first step; of a drug of several preparations, the one of the use that was named.

    A drug's bare name means its first preparation that has to be mixed.
    """
    asked = str(reading.values["drug"])
    entry = found(now, asked)
    if entry is None:
        yield from not_here(now, asked)
        return
    key = _key_with_recipe(entry, asked)
    if key is None:
        strength = _strength(entry.drug, entry.indication, now)
        says = now.says.mix_none
        yield Line(filled(says, drug=entry.drug.called, strength=strength), "mix-none")
    else:
        yield Happened(MixBegun(drug=key), f"how to mix {entry.drug.called}")
    yield from go_on(now)


def mix_next_step(now: Moment, _: Reading) -> Steps:
    """The step is done: the next one, or what it has come to."""
    mixing = now.case.known.mixing
    if mixing is None:
        return
    steps = recipe_steps(now, mixing.drug)
    if mixing.step + 1 < len(steps):
        done = steps[mixing.step]
        yield Happened(MixStep(step=mixing.step + 1), f"done: {done}")
    else:
        drug, use = now.site.formulary.entry(mixing.drug)
        strength = _strength(drug, use, now)
        yield Happened(MixDone(), f"{drug.called} is mixed")
        text = filled(now.says.mix_done, drug=drug.called, strength=strength)
        yield Line(text, "mix-done")
    yield from go_on(now)


def mix_wait(now: Moment, _: Reading) -> Steps:
    """The step is not done yet."""
    yield Line(now.says.mix_not_yet, "mix-not-yet")


def _strength(drug: Drug, use: Indication, now: Moment) -> str:
    strength = drug.preparation(use).strength.quantity
    return spoken(said_in(strength, strength), now.tongue)


def _key_with_recipe(entry: Entry, key: str) -> str | None:
    drug, use = entry
    uses = (use,) if "/" in key else drug.indications
    for one in uses:
        if drug.preparation(one).recipe is not None:
            return f"{drug.id}/{one.id}"
    return None
