"""docs/site-files.md says what the models really take."""

from pathlib import Path

from assistant.commands.site_files_page import page

PAGE = Path(__file__).parents[2] / "docs" / "site-files.md"


def test_the_page_is_up_to_date():
    """A key that was added, renamed or bounded anew is on the page.

    When this fails: python -m assistant.commands.site_files_page > docs/site-files.md
    """
    assert PAGE.read_text(encoding="utf-8") == page()


def test_the_page_knows_every_file_of_a_site():
    """Each file, its required keys and its cautions are there."""
    text = page()

    for name in ("brief.yaml", "formulary.yaml", "oximeter.yaml", "wording.yaml", "A rehearsal"):
        assert name in text
    assert "| `threshold_percent` | a whole number from 30 up to 100 | `93` |" in text
    assert "Not a medical device" in text
