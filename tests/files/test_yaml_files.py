"""Reading a site's YAML: one clear sentence for whatever is wrong, and YAML 1.2's plain words."""

import os
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Literal

import pytest
from pydantic import Field

from assistant.errors import BadInput
from assistant.files.word_forms import Identifier, Spoken
from assistant.files.yaml_files import SiteModel, line_in, read_yaml


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
        ("name: [", 2, None, "no value", "a value"),
        ("name: a\nlocked:\n\ttrue: a", 3, None, "a tab", "spaces before a key"),
        ("", 1, None, "nothing", "keys at the top level"),
        ("- name", 1, None, "['name']", "keys at the top level"),
        ("name: a\nnmae: b", 2, "nmae", "an unknown key", "only the keys"),
        ("locked: true", 1, "name", "nothing", "a value for this key"),
        ("name: a\nname: b", 2, "name", "the same key twice", "each key once"),
        ("name: 7", 1, "name", "7", "text"),
        ("name: a\nlocked: yes", 2, "locked", "'yes'", "true or false"),
        ("name: a\nwidth_cm: wide", 2, "width_cm", "'wide'", "a number"),
        (
            "name: a\ndrawers:\n  - label: top\n  - label: low\n    depth_cm: 99",
            5,
            "drawers.1.depth_cm",
            "99",
            "at most 50",
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
        ("name: a\ndrawers: 3", 2, "drawers", "3", "a list"),
        (
            "name: !!python/object:os.system {}",
            1,
            None,
            "the tag !!python/object:os.system",
            "without a tag",
        ),
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


@pytest.mark.parametrize(
    ("text", "found", "allowed"),
    [
        ("name: &a top", "the anchor &a", "each value written out"),
        ("name: *a", "the alias *a", "each value written out"),
        ("name: a\nlocked: !!bool true", "the tag !!bool", "values without a tag"),
        ("name: a\nlocked: !own true", "the tag !own", "values without a tag"),
        ("name: ! a", "the tag !", "values without a tag"),
        ("? [a]\n: b\nname: c", "a list or keys as a key", "a word as a key"),
    ],
)
def test_what_yaml_has_besides_plain_values_is_refused(
    read: Read, text: str, found: str, allowed: str
) -> None:
    """By its own sentence."""
    with pytest.raises(BadInput) as refused:
        read(text)
    assert str(refused.value).endswith(f": found {found}; allowed: {allowed}.")


def test_a_file_of_aliases_fills_no_memory(read: Read) -> None:
    """Ten times ten times … : refused at the first anchor, before anything is multiplied."""
    rows = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    rows += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 12)]
    with pytest.raises(BadInput, match="line 1: found the anchor &a0"):
        read("\n".join(rows))


def test_a_file_that_is_far_too_long_is_refused(read: Read) -> None:
    """No site's file is longer than a megabyte; nothing of it is read as YAML."""
    assert read("name: a\n" + "#" * 900_000).name == "a"
    with pytest.raises(BadInput, match="found more than 1000 kB; allowed: a YAML file of at most"):
        read("name: a\n" + "#" * 1_000_000)


def test_only_a_file_is_read(tmp_path: Path) -> None:
    """A folder, a pipe that nobody writes to, a device without end: refused and not waited for."""
    pipe = tmp_path / "pipe.yaml"
    os.mkfifo(pipe)
    for path, what in ((tmp_path, "folder"), (pipe, "pipe"), (Path("/dev/zero"), "device")):
        with pytest.raises(BadInput, match=f"found a {what}; allowed: a YAML file"):
            read_yaml(path, Trolley)


class Every(SiteModel):
    """One key of each kind."""

    id: Identifier = "a"
    text: Spoken = "a"
    short: Annotated[str, Field(min_length=2, max_length=3)] = "abc"
    many: Annotated[tuple[str, ...], Field(min_length=1, max_length=2)] = ("a",)
    count: Annotated[int, Field(gt=0, lt=10)] = 1
    exact: Annotated[Decimal, Field(ge=0)] = Decimal(1)
    inner: Drawer = Drawer(label="a")
    which: Literal["left", "right"] = "left"
    named: dict[str, int] = Field(default_factory=dict)


@pytest.mark.parametrize(
    ("text", "allowed"),
    [
        ("id: Top", "small letters, digits and hyphens, beginning with a letter"),
        ("text: ''", "some text"),
        ("short: a", "text of at least two characters"),
        ("short: abcd", "text of at most three characters"),
        ("many: []", "at least one"),
        ("many: [a, b, c]", "at most two"),
        ("many: a", "a list"),
        ("count: 0", "more than 0"),
        ("count: 10", "less than 10"),
        ("count: 1.5", "a whole number"),
        ("exact: -1", "at least 0"),
        ("exact: few", "a number"),
        ("inner: 3", "keys with their values"),
        ("which: up", "'left' or 'right'"),
        ("named: 3", "keys with their values"),
    ],
)
def test_what_is_allowed_is_said_in_plain_words(tmp_path: Path, text: str, allowed: str) -> None:
    """Nothing of tuples, patterns, items or validation."""
    path = tmp_path / "every.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        read_yaml(path, Every)
    assert str(refused.value).endswith(f"; allowed: {allowed}.")


def test_a_file_that_is_not_text_is_refused(read: Read) -> None:
    """Bytes that are not UTF-8 are one sentence too."""
    with pytest.raises(BadInput, match="line 1: found bytes that are no UTF-8; allowed"):
        read(b"name: \xff\xfe")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("name: " + "[" * 900, "within one another"),
        ("name: " + "[" * 900_000, "within one another"),
        ("name: " + "1" * 5000, "a number of 5000 digits"),
        ("name: [" + "1, " * 30_000 + "1]", "more than 20000 keys and values"),
        ("name: \0", r"a sign that cannot be seen, U\+0000"),
        ('name: "\\e"', r"a sign that cannot be seen, U\+001B"),
    ],
    ids=["deep", "deeper", "digits", "many", "unseen", "escaped"],
)
def test_what_a_yaml_reader_chokes_on_is_refused(read: Read, text: str, found: str) -> None:
    """Endless lists, numbers and signs: a sentence, never a fault of the reader."""
    with pytest.raises(BadInput, match=f"line 1: found .*{found}"):
        read(text)


def test_a_mark_at_the_beginning_is_no_fault(read: Read) -> None:
    """Editors of some systems put one before UTF-8, and end lines in two signs."""
    assert read("\ufeffname: a\r\nlocked: true\r\n".encode()).locked is True


def test_a_misspelt_key_is_one_fault(read: Read) -> None:
    """Its right name is told with it, not once more as missing; for look-alike letters too."""
    with pytest.raises(BadInput) as refused:
        read("nmae: a")
    assert str(refused.value).endswith("lists, such as name.")
    assert "\n" not in str(refused.value)
    with pytest.raises(BadInput, match=r"the letter . .cyrillic small letter a.*, such as name"):
        read("n\N{CYRILLIC SMALL LETTER A}me: a")


def test_faults_without_end_are_not_all_told(read: Read) -> None:
    """The first fifty, and that there are more: it is likely another file than was meant."""
    with pytest.raises(BadInput) as refused:
        read("name: a\n" + "\n".join(f"k{number}: 1" for number in range(9000)))
    told = str(refused.value).splitlines()
    assert len(told) == 51
    assert "found more than 50 faults" in told[-1]


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
