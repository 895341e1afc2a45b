"""What is listened for: every question and fact of the site, whenever one may speak."""

from dataclasses import replace

import pytest

from assistant.brief.case import Case
from assistant.brief.states import FACTS, QUESTIONS, STATES, VITAL, State
from assistant.grammar.grammar import Danger, Pattern
from assistant.hearing.engines.closed.verdicts import fitted
from assistant.language.numbers import wordings
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import Site, load_site
from tests.tarn_hollow import SITE

SILENT = (State.HELD, State.DOUBTING, State.CLOSING, State.ATTEMPTING, State.ENDED)


@pytest.fixture(scope="module")
def site() -> Site:
    """The example site."""
    return SITE


@pytest.mark.parametrize("state", [state for state in State if state not in SILENT])
def test_questions_and_facts_at_any_time(state: State) -> None:
    """Also in the middle of an item, of a read-back and of a recipe."""
    assert set(QUESTIONS) <= set(STATES[state].hears)
    assert set(FACTS) <= set(STATES[state].hears)


def test_every_question_has_a_phrase_in_the_grammar(site: Site) -> None:
    """No meaning of the site is lost on its way into the grammar."""
    case = Case(site.brief)
    heard = {pattern.meaning for pattern in Phrasebook(site).now(case).patterns}
    assert set(QUESTIONS) | set(FACTS) <= heard


def test_no_vital_word_is_an_answer_too(site: Site) -> None:
    """Else the one would hide the other while that item is asked."""
    said = site.wording.may_be_said
    vital = {words for meaning in VITAL for words in getattr(said, meaning)}
    others = {
        words
        for meaning in type(said).model_fields
        if meaning not in VITAL
        for words in getattr(said, meaning)
    }
    for item in site.brief.items():
        others |= {*item.told_plainly, *item.telling_answers, *item.own_exceptions}
        others |= {words for one in item.options_among(site.brief.roster) for words in one.said}
    assert vital & others == set()
    assert len(vital) == sum(len(getattr(said, meaning)) for meaning in VITAL)


def test_no_phrase_stands_for_two_meanings(site: Site) -> None:
    """In no state do two patterns have the same words."""
    case = Case(site.brief)
    for item in site.brief.items():
        case.state, case.known.current = State.ASKING, item.id
        words = [pattern.words for pattern in Phrasebook(site).now(case).patterns]
        assert len(words) == len(set(words))


def test_drugs_that_are_not_here_are_heard_as_themselves(site: Site) -> None:
    """Else they would be taken for the nearest drug that is."""
    fillers = Phrasebook(site).now(Case(site.brief)).fillers["drug"]
    values = {filler.words: filler.value for filler in fillers}
    assert values["thiopental"] == "thiopental"
    assert values["adrenaline"] == "epinephrine"
    assert values["adrenaline infusion"] == "epinephrine/infusion"


def test_weights_outside_the_range_are_heard_to_be_refused(site: Site) -> None:
    """Twelve kilos must not be forced onto the nearest adult's weight."""
    case = Case(site.brief)
    case.state, case.known.current = State.ASKING, "weight"
    grammar = Phrasebook(site).now(case)
    for slot in ("number", "kilograms", "weight_kg"):
        assert {filler.value for filler in grammar.fillers[slot]} >= {12.0, 17.0, 250.0}


def test_an_item_that_takes_only_a_telling_answer(site: Site) -> None:
    """There "yes confirmed" is a bare yes; in its read-back and elsewhere it confirms."""
    case, book = Case(site.brief), Phrasebook(site)
    telling = next(one for one in site.brief.items() if getattr(one, "only_telling", False))
    case.known.current = telling.id
    meanings = {}
    for state in (State.ASKING, State.CHECKING):
        case.state = state
        meanings[state] = {one.words: one.meaning for one in book.now(case).patterns}

    for yes in site.wording.may_be_said.confirm:
        assert meanings[State.ASKING][yes] == "bare_yes"
        assert meanings[State.CHECKING][yes] == "confirm"
    for answer in telling.confirmations:
        assert meanings[State.ASKING][answer] == "confirm"
    for kind in ("confirm", "anything"):
        everywhere = {one.words: one.meaning for one in book.when_asking(kind).patterns}
        assert {everywhere[yes] for yes in site.wording.may_be_said.confirm} == {"confirm"}


def test_a_choice_and_a_name_are_weighed_against_their_denials(site: Site) -> None:
    """They settle an item at once: "not the registrar" must not."""
    for kind in ("choose", "name"):
        answers = [
            one for one in Phrasebook(site).when_asking(kind).patterns if one.meaning == kind
        ]
        assert answers
        assert {one.danger for one in answers} == {Danger.OPTION}


def test_digits_are_listened_for_only_while_they_are_awaited(site: Site) -> None:
    """A bare number outside an item means nothing."""
    case, book = Case(site.brief), Phrasebook(site)
    assert not [one for one in book.now(case).patterns if one.meaning == "number"]


def test_every_wording_of_a_number_is_a_filler(site: Site) -> None:
    """Each way of saying 1 to 300 fills the slot with exactly that number."""
    heard: dict[object, set[str]] = {}
    for filler in Phrasebook(site).when_asking("number").fillers["number"]:
        heard.setdefault(filler.value, set()).add(filler.words)
    for number in range(1, 301):
        assert heard[float(number)] == set(wordings(number))


def words_for(site: Site, state: State, meaning: str) -> set[str]:
    case = Case(site.brief)
    case.state = state
    if state is State.ASKING:
        case.known.current = next(iter(site.brief.items())).id
    grammar = Phrasebook(site).now(case)
    return {one.words for one in grammar.patterns if one.meaning == meaning and one.for_me}


@pytest.mark.parametrize(
    ("meaning", "danger"),
    [
        *((one, Danger.LOW) for one in ("decline", "end_case", "stop")),
        ("plain_yes", Danger.PLAIN),
        ("not_applicable", Danger.HIGH),
        *((one, Danger.HIGH) for one in ("confirm", "go_now", "drugs_in", "tube_in")),
        *((one, Danger.HIGH) for one in ("attempt_start", "attempt_failed")),
        ("saturation", Danger.USUAL),
    ],
)
def test_what_acts_at_once_is_the_most_dangerous(site: Site, meaning: str, danger: Danger) -> None:
    """And what only asks back, or is silent, the least."""
    patterns = Phrasebook(site).when_asking("anything").patterns

    assert {one.danger for one in patterns if one.meaning == meaning} == {danger}


def test_what_tells_of_the_item_is_not_only_a_yes(site: Site) -> None:
    """Which the ear gives longer to be taken back; both settle an item alike."""
    patterns = Phrasebook(site).when_asking("confirm").patterns
    plain = {one.words: one.only_yes for one in patterns if one.meaning == "plain_yes"}

    assert {plain[words] for words in site.wording.may_be_said.plain_yes} == {True}
    assert not plain["both working"]
    assert {one.only_yes for one in patterns if one.meaning != "plain_yes"} == {False}


def test_a_yes_that_is_only_told_what_would_count_is_the_least_dangerous() -> None:
    """Where a site takes no plain yes, "yes" settles nothing, however readily it is heard."""
    strict = load_site(SITE.folder.parent / "skerry-point")
    patterns = Phrasebook(strict).when_asking("confirm").patterns

    dangers = {one.danger for one in patterns if one.words in strict.wording.may_be_said.bare_yes}
    assert dangers == {Danger.LOW}
    assert not [one for one in patterns if one.meaning == "plain_yes"]


@pytest.mark.parametrize(
    ("state", "plainly"), [(State.ASKING, True), (State.READY, False), (State.ATTEMPTING, False)]
)
def test_a_site_may_want_to_be_called_by_name(site: Site, state: State, plainly: bool) -> None:
    """Outside an answer's time a question counts with the assistant's name only."""
    named = replace(site, wording=site.wording.model_copy(update={"address": ("dear box",)}))
    plain = set(site.wording.may_be_said.saturation)

    asked = words_for(named, state, "saturation")

    assert {f"dear box {words}" for words in plain} <= asked
    assert (plain <= asked) is plainly
    assert words_for(site, state, "saturation") == plain


def test_commands_need_no_name(site: Site) -> None:
    """The tube is in, whoever is told so."""
    named = replace(site, wording=site.wording.model_copy(update={"address": ("dear box",)}))

    for meaning in ("tube_in", "attempt_failed", "stop"):
        told = words_for(named, State.READY, meaning)
        assert told == words_for(site, State.READY, meaning)
        assert told


def test_a_question_without_the_name_is_not_for_it(site: Site) -> None:
    """It is in the grammar all the same, as what is not meant: else the nearest would be taken."""
    named = replace(site, wording=site.wording.model_copy(update={"address": ("dear box",)}))
    case = Case(site.brief)
    case.state = State.ATTEMPTING
    patterns = {one.words: one for one in Phrasebook(named).now(case).patterns}

    assert not patterns["what is the saturation"].for_me


def test_nothing_stands_before_a_number_that_settles_its_item(site: Site) -> None:
    """ "Not thirty degrees" is heard as "about thirty degrees": a number asked for may have it, and
    what is always read back ("yes thirty degrees")."""
    heads: dict[str, set[bool]] = {}
    book = Phrasebook(site)
    for item in site.brief.items():
        case = Case(site.brief)
        case.state, case.known.current = State.ASKING, item.id
        for pattern in book.now(case).patterns:
            if pattern.meaning == "number" and not pattern.is_asked_back:
                heads.setdefault(item.kind, set()).add(pattern.words.startswith("{number}"))

    assert heads == {"quantity": {True}, "oxygen": {True}, "number": {True, False}}


def test_a_hold_of_several_words_is_believed_later_than_a_lone_wait(site: Site) -> None:
    """Noise made "two seconds" of "tube's fixed": somebody who had answered would wait for nothing.
    What puts an item off ("not yet") is believed as soon as ever."""
    case = Case(site.brief)
    case.state, case.known.current = State.ASKING, "suction"
    known = {one.words: one for one in Phrasebook(site).now(case).patterns}
    accepted_from = fitted().accept

    def surely(words: str) -> float:
        assert known[words].for_me
        return accepted_from[known[words].danger.value]

    assert known["wait"].meaning == known["two seconds"].meaning == "hold"
    assert surely("two seconds") == surely("hold on") > surely("wait")
    assert surely("wait") == surely("not yet") == surely("stop now")


def test_what_stands_around_an_answer_changes_nothing(site: Site) -> None:
    """ "Um, yes" is the same answer, and "no, only one" the same denial; a number that would settle
    its item is read back first."""
    book, case = Phrasebook(site), Case(site.brief)
    case.state = State.ASKING

    def said(item: str, words: str) -> Pattern:
        case.known.current = item
        return next(one for one in book.now(case).patterns if one.words == words)

    for words in ("yep both working", "okay both working", "both working thanks", "um yes"):
        assert said("suction", words).meaning == "plain_yes"
        assert said("suction", words).danger is Danger.PLAIN
    for words in ("no only one", "uh no", "not yet sorry"):
        assert said("suction", words).meaning == "decline"
    assert said("first-attempt", "um the consultant").values["name"] == "consultant"
    assert said("head-up", "yes {number} degrees").is_asked_back
    assert not said("head-up", "{number} degrees").is_asked_back


def test_what_stands_around_an_answer_is_no_other_answer(site: Site) -> None:
    """Only its beginning would tell "yes, no allergies" from "no allergies"; "yes please" is talk,
    and a "sorry" after a yes may take it back."""
    case = Case(site.brief)
    case.state = State.ASKING
    for item in site.brief.items():
        case.known.current = item.id
        longer = [one for one in Phrasebook(site).now(case).patterns if one.is_longer]
        words = {one.words for one in longer}
        assert words
        assert not words & set(site.wording.may_be_said.room_talk)
        assert not [one for one in words if one.startswith(("yes no ", "no yes ", "okay no "))]
        yes = [one.words for one in longer if one.danger is Danger.PLAIN]
        assert not [one for one in yes if one.endswith(" sorry")]
