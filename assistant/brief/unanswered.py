"""Where nobody answers: what is said then, or done in place of asking again."""

from assistant.brief import answers, special
from assistant.brief.asked_back import drop_doubt
from assistant.brief.items import AnyItem
from assistant.brief.moment import Moment, Steps
from assistant.brief.phases import Phase
from assistant.brief.prompts import HOLDING, prompt
from assistant.brief.seen import seen_meanwhile
from assistant.brief.states import State
from assistant.brief.valued_items import FeaturesItem
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled


def nobody_answered(now: Moment, times: int) -> Steps:
    """The prompt was said that many times and nobody has answered it."""
    now.present.told = ()
    if now.case.state is State.HELD and now.case.known.held_quietly:
        if not now.case.known.is_arrested:  # "stop" may have been said to somebody else
            yield Line(now.says.still_held, "reminded")
        return
    line, timing = prompt(now), now.site.wording.timing
    if line is None:
        return
    if line.tag == HOLDING:
        yield Line(now.says.still_held, HOLDING)
        return
    if now.case.state is State.DOUBTING and times > 1:
        yield Line(now.says.refused_value, "refused")
        yield from drop_doubt(now)
        return
    current = now.case.current
    led_on = None if current is None else _instead_of_asking(now, current, times)
    if led_on is not None:
        yield from led_on
    elif times < timing.ask_at_most:
        yield Line(filled(now.says.ask_again, ask=line.text), line.tag, line.item)
    elif times == timing.ask_at_most:
        item = current if now.case.state in (State.ASKING, State.CHECKING) else None
        what = now.tongue.terms.an_answer if item is None else item.label
        yield Line(filled(now.says.waiting, item=what), "waiting", line.item)


def _instead_of_asking(now: Moment, item: AnyItem, times: int) -> Steps | None:
    """What is done in place of asking again; None where it is asked.

    Between attempts nobody is waited for: the saturation is what is looked after then. What
    nobody has answered twice is put off.
    """
    if now.case.state is not State.ASKING:
        return None
    seen = seen_meanwhile(now)
    if seen is not None:
        return answers.take_seen(now, *seen)
    in_vain = now.case.known.phase is Phase.BETWEEN and times > 1
    if item.offered or item.told_meanwhile or in_vain:
        return answers.put_off(now, item)
    told = now.case.known.items[item.id].value
    if isinstance(item, FeaturesItem) and told is not None:
        return special.settle_features(now, item)
    return None
