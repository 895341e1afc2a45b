"""A site's panel.yaml."""

from pathlib import Path

import pytest

from assistant.errors import BadInput
from assistant.panel.settings import PanelSettings, read_panel


def test_a_site_without_a_panel_has_none(tmp_path: Path) -> None:
    """The file is optional."""
    assert read_panel(tmp_path) == PanelSettings()


def test_each_part_may_be_absent(tmp_path: Path) -> None:
    """A light without a pedal, for instance."""
    (tmp_path / "panel.yaml").write_text("light_gpio: 27\n")
    panel = read_panel(tmp_path)
    assert (panel.pedal_gpio, panel.light_gpio, panel.buzzer_gpio) == (None, 27, None)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("pedal_gpio: 40\n", r"line 1, key pedal_gpio: found 40; allowed: .*27"),
        (
            "pedal_gpio: 17\nlight_gpio: 17\n",
            r"line 2, key light_gpio: found 17; allowed: another pin than its pedal_gpio\.",
        ),
        (
            "pedal_gpio: 17\nmark_gpio: 17\n",
            r"line 2, key mark_gpio: found 17; allowed: another pin than its pedal_gpio\.",
        ),
        (
            "long_press_s: 3.0\nstuck_s: 2.0\n",
            r"line 2, key stuck_s: found 2\.0; allowed: more than its long_press_s, 3\.",
        ),
        ("lamp_gpio: 17\n", r"line 1, key lamp_gpio: found an unknown key"),
    ],
)
def test_what_cannot_be_is_refused(text: str, said: str, tmp_path: Path) -> None:
    """One sentence that names the file, the place and what is allowed."""
    (tmp_path / "panel.yaml").write_text(text)
    with pytest.raises(BadInput, match=r"panel\.yaml.*" + said):
        read_panel(tmp_path)
