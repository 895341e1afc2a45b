"""A whole case in Korean, spoken, heard and recorded: language is the site's data."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from assistant.site.site import load_site

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
SITE = ROOT / "configs" / "angae-gogae"
SCENARIO = ROOT / "configs" / "rehearsals" / "angae-gogae.yaml"


@pytest.fixture(scope="module")
def models(korean_model: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of models with the Korean one in it."""
    folder = tmp_path_factory.mktemp("models")
    (folder / "vosk").symlink_to(korean_model)
    return folder


@pytest.fixture(scope="module")
def rehearsed(
    begin: Callable[..., Any], models: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Any]:
    """The Korean rehearsal, played once."""
    running = begin(
        tmp_path_factory.mktemp("korean") / "cases",
        *(str(SCENARIO), "--site", str(SITE), "--engine", "vosk", "--models", str(models)),
    )
    yield running.finished()
    running.kill()


def test_it_ends_as_expected(rehearsed: Any) -> None:
    """Every item answered aloud, everything understood in the end, nothing taken for another."""
    assert rehearsed.code == 0, rehearsed.printed + rehearsed.complaints
    assert "Not as expected" not in rehearsed.printed


def test_each_item_is_asked_and_answered_in_korean(rehearsed: Any) -> None:
    """The one that was declined is deferred, and asked again once its section has been asked."""
    events = [
        (one["meaning"], one["item"])
        for one in rehearsed.debrief["entries"]
        if one["kind"] == "event" and one["meaning"] in ("asked", "deferred", "answered")
    ]
    assert list(dict.fromkeys(events)) == [
        ("asked", "monitors"),
        ("answered", "monitors"),
        ("asked", "suction"),
        ("deferred", "suction"),
        ("asked", "first-laryngoscope"),
        ("answered", "first-laryngoscope"),
        ("answered", "suction"),
        ("asked", "weight"),
        ("answered", "weight"),
        ("asked", "first-attempt"),
        ("answered", "first-attempt"),
    ]


def test_the_weight_is_read_back_before_it_counts(rehearsed: Any) -> None:
    """In words and in the digits of the radio, which are not those in which it was said."""
    told = [(one["kind"], one["text"]) for one in rehearsed.debrief["entries"]]
    texts = [text for _, text in told]
    heard = told.index(("heard", "오십 오"))
    read_back = texts.index("오십 오, 오 오, 킬로그램. 맞습니까?")
    taken = texts.index("체중: 오십 오 킬로그램")

    assert heard < read_back < taken
    assert "네 전부 정상" in texts[read_back:taken]


def test_nothing_is_said_in_english(rehearsed: Any) -> None:
    """No word of the program's own comes through."""
    said = [one["text"] for one in rehearsed.entries("assistant", "said")]
    assert len(said) >= 10
    assert [text for text in said if any("a" <= sign <= "z" for sign in text.lower())] == []


def test_a_confirmation_counts_only_in_three_words(rehearsed: Any) -> None:
    """This model cannot say "none of these", so a short yes is never believed."""
    yes = [
        one
        for one in rehearsed.entries("team", "heard")
        if one["meaning"] == "confirm" and one["verdict"] == "accept"
    ]
    assert yes
    assert all(len(one["text"].split()) >= 3 for one in yes)


def test_the_site_confirms_in_three_words() -> None:
    """Without that a rehearsal would be nothing but asking back."""
    site = load_site(SITE)
    own = [words for item in site.brief.items() for words in item.telling_answers]
    assert all(len(words.split()) >= 3 for words in (*site.wording.may_be_said.confirm, *own))
