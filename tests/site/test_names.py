"""Drugs whose names sound alike are asked apart, or nothing starts."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.dosing.reading import read_formulary
from assistant.errors import BadInput
from assistant.site.name_faults import name_faults
from assistant.site.site import load_site

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"
STOOD_FOR = "{place: lidocaine/names, found: atracurium, reason: tried, by: [pharmacist, head]}"
Spoil = Callable[..., list[str]]


@pytest.fixture
def spoil(tmp_path: Path) -> Spoil:
    """Puts other words into a copy of the formulary; the sentences that it is refused with."""

    def spoilt(*changes: tuple[str, str]) -> list[str]:
        site = Path(shutil.copytree(SITE, tmp_path / "site"))
        path = site / "formulary.yaml"
        text = path.read_text("utf-8")
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new)
        path.write_text(text, "utf-8")
        with pytest.raises(BadInput) as refused:
            load_site(site)
        return str(refused.value).splitlines()

    return spoilt


def test_a_new_drug_with_a_near_name_is_refused(spoil: Spoil) -> None:
    """Atracurium under another's other names: nearer to rocuronium than may be, and told for both.

    The names come from the site, where two roles stand for this one; nothing in the program's
    reference knows of the pair.
    """
    told = spoil(
        ("    called: lidocaine\n", "    called: lidocaine\n    said: [atracurium]\n"),
        ("\ndrugs:", f"\nconfirmed:\n  - {STOOD_FOR}\ndrugs:"),
    )
    assert len(told) == 3  # rocuronium, lidocaine, and lidocaine against the absent cisatracurium
    (rocuronium,) = [line for line in told if "found 'rocuronium'" in line]
    assert "which sounds like 'atracurium'" in rocuronium
    assert "allowed: lidocaine in its sounds_like, so that the two are asked apart." in rocuronium
    assert ".sounds_like: found" in rocuronium


def test_a_drug_near_an_absent_one_is_refused(spoil: Spoil) -> None:
    """Who asks for ephedrine, which is not here, must not be told of epinephrine unasked."""
    (told,) = spoil((", ephedrine]", "]"))
    assert "found 'epinephrine', which sounds like 'ephedrine'" in told


@pytest.mark.parametrize(
    "lost", ["    sounds_like: [vecuronium]\n", "    sounds_like: [rocuronium]\n"]
)
def test_a_pair_is_asked_apart_on_both_sides(spoil: Spoil, lost: str) -> None:
    """Either of the two may be the one that is heard."""
    told = spoil((lost, ""))
    assert any("sounds_like" in line and "curonium" in line for line in told)


def test_the_limit_keeps_known_confusions_and_no_others() -> None:
    """Reported pairs lie below it, and no drug of the example site needs one that it has not."""
    formulary = read_formulary(SITE / "formulary.yaml")
    site = load_site(SITE)
    assert list(name_faults(site)) == []
    apart = {drug.id: set(drug.sounds_like) for drug in formulary.drugs if drug.sounds_like}
    assert apart == {
        "rocuronium": {"vecuronium"},
        "vecuronium": {"rocuronium"},
        "phenylephrine": {"epinephrine", "norepinephrine"},
        "epinephrine": {"phenylephrine", "norepinephrine", "ephedrine"},
        "norepinephrine": {"epinephrine", "phenylephrine"},
    }
