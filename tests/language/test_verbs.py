"""English verbs: what was told of them is kept, and never changed by being kept."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from lemminflect import getInflection, getLemma

from assistant.language import verbs

WORDS = ("took", "saw", "sealed", "went", "brought", "mask", "drugs", "begins")


@pytest.fixture(autouse=True)
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A cache of its own, in which nothing is kept yet."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    verbs._known.cache_clear()
    yield tmp_path
    verbs._known.cache_clear()


def told() -> list[tuple[str, ...]]:
    """All that is asked of the words."""
    return [
        one
        for word in WORDS
        for one in (verbs.verbs_of(word), *(verbs.forms_of(word, of) for of in ("VBD", "VBN")))
    ]


def test_kept_or_not_it_is_what_the_library_tells(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first time, later in the same program, and in the next, which asks nobody."""
    asked = [
        tuple(one)
        for word in WORDS
        for one in (
            getLemma(word, "VERB", lemmatize_oov=False),
            *(getInflection(word, of) for of in ("VBD", "VBN")),
        )
    ]

    assert told() == told() == asked
    verbs._known.cache_clear()
    monkeypatch.setattr(verbs, "_asked", lambda *_: pytest.fail("it is kept, and asked for anew"))
    assert told() == asked


@pytest.mark.parametrize("torn", ["", "{", "[]"])
def test_a_torn_file_only_costs_time(kept: Path, torn: str) -> None:
    """As a power cut may leave it: all is asked anew, and kept."""
    before = told()
    (file,) = kept.rglob("lemminflect-*.json")
    whole = file.read_bytes()
    file.write_text(torn)
    verbs._known.cache_clear()

    assert told() == before
    assert file.read_bytes() == whole
