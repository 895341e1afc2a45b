"""The panel on the pins of a Raspberry Pi, through gpiozero."""

from collections import deque
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from assistant.clock import Clock
from assistant.errors import BadInput
from assistant.panel.light import Light
from assistant.panel.panel import BarePanel, LightStatus, Panel, Press
from assistant.panel.presses import Pedal
from assistant.panel.settings import PanelSettings, read_panel

BEEP_S, BETWEEN_BEEPS_S, BEEPS = 0.2, 0.15, 3


def open_panel(site: Path, clock: Clock, *, pins: Any = None) -> Panel:
    """The site's panel; a bare one when nothing is wired.

    `pins` is gpiozero's pin factory, its own choice when None. Raises BadInput when panel.yaml is
    wrong, and when it names pins that are not free: a program that runs unattended then goes on
    with a BarePanel and says so.
    """
    settings = read_panel(site)
    if not settings.wired:
        return BarePanel()
    return GpioPanel(settings, clock, pins=pins)


class GpioPanel:
    """Pedal, light, buzzer and mark button, each only where its pin is given."""

    def __init__(self, settings: PanelSettings, clock: Clock, *, pins: Any = None) -> None:
        """Raises BadInput when gpiozero is not installed or a pin is not free."""
        try:
            import gpiozero
        except ModuleNotFoundError as fault:
            raise BadInput(
                "The panel needs gpiozero: found a site with pins, and no gpiozero; allowed: the "
                "project installed with [pi], or a panel.yaml without pins."
            ) from fault
        self._clock = clock
        self._light, self._lamp = Light(), None
        self._pedal, self._buzzer = None, None
        # Filled by gpiozero's thread, emptied by ours: a deque's append and popleft are atomic.
        self._presses: deque[Press] = deque(maxlen=16)
        self._marks: deque[None] = deque(maxlen=16)

        def contact(pin: int) -> Any:
            bounce_s = settings.bounce_s
            return gpiozero.Button(pin, pull_up=True, bounce_time=bounce_s, pin_factory=pins)

        with ExitStack() as opened:
            try:
                if settings.light_gpio is not None:
                    lamp = gpiozero.LED(settings.light_gpio, pin_factory=pins)
                    self._lamp = opened.enter_context(lamp)
                    opened.callback(lamp.off)
                if settings.buzzer_gpio is not None:
                    buzzer = gpiozero.Buzzer(settings.buzzer_gpio, pin_factory=pins)
                    self._buzzer = opened.enter_context(buzzer)
                    opened.callback(buzzer.off)
                if settings.pedal_gpio is not None:
                    pedal = opened.enter_context(contact(settings.pedal_gpio))
                    self._pedal = Pedal(settings, closed=pedal.is_pressed)
                    pedal.when_pressed = self._closed
                    pedal.when_released = self._opened
                if settings.mark_gpio is not None:
                    button = opened.enter_context(contact(settings.mark_gpio))
                    button.when_pressed = lambda: self._marks.append(None)
            except (gpiozero.GPIOZeroError, OSError, RuntimeError, ImportError) as fault:
                raise BadInput(
                    f"The panel's pins are not free: found {fault or type(fault).__name__}; "
                    "allowed: a Raspberry Pi whose pins this user may use and nobody else has."
                ) from fault
            self._close = opened.pop_all()

    @property
    def fault(self) -> str:
        """What is wrong with the panel, such as a pedal held down; empty when nothing is."""
        if self._pedal is not None and self._pedal.stuck(self._clock.now_s()):
            return "the pedal is held down"
        return ""

    def pressed(self) -> list[Press]:
        """The presses since the last call, oldest first; never waits."""
        presses = []
        while self._presses:
            presses.append(self._presses.popleft())
        return presses

    def marked(self) -> int:
        """How often the mark button was pressed since the last call; never waits."""
        times = 0
        while self._marks:
            self._marks.popleft()
            times += 1
        return times

    def show(self, status: LightStatus) -> None:
        """Move the light on in the rhythm of this status."""
        if self._lamp is not None:
            self._lamp.value = self._light.lit(status, self._clock.now_s())

    def buzz(self) -> None:
        """Three short sounds, by a thread of gpiozero's."""
        if self._buzzer is not None:
            # gpiozero's own thread ends it: an assistant that hangs meanwhile leaves no tone on.
            self._buzzer.beep(BEEP_S, BETWEEN_BEEPS_S, n=BEEPS, background=True)

    def close(self) -> None:
        """Light and buzzer off, and the pins given back."""
        self._close.close()

    def _closed(self) -> None:
        if self._pedal is not None:
            self._pedal.close(self._clock.now_s())

    def _opened(self) -> None:
        press = None if self._pedal is None else self._pedal.open(self._clock.now_s())
        if press is not None:
            self._presses.append(press)
