"""A site's panel.yaml: which header pins pedal, light, buzzer and mark button are on.

The file may be absent, and so may any of the four.
"""

from pathlib import Path
from typing import Annotated

from pydantic import Field, model_validator

from assistant.files.complaints import WrongWithinError
from assistant.files.yaml_files import SiteModel, read_yaml_if_there

FILE_NAME = "panel.yaml"

Gpio = Annotated[int, Field(ge=2, le=27)]
"""The processor's own number of a pin, not its place on the header; 0 and 1 are reserved."""


class PanelSettings(SiteModel):
    """What is wired to the box. `docs/on-a-pi.md` has the drawing."""

    pedal_gpio: Gpio | None = None
    """The pedal's contact, closing to ground. If left out: no pedal."""
    light_gpio: Gpio | None = None
    """The status light. If left out: no light."""
    buzzer_gpio: Gpio | None = None
    """The buzzer's transistor, sounding when high. If left out: no buzzer."""
    mark_gpio: Gpio | None = None
    """A facilitator's button, closing to ground, for a simulation room: each press marks the
    moment for the debrief, and nothing is said. If left out: no such button."""
    bounce_s: Annotated[float, Field(ge=0.005, le=0.2)] = 0.03
    """A shorter change of a contact is ignored."""
    long_press_s: Annotated[float, Field(ge=0.5, le=5.0)] = 2.0
    """Held at least so long and released, it means "open a new case"; shorter, "say again"."""
    stuck_s: Annotated[float, Field(ge=2.0, le=60.0)] = 8.0
    """Held at least so long, something is standing on the pedal, and the press is ignored."""

    @model_validator(mode="after")
    def _fits(self) -> "PanelSettings":
        taken: dict[int, str] = {}
        for key in ("pedal_gpio", "light_gpio", "buzzer_gpio", "mark_gpio"):
            pin = getattr(self, key)
            if pin in taken:
                raise WrongWithinError(f"another pin than its {taken[pin]}", key)
            if pin is not None:
                taken[pin] = key
        if self.stuck_s <= self.long_press_s:
            raise WrongWithinError(f"more than its long_press_s, {self.long_press_s:g}", "stuck_s")
        return self

    @property
    def wired(self) -> tuple[int, ...]:
        """The pins that something is on."""
        pins = (self.pedal_gpio, self.light_gpio, self.buzzer_gpio, self.mark_gpio)
        return tuple(pin for pin in pins if pin is not None)


def read_panel(site: Path) -> PanelSettings:
    """The site's panel; one with nothing on it when the site has no such file.

    Raises BadInput with a sentence for each thing that is wrong with the file.
    """
    return read_yaml_if_there(site / FILE_NAME, PanelSettings) or PanelSettings()
