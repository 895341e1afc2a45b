"""What was not said to its end: what of it comes later."""

import pytest

from assistant.conversation.cut_lines import CutLines
from assistant.speaking.mouth import CutLine, Line, Urgency

FAILED = "First attempt has failed. Bag now, oxygen up. Say what changes before the next attempt."
SECOND = "Say what changes before the next attempt."


def cut(
    tag: str, text: str, rest: str, left_s: float, urgency: Urgency = Urgency.ANSWER
) -> CutLine:
    """A line of 6 s, of which so much is left."""
    return CutLine(Line(text, tag, urgency=urgency), Line(rest, tag, urgency=urgency), 6.0, left_s)


def test_a_time_is_not_said_again_after_a_call() -> None:
    """It is another one by then."""
    one = cut("time", "Sixty seconds.", "Sixty seconds.", 5.5, Urgency.TIME)
    assert CutLines().after_a_call(one) is None


def test_a_plan_goes_on_with_the_sentence_that_was_cut() -> None:
    """Not from its beginning; cut there once more it is not said a third time."""
    lines = CutLines()
    rest = lines.after_a_call(cut("attempt-failed", FAILED, SECOND, 2.5))
    assert rest is not None
    assert rest.text == SECOND
    assert lines.after_a_call(cut("attempt-failed", SECOND, SECOND, 5.0)) is None


def test_what_was_nearly_said_is_not_said_again() -> None:
    """All but a third of it."""
    assert CutLines().after_a_call(cut("attempt-failed", FAILED, SECOND, 1.9)) is None


@pytest.mark.parametrize(
    ("tag", "urgency", "says"),
    [
        ("ask", Urgency.ASK, SECOND),
        ("read-back", Urgency.ANSWER, SECOND),
        ("dose", Urgency.ANSWER, FAILED),
        ("given-allergy", Urgency.ANSWER, FAILED),
        ("doses-changed", Urgency.ANSWER, FAILED),
        ("given-weight", Urgency.ANSWER, FAILED),
        ("note", Urgency.SAFETY, FAILED),
    ],
)
def test_what_counts_to_its_last_word_is_said_to_its_end(
    tag: str, urgency: Urgency, says: str
) -> None:
    """However often it is cut: a question, a dose, what is about safety."""
    lines = CutLines()
    for _ in range(3):
        rest = lines.after_a_call(cut(tag, FAILED, SECOND, 0.5, urgency))
        assert rest is not None
        assert rest.text == says


def test_a_plan_that_a_remark_cut_is_not_agreed_to_unheard() -> None:
    """Its question alone would be; in its place comes what nobody has heard."""
    lines = CutLines()
    plan = Line("We try twice. Then we bag. Agreed?", "ask", "plan", Urgency.ASK)
    rest = Line("Then we bag. Agreed?", "ask", "plan", Urgency.ASK)
    short = Line("Agreed?", "ask", "plan", Urgency.ASK)
    lines.by_words(CutLine(plan, rest, 6.0, 4.0))

    other = Line("Suction?", "ask", "suction", Urgency.ASK)
    assert lines.gone_on_with(other) == other
    assert lines.gone_on_with(short) == rest
    assert lines.gone_on_with(short) == short
    lines.by_words(CutLine(plan, rest, 6.0, 4.0))
    assert lines.gone_on_with(plan) == plan


def test_what_was_not_said_of_a_plan_is_said_in_whichever_words_it_is_asked_again() -> None:
    """In full or in few words: nobody agrees to a plan of which only the beginning was heard."""
    plan = Line("One thing is done first. Then another one is done. Agreed?", "ask", "plan")
    rest = Line("Then another one is done. Agreed?", "ask", "plan")
    lines = CutLines()
    lines.by_words(CutLine(plan, rest, 6.0, 3.0))
    assert lines.gone_on_with(Line("Is this the team's plan?", "ask", "plan")) == rest


def test_a_read_back_that_was_cut_leaves_no_older_value() -> None:
    """ "No, eighty" cuts it: what is said then is what was heard then."""
    seventy = Line("I heard seventy. Correct?", "read-back", "weight")
    lines = CutLines()
    lines.by_words(CutLine(seventy, seventy, 3.0, 2.0))
    eighty = Line("I heard eighty. Correct?", "read-back", "weight")
    assert lines.gone_on_with(eighty) == eighty


def test_what_a_call_had_cut_waits_until_it_begins_again() -> None:
    """Who speaks before that cuts it for good; what is about safety is said all the same."""
    lines, dose = CutLines(), cut("dose", FAILED, SECOND, 4.0)
    assert lines.after_a_call(dose) is not None
    assert lines.after_a_call(cut("note", FAILED, SECOND, 4.0, Urgency.SAFETY)) is not None
    assert lines.waiting() is dose
    assert lines.waiting() is None
    rest = lines.after_a_call(dose)
    assert rest is not None
    lines.began(rest)
    assert lines.waiting() is None
