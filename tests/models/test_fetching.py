"""Fetching: goes on after a cut, and believes the checksum only."""

from dataclasses import replace
from pathlib import Path

import pytest

from assistant.errors import BadInput
from assistant.models.catalogue import KNOWN, KnownModel
from assistant.models.fetching import TRIES_WITHOUT_PROGRESS, fetch


def test_a_file_comes_whole(served, model: KnownModel, tmp_path: Path) -> None:
    """A connection that holds brings the file in one request without a range."""
    there: list[int] = []
    path = fetch(model, served.address, tmp_path, progress=there.append)
    assert path.read_bytes() == served.content
    assert served.asked == [""]
    assert there[0] == 0
    assert there[-1] == model.archive_bytes
    assert there == sorted(there)


def test_it_goes_on_where_the_connection_was_cut(served, model, tmp_path: Path) -> None:
    """After each cut it asks for the rest only."""
    served.cut_after = [100_000, 70_000]
    path = fetch(model, served.address, tmp_path, wait_s=0)
    assert path.read_bytes() == served.content
    assert served.asked == ["", "bytes=100000-", "bytes=170000-"]


def test_a_later_run_goes_on_with_what_an_earlier_one_left(served, model, tmp_path: Path) -> None:
    """A fetch given up in the middle leaves its bytes to the next."""
    served.cut_after = [120_000] + [0] * TRIES_WITHOUT_PROGRESS
    with pytest.raises(BadInput, match=rf"found 120000 of {model.archive_bytes} bytes"):
        fetch(model, served.address, tmp_path, wait_s=0)
    served.asked.clear()
    served.cut_after = []
    assert fetch(model, served.address, tmp_path, wait_s=0).read_bytes() == served.content
    assert served.asked == ["bytes=120000-"]


def test_a_server_without_ranges_begins_again(served, model, tmp_path: Path) -> None:
    """Bytes from the beginning are not appended to what is there."""
    served.cut_after, served.ranges = [100_000], False
    assert fetch(model, served.address, tmp_path, wait_s=0).read_bytes() == served.content


def test_a_wrong_checksum_is_refused_and_deleted(served, model, tmp_path: Path) -> None:
    """A file of the right size that is another one is neither used nor continued."""
    served.content = served.content[:-1] + bytes([served.content[-1] ^ 1])
    with pytest.raises(BadInput, match=rf"SHA-256 [0-9a-f]{{64}}; allowed: .*{model.sha256}"):
        fetch(model, served.address, tmp_path)
    assert list(tmp_path.glob("*.part")) == []


def test_a_wrong_size_is_refused_before_it_is_fetched(served, model, tmp_path: Path) -> None:
    """A server that announces another size is refused at once."""
    with pytest.raises(BadInput, match=r"found a file of .* bytes; allowed"):
        fetch(replace(model, archive_bytes=5), served.address, tmp_path)
    assert all(path.stat().st_size == 0 for path in tmp_path.glob("*.part"))


def test_a_missing_file_is_said(served, model, tmp_path: Path) -> None:
    """A refusal by the server is no reason to try again."""
    served.refuses = 404
    with pytest.raises(BadInput, match="found 404"):
        fetch(model, served.address, tmp_path)
    assert len(served.asked) == 1


def test_a_server_in_trouble_is_tried_again(served, model, tmp_path: Path) -> None:
    """A 503 may pass; it is tried a few times and then said."""
    served.refuses = 503
    with pytest.raises(BadInput, match="503"):
        fetch(model, served.address, tmp_path, wait_s=0)
    assert len(served.asked) == TRIES_WITHOUT_PROGRESS


@pytest.mark.parametrize("address", ["ftp://example.org/a.zip", "file:///etc/passwd", "a.zip", ""])
def test_only_http_is_an_address(address: str, model: KnownModel, tmp_path: Path) -> None:
    """Nothing is read from elsewhere by way of an address."""
    with pytest.raises(BadInput, match="allowed: an http or https address"):
        fetch(model, address, tmp_path)


def test_the_known_model_is_the_published_one() -> None:
    """Size and checksum of the small English model, as measured on the published file."""
    (small,) = [model for model in KNOWN if model.name == "vosk-small-en"]
    assert small.archive_bytes == 41_205_931
    assert small.sha256 == "30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498"
    assert small.licence == "Apache-2.0"
