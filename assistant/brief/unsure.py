"""What was not surely heard, or only its end, or not understood: asked back, or asked for anew.

Each of these is what is done at a meaning that somebody probably meant, as `meanings` names it.
"""

from assistant.brief import answers, asked_back, numbers_told
from assistant.brief.going_on import go_on
from assistant.brief.moment import Moment, Steps
from assistant.brief.states import COMMANDS_IN_DOUBT, STATES, State
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line


def ask_again(now: Moment, reading: Reading) -> Steps:
    """It is asked for anew, but not during a hold: people talk then, and whoever was meant says it
    again."""
    if now.case.state is not State.HELD:
        yield from _say_again(now, reading.meaning)


def as_heard(_: Moment, _reading: Reading) -> None:
    """The same as if it was surely heard: that reads it back, asks for its digits, says what
    counts, or changes nothing."""
    return


def a_yes(now: Moment, reading: Reading) -> Steps:
    """A doubtful yes alone settles nothing: that the item is so is read back."""
    if now.case.state is State.ASKING:
        yield from answers.read_value_back(now, reading)
    else:
        yield from ask_again(now, reading)


def number(now: Moment, reading: Reading) -> Steps | None:
    """One that the item cannot have was another word; in place of the one that was read back it
    refuses that. Any other is taken as if it was surely heard."""
    if not numbers_told.cannot_be(now, reading):
        return None
    if now.case.state is State.CHECKING and numbers_told.is_put_right(now, reading):
        return answers.refuse_value(now, reading)
    return ask_again(now, reading)


def back(now: Moment, reading: Reading) -> Steps:
    """In an attempt nothing: who looks has no ear for a question."""
    if now.case.state is not State.ATTEMPTING:
        yield from ask_again(now, reading)


def pulse_back(now: Moment, reading: Reading) -> Steps:
    """Asked for anew in the silence of an arrest as well."""
    yield from _say_again(now, reading.meaning)


def _say_again(now: Moment, meaning: str) -> Steps:
    """Ask for it anew; what comes out the same and no surer is asked back by its content."""
    again, now.present.unsure = now.present.unsure == meaning, meaning
    if again and meaning in COMMANDS_IN_DOUBT:
        yield from asked_back.ask_back(now, Reading(meaning, meaning))
    elif again and STATES[now.case.state].reads_back:
        yield from go_on(now)
    else:
        yield Line(now.says.say_again, "again", now.case.known.current)


def too_early(now: Moment) -> Steps:
    """Somebody answered before the end of the question, and was heard from the middle only."""
    yield Line(now.says.too_early, "again", now.case.known.current)


def not_understood(now: Moment) -> Steps:
    """Somebody has said something when an answer was awaited, and it was none that is known: in a
    word, what is."""
    case, plain = now.case, now.site.wording.may_be_said.plain_yes
    if case.state is State.ASKING and case.current is not None:
        item = case.current
        settled_by_yes = bool(plain) and item.confirmed and not item.telling_only
    else:
        settled_by_yes = case.state in (State.CHECKING, State.DOUBTING)
    text = now.says.yes_or_no if settled_by_yes else now.says.too_early
    yield Line(text, "again", case.known.current)
