"""The site names its recogniser and model in a file; the command line is stronger."""

import shutil
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.errors import BadInput
from assistant.hearing.engines import make_engine
from assistant.hearing.settings import read_hearing
from assistant.models.shelf import Shelf

CONFIGS = Path(__file__).parents[2] / "configs"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A copy of the example site, which names no recogniser."""
    return Path(shutil.copytree(CONFIGS / "tarn-hollow", tmp_path / "site"))


def choose(site: Path, text: str) -> None:
    """Write the site's hearing.yaml."""
    (site / "hearing.yaml").write_text(text, encoding="utf-8")


def test_a_site_without_the_file_has_the_default(site: Path) -> None:
    """The engine whose model is installed with it."""
    assert read_hearing(site).instead(None, None) == ("closed", None)


@pytest.mark.parametrize(
    ("engine", "model", "chosen"),
    [
        (None, None, ("vosk", "ours")),
        (None, "theirs", ("vosk", "theirs")),
        ("vosk", None, ("vosk", "ours")),
        ("closed", None, ("closed", None)),  # the site's model is not one of this engine's
    ],
)
def test_the_command_line_is_stronger(
    site: Path, engine: str | None, model: str | None, chosen: tuple[str, str | None]
) -> None:
    """What it leaves open is the site's."""
    choose(site, "engine: vosk\nmodel: ours\n")
    assert read_hearing(site).instead(engine, model) == chosen


@pytest.mark.parametrize(
    ("text", "found", "allowed"),
    [
        ("engine: voss", "'voss'", "'closed' or 'vosk'"),
        ("model: ours", "", "a model only with engine vosk"),
        ("engine: vosk\nmodel: ../ours", "'../ours'", "small letters, digits, dots"),
        ("engine: vosk\nmodel: /etc", "'/etc'", "small letters, digits, dots"),
    ],
)
def test_a_choice_that_makes_no_sense_is_refused(
    site: Path, text: str, found: str, allowed: str
) -> None:
    """With file and line; no name leads out of the models folder."""
    choose(site, text)
    with pytest.raises(BadInput, match=r"hearing\.yaml, line \d") as refused:
        read_hearing(site)
    assert found in str(refused.value)
    assert allowed in str(refused.value)


@pytest.mark.parametrize("command", [["check"], ["hear", "no.wav"], ["listen"], ["rehearse"]])
def test_a_model_that_is_not_there_is_one_sentence(
    command: list[str], site: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every command that hears says which is missing, which are there, and how one gets there."""
    choose(site, "engine: vosk\nmodel: ours\n")
    (tmp_path / "models" / "theirs").mkdir(parents=True)
    places = ["--site", str(site), "--models", str(tmp_path / "models")]
    if command[0] in ("listen", "rehearse"):
        places += ["--cases", str(tmp_path / "cases")]

    assert main([*command, *places]) == 2

    (sentence,) = capsys.readouterr().err.splitlines()
    assert "found no model called 'ours' (theirs)" in sentence
    assert "models fetch" in sentence
    assert "models import" in sentence
    assert not (tmp_path / "cases").exists()


def test_the_named_folder_is_the_one_that_is_opened(tmp_path: Path) -> None:
    """And not the one of the usual name beside it."""
    for name in ("vosk", "ours"):
        (tmp_path / name).mkdir()
    with pytest.raises(BadInput, match="ours: found a folder that is no Vosk model"):
        make_engine("vosk", tmp_path, model="ours")


def test_the_closed_engine_takes_no_other_model(tmp_path: Path) -> None:
    """It would go unused, and nobody would notice."""
    with pytest.raises(BadInput, match="The closed engine has its own model: found 'ours'"):
        make_engine("closed", tmp_path, model="ours")


def test_check_says_who_hears(site: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Also when the command line is stronger than the site."""
    choose(site, "engine: vosk\nmodel: ours\n")
    assert main(["check", "--site", str(site), "--engine", "closed"]) == 0
    assert "Heard by: closed\n" in capsys.readouterr().out


def test_an_imported_model_can_be_named(archive: Path, tmp_path: Path) -> None:
    """Under the very name that --as gave it."""
    shelf = Shelf(tmp_path / "models")
    put = shelf.put(archive, "ours")
    assert shelf.model("ours") == put.folder


def test_a_site_of_another_language_is_heard_by_the_model_that_it_names(
    korean_model: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With a real Korean model: `check` opens it by the site's name for it."""
    site = Path(shutil.copytree(CONFIGS / "angae-gogae", tmp_path / "site"))
    assert read_hearing(site).instead(None, None) == ("vosk", None)
    (tmp_path / "models").mkdir()
    (tmp_path / "models" / "ours").symlink_to(korean_model)
    choose(site, "engine: vosk\nmodel: ours\n")

    assert main(["check", "--site", str(site), "--models", str(tmp_path / "models")]) == 0
    assert "Heard by: vosk, with the model ours\n" in capsys.readouterr().out
