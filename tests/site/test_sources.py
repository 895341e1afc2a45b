"""What is published is cited by title, journal and year, and by nobody's name."""

import calendar
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.brief.brief import Brief
from assistant.files.yaml_files import read_yaml

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "brief-sources.md"
BRIEFS = sorted((ROOT / "configs").glob("*/brief.yaml"))
DATED = r"[a-z]+(?:-[a-z]+)*-(?:19|20)\d\d"
KEY = re.compile(rf"{DATED}|[a-z]+(?:-[a-z]+)*-(?:label|page)|common-practice")
NOBODY = {*calendar.month_name, "Society", "Association", "Anaesthesia"}
"""What may stand before a year: a month, and the ends of a body's and a journal's name."""


def keys() -> set[str]:
    """The keys that the page lists, without the items of its second part."""
    text = PAGE.read_text(encoding="utf-8")
    return set(re.findall(r"^\| `([a-z0-9-]+)` \|", text.split("## Item by item")[0], re.MULTILINE))


def texts() -> Iterator[tuple[str, str]]:
    """Every file that people write, with its name."""
    folders = ("assistant", "configs", "docs", "hardware", "models", "tests")
    paths = [ROOT / "README.md", ROOT / "DEVELOPERS.md"]
    paths += [path for folder in folders for path in sorted((ROOT / folder).rglob("*"))]
    for path in paths:
        if path.suffix in (".md", ".yaml", ".py", ".txt", ".sh"):
            yield str(path.relative_to(ROOT)), path.read_text(encoding="utf-8")


@pytest.mark.parametrize("path", BRIEFS, ids=lambda path: path.parent.name)
def test_every_source_of_an_item_stands_on_the_page(path: Path) -> None:
    """Whoever asks where an item comes from finds it, for every site that is shipped."""
    for item in read_yaml(path, Brief).items():
        assert set(item.sources) <= keys(), item.id


def test_keys_are_a_subject_and_a_year() -> None:
    """Or a label, or a page without a year, or common practice: never an author."""
    assert [key for key in sorted(keys()) if not KEY.fullmatch(key)] == []


def test_every_key_that_is_named_in_a_file_of_a_site_is_known() -> None:
    """Also where a figure names it in a sentence."""
    named = {
        key
        for path in (ROOT / "configs").rglob("*.yaml")
        for key in re.findall(rf"\b{DATED}\b", path.read_text(encoding="utf-8"))
    }
    assert named
    assert named <= keys()


def test_nobody_is_cited_by_name() -> None:
    """Neither "and others" after a name, nor a name with initials, nor a name before a year."""
    found = [
        (name, match.group())
        for name, text in texts()
        for match in (
            *re.finditer(r"\bet\s+al\b", text),
            *re.finditer(r"\| [A-Z][\w'-]+ [A-Z]{1,3}[,.] ", text),
            *re.finditer(r"\b([A-Z][a-zé-]+(?: and [A-Z][a-z]+)?) (?:19|20)\d\d\b(?!;)", text),
        )
        if not (match.groups() and match[1] in NOBODY)
    ]
    assert found == []
