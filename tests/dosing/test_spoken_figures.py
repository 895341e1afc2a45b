"""What is said with a dose may name no amount but the maximum, and no time that none takes."""

from pathlib import Path

import pytest

from assistant.dosing.formulary import Formulary
from assistant.dosing.reading import read_formulary
from assistant.dosing.spoken_figures import spoken_otherwise
from assistant.language.tongue import ENGLISH
from tests.dosing.conftest import Exchanged


def test_the_example_site_says_nothing_otherwise(formulary: Formulary) -> None:
    """Atropine's three milligrams in all are its maximum."""
    assert list(spoken_otherwise(formulary, ENGLISH)) == []


@pytest.mark.parametrize(
    ("old", "new", "allowed"),
    [
        ("three milligrams in all", "thirty milligrams in all", "the maximum of the use, 3 mg"),
        ("three milligrams in all", "three micrograms in all", "the maximum of the use, 3 mg"),
        ("Over one minute.", "Over one hour.", "at most 10 minutes for one dose"),
        ("Over two to three minutes.", "Over two to thirty minutes.", "at most 10 minutes"),
        ("Over one minute.", "One hundred milligrams at once.", "the maximum of the use, 225 mg"),
    ],
)
def test_a_slip_in_words_is_found(
    *, formulary_path: Path, exchanged: Exchanged, old: str, new: str, allowed: str
) -> None:
    """At the sentence, with what may stand there."""
    changed = read_formulary(exchanged(formulary_path, old, new, times=1))
    ((loc, found, said),) = spoken_otherwise(changed, ENGLISH)
    assert loc[-2:] == ("said_with_dose", 0)
    assert new in found
    assert allowed in said
