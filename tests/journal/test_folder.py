"""Case folders: never shared, and for their owner only."""

import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from assistant.clock import WallReading
from assistant.errors import BadInput
from assistant.journal import folder as folder_module
from assistant.journal.folder import KEPT_SITE, new_case
from assistant.site.folder import files_of

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"
FILES = files_of(SITE)


@pytest.fixture
def stopped_wall(monkeypatch: pytest.MonkeyPatch) -> None:
    """A wall clock that always tells the same second, as a Pi's may after each start."""
    reading = WallReading("2026-03-01T10:00:00.123Z", trusted=False)
    monkeypatch.setattr(folder_module, "read_wall", lambda: reading)


@pytest.mark.usefixtures("stopped_wall")
def test_two_cases_of_one_second_have_two_folders(tmp_path: Path) -> None:
    """The name is for the eye; when it is taken the next one is numbered."""
    names = [new_case(tmp_path, FILES).name for _ in range(3)]
    assert names == ["2026-03-01T10-00-00", "2026-03-01T10-00-00-2", "2026-03-01T10-00-00-3"]


@pytest.mark.usefixtures("stopped_wall")
def test_cases_that_begin_together_never_share_a_folder(tmp_path: Path) -> None:
    """Also when several are made at once."""
    with ThreadPoolExecutor(8) as pool:
        made = list(pool.map(lambda _: new_case(tmp_path, FILES), range(40)))
    assert len(set(made)) == 40


def test_only_the_owner_can_look_into_a_case(tmp_path: Path) -> None:
    """Mode 0700, however generous the process's umask is."""
    before = os.umask(0)
    try:
        made = new_case(tmp_path / "cases", FILES)
    finally:
        os.umask(before)
    assert stat.S_IMODE(made.stat().st_mode) == 0o700


def test_a_place_that_cannot_hold_cases_is_refused(tmp_path: Path) -> None:
    """One sentence, when the folder for cases is a file."""
    (tmp_path / "cases").write_text("", encoding="utf-8")
    with pytest.raises(BadInput, match="a folder that cannot be written"):
        new_case(tmp_path / "cases", FILES)


def test_the_site_is_kept_with_the_case(tmp_path):
    """What the site said at the time can be read when its own files have changed."""
    made = new_case(tmp_path, FILES)

    kept = sorted(path.name for path in (made / "site").iterdir())
    files = ("brief", "figures", "formulary", "oximeter", "wording")
    assert kept == [f"{name}.yaml" for name in files]
    assert (made / "site" / "brief.yaml").read_bytes() == (SITE / "brief.yaml").read_bytes()


def test_the_kept_site_is_on_disk_before_the_case_begins(tmp_path, monkeypatch):
    """Each file, and each folder: a power cut would leave a case that cannot go on."""
    synced = []
    monkeypatch.setattr(folder_module, "sync_file", synced.append)
    monkeypatch.setattr(folder_module, "sync_folder", synced.append)

    made = new_case(tmp_path, FILES)

    kept = {made / KEPT_SITE / name for name in FILES}
    assert set(synced[:-3]) == kept
    assert synced[-3:] == [made / KEPT_SITE, made, tmp_path]
