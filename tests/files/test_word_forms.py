"""Words that a person says: any script, never a digit or a sign."""

from pathlib import Path

import pytest
from pydantic import BaseModel, ValidationError

from assistant.brief.brief import Brief
from assistant.errors import BadInput
from assistant.files.word_forms import Continuing, Respelling, Utterance, as_said
from assistant.files.yaml_files import read_yaml


class Words(BaseModel):
    """One of each."""

    said: Utterance = "yes"
    respelt: Respelling = "rock uronium"
    purpose: Continuing = "for paralysis"


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("yes confirmed", "yes confirmed"),
        ("that's right", "that's right"),
        ("That\u2019s  right ", "that's right"),
        ("네 확인", "네 확인"),
        # Decomposed, as some systems store Hangul (Unicode Standard Annex 15): composed.
        ("\u1102\u1166", "\ub124"),
        ("straße", "straße"),
        ("Äther", "äther"),
        ("अभी नहीं", "अभी नहीं"),
        ("не подтверждено", "не подтверждено"),
    ],
)
def test_words_of_any_script_are_taken(written: str, said: str) -> None:
    """Composed, in lower case and with single spaces, so that equal words are equal."""
    assert Words(said=written).said == said


@pytest.mark.parametrize("written", ["75 kilos", "yes!", "yes, confirmed", "칠십5", "네.", "", " "])
def test_digits_and_punctuation_are_refused(written: str) -> None:
    """Nobody says a comma, and a digit may be said in several ways."""
    with pytest.raises(ValidationError, match="words without digits or punctuation"):
        Words(said=written)


def test_the_first_sign_that_nobody_says_is_named() -> None:
    """So that the site finds it."""
    with pytest.raises(ValueError, match="which '7' is not: write it as it is said"):
        as_said("about 75!")


def test_a_complaint_names_file_line_and_key(tmp_path: Path) -> None:
    """One sentence: where, what was found, what is allowed."""
    path = tmp_path / "brief.yaml"
    path.write_text('name: "x"\nroster:\n  - id: a\n    called: "A"\n    said: ["네!"]\n', "utf-8")

    with pytest.raises(
        BadInput, match=r"brief.yaml, line 5, key roster.0.said.0: found '네!'; allowed: words with"
    ):
        read_yaml(path, Brief)


@pytest.mark.parametrize("written", ["rock-uronium", "라 구로늄"])
def test_respellings_may_have_hyphens(written: str) -> None:
    """As speech models write them."""
    assert Words(respelt=written).respelt == written


@pytest.mark.parametrize("written", ["-rock", "rock 2"])
def test_a_respelling_begins_with_a_letter(written: str) -> None:
    """And holds no digits."""
    with pytest.raises(ValidationError, match="with hyphens if need be"):
        Words(respelt=written)


def test_a_purpose_goes_on_in_a_sentence() -> None:
    """A script without capitals has none to refuse."""
    assert Words(purpose="기관 삽관용").purpose == "기관 삽관용"
    with pytest.raises(ValidationError, match="no capital or digit"):
        Words(purpose="For paralysis")
