"""Words that the recogniser lacks: named before anybody has to say them, with what sounds alike."""

from pathlib import Path

import pytest

from assistant.commands.main import main

SITE = Path(__file__).parents[2] / "configs" / "angae-gogae"


@pytest.fixture
def models(korean_model: Path, tmp_path: Path) -> Path:
    """A folder of models with the Korean one in it."""
    (tmp_path / "models").mkdir()
    (tmp_path / "models" / "vosk").symlink_to(korean_model)
    return tmp_path / "models"


def checked(site: Path, models: Path) -> int:
    return main(["check", "--site", str(site), "--engine", "vosk", "--models", str(models)])


@pytest.mark.slow
def test_the_korean_site_has_only_words_that_the_model_knows(
    models: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing to respell in the site as it is."""
    assert checked(SITE, models) == 0
    assert "Unknown to the recogniser" not in capsys.readouterr().out


@pytest.mark.slow
def test_missing_words_are_named_and_respellings_offered(
    models: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A drug that no dictionary has, and a form of a verb that this one lacks."""
    site = tmp_path / "site"
    site.mkdir()
    for file in SITE.iterdir():
        text = file.read_text(encoding="utf-8").replace('"케타민"', '"로쿠로늄"')
        (site / file.name).write_text(text.replace("네 맞 습니다", "네 맞습니다"), encoding="utf-8")

    assert checked(site, models) == 0
    told = capsys.readouterr().out
    assert "Unknown to the recogniser, give other words or respellings: 로쿠로늄, 맞습니다" in told
    assert 'Sounds like 맞습니다: "맞 씁니다"' in told
    assert 'Sounds like 로쿠로늄: "로 쿠' in told
