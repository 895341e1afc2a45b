"""The sound of what was said to the assistant: kept only where the site says so, and aloud."""

import errno
import shutil
import stat
import time
import wave
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from assistant.clock import SoundClock, WallReading
from assistant.commands import cases as cases_command
from assistant.commands.main import main
from assistant.conversation.parts import Parts
from assistant.conversation.recorder import SOUND_KEPT
from assistant.debrief.timeline import read_timeline
from assistant.debrief.verifying import verify_case
from assistant.journal import journal as journal_module
from assistant.journal.folder import new_case
from assistant.journal.journal import read_case
from assistant.journal.kept_sounds import FOLDER, kept_sounds
from assistant.journal.sound_keeper import SoundKeeper
from assistant.live.resuming import open_case, resume_case
from assistant.rehearsal import text_case
from assistant.rehearsal.text_case import TextCase
from assistant.site.folder import files_of
from assistant.site.site import Site, load_site

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"
APPROVED = """keep_days: 90
keep_sound: true
keep_sound_approved: "head of department, in writing, for the course of this spring"
keep_sound_days: 14
"""
SAID = (np.sin(np.arange(16_000) / 10) * 8000).astype(np.int16)


@pytest.fixture(scope="module")
def site() -> Site:
    return load_site(SITE)


@pytest.fixture
def begin(site: Site, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable]:
    """Begins a case of which sound is kept; every word that is typed comes with one sound."""
    tables: list[TextCase] = []

    def begun(name: str = "case", voice: type | None = None) -> TextCase:
        folder = tmp_path / "cases" / name
        folder.mkdir(parents=True)
        monkeypatch.setattr(text_case, "Parts", lambda *own: Parts(*own, SoundKeeper(folder)))
        if voice is not None:
            monkeypatch.setattr(text_case, "SilentVoice", voice)
        table = TextCase(site, folder=folder, word_s=0.1)
        hear = table._ear.hear
        monkeypatch.setattr(
            *(table._ear, "hear"),
            lambda *own, **more: (heard := hear(*own, **more)) and replace(heard, samples=SAID),
        )
        tables.append(table)
        return table

    yield begun
    for table in tables:
        table.close()


def files(case: Path) -> list[str]:
    return sorted(one.name for one in (case / FOLDER).glob("*"))


def test_it_says_so_before_all_else_and_keeps_what_was_said_to_it(begin: Callable) -> None:
    """Words that were taken, and no room talk; the row has the file and its hash."""
    table = begin()
    assert table.lines[0].tag == SOUND_KEPT
    table.hears("begin")
    table.hears("can you pass me that")
    table.hears("we saw the mask held on")
    table.close()
    rows = read_case(table.folder)[1]
    spoken = [row for row in rows if row.kind in ("heard", "ignored")]
    assert ["sound" in row.data for row in spoken] == [True, False, True]
    assert files(table.folder) == list(kept_sounds(rows))
    path = table.folder / FOLDER / spoken[0].data["sound"]["file"]
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    with wave.open(str(path)) as file:
        assert (file.getframerate(), file.getnchannels()) == (16_000, 1)
        assert np.array_equal(np.frombuffer(file.readframes(20_000), "<i2"), SAID)
    assert verify_case(table.folder).faults == ()
    assert "Sounds of utterances: 2." in verify_case(table.folder).told
    assert "The sound of utterances to the assistant is kept with this case: 2." in (
        read_timeline(table.folder).notes
    )


class MuteVoice:
    """Stands in for a voice that gives no sound at all."""

    def __init__(self, _word_s: float) -> None:
        """As a voice in text."""

    def render(self, text: str):
        raise OSError(errno.EIO, "no sound")


def test_what_was_not_said_aloud_is_not_done(begin: Callable) -> None:
    """A voice that fails: nobody was told, and no sound is kept."""
    table = begin(voice=MuteVoice)
    table.hears("begin")
    table.close()
    assert [row for row in read_case(table.folder)[1] if row.kind == "heard"]
    assert not (table.folder / FOLDER).exists()


def test_a_sound_that_is_altered_gone_or_added_shows(begin: Callable, tmp_path: Path) -> None:
    """But for the last one, which follows its row and a power cut may take."""
    table = begin()
    table.hears("begin")
    table.hears("we saw the mask held on")
    table.close()
    first, last = files(table.folder)

    def spoilt(name: str) -> Path:
        return shutil.copytree(table.folder, tmp_path / name)

    case = spoilt("altered")
    content = bytearray((case / FOLDER / first).read_bytes())
    content[500] ^= 1
    (case / FOLDER / first).write_bytes(content)
    assert verify_case(case).faults == (f"The sound {first} is altered.",)
    case = spoilt("gone")
    (case / FOLDER / first).unlink()
    assert verify_case(case).faults == (f"The sound {first} is gone.",)
    case = spoilt("cut")
    (case / FOLDER / last).rename(case / FOLDER / f".{last}")
    assert verify_case(case).faults == ()
    assert any(last in told for told in verify_case(case).told)
    case = spoilt("added")
    shutil.copy(case / FOLDER / first, case / FOLDER / "1.wav")
    assert verify_case(case).faults == ("There is a sound that no row names: 1.wav.",)


@pytest.mark.parametrize(
    ("fault", "why"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), "No space left on device"),
        (MemoryError(), "MemoryError"),
    ],
)
def test_a_disk_that_takes_no_sound_costs_the_sound_and_nothing_else(
    begin: Callable, monkeypatch: pytest.MonkeyPatch, fault: Exception, why: str
) -> None:
    """It is on record which was lost, and why; the case goes on, and verifies."""
    table = begin()

    def full(_self, _sound) -> None:
        raise fault

    with monkeypatch.context() as one:
        one.setattr(SoundKeeper, "_write", full)
        table.hears("begin")
        for _ in range(500):  # a thread writes it, and the machine may be busy
            if any("sound-not-kept" in row.data for row in table.rows):
                break
            time.sleep(0.01)
            table.waits(0.1)
    table.hears("we saw the mask held on")
    table.close()
    rows = read_case(table.folder)[1]
    assert [row.text for row in rows if "sound-not-kept" in row.data] == [
        f"a sound could not be kept: {why}"
    ]
    assert len(files(table.folder)) == len(kept_sounds(rows)) == 1
    assert verify_case(table.folder).faults == ()


def test_sound_goes_before_its_case_and_with_it(
    begin: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys
) -> None:
    """After its own number of days; a row tells so, and what is left verifies. Exported whole."""
    began = WallReading("2026-03-01T12:00:00.000Z", trusted=True)
    monkeypatch.setattr(journal_module, "read_wall", lambda: began)
    table = begin()
    table.hears("begin")
    table.close()
    cases, name = table.folder.parent, table.folder.name
    archive = tmp_path / "case.zip"
    assert main(["cases", "--cases", str(cases), "--export", name, str(archive)]) == 0
    shutil.unpack_archive(archive, tmp_path / "elsewhere")
    assert files(tmp_path / "elsewhere" / name) == files(table.folder)
    own = tmp_path / "site"
    own.mkdir()
    (own / "record.yaml").write_text(APPROVED, encoding="utf-8")
    words = ["cases", "--cases", str(cases), "--site", str(own), "--keep-days"]
    for day, left in (("15", True), ("16", False)):
        now = WallReading(f"2026-03-{day}T12:00:00.000Z", trusted=True)
        monkeypatch.setattr(cases_command, "read_wall", lambda now=now: now)
        assert main(words) == 0
        assert (table.folder / FOLDER).exists() is left
    assert f"Removed the sound of: {name}" in capsys.readouterr().out
    assert verify_case(table.folder).faults == ()
    assert read_case(table.folder)[1][-1].data == {"sound-removed": 1}
    assert main(words) == 0  # and once is enough
    assert "Removed the sound of: none" in capsys.readouterr().out
    assert main(["cases", "--cases", str(cases), "--remove", name]) == 0
    assert list(cases.iterdir()) == []


@pytest.mark.parametrize(
    ("text", "kept"),
    [(None, False), ("keep_days: 90\n", False), (APPROVED, True)],
)
def test_only_a_site_that_says_so_in_writing_keeps_sound(
    site: Site, tmp_path: Path, text: str | None, kept: bool
) -> None:
    """By the file that is kept with the case, new or going on; one that was spoilt keeps none."""
    folder = shutil.copytree(SITE, tmp_path / "site")
    if text is not None:
        (folder / "record.yaml").write_text(text, encoding="utf-8")
    case = new_case(tmp_path / "cases", files_of(folder))
    opened = open_case(case, site, SoundClock())
    assert (opened.sounds is not None) is kept
    opened.journal.append("team", "heard", "yes")
    opened.journal.close()
    assert (resume_case(case, SoundClock()).sounds is not None) is kept
    (case / "site" / "record.yaml").write_text("keep_sound: true\n", encoding="utf-8")
    assert resume_case(case, SoundClock()).sounds is None


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("keep_days: 9\nkeep_sound: true\n", "key keep_sound_approved: found nothing; allowed: a"),
        (APPROVED.replace("keep_sound_days: 14\n", ""),
         "key keep_sound_days: found nothing; allowed: a value for this key where keep_sound is"),
        (APPROVED.replace("14", "91"), "key keep_sound_days: found 91; allowed: at most its keep"),
        (APPROVED.replace("head of department, in writing, for the course of this spring", "ok"),
         "key keep_sound_approved"),
    ],
)  # fmt: skip
def test_sound_without_an_approval_and_an_end_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, told: str
) -> None:
    """One sentence, and nothing is removed."""
    (tmp_path / "record.yaml").write_text(text, encoding="utf-8")
    assert main(["cases", "--cases", str(tmp_path), "--site", str(tmp_path), "--keep-days"]) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1
