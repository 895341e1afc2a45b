"""The drawing and the list of parts, against gpiozero's own data of the header."""

import re
from pathlib import Path
from xml.etree import ElementTree

from gpiozero.pins import mock

HARDWARE = Path(__file__).parents[2] / "hardware"
PINS = re.findall(
    r"^\| (pedal|light|buzzer) \| (\d+) \| (\d+) \|$",
    (HARDWARE / "parts.md").read_text(encoding="utf-8"),
    re.MULTILINE,
)


def drawn() -> str:
    """All words of the drawing."""
    root = ElementTree.parse(HARDWARE / "wiring.svg").getroot()  # noqa: S314 - our own file
    return " | ".join("".join(element.itertext()) for element in root.iter())


def test_the_pins_are_where_the_board_has_them() -> None:
    """GPIO number and header position agree, by gpiozero's description of the board."""
    header = mock.MockFactory().board_info.headers["J8"]
    assert len(PINS) == 3
    for _, gpio, position in PINS:
        assert header.pins[int(position)].name == f"GPIO{gpio}"
    for position in (9, 14, 20):
        assert header.pins[position].name == "GND"
    assert header.pins[1].name == "3V3"
    assert header.pins[2].name == "5V"


def test_the_drawing_says_the_same() -> None:
    """Each pin's GPIO number stands in it, and so do the site's three keys."""
    words = drawn()
    for what, gpio, _ in PINS:
        assert f"GPIO {gpio}" in words
        assert f"{what}_gpio {gpio}" in words


def test_the_example_of_a_panel_is_taken(tmp_path: Path) -> None:
    """What docs/on-a-pi.md shows as a panel.yaml is one, with the drawing's pins."""
    from assistant.panel.settings import read_panel

    page = (HARDWARE.parent / "docs" / "on-a-pi.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```yaml\n(# panel\.yaml\n.*?)```", page, re.DOTALL)
    (tmp_path / "panel.yaml").write_text(example)
    panel = read_panel(tmp_path)
    wired = {"pedal": panel.pedal_gpio, "light": panel.light_gpio, "buzzer": panel.buzzer_gpio}
    assert wired == {what: int(gpio) for what, gpio, _ in PINS}
