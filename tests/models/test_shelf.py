"""Unpacking and putting in place: all of a model or nothing, and nothing anywhere else."""

import os
import stat
import struct
import zipfile
from pathlib import Path

import pytest

from assistant.errors import BadInput
from assistant.models import archive as unpacking
from assistant.models.shelf import Shelf, sha256_of


def zip_of(path: Path, *entries: tuple[str | zipfile.ZipInfo, bytes]) -> Path:
    """A ZIP with those entries, as they are."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in entries:
            made.writestr(name, content)
    return path


def everything_under(folder: Path) -> set[str]:
    """All files, without the lock that is always there."""
    return {
        str(path.relative_to(folder))
        for path in folder.rglob("*")
        if path.is_file() and path.name != "lock"
    }


def link(name: str, kind: int) -> zipfile.ZipInfo:
    """An entry that a UNIX archiver would have written for something that is no file."""
    entry = zipfile.ZipInfo(name)
    entry.create_system = 3
    entry.external_attr = (kind | 0o777) << 16
    return entry


def test_a_model_is_put_without_the_folder_around_it(archive: Path, tmp_path: Path) -> None:
    """The model's own files lie directly in the named folder, with a note of their origin."""
    shelf = Shelf(tmp_path / "models")
    put = shelf.put(archive, "vosk")
    assert (put.folder / "am" / "final.mdl").is_file()
    assert (put.folder / "graph" / "phones" / "word_boundary.int").is_file()
    (listed,) = shelf.installed()
    assert listed.folder == tmp_path / "models" / "vosk"
    assert listed.origin is not None
    assert listed.origin.sha256 == sha256_of(archive)
    assert listed.origin.licence == ""  # the project does not know this one


def test_other_users_can_read_it(archive: Path, tmp_path: Path) -> None:
    """Installed by root under any umask, it can be read by the assistant's own user."""
    before = os.umask(0o077)
    try:
        put = Shelf(tmp_path / "models").put(archive, "vosk")
    finally:
        os.umask(before)
    for path in (put.folder, *put.folder.rglob("*")):
        wanted = 0o755 if path.is_dir() else 0o644
        assert stat.S_IMODE(path.stat().st_mode) == wanted, path


def test_a_model_that_is_there_stays(archive: Path, tmp_path: Path) -> None:
    """Without --replace nothing is overwritten; with it, nothing of the old one stays."""
    shelf = Shelf(tmp_path / "models")
    put = shelf.put(archive, "vosk")
    (put.folder / "am" / "old").write_text("old")
    with pytest.raises(BadInput, match=r"found a model of that name; allowed: .*--replace"):
        shelf.put(archive, "vosk")
    assert (put.folder / "am" / "old").exists()
    shelf.put(archive, "vosk", replace=True)
    assert not (put.folder / "am" / "old").exists()
    assert (put.folder / "am" / "final.mdl").exists()


def test_a_refused_replacement_leaves_the_old_one(archive: Path, tmp_path: Path) -> None:
    """The old model gives way only to a whole new one."""
    shelf = Shelf(tmp_path / "models")
    shelf.put(archive, "vosk")
    before = everything_under(shelf.folder)
    bad = zip_of(tmp_path / "bad.zip", ("am/final.mdl", b"x"), ("../escaped", b"x"))
    with pytest.raises(BadInput):
        shelf.put(bad, "vosk", replace=True)
    assert everything_under(shelf.folder) == before


@pytest.mark.parametrize(
    "name", ["../escaped", "a/../../escaped", "/escaped", "..\\escaped", "C:escaped", "a\0b"]
)
def test_traversal_is_refused(name: str, tmp_path: Path) -> None:
    """An entry that names a place elsewhere stops everything, before anything is written."""
    entry = zipfile.ZipInfo("placeholder")
    entry.filename = name
    path = zip_of(tmp_path / "bad.zip", ("am/final.mdl", b"x"), (entry, b"x"))
    shelf = Shelf(tmp_path / "models")
    with pytest.raises(BadInput, match=r"bad\.zip: found the entry .*; allowed: paths inside"):
        shelf.put(path, "vosk")
    assert everything_under(tmp_path) == {"bad.zip"}


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFCHR, stat.S_IFIFO, stat.S_IFBLK])
def test_links_and_devices_are_refused(kind: int, tmp_path: Path) -> None:
    """A symbolic link would let a later entry land where it points."""
    path = zip_of(tmp_path / "bad.zip", (link("m/am", kind), b"/etc"), ("m/am/final.mdl", b"x"))
    with pytest.raises(BadInput, match="a link or a device; allowed: plain files and folders"):
        Shelf(tmp_path / "models").put(path, "vosk")
    assert everything_under(tmp_path) == {"bad.zip"}


def test_a_bomb_is_refused_unopened(tmp_path: Path) -> None:
    """More than the limit when unpacked: judged by the archive's index."""
    path = zip_of(tmp_path / "bomb.zip", ("m/am/final.mdl", bytes(3_000_000)))
    assert path.stat().st_size < 10_000
    (tmp_path / "into").mkdir()
    with pytest.raises(BadInput, match="3000000 bytes when unpacked; allowed: at most 1000000"):
        unpacking.unpack(path, tmp_path / "into", most_bytes=1_000_000)
    assert everything_under(tmp_path) == {"bomb.zip"}


def test_a_bomb_with_a_false_index_is_refused(tmp_path: Path) -> None:
    """An index that states a small size does not get more than that written."""
    path = zip_of(tmp_path / "bomb.zip", ("m/am/final.mdl", bytes(3_000_000)))
    content = path.read_bytes()
    path.write_bytes(content.replace(struct.pack("<L", 3_000_000), struct.pack("<L", 10)))
    with pytest.raises(BadInput, match=r"damaged|longer than its index"):
        Shelf(tmp_path / "models").put(path, "vosk")
    assert everything_under(tmp_path) == {"bomb.zip"}


def test_too_many_entries_are_refused(
    archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A model has some dozen files; an archive with countless ones is not a model."""
    monkeypatch.setattr(unpacking, "MOST_ENTRIES", 3)
    with pytest.raises(BadInput, match="found 5 entries; allowed: at most 3"):
        Shelf(tmp_path / "models").put(archive, "vosk")


def test_an_entry_twice_is_refused(tmp_path: Path) -> None:
    """The second of two equal names would silently win."""
    with pytest.warns(UserWarning, match="Duplicate"):
        path = zip_of(tmp_path / "bad.zip", ("m/am/final.mdl", b"x"), ("m/am/final.mdl", b"y"))
    with pytest.raises(BadInput, match="twice; allowed: each file once"):
        Shelf(tmp_path / "models").put(path, "vosk")


def test_a_damaged_archive_leaves_nothing(archive: Path, tmp_path: Path) -> None:
    """A flipped byte inside a file is found by its checksum; a cut archive has no index."""
    content = bytearray(archive.read_bytes())
    content[len(content) // 2] ^= 0xFF
    damaged = tmp_path / "damaged.zip"
    for bad in (bytes(content), archive.read_bytes()[:-200], b"", b"not a zip"):
        damaged.write_bytes(bad)
        with pytest.raises(BadInput, match="found a damaged file"):
            Shelf(tmp_path / "models").put(damaged, "vosk")
        assert everything_under(tmp_path / "models") == set()


@pytest.mark.parametrize(
    "packed", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA]
)
@pytest.mark.parametrize("at", ["name", "content"])
def test_however_it_is_packed_damage_is_told_as_such(tmp_path: Path, packed: int, at: str) -> None:
    """Each way of packing has errors of its own, and so has a name that is no UTF-8."""
    path = tmp_path / "damaged.zip"
    name = "am/final.mdl" if at == "content" else "am/\N{GREEK SMALL LETTER MU}.mdl"
    with zipfile.ZipFile(path, "w", packed) as made:
        made.writestr(name, b"sounds " * 200)
    content = bytearray(path.read_bytes())
    # The header of an entry has thirty bytes before its name.
    begins = 30 + (3 if at == "name" else len(name) + 9)
    content[begins : begins + 2] = b"\xff\xfe"
    path.write_bytes(content)
    with pytest.raises(BadInput, match="found a damaged file"):
        Shelf(tmp_path / "models").put(path, "vosk")
    assert everything_under(tmp_path / "models") == set()


def test_an_archive_of_something_else_is_refused(tmp_path: Path) -> None:
    """What has not the folders of a Vosk model is not installed as one."""
    path = zip_of(tmp_path / "photos.zip", ("photos/one.jpg", b"x"), ("photos/conf", b"x"))
    shelf = Shelf(tmp_path / "models")
    with pytest.raises(BadInput, match=r"without am/final\.mdl, graph; allowed: .*Vosk model"):
        shelf.put(path, "vosk")
    assert shelf.installed() == []


@pytest.mark.parametrize("name", ["../x", "", ".hidden", "A", "a/b", "x" * 65])
def test_a_folder_name_stays_on_the_shelf(name: str, archive: Path, tmp_path: Path) -> None:
    """--as takes a name, not a path."""
    with pytest.raises(BadInput, match="The name of a model's folder"):
        Shelf(tmp_path / "models").put(archive, name)


def test_one_installation_at_a_time(tmp_path: Path) -> None:
    """A second one is told so, and does not wait."""
    shelf = Shelf(tmp_path / "models")
    with (
        shelf.held(),
        pytest.raises(BadInput, match="another installation"),
        Shelf(tmp_path / "models").held(),
    ):
        pass


def test_a_folder_put_there_by_hand_is_listed(tmp_path: Path) -> None:
    """What has no note of its origin is shown all the same."""
    (tmp_path / "models" / "mine" / "am").mkdir(parents=True)
    (listed,) = Shelf(tmp_path / "models").installed()
    assert listed.folder.name == "mine"
    assert listed.origin is None
