"""Cases kept and not kept: exported whole, removed whole, and never by a clock that is not sure."""

import stat
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.clock import SoundClock, WallReading
from assistant.commands import cases as cases_command
from assistant.commands.main import main
from assistant.debrief.verifying import verify_case
from assistant.errors import BadInput
from assistant.journal import journal as journal_module
from assistant.journal import keeping
from assistant.journal.at_hand import take_in_hand
from assistant.journal.journal import Journal
from assistant.journal.keeping import export_case, kept_cases, remove_case, remove_older

NOW = WallReading("2026-03-31T12:00:00.000Z", trusted=True)


@pytest.fixture
def open_case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Path]:
    """Makes a case that began then, and is over."""

    def made(name: str, began: str, *, trusted: bool = True) -> Path:
        reading = WallReading(f"{began}T12:00:00.000Z", trusted=trusted)
        monkeypatch.setattr(journal_module, "read_wall", lambda: reading)
        folder = tmp_path / "cases" / name
        (folder / "site").mkdir(parents=True)
        (folder / "site" / "brief.yaml").write_text("name: x\n", encoding="utf-8")
        (folder / "room.wav").write_bytes(b"sound")
        journal = Journal(folder, SoundClock(), "Tarn Hollow")
        journal.append("team", "heard", "yes")
        journal.close()
        return folder

    return made


def names(cases: Path) -> list[str]:
    return [one.name for one in cases.iterdir()]


def test_cases_older_than_so_many_days_are_removed_whole(open_case: Callable[..., Path]) -> None:
    """Record, sound and the site's files; a case of exactly that age stays."""
    open_case("old", "2026-02-28")
    kept = open_case("just", "2026-03-01")
    assert remove_older(kept.parent, 30, NOW) == (["old"], [])
    assert names(kept.parent) == ["just"]


def test_a_clock_that_is_not_sure_removes_nothing(open_case: Callable[..., Path]) -> None:
    """Neither one that began a case, nor the one of today, be it years ahead."""
    one = open_case("unsure", "1970-01-01", trusted=False)
    open_case("sure", "2026-03-01")
    ahead = WallReading("2040-01-01T00:00:00.000Z", trusted=False)
    assert remove_older(one.parent, 30, ahead) == ([], ["sure", "unsure"])
    assert remove_older(one.parent, 1, NOW) == (["sure"], ["unsure"])
    assert names(one.parent) == ["unsure"]


def test_the_case_that_is_going_on_is_never_removed(open_case: Callable[..., Path]) -> None:
    """Neither for its age nor by name, nor is it exported in the middle."""
    going = open_case("going", "2020-01-01")
    take_in_hand(going.parent, going)
    assert remove_older(going.parent, 1, NOW) == ([], [])
    for refused in (lambda: remove_case(going), lambda: export_case(going, going.parent / "x")):
        with pytest.raises(BadInput, match="going on"):
            refused()
    assert (going / "room.wav").is_file()


def test_a_removal_that_was_cut_short_is_finished_by_the_next(
    open_case: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Power fails before anything is deleted: it is no case any more, and later nothing at all."""
    first, second = open_case("first", "2026-01-01"), open_case("second", "2026-01-02")
    with monkeypatch.context() as cut:
        cut.setattr(keeping.shutil, "rmtree", lambda _: (_ for _ in ()).throw(OSError(5, "cut")))
        with pytest.raises(BadInput, match="cut"):
            remove_case(first)
    assert [one.folder.name for one in kept_cases(second.parent)] == ["second"]
    remove_case(second)
    assert names(second.parent) == []


def test_an_exported_case_is_whole(open_case: Callable[..., Path], tmp_path: Path) -> None:
    """Unpacked elsewhere, it is verified as it was; and the archive is for its owner only."""
    case = open_case("case", "2026-03-01")
    archive = tmp_path / "case.zip"
    assert main(["cases", "--cases", str(case.parent), "--export", "case", str(archive)]) == 0
    assert stat.S_IMODE(archive.stat().st_mode) == 0o600
    with zipfile.ZipFile(archive) as packed:
        packed.extractall(tmp_path / "elsewhere")
    assert verify_case(tmp_path / "elsewhere" / "case").faults == ()
    assert (tmp_path / "elsewhere" / "case" / "room.wav").read_bytes() == b"sound"
    with pytest.raises(BadInput, match="a new file"):
        export_case(case, archive)


def test_the_command_lists_removes_and_refuses(
    open_case: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By name; what is no case is refused in one sentence."""
    cases = open_case("one", "2026-03-01").parent
    open_case("two", "2026-03-02")
    assert main(["cases", "--cases", str(cases)]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == ["one", "two"]
    assert main(["cases", "--cases", str(cases), "--remove", "one"]) == 0
    assert names(cases) == ["two"]
    for words in (("--remove", "one"), ("--keep-days", "0"), ("--remove", str(tmp_path))):
        assert main(["cases", "--cases", str(cases), *words]) == 2
        assert capsys.readouterr().err.count("\n") == 1
    assert names(cases) == ["two"]


def test_the_site_decides_for_how_long(
    open_case: Callable[..., Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """By its record.yaml; without one, or with a wrong one, a sentence, and nothing is removed."""
    monkeypatch.setattr(cases_command, "read_wall", lambda: NOW)
    open_case("old", "2026-02-28")
    kept = open_case("just", "2026-03-01")
    site = tmp_path / "site"
    site.mkdir()
    words = ["cases", "--cases", str(kept.parent), "--site", str(site), "--keep-days"]
    for text in (None, "keep_days: 0\n", "keep_days: soon\n"):
        if text is not None:
            (site / "record.yaml").write_text(text, encoding="utf-8")
        assert main(words) == 2
        assert capsys.readouterr().err.count("\n") == 1
        assert len(names(kept.parent)) == 2
    (site / "record.yaml").write_text("keep_days: 30\n", encoding="utf-8")
    assert main(words) == 0
    assert names(kept.parent) == ["just"]
