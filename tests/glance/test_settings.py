"""The site's glance.yaml: absent means none, and what cannot be read from afar is refused."""

from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.errors import BadInput
from assistant.glance.settings import (
    LEAST_ARCMIN,
    GlanceSettings,
    read_glance,
    seen_arcmin,
)

GOOD_ARCMIN = 20.0
"""Height of a capital letter that reads with ease. ISO 9241-303:2011, character height (from
memory)."""
MAIN_UNITS = 7.2
"""The smallest font size of what has to be read at a glance, in hundredths of the page's width."""
SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


def test_a_site_has_no_display_unless_it_wants_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The example site has no such file; the command says so in one sentence and serves nothing."""
    assert read_glance(SITE) is None
    assert main(["glance", "--site", str(SITE), "--cases", str(tmp_path)]) == 2
    said = capsys.readouterr().err
    assert "glance.yaml: found no such file" in said
    assert "allowed: a file with a port" in said
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("text", "key", "allowed"),
    [
        ("old_after_s: 3.0", "port: found nothing", "either a port or a socket"),
        (
            "port: 8093\nsocket: /run/page.sock",
            "socket: found '/run/page.sock'",
            "either a port or a socket",
        ),
        ("port: 80", "port", "at least 1024"),
        ("host: 0.0.0.0\nport: 8093", "host", "only the keys"),
        ("socket: page.sock", "socket", "of the form"),
        ("port: 8093\nscreen_width_mm: 300.0", "screen_width_mm: found 300.0", "467 or more"),
        ("port: 8093\nread_from_m: 9.0", "read_from_m: found 9.0", "at most 4.1 for a screen"),
        ("port: 8093\nold_after_s: 60.0", "old_after_s", "at most 10"),
        ('port: 8093\nwords: {attempt: "Try"}', "words.attempt", "placeholders once: {number}"),
        ('port: 8093\nwords: {left: "all that is left of the whole brief"}', "words.left", "24"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, text: str, key: str, allowed: str) -> None:
    """One sentence with file, key and what is allowed."""
    (tmp_path / "glance.yaml").write_text(text, encoding="utf-8")

    with pytest.raises(BadInput, match=r"glance\.yaml, line \d") as refused:
        read_glance(tmp_path)

    assert f"key {key}" in str(refused.value) or not key
    assert allowed in str(refused.value)


def test_the_visual_angle_of_a_known_letter() -> None:
    """Snellen's line of 20/20 subtends 5 minutes of arc: 8.73 mm at 6 m (published optotype sizes,
    from memory)."""
    assert seen_arcmin(8.73, 6.0) == pytest.approx(5.0, rel=0.002)


def test_the_common_screen_is_read_from_four_metres() -> None:
    """ISO 9241-303: no letter under 16 minutes of arc, 20 and more to read with ease (from memory).

    A capital of 18.6 mm is 16 minutes at 4 m by plain trigonometry.
    """
    settings = GlanceSettings(port=8093)

    assert seen_arcmin(18.6, 4.0) == pytest.approx(LEAST_ARCMIN, rel=0.002)
    assert settings.smallest_arcmin >= LEAST_ARCMIN
    assert seen_arcmin(settings.letter_mm(MAIN_UNITS), settings.read_from_m) >= GOOD_ARCMIN
