"""Any case: random words, doubts, silence, calls and losses, shrunk to the shortest that fails."""

from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.brief.case import Case
from assistant.brief.item import Standing
from assistant.brief.states import VITAL, State
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.phrasebook.sense import makes_sense
from assistant.rehearsal.text_case import TextCase
from assistant.rehearsal.typed import TypedPhrases
from tests.tarn_hollow import SITE

PHRASES = TypedPhrases(Phrasebook(SITE))
SAID = SITE.wording.may_be_said
CONFIRMING = {"confirm", "plain_yes", "number", "choose", "name", "not_applicable"}
VITAL_SAID = [getattr(SAID, meaning)[0] for meaning in VITAL]

STEPS = st.one_of(
    st.tuples(
        st.just("anything"), st.integers(0, 9999), st.sampled_from([True, True, True, False])
    ),
    st.tuples(st.just("vital"), st.sampled_from(VITAL_SAID), st.booleans()),
    st.tuples(st.just("yes"), st.sampled_from(["yes", "yes confirmed", "no", "not yet"])),
    st.tuples(st.just("silence"), st.sampled_from([1.0, 8.0, 40.0])),
    st.tuples(st.just("call"), st.integers(80, 93)),
    st.tuples(st.just("lost"), st.booleans()),
)


def done(case: Case) -> set[str]:
    """The items that count as done; an offer that nobody wants counts as nothing."""
    items = {item.id: item for item in case.brief.items()}
    return {
        name
        for name, one in case.known.items.items()
        if one.standing is Standing.DONE and not items[name].offered
    }


def take(talk: TextCase, step: tuple) -> bool:
    """Have one step happen; whether it was a sure confirmation that was taken for one."""
    kind, what = step[0], step[1]
    if kind == "silence":
        talk.waits(what)
        return False
    if kind == "call":
        talk.called(what)
        return False
    if kind == "lost":
        talk.restarts(rebooted=what)
        return False
    words = talk.any_words(Random(what)) if kind == "anything" else what
    sure = step[2] if len(step) > 2 else True
    talk.hears(words, sure=sure)
    row = talk.heard
    confirms = row is not None and row.kind == "heard" and row.meaning in CONFIRMING
    return confirms and row.data["verdict"] == "accept"


def close(talk: TextCase) -> None:
    """End the case from wherever it is, as people would."""
    for words in ("no", "the attempt failed", "yes confirmed", "end the case", "yes confirmed"):
        if talk.case.state is not State.ENDED:
            talk.hears(words)


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(st.lists(STEPS, max_size=22))
def test_whatever_happens_nothing_is_lost_and_the_case_can_be_ended(steps: list[tuple]) -> None:
    """Vital words are always listened for, nothing is done but by a sure confirmation, and the
    record gives the same case again.
    """
    talk = TextCase(SITE, phrases=PHRASES, word_s=0)
    try:
        for step in steps:
            if talk.case.state is State.ENDED:
                break
            before = done(talk.case)
            confirmed = take(talk, step)
            assert confirmed or done(talk.case) <= before, step
            if talk.case.state is not State.ENDED:
                assert all(makes_sense(talk.case, meaning) for meaning in VITAL), talk.case.state
        close(talk)
        assert talk.case.state is State.ENDED
        again = Case.rebuilt(SITE.brief, talk.rows)
        assert (again.unread, again.known) == ([], talk.case.known)
    finally:
        talk.close()
