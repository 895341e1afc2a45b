"""Records are chained: whatever was altered, dropped or put elsewhere shows."""

# ruff: noqa: S608 - statements of our own

import shutil
import sqlite3
import stat
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.chain import Verified
from assistant.clock import SoundClock
from assistant.commands.main import main
from assistant.debrief.verifying import verify_case
from assistant.journal.folder import new_case
from assistant.journal.journal import FILE_NAME, Journal, look_on, read_case, verify_journal
from assistant.oximeter.reading import read_record, verify_record
from assistant.oximeter.record import RECORD_NAME, WatcherRecord, row_now
from assistant.site.folder import files_of
from tests.journal.test_first_version import KEPT

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"
COLUMNS = {
    FILE_NAME: ("wall", "who", "kind", "text", "meaning", "item", "data", "link"),
    RECORD_NAME: ("wall", "boot_id", "clock", "kind", "text", "data", "link"),
}
NUMBERS = [
    *((FILE_NAME, column) for column in ("seq", "mono_s", "wall_trusted", "confidence")),
    *((RECORD_NAME, column) for column in ("seq", "at_s", "wall_trusted")),
]
ROWS = 5


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A case of five rows in either record, closed, with the site's files; only to be copied."""
    clock = SoundClock()
    folder = new_case(tmp_path_factory.mktemp("whole") / "cases", files_of(SITE))
    journal = Journal(folder, clock, "Tarn Hollow")
    record = WatcherRecord(folder / RECORD_NAME)
    for number in range(ROWS):
        clock.move_to(number + 0.25)
        journal.append(
            *("team", "heard", f"seven {number} kilos"),
            meaning="number",
            item="weight",
            confidence=0.5,
            data={"values": {"number": 70 + number}},
        )
        record.add(row_now(float(number), "sound", "event", "saturation", {"spo2_percent": 90}))
    journal.close()
    record.close()
    return folder


@pytest.fixture
def case(whole: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return shutil.copytree(whole, tmp_path / "case")


def alter(case: Path, *statements: str, file: str = FILE_NAME) -> None:
    """Change a record behind the program's back."""
    with closing(sqlite3.connect(case / file, isolation_level=None)) as base:
        for statement in statements:
            base.execute(statement)


def test_a_record_as_it_was_written_is_whole(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Five rows in each, all of them chained; the command ends with 0."""
    assert verify_case(case).faults == ()
    assert main(["debrief", str(case), "--verify"]) == 0
    assert "Nothing was altered" in capsys.readouterr().out
    assert (verify_journal(case).rows, verify_journal(case).unlinked) == (ROWS, 0)


@settings(max_examples=160, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(file=st.sampled_from([*COLUMNS]), row=st.integers(1, ROWS), data=st.data())
def test_any_changed_byte_of_a_row_shows(
    whole: Path, tmp_path_factory: pytest.TempPathFactory, file: str, row: int, data
) -> None:
    """Whichever record, row, column and byte it is, and whatever it becomes."""
    column = data.draw(st.sampled_from(COLUMNS[file]))
    case = tmp_path_factory.getbasetemp() / "altered"
    case.mkdir(exist_ok=True)
    shutil.copyfile(whole / file, case / file)
    with closing(sqlite3.connect(case / file, isolation_level=None)) as base:
        base.execute("PRAGMA synchronous=OFF")  # many, and none is to outlive a loss of power
        query = f"SELECT CAST({column} AS BLOB) FROM rows WHERE seq = ?"
        before = bytes(base.execute(query, (row,)).fetchone()[0])
        at = data.draw(st.integers(0, len(before) - 1))
        byte = data.draw(st.integers(0, 255).filter(lambda one: one != before[at]))
        after = before[:at] + bytes([byte]) + before[at + 1 :]
        change = f"UPDATE rows SET {column} = CAST(? AS TEXT) WHERE seq = ?"
        base.execute(change, (after, row))
    assert verified(case, file).faults != ()


@settings(max_examples=250, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(file=st.sampled_from([*COLUMNS]), data=st.data())
def test_any_changed_byte_of_a_file_shows_or_changes_nothing_that_is_read(
    whole: Path, tmp_path_factory: pytest.TempPathFactory, file: str, data
) -> None:
    """Wherever in it, SQLite's own pages included: none is read as something else."""
    before = (whole / file).read_bytes()
    at = data.draw(st.integers(0, len(before) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda one: one != before[at]))
    case = tmp_path_factory.getbasetemp() / "flipped"
    case.mkdir(exist_ok=True)
    (case / file).write_bytes(before[:at] + bytes([byte]) + before[at + 1 :])
    if verified(case, file).faults == ():
        assert all_of(case, file) == all_of(whole, file)


def verified(case: Path, file: str) -> Verified:
    """That record's."""
    return verify_journal(case) if file == FILE_NAME else verify_record(case / file)


def all_of(case: Path, file: str) -> object:
    """What is read from that record."""
    return look_on(case, 0) if file == FILE_NAME else read_record(case / file)


@pytest.mark.parametrize("row", [1, 3, ROWS])
@pytest.mark.parametrize(("file", "column"), NUMBERS)
def test_any_changed_number_of_a_row_shows(case: Path, row: int, file: str, column: str) -> None:
    """By as little as a ten-thousandth; and a row's own number."""
    change = "+ 10" if column == "seq" else "+ 0.0001"
    if column == "wall_trusted":
        change = "* 0 + 2"
    alter(case, f"UPDATE rows SET {column} = {column} {change} WHERE seq = {row}", file=file)
    assert verified(case, file).faults != ()


@pytest.mark.parametrize("file", [*COLUMNS])
@pytest.mark.parametrize(
    "statements",
    [
        *((f"DELETE FROM rows WHERE seq = {row}",) for row in range(1, ROWS + 1)),
        ("DELETE FROM rows WHERE seq > 3",),
        ("DELETE FROM rows",),
        ("DELETE FROM rows WHERE seq = 2", "UPDATE rows SET seq = seq - 1 WHERE seq > 2"),
        (
            "UPDATE rows SET seq = 99 WHERE seq = 2",
            "UPDATE rows SET seq = 2 WHERE seq = 3",
            "UPDATE rows SET seq = 3 WHERE seq = 99",
        ),
        ("CREATE TABLE more AS SELECT * FROM rows WHERE seq = 5",
         "UPDATE more SET seq = 6",
         "INSERT INTO rows SELECT * FROM more"),
        ("UPDATE rows SET link = NULL",),
        ("DELETE FROM head",),
        ("UPDATE head SET rows = 4",),
        ("INSERT OR REPLACE INTO meta VALUES ('site', '\"Elsewhere\"')",),
        ("DROP TABLE rows", "DROP TABLE head", "DROP TABLE meta"),
        ("UPDATE rows SET text = CAST(text AS BLOB) WHERE seq = 2",),
    ],
)  # fmt: skip
def test_rows_dropped_put_elsewhere_or_added_show(
    case: Path, statements: tuple[str, ...], file: str
) -> None:
    """Also at the end, and when those that follow have taken their numbers."""
    alter(case, *statements, file=file)
    assert verified(case, file).faults != ()


def test_what_was_fixed_at_the_opening_cannot_lose_its_name(case: Path) -> None:
    """A damaged key may be no text any more."""
    alter(case, "UPDATE meta SET key = NULL WHERE key = 'site'")
    assert verify_journal(case).faults != ()


def test_the_chain_goes_on_where_a_process_was_killed(case: Path) -> None:
    """Both records are opened again and added to: still whole."""
    journal = Journal(case, SoundClock(), None)
    journal.append("team", "heard", "later")
    journal.close()
    again = WatcherRecord(case / RECORD_NAME)
    again.add(row_now(9.0, "sound", "event", "later", {}))
    assert verify_case(case).faults == ()
    assert verify_journal(case).rows == verify_record(case / RECORD_NAME).rows == ROWS + 1


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE head SET rows = 'many'",
        "UPDATE head SET rows = 2",
        "UPDATE head SET link = CAST(link AS BLOB)",
        "UPDATE head SET link = 'another'",
    ],
)
def test_a_case_whose_head_was_altered_goes_on(case: Path, statement: str) -> None:
    """What is heard from then on is on record as ever; a link that is another shows."""
    alter(case, statement, file=FILE_NAME)
    journal = Journal(case, SoundClock(), None)
    journal.append("team", "heard", "later")
    assert not journal.lost
    journal.close()
    assert read_case(case)[1][-1].text == "later"
    assert bool(verify_journal(case).faults) is (statement.endswith("'another'"))


def test_a_record_from_before_there_were_chains_can_be_added_to(tmp_path: Path) -> None:
    """Its own rows are told to be vouched for by nothing; those that are added are chained."""
    base = sqlite3.connect(tmp_path / FILE_NAME)
    base.executescript((KEPT / "journal.sql").read_text("utf-8"))
    base.close()
    old = verify_journal(tmp_path)
    assert old.rows == old.unlinked > 0
    journal = Journal(tmp_path, SoundClock(), None)
    journal.append("team", "heard", "added")
    journal.append("team", "heard", "and another")
    journal.close()
    new = verify_journal(tmp_path)
    assert (new.rows, new.unlinked, new.faults) == (old.rows + 2, old.rows, ())
    assert read_case(tmp_path)[1][-1].text == "and another"
    alter(tmp_path, f"UPDATE rows SET text = 'other' WHERE seq = {old.rows + 1}")
    assert verify_journal(tmp_path).faults != ()


def test_a_changed_file_of_the_site_shows(case: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What was in force is on record by its hash; the command ends with 1 and says which."""
    meta = read_case(case)[0]
    assert set(meta.site_files) >= {"brief.yaml", "formulary.yaml", "oximeter.yaml"}
    assert meta.software[0].isdigit()
    with (case / "site" / "brief.yaml").open("a", encoding="utf-8") as file:
        file.write("# one letter more\n")
    (case / "site" / "formulary.yaml").unlink()
    assert main(["debrief", str(case), "--verify"]) == 1
    told = capsys.readouterr().out
    assert "brief.yaml that was kept with the case is altered" in told
    assert "formulary.yaml that was kept with the case is gone" in told


def test_all_of_a_case_is_for_its_owner_only(
    tmp_path: Path, new_umask: Callable[[int], None]
) -> None:
    """Every file and folder, the write-ahead log too, however generous the umask is."""
    new_umask(0)
    folder = new_case(tmp_path / "cases", files_of(SITE))
    journal = Journal(folder, SoundClock(), "Tarn Hollow")
    journal.append("team", "heard", "yes")
    WatcherRecord(folder / RECORD_NAME).add(row_now(0.0, "sound", "event", "x", {}))
    for one in (folder, *folder.rglob("*")):
        assert stat.S_IMODE(one.stat().st_mode) & 0o077 == 0, one


@pytest.fixture
def new_umask():
    """Sets the process's umask for one test."""
    import os

    before = os.umask(0o022)
    yield os.umask
    os.umask(before)
