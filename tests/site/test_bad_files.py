"""More than a hundred kinds of bad files: one sentence for each fault, and moderate in memory."""

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.commands.whole_site import whole_site
from assistant.errors import BadInput
from tests.site.bad_files import FILES, FORMS, PLACES, ROOT, SMALL, TARN_HOLLOW, VALUES, Bad

MOST_KB = 300_000
LONGEST_S = 200
"""A generous end of waiting: all of them take some six seconds, and a pipe would take for ever."""
SENTENCE = re.compile(r"(?:, line [0-9]+)?(?:, key .+?)?: found (.+); allowed: (.+)\.")
PROGRAMMERS = re.compile(
    r"Errno|Error|None\b|tuple|\bdict|\bstr\b|\bint\b|float|validat|pydantic|mapping|scalar|token"
    r"|node|codec|object|<class|\(\)"
)
Told = dict[str, list[Bad]]


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """All of them, read in one process of its own."""
    folder = tmp_path_factory.mktemp("bad-files")
    done = subprocess.run(
        [sys.executable, "-m", "tests.site.bad_files", str(folder)],
        capture_output=True,
        check=False,
        text=True,
        cwd=ROOT,
        timeout=LONGEST_S,
    )
    assert done.returncode == 0, done.stderr
    shutil.rmtree(folder)
    return dict(json.loads(done.stdout))


@pytest.fixture(scope="module")
def told(read: dict[str, Any]) -> Told:
    """What was told of each kind."""
    return {what: [Bad(*one) for one in files] for what, files in read["told"].items()}


def test_there_are_a_hundred_kinds(told: Told) -> None:
    """Each by a name of its own, and those of form and place with each of a site's ten files."""
    assert len(told) == len(PLACES) + len(FORMS) + len(VALUES) >= 140
    assert all(len(told[what]) == len(FILES) == 10 for what in (*PLACES, *FORMS))


def test_none_of_them_fills_the_memory(read: dict[str, Any]) -> None:
    """The most that the process ever had, with all that the program itself takes."""
    assert read["most_kb"] < MOST_KB


def _only(bad: Bad) -> tuple[str, str]:
    """What was found and what is allowed, by the one sentence, in words for everybody."""
    assert len(bad.sentences) == 1, bad
    (sentence,) = bad.sentences
    parts = SENTENCE.fullmatch(sentence)
    assert parts is not None, bad
    assert sentence.isprintable(), bad
    assert len(sentence) < 450, bad
    assert not PROGRAMMERS.search(sentence.replace("!!python/object", "")), bad
    return parts[1], parts[2]


@pytest.mark.parametrize("what", [*PLACES, *FORMS])
def test_another_thing_than_yaml_is_one_sentence(told: Told, what: str) -> None:
    """In the place of any of a site's files, or in any of them: what it is, in plain words."""
    wanted = {**PLACES, **FORMS}[what][1]
    for bad in told[what]:
        assert wanted in _only(bad)[0], bad


@pytest.mark.parametrize("what", VALUES)
def test_a_wrong_value_is_one_sentence_with_its_place(told: Told, what: str) -> None:
    """Line, key, what was found, what is allowed."""
    key, found, allowed = VALUES[what][3:]
    (bad,) = told[what]
    found_said, allowed_said = _only(bad)
    assert re.match(r", line [0-9]+", bad.sentences[0]), bad
    assert not key or re.search(rf", key \S*\b{key}(\.[0-9]+)?:", bad.sentences[0]), bad
    assert found in found_said, bad
    assert allowed in allowed_said, bad


def _spoilt(tmp_path: Path, put: Callable[[Path], object]) -> Path:
    site = Path(shutil.copytree(TARN_HOLLOW, tmp_path / "site"))
    for name in (*(path.name for path in TARN_HOLLOW.glob("*.yaml")), *SMALL):
        (site / name).unlink(missing_ok=True)
        put(site / name)
    return site


@pytest.mark.parametrize("what", ["a pipe", "a link to nothing"])
def test_all_bad_files_are_told_at_once(tmp_path: Path, what: str) -> None:
    """A sentence for each of them; only the signature waits until there is something to sign."""
    site = _spoilt(tmp_path, PLACES[what][0])
    with pytest.raises(BadInput) as refused:
        whole_site(site)
    files = [line.split(".yaml")[0].rsplit("/", 1)[1] for line in str(refused.value).splitlines()]
    assert sorted(files) == sorted(set(FILES) - {"signature"})
