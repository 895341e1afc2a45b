"""How a drug is mixed: read out one step at a time, each confirmed before the next."""

from assistant.brief.dose_questions import found, not_here
from assistant.brief.going_on import go_on
from assistant.brief.prompts import recipe_steps
from assistant.brief.situation import Desk, Happening, Steps
from assistant.dosing.formulary import Entry
from assistant.dosing.units import spoken
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line


def ask_mix(desk: Desk, reading: Reading) -> Steps:
    """The first step; of a drug of several preparations, the one of the use that was named.

    A drug's bare name means its first preparation that has to be mixed.
    """
    entry = found(desk, reading)
    if entry is None:
        yield from not_here(desk, reading)
        return
    key = _key_with_recipe(entry, str(reading.values["drug"]))
    if key is None:
        strength = spoken(entry.drug.preparation(entry.indication).strength, desk.tongue)
        says = desk.says.mix_none
        yield Line(desk.filled(says, drug=entry.drug.called, strength=strength), "mix-none")
    else:
        yield Happening("mix-begun", f"how to mix {entry.drug.called}", values={"drug": key})
    yield from go_on(desk)


def confirm_step(desk: Desk) -> Steps:
    """The step is done: the next one, or what it has come to."""
    mixing = desk.case.known.mixing
    if mixing is None:
        return
    steps = recipe_steps(desk, mixing.drug)
    if mixing.step + 1 < len(steps):
        done = steps[mixing.step]
        yield Happening("mix-step", f"done: {done}", values={"step": mixing.step + 1})
    else:
        drug, use = desk.site.formulary.entry(mixing.drug)
        strength = spoken(drug.preparation(use).strength, desk.tongue)
        yield Happening("mix-done", f"{drug.called} is mixed")
        text = desk.filled(desk.says.mix_done, drug=drug.called, strength=strength)
        yield Line(text, "mix-done")
    yield from go_on(desk)


def step_not_yet(desk: Desk) -> Steps:
    yield Line(desk.says.mix_not_yet, "mix-not-yet")


def _key_with_recipe(entry: Entry, key: str) -> str | None:
    drug, use = entry
    uses = (use,) if "/" in key else drug.indications
    for one in uses:
        if drug.preparation(one).recipe is not None:
            return f"{drug.id}/{one.id}"
    return None
