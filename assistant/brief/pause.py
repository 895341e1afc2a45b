"""The pause before the drugs: it goes on only by a clear word, and drugs that go in override it."""

from assistant.brief.agenda import leaves_breathing
from assistant.brief.events.course import PausePassed
from assistant.brief.going_on import ask
from assistant.brief.item import Standing
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.patient import confirm_weight_again
from assistant.brief.prompts import HOLDING
from assistant.brief.seen import not_so_any_more
from assistant.brief.summing_up import sum_up, vital_first
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled


def pass_pause(now: Moment, reading: Reading) -> Steps:
    """A clear word; a plain yes is told which. What has fallen since is told first, once, and no
    drug is given by a weight that is in doubt."""
    if reading.meaning == "plain_yes":
        said = now.site.wording.may_be_said
        how = filled(now.site.wording.pause.how, yes=said.go_ahead[0], no=said.decline[0])
        yield Line(how, "say-how")
        return
    if now.case.known.weight_in_doubt:
        yield from confirm_weight_again(now)
        return
    fallen = list(not_so_any_more(now))
    if fallen:
        yield from fallen
        yield from sum_up(now)
        return
    yield Happened(PausePassed(by_word=True), "clear to give the drugs")
    no_drugs = leaves_breathing(now.case)
    yield Line(now.says.before_done_no_drugs if no_drugs else now.says.before_done, "phase-done")


def ask_what_is_open(now: Moment, _: Reading) -> Steps:
    """Not clear: what is open is asked, and the pause comes again after it. With nothing open it
    waits to be told to go on."""
    left = now.case.with_standing(Standing.OUTSTANDING)
    if left:
        yield from ask(now, vital_first(left)[0])
    else:
        yield Line(now.says.held, HOLDING)
