"""What only some patients need is asked of them, and of no other."""

import shutil
from pathlib import Path

import pytest
import yaml

from assistant.brief.conditions import condition
from assistant.brief.item import Standing
from assistant.brief.phases import Phase
from assistant.brief.states import State
from assistant.errors import BadInput
from assistant.rehearsal.text_case import TextCase
from assistant.site.site import load_site
from tests.brief.conftest import SITE
from tests.tarn_hollow import TELLING

ONLY_SOME = {
    "trauma": {"collar"},
    "hard airway": {"next-attempt", "neck-felt"},
    "head injury": {"head-guarded"},
    "pregnant": {"stomach", "womb-aside", "smaller-tube", "oxygen-help"},
    "right heart failure": {"pressure-held", "pressor", "right-heart-held"},
    "neck breather": {"oxygen-to-neck", "way-in"},
    "extubated today": {"smaller-tube", "last-look"},
    "full stomach": {"stomach"},
    "acidosis": {"bagging-rate"},
    "asthma": {"bagging-rate"},
}
"""By what is told when the assistant asks for what is special, the items that it opens."""


def asked(talk: TextCase, *, answers: dict[str, str] | None = None) -> list[str]:
    """Answer all that is asked until the pause; return it in order."""
    said = TELLING | (answers or {})
    items: list[str] = []
    while talk.case.state is State.ASKING:
        item = talk.case.current
        if item is None:
            talk.waits(181)
            continue
        if item.id not in items:
            items.append(item.id)
        words = said.get(item.id)
        if words is None and item.kind == "choose":
            words = item.options[0].said[0]
        talk.hears(words or "yes confirmed")
        if item.id == "special" and talk.case.current is item:
            talk.hears("nothing else")
        if talk.case.state is State.CHECKING:
            talk.hears("yes correct")
    return items


def put_off_until(talk: TextCase, item: str) -> None:
    """Say of all that is asked that it is not yet so, until that item is asked."""
    while talk.case.known.current != item:
        talk.hears("not yet")


@pytest.fixture(scope="module")
def ordinary(phrases) -> list[str]:
    """What is asked of a patient of whom nothing is special."""
    talk = TextCase(SITE, phrases=phrases, word_s=0)
    talk.hears("begin")
    items = asked(talk)
    talk.close()
    return items


def test_an_ordinary_patient_hears_about_a_dozen_items(ordinary) -> None:
    """Besides those that ask who the patient is."""
    assert 10 <= len(set(ordinary) - {"weight", "special", "pressure"}) <= 13


@pytest.mark.parametrize("told", ONLY_SOME)
def test_what_is_special_opens_its_items_and_no_others(opened, ordinary, told) -> None:
    """They come beside what everybody is asked, each once."""
    talk = opened("begin")
    items = asked(talk, answers={"special": told})
    assert set(items) - set(ordinary) == ONLY_SOME[told]
    assert len(items) == len(set(items))


@pytest.mark.parametrize(
    ("pressure", "pulse", "opens"),
    [
        ("one three five", None, set()),
        ("one two zero", "eight zero", {"pulse"}),
        ("one two zero", "one one five", {"pulse", "pressure-held", "pressor"}),
        ("nine five", "seven zero", {"pulse", "pressure-held", "pressor"}),
    ],
)
def test_shock_is_asked_after_where_the_figures_tell_of_it(
    opened, ordinary, pressure, pulse, opens
) -> None:
    """Low pressure by itself, or a pulse of nine tenths of it and more."""
    talk = opened("begin")
    answers = {"pressure": pressure, **({} if pulse is None else {"pulse": pulse})}
    assert set(asked(talk, answers=answers)) - set(ordinary) == opens
    assert talk.case.known.low_pressure is (pressure == "nine five")


def test_what_is_said_of_the_patient_later_opens_its_items_too(opened) -> None:
    """Also in the pause, once all else was asked; what was answered is not asked again."""
    talk = opened("begin")
    asked(talk)
    assert talk.case.state is State.PAUSING
    talk.hears("the neck may be injured")
    talk.hears("yes correct")
    assert talk.case.known.current == "collar"
    talk.hears("collar off")
    assert talk.case.state is State.PAUSING
    assert "Injury." in talk.said[-1]


def test_a_patient_with_two_features_may_be_told_in_one_breath(opened) -> None:
    """Silence after that means that there is nothing else."""
    talk = opened("begin")
    while talk.case.known.current != "special":
        talk.hears(TELLING.get(talk.case.known.current, "yes confirmed"))
        if talk.case.state is State.CHECKING:
            talk.hears("yes correct")
    (line,) = talk.hears("trauma and pregnant")
    assert line.text == "Injury, pregnancy. Anything else?"
    talk.waits(20)
    assert talk.case.known.items["special"].answer == "injury, pregnancy"
    assert talk.case.known.current == "allergies"


def test_silence_settles_nothing_where_nothing_was_told_in_answer(opened) -> None:
    """What was told before it was asked is no answer to it."""
    talk = opened("the patient is acidotic", "yes correct", "begin")
    put_off_until(talk, "special")
    talk.waits(20)
    assert talk.case.known.current == "special"
    assert talk.case.known.items["special"].standing is Standing.OPEN


def test_a_second_feature_does_not_take_the_place_of_one_that_was_interrupted(opened) -> None:
    """Both are read back, and both count."""
    talk = opened("begin", "the neck may be injured", "the patient is pregnant", "yes correct")
    assert "injury" in talk.said[-1]
    talk.hears("yes correct")
    assert [one.id for one in talk.case.features] == ["trauma", "pregnancy"]


def test_going_back_to_what_is_special_takes_it_back(opened) -> None:
    """Told wrongly, it opens nothing any more."""
    talk = opened("begin")
    put_off_until(talk, "special")
    talk.hears("trauma")
    talk.hears("nothing else")
    talk.hears("go back")
    assert talk.case.features == []
    assert talk.case.known.current == "special"


def test_what_was_put_off_stays_open_whatever_is_told_then(opened) -> None:
    """An item that somebody said was not yet so is never lost."""
    talk = opened("planned brief")
    put_off_until(talk, "pressor")
    talk.hears("not yet")
    talk.hears("immediate brief")
    assert talk.case.standing(talk.case.item("pressor")) is not Standing.DONE
    assert talk.case.item("pressor") in talk.case.with_standing(
        Standing.DEFERRED, Standing.OUTSTANDING
    )


@pytest.mark.parametrize("brief", [one.id for one in SITE.brief.briefs])
def test_each_brief_is_chosen_by_its_name_and_leads_to_the_pause(opened, brief) -> None:
    """Whatever it is, it is said back, on record, and the same after a restart."""
    choice = SITE.brief.choice(brief)
    assert choice is not None
    talk = opened(choice.said[0])
    asked(talk)
    assert talk.case.state is State.PAUSING
    talk.restarts()
    assert talk.case.known.brief == brief
    assert talk.case.with_standing(Standing.OPEN) == []


def test_the_immediate_brief_has_at_most_eight_items_and_does_not_wait(opened) -> None:
    """The three minutes of oxygen are not waited for there."""
    talk = opened("immediate brief")
    before_s = talk.now_s
    items = asked(talk)
    assert len(items) <= 8
    assert talk.now_s - before_s < 60


def test_a_brief_may_be_changed_in_the_middle(opened) -> None:
    """What was answered is not asked again."""
    talk = opened("begin", "we saw the mask held on")
    talk.hears("immediate brief")
    assert talk.case.known.current == "weight"
    assert "oxygen-on" not in asked(talk)


@pytest.mark.parametrize("where", [["i'm in"], ["supraglottic in"], ["can't oxygenate"]])
def test_no_brief_is_begun_while_a_rescue_runs_or_something_is_in(opened, where) -> None:
    """A name of one that was misheard must not take a tube out."""
    talk = opened(*where)
    phase, current = talk.case.known.phase, talk.case.known.current
    talk.hears("planned brief")
    assert (talk.case.known.phase, talk.case.known.current) == (phase, current)


def test_a_light_patient_is_asked_the_age_and_a_child_refused(opened) -> None:
    """Below forty-five kilograms; the age is said to be none that doses are known for."""
    talk = opened("begin", "we saw the mask held on", "bag ready", "four zero kilos", "correct")
    assert talk.case.known.current == "age"
    said = talk.hears("nine")
    assert "I only know doses for an age from eighteen" in said[0].text
    assert talk.case.known.age_years is None


def test_after_an_attempt_a_brief_goes_on_with_what_is_open_before_it(opened) -> None:
    """Between attempts there is time to prepare again."""
    talk = opened("begin the attempt", "the attempt failed")
    talk.hears("immediate brief")
    assert talk.case.known.phase is Phase.BEFORE
    assert talk.case.known.current == "oxygen-on"


@pytest.mark.parametrize(
    ("text", "known", "so"),
    [
        ("trauma", {"trauma": True}, True),
        ("trauma", {}, False),
        ("not trauma", {}, True),
        ("not trauma", {"trauma": True}, False),
        ("pressure_mmhg below 100", {"pressure_mmhg": 99}, True),
        ("pressure_mmhg below 100", {"pressure_mmhg": 100}, False),
        ("pressure_mmhg below 100", {}, False),
        ("shock_index from 0.9", {"shock_index": 0.9}, True),
        ("shock_index from 0.9", {"shock_index": 0.89}, False),
        ("scope is video", {"scope": "video"}, True),
        ("scope is video", {"scope": "direct"}, False),
        ("scope is video", {}, False),
        ("scope is not video", {}, True),
        ("brief is not awake", {"brief": "awake"}, False),
    ],
)
def test_a_condition_is_so_only_of_what_is_known(text, known, so) -> None:
    """What nobody has told fulfils nothing but a `not`."""
    assert condition(text).holds(known.get) is so


def site_with(tmp_path: Path, change) -> Path:
    """Tarn Hollow with its brief changed."""
    folder = shutil.copytree(SITE.folder, tmp_path / "site")
    brief = yaml.safe_load((folder / "brief.yaml").read_text(encoding="utf-8"))
    items = {item["id"]: item for section in brief["sections"] for item in section["items"]}
    change(brief, items)
    (folder / "brief.yaml").write_text(yaml.safe_dump(brief), encoding="utf-8")
    return folder


NEVER_SO = [
    ("suction", "truama", "one of: trauma"),
    ("monitors", "presure_mmhg below 100", "one of: weight_kg"),
    ("access", "pressure_mmhg below 20", "a number from 20 to 260"),
    ("pressor", "pressure_mmhg from 261", "a number from 20 to 260"),
    ("stomach", "first-laryngoscope is telescope", "one of: video, direct"),
    ("head-up", "weight is seventy", "an item with options or roles"),
    ("protection", "brief is long", "one of: usual, planned"),
    ("collar", "collar is confirmed", "another item than this one"),
]
"""An item, what is written under its `when`, and what is allowed instead."""
NO_CONDITION = [
    ("suction", "trauma!", "a feature, with `not`"),
    ("monitors", "pressure_mmhg under 100", "a feature, with `not`"),
    ("access", "", "a feature, with `not`"),
]


@pytest.mark.parametrize("slips", [NEVER_SO, NO_CONDITION], ids=["never-so", "no-condition"])
def test_a_condition_that_can_never_be_so_is_refused(tmp_path, slips) -> None:
    """By `check` and whatever starts: all at once, each with its key and what is allowed."""

    def change(_, items) -> None:
        for item, when, _told in slips:
            items[item]["when"] = when

    with pytest.raises(BadInput) as refused:
        load_site(site_with(tmp_path, change))
    sentences = [one for one in str(refused.value).splitlines() if "when" in one]
    assert len(sentences) == len(slips)
    for _item, when, told in slips:
        assert any(repr(when) in one and told in one for one in sentences), sentences


def test_an_item_that_no_brief_asks_is_refused(tmp_path) -> None:
    """It would be read by everybody who reads the file, and heard by nobody."""

    def change(brief, items) -> None:
        items["protection"]["when"] = "brief is awake"  # whose own list has not got it

    with pytest.raises(BadInput, match=r"protection.*items that at least one of the briefs asks"):
        load_site(site_with(tmp_path, change))


def test_a_brief_that_lists_what_there_is_not_is_refused(tmp_path) -> None:
    """A misspelt item would be left out without a word."""

    def change(brief, items) -> None:
        brief["briefs"][0]["only"].append("suctoin")

    with pytest.raises(BadInput, match=r"suctoin.*items and sections of the phase before"):
        load_site(site_with(tmp_path, change))
