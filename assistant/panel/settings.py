"""A site's panel.yaml: which header pins the pedal, the light and the buzzer are on.

The file may be absent, and so may any of the three.
"""

from pathlib import Path
from typing import Annotated

from pydantic import Field, model_validator

from assistant.files.yaml_files import SiteModel, read_yaml_if_there

FILE_NAME = "panel.yaml"

Gpio = Annotated[int, Field(ge=2, le=27)]
"""The processor's own number of a pin, not its place on the header; 0 and 1 are reserved."""


class PanelSettings(SiteModel):
    """What is wired to the box. `docs/on-a-pi.md` has the drawing."""

    pedal_gpio: Gpio | None = None
    """The pedal's contact, closing to ground. Left out: no pedal."""
    light_gpio: Gpio | None = None
    """The status light. Left out: no light."""
    buzzer_gpio: Gpio | None = None
    """The buzzer's transistor, sounding when high. Left out: no buzzer."""
    bounce_s: Annotated[float, Field(ge=0.005, le=0.2)] = 0.03
    """A shorter change of the contact is ignored."""
    long_press_s: Annotated[float, Field(ge=0.5, le=5.0)] = 2.0
    """Held at least so long and let go: a new case. Shorter: say it again."""
    stuck_s: Annotated[float, Field(ge=2.0, le=60.0)] = 8.0
    """Held at least so long: something stands on the pedal, and the press is ignored."""

    @model_validator(mode="after")
    def _fits(self) -> "PanelSettings":
        wired = [pin for pin in (self.pedal_gpio, self.light_gpio, self.buzzer_gpio) if pin]
        if len(set(wired)) != len(wired):
            raise ValueError("a pin of its own for each of pedal, light and buzzer")
        if self.stuck_s <= self.long_press_s:
            raise ValueError("a stuck_s that is more than long_press_s")
        return self


def read_panel(site: Path) -> PanelSettings:
    """The site's panel; one with nothing on it when the site has no such file.

    Raises BadInput with a sentence for each thing that is wrong with the file.
    """
    return read_yaml_if_there(site / FILE_NAME, PanelSettings) or PanelSettings()
