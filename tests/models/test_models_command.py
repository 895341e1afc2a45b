"""`spoken-brief models` from the command line."""

from pathlib import Path

import pytest

from assistant.commands import models as command
from assistant.commands.main import main


@pytest.fixture(autouse=True)
def _knows_the_served_model(monkeypatch: pytest.MonkeyPatch, model) -> None:
    monkeypatch.setattr(command, "KNOWN", (model,))


def test_fetch_puts_the_model_where_the_engine_looks(served, tmp_path, capsys) -> None:
    """After a fetch the folder `vosk` is there, whole, and the download is gone."""
    shelf = tmp_path / "models"
    address = ["--from", served.address, "--models", str(shelf)]
    assert main(["models", "fetch", "some-model", *address]) == 0
    assert (shelf / "vosk" / "am" / "final.mdl").is_file()
    assert list(shelf.rglob("*.part")) == []
    assert "Installed" in capsys.readouterr().out


def test_a_wrong_file_installs_nothing(served, tmp_path: Path, capsys) -> None:
    """A wrong checksum ends with 2 and one sentence, and the shelf stays empty."""
    served.content = bytes(len(served.content))
    shelf = tmp_path / "models"
    address = ["--from", served.address, "--models", str(shelf)]
    assert main(["models", "fetch", "some-model", *address]) == 2
    assert "SHA-256" in capsys.readouterr().err
    assert not (shelf / "vosk").exists()


def test_fetch_needs_an_address(tmp_path: Path, capsys, monkeypatch) -> None:
    """The project names no host: without an address it says which two ways there are."""
    monkeypatch.delenv(command.FROM_VARIABLE, raising=False)
    assert main(["models", "fetch", "some-model", "--models", str(tmp_path)]) == 2
    said = capsys.readouterr().err
    assert "--from" in said
    assert command.FROM_VARIABLE in said


@pytest.mark.parametrize(
    "address", ["http://[", "http://x:y/", "http://a b/c", "http://x/\u00e4", "http://\u00e4..b/"]
)
def test_what_is_no_address_is_refused_at_once(served, address, tmp_path, capsys) -> None:
    """One sentence, and nothing is tried again and again."""
    words = ["models", "fetch", "some-model", "--from", address, "--models", str(tmp_path)]
    assert main(words) == 2
    assert "allowed: an http or https address of the file." in capsys.readouterr().err


def test_the_address_may_come_from_the_environment(served, tmp_path, monkeypatch) -> None:
    """A site that has its own place for the file says so once."""
    monkeypatch.setenv(command.FROM_VARIABLE, served.address)
    assert main(["models", "fetch", "some-model", "--models", str(tmp_path / "models")]) == 0


def test_an_unknown_name_is_told_the_known_ones(tmp_path: Path, capsys) -> None:
    """One sentence with what is allowed."""
    assert main(["models", "fetch", "nothing", "--from", "http://x/y"]) == 2
    assert "allowed: some-model" in capsys.readouterr().err


def test_import_and_list(archive: Path, tmp_path: Path, capsys) -> None:
    """An imported model is listed with its size, beside the one that came with the program."""
    shelf = str(tmp_path / "models")
    assert main(["models", "import", str(archive), "--as", "other", "--models", shelf]) == 0
    capsys.readouterr()
    assert main(["models", "list", "--models", shelf]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert any("with the program" in line and "MIT" in line and " MB" in line for line in lines)
    assert any(line.startswith("other") and "published.zip" in line for line in lines)
    assert any(line.startswith("(not installed)") and "some-model" in line for line in lines)


def test_import_of_nothing(tmp_path: Path, capsys) -> None:
    """A missing file ends with 2 and its name."""
    absent = tmp_path / "absent.zip"
    assert main(["models", "import", str(absent), "--models", str(tmp_path / "models")]) == 2
    assert f"{absent}: found no such file" in capsys.readouterr().err
