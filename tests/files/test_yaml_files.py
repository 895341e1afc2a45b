"""Reading a site's YAML: one clear sentence for whatever is wrong, and YAML 1.2's plain words."""

import os
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import pytest
from pydantic import Field

from assistant.brief.brief import Brief
from assistant.errors import BadInput
from assistant.files.yaml_files import LARGEST_BYTES, SiteModel, line_in, read_yaml


class Drawer(SiteModel):
    """Something with a number in it."""

    label: str
    depth_cm: Annotated[int, Field(ge=1, le=50)] = 10


class Trolley(SiteModel):
    """A small site file."""

    name: str
    locked: bool = False
    width_cm: float = 60.0
    drawers: tuple[Drawer, ...] = ()


Read = Callable[[str | bytes], Trolley]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Reads a text as if it were a site's file."""

    def reading(text: str | bytes) -> Trolley:
        path = tmp_path / "trolley.yaml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_yaml(path, Trolley)

    return reading


@pytest.mark.parametrize(
    ("text", "line", "key", "found", "allowed"),
    [
        ("name: [", 2, None, "no expected node content", "well-formed YAML"),
        ("name: a\n\tlocked: true", 2, None, "a tab character", "well-formed YAML"),
        ("", 1, None, "nothing", "keys at the top level"),
        ("- name", 1, None, "['name']", "keys at the top level"),
        ("name: a\nnmae: b", 2, "nmae", "an unknown key", "only the keys"),
        ("locked: true", 1, "name", "nothing", "a value for this key"),
        ("name: a\nname: b", 2, "name", "the same key twice", "each key once"),
        ("name: 7", 1, "name", "7", "valid string"),
        ("name: a\nlocked: yes", 2, "locked", "'yes'", "valid boolean"),
        ("name: a\nwidth_cm: wide", 2, "width_cm", "'wide'", "valid number"),
        (
            "name: a\ndrawers:\n  - label: top\n  - label: low\n    depth_cm: 99",
            5,
            "drawers.1.depth_cm",
            "99",
            "less than or equal to 50",
        ),
        (
            "name: a\ndrawers:\n  - depth_cm: 5",
            3,
            "drawers.0.label",
            "nothing",
            "a value for this key",
        ),
        (
            "name: a\ndrawers:\n  - {label: top, label: low}",
            3,
            "label",
            "the same key twice",
            "each key once",
        ),
        ("name: a\ndrawers: 3", 2, "drawers", "3", "valid"),
        ("name: !!python/object:os.system {}", 1, None, "a tag", "plain values only"),
    ],
)
def test_a_fault_is_named_with_its_place(
    read: Read, tmp_path: Path, *, text: str, line: int, key: str | None, found: str, allowed: str
) -> None:
    """File, line, key, what was found and what is allowed, in one sentence on one line."""
    with pytest.raises(BadInput) as refused:
        read(text)
    sentence = str(refused.value)

    where = f"{tmp_path / 'trolley.yaml'}, line {line}" + (f", key {key}: " if key else ": ")
    assert sentence.startswith(where)
    assert "\n" not in sentence
    found_said, allowed_said = sentence.removeprefix(where).split("; allowed: ")
    assert found in found_said
    assert allowed in allowed_said
    assert sentence.endswith(".")


def test_a_file_that_is_not_text_is_refused(read: Read) -> None:
    """Bytes that are not UTF-8 are one sentence too."""
    with pytest.raises(BadInput, match="cannot be read; allowed: a YAML file in UTF-8"):
        read(b"name: \xff\xfe")


@pytest.mark.parametrize(
    "text",
    [
        "name: &a [*a]",
        "? [a]\n: b\nname: c",
        "name: " + "[" * 3000,
        "name: !!int x",
        "name: !!timestamp x",
        "name: " + "1" * 5000,
        "name: \0",
    ],
)
def test_what_a_yaml_reader_chokes_on_is_refused(read: Read, text: str) -> None:
    """Cycles, lists as keys, tags that do not fit: a sentence, never a fault of the reader."""
    with pytest.raises(BadInput, match=r"allowed: (well-formed YAML|plain values only)"):
        read(text)


def test_an_absent_file_is_refused(tmp_path: Path) -> None:
    """And so is one that is not there."""
    with pytest.raises(BadInput, match="found no such file"):
        read_yaml(tmp_path / "none.yaml", Trolley)


def test_only_true_and_false_are_truth_values(read: Read) -> None:
    """YAML 1.2: yes, no, on and off are words (yaml.org/spec/1.2.2, core schema, 10.3.2)."""
    for word in ("yes", "no", "on", "off", "Yes", "NO", "y", "n"):
        assert read(f"name: {word}").name == word
    assert read("name: a\nlocked: true").locked is True


@pytest.mark.parametrize(("written", "means"), [("010", 10), ("0x1F", 31), ("+7", 7), ("08", 8)])
def test_a_leading_nought_is_not_octal(read: Read, written: str, means: int) -> None:
    """YAML 1.2: a plain 010 is ten (yaml.org/spec/1.2.2, core schema, 10.3.2)."""
    assert (
        read(f"name: a\ndrawers: [{{label: b, depth_cm: {written}}}]").drawers[0].depth_cm == means
    )


def test_a_list_of_ratios_is_no_time_of_day(read: Read) -> None:
    """YAML 1.1 reads 1:30 as ninety; here it stays a word."""
    assert read("name: 1:30").name == "1:30"


def test_a_date_is_a_word(read: Read) -> None:
    """Nothing is turned into a date behind a site's back."""
    assert read("name: 2026-03-01").name == "2026-03-01"


def test_the_line_of_a_value_can_be_found_later(tmp_path: Path) -> None:
    """For checks made after reading: the deepest part of a place that exists."""
    path = tmp_path / "trolley.yaml"
    path.write_text("name: a\ndrawers:\n  - label: top\n  - label: low\n", encoding="utf-8")

    assert line_in(path, "drawers", 1, "label") == 4
    assert line_in(path, "drawers", 1, "depth_cm") == 4
    assert line_in(path, "nothing") == 1


def test_what_is_no_plain_file_of_a_site_is_refused_at_once(tmp_path: Path) -> None:
    """A pipe, a folder, a huge file, an alias, a tag: a sentence each, nothing expanded."""
    os.mkfifo(tmp_path / "pipe.yaml")
    (tmp_path / "folder.yaml").mkdir()
    (tmp_path / "huge.yaml").write_text("#" * (LARGEST_BYTES + 1), "utf-8")
    (tmp_path / "alias.yaml").write_text("a: 1\nb: &it [x]\nc: *it\n", "utf-8")
    (tmp_path / "tag.yaml").write_text("a: !!set {x}\n", "utf-8")
    for name, found in (
        ("pipe.yaml", "found no regular file"),
        ("folder.yaml", "found no regular file"),
        ("huge.yaml", f"found {LARGEST_BYTES + 1} bytes"),
        ("alias.yaml", "line 2: found an anchor or alias"),
        ("tag.yaml", "line 1: found a tag"),
    ):
        with pytest.raises(BadInput, match=found):
            read_yaml(tmp_path / name, Brief)
