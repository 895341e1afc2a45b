"""A new case keeps the site as the assistant has read it, whatever becomes of its folder."""

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.clock import SoundClock
from assistant.journal.folder import KEPT_SITE
from assistant.live.opening import begin_case
from assistant.site.site import read_site
from tests.live.box import SITE


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A copy of the example site's folder."""
    return Path(shutil.copytree(SITE, tmp_path / "site"))


def kept(cases: Path, folder: Path, meddle: Callable[[], object] = lambda: None) -> dict[str, str]:
    """What a case keeps of a site that somebody meddled with after it was read."""
    read = read_site(folder)
    meddle()
    new = begin_case(cases, read, SoundClock())
    new.opened.journal.close()
    assert not new.in_memory
    return {one.name: one.read_text("utf-8") for one in (new.folder / KEPT_SITE).iterdir()}


def test_what_was_read_is_kept_and_not_what_was_changed_since(tmp_path: Path, site: Path) -> None:
    """The case went by what was read: who reads the record, or goes on with it, has to see that."""
    before = kept(tmp_path / "one", site)
    brief = site / "brief.yaml"
    changed = kept(tmp_path / "two", site, lambda: brief.write_text("no brief", "utf-8"))
    assert changed == before
    assert "brief.yaml" in before


def test_a_case_is_opened_when_the_sites_folder_is_gone(tmp_path: Path, site: Path) -> None:
    """As with a stick that was pulled: what is kept is whole all the same."""
    before = kept(tmp_path / "one", site)
    assert kept(tmp_path / "two", site, lambda: shutil.rmtree(site)) == before


@pytest.mark.parametrize(
    "lay",
    [
        lambda site: (site / ".#brief.yaml").symlink_to("somebody@box.1:2"),
        lambda site: (site / "old.yaml").mkdir(),
        lambda site: os.mkfifo(site / "old.yaml"),
        lambda site: (site / "old.yaml").write_bytes(bytes(1_000_001)),
    ],
    ids=["an editor's lock", "a folder", "a pipe", "a file that is too long"],
)
def test_a_case_is_opened_whatever_else_lies_in_the_sites_folder(
    tmp_path: Path, site: Path, lay: Callable[[Path], object]
) -> None:
    """What nobody reads keeps nobody from opening a case, and is not kept."""
    before = kept(tmp_path / "one", site)
    lay(site)
    assert kept(tmp_path / "two", site) == before
