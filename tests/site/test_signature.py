"""Who has signed a site's files, and what has changed since."""

import shutil
from datetime import date
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.errors import BadInput
from assistant.site.differences import differences
from assistant.site.signature import NAME, Signing, sign, signing_of
from assistant.site.site import load_site

TARN_HOLLOW = Path(__file__).parents[2] / "configs" / "tarn-hollow"
DAY = date(2026, 11, 3)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A copy of the example site, which is not signed."""
    return Path(shutil.copytree(TARN_HOLLOW, tmp_path / "site"))


def change(site: Path, name: str, old: str, new: str) -> None:
    """One value of one file."""
    text = (site / name).read_text(encoding="utf-8")
    assert old in text
    (site / name).write_text(text.replace(old, new, 1), encoding="utf-8")


def test_two_roles_sign_a_site(site: Path) -> None:
    """One is not enough, and the same one twice neither; the second makes it signed."""
    assert signing_of(site) is Signing.UNSIGNED
    sign(site, "pharmacist", DAY)
    sign(site, "Pharmacist", DAY)
    assert signing_of(site) is Signing.UNSIGNED
    sign(site, "head of department", DAY)
    assert signing_of(site) is Signing.SIGNED
    assert load_site(site).signing is Signing.SIGNED


def test_a_change_undoes_the_signatures(site: Path) -> None:
    """Of whatever file, a new one included; whoever signs then begins anew."""
    for role in ("pharmacist", "head of department"):
        sign(site, role, DAY)
    change(site, "wording.yaml", "Later.", "Put off.")
    assert signing_of(site) is Signing.CHANGED
    assert [one.role for one in sign(site, "pharmacist", DAY).signed] == ["pharmacist"]
    assert signing_of(site) is Signing.UNSIGNED
    sign(site, "head of department", DAY)
    (site / "panel.yaml").write_text("{}\n", encoding="utf-8")
    assert signing_of(site) is Signing.CHANGED


def test_a_damaged_signature_is_refused(site: Path) -> None:
    """With the file and the key, as any other file of the site."""
    (site / NAME).write_text("sha256: abc\nsigned: []\n", encoding="utf-8")
    with pytest.raises(BadInput, match=r"signature\.yaml, line 1, key sha256: found 'abc'"):
        load_site(site)


def test_what_was_changed_is_listed_by_name(site: Path) -> None:
    """Each value by the ids on its way: what was changed, added, lost, or put in another order."""
    change(site, "formulary.yaml", "usual: 1.5 mg/kg", "usual: 1.2 mg/kg")
    change(site, "formulary.yaml", "  - {called: naloxone, respellings: [maloxone]}\n", "")
    change(site, "formulary.yaml", "# The drugs", "# All drugs")
    change(site, "formulary.yaml", "  - {holds: 3 mL, marks: 0.1 mL}\n", "")
    change(site, "figures.yaml", "reserve: 14 bar", "reserve: 20 bar")
    (site / "panel.yaml").write_text("{}\n", encoding="utf-8")
    assert list(differences(TARN_HOLLOW, site)) == [
        "figures.yaml: cylinders/reserve: 14 bar -> 20 bar",
        "formulary.yaml: syringes/3 mL/holds: 3 mL -> nothing",
        "formulary.yaml: syringes/3 mL/marks: 0.1 mL -> nothing",
        "formulary.yaml: absent/naloxone/called: naloxone -> nothing",
        "formulary.yaml: absent/naloxone/respellings: maloxone -> nothing",
        (
            "formulary.yaml: drugs/ketamine/indications/induction/dose/usual: "
            "1.5 mg/kg total weight -> 1.2 mg/kg total weight"
        ),
        "panel.yaml: added",
    ]


def test_another_order_is_a_difference(tmp_path: Path) -> None:
    """The brief is asked in the order in which it stands."""
    for name, ids in (("a", "ab"), ("b", "ba")):
        (tmp_path / name).mkdir()
        items = "".join(f"  - {{id: {one}}}\n" for one in ids)
        (tmp_path / name / "brief.yaml").write_text(f"items:\n{items}", encoding="utf-8")
    assert list(differences(tmp_path / "a", tmp_path / "b")) == [
        "brief.yaml: items (order): a, b -> b, a"
    ]


def test_check_shows_the_change_and_signs(site: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The second person reads what differs, and signs what `check` has accepted."""
    change(site, "formulary.yaml", "usual: 1.5 mg/kg", "usual: 1.2 mg/kg")
    call = ["check", "--site", str(site)]
    assert main([*call, "--against", str(TARN_HOLLOW), "--sign", "pharmacist"]) == 0
    told = capsys.readouterr().out
    assert "dose/usual: 1.5 mg/kg total weight -> 1.2 mg/kg total weight" in told
    assert "Not signed by two roles: pharmacist on " in told
    assert main([*call, "--sign", "head of department"]) == 0
    assert "\nSigned: pharmacist on " in capsys.readouterr().out


@pytest.mark.parametrize(
    ("option", "value", "found"),
    [("--against", "none", "none: found no such folder"), ("--sign", " ", "--sign: found nothing")],
)
def test_what_cannot_be_signed_is_refused_before_anything_is_said(
    *, site: Path, capsys: pytest.CaptureFixture[str], option: str, value: str, found: str
) -> None:
    """One sentence, and nothing of a check that nobody will read on."""
    assert main(["check", "--site", str(site), option, value]) == 2
    told = capsys.readouterr()
    assert (told.out, found in told.err) == ("", True)


def test_nothing_is_signed_that_check_refuses(site: Path) -> None:
    """A site with a fault gets no signature."""
    change(site, "formulary.yaml", "usual: 1.5 mg/kg", "usual: 15 mg/kg")
    assert main(["check", "--site", str(site), "--sign", "pharmacist"]) == 2
    assert not (site / NAME).exists()
