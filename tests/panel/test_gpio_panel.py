"""The panel on gpiozero's mock pins: what its own library plays in place of a Pi."""

from collections.abc import Iterator
from pathlib import Path
from time import sleep

import pytest
from gpiozero.pins import mock as gpiozero_mock

from assistant.errors import BadInput
from assistant.panel.gpio import BEEPS, open_panel
from assistant.panel.panel import BarePanel, LightStatus, Panel, PedalRequest

PEDAL, LIGHT, BUZZER, MARK = 17, 27, 22, 24


class HandClock:
    """Moved by the test."""

    name = "monotonic"

    def __init__(self) -> None:
        self.at_s = 1000.0

    def now_s(self) -> float:
        return self.at_s


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def pins() -> Iterator[gpiozero_mock.MockFactory]:
    """The pins of a Pi with nothing on them."""
    factory = gpiozero_mock.MockFactory()
    yield factory
    factory.close()


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A site whose box has all three."""
    text = f"pedal_gpio: {PEDAL}\nlight_gpio: {LIGHT}\nbuzzer_gpio: {BUZZER}\n"
    (tmp_path / "panel.yaml").write_text(text)
    return tmp_path


@pytest.fixture
def panel(site: Path, clock: HandClock, pins) -> Iterator[Panel]:
    """That box's panel."""
    opened = open_panel(site, clock, pins=pins)
    yield opened
    opened.close()


def step_on(pins, clock: HandClock, held_s: float) -> None:
    """A foot on the pedal, so long."""
    pins.pin(PEDAL).drive_low()
    clock.at_s += held_s
    pins.pin(PEDAL).drive_high()


def test_a_short_press_asks_to_say_it_again(panel: Panel, pins, clock: HandClock) -> None:
    """It is told once, with its time, and only after the foot is off."""
    pins.pin(PEDAL).drive_low()
    assert panel.pressed() == []
    clock.at_s += 0.3
    pins.pin(PEDAL).drive_high()
    (press,) = panel.pressed()
    assert (press.asked, press.at_s) == (PedalRequest.SAY_AGAIN, 1000.3)
    assert press.held_s == pytest.approx(0.3)
    assert panel.pressed() == []


@pytest.mark.parametrize(
    ("held_s", "asked"),
    [
        (1.9, [PedalRequest.SAY_AGAIN]),
        (2.0, [PedalRequest.NEW_CASE]),
        (7.9, [PedalRequest.NEW_CASE]),
        (8.0, []),
        (3600.0, []),
    ],
)
def test_how_long_it_is_held_says_what_is_asked(
    held_s: float, asked: list[PedalRequest], panel: Panel, pins, clock: HandClock
) -> None:
    """Long is a new case; a wheel that stands on the pedal asks for nothing."""
    step_on(pins, clock, held_s)
    assert [press.asked for press in panel.pressed()] == asked


def test_no_press_confirms() -> None:
    """What a pedal can ask for is these two; a confirmation is spoken."""
    assert {asked.value for asked in PedalRequest} == {"say again", "new case"}


def test_presses_are_kept_in_order(panel: Panel, pins, clock: HandClock) -> None:
    """Two presses between two looks are two presses."""
    step_on(pins, clock, 0.2)
    clock.at_s += 1
    step_on(pins, clock, 2.5)
    assert [press.asked for press in panel.pressed()] == [
        PedalRequest.SAY_AGAIN,
        PedalRequest.NEW_CASE,
    ]


def test_a_pedal_held_down_is_a_fault_until_it_is_let_go(
    panel: Panel, pins, clock: HandClock
) -> None:
    """It is told while it lasts, and the pedal works again after it."""
    pins.pin(PEDAL).drive_low()
    clock.at_s += 7.9
    assert panel.fault == ""
    clock.at_s += 0.2
    assert panel.fault == "the pedal is held down"
    pins.pin(PEDAL).drive_high()
    assert panel.fault == ""
    step_on(pins, clock, 0.2)
    assert len(panel.pressed()) == 1


def test_a_pedal_held_down_at_the_start_begins_no_case(site: Path, pins, clock: HandClock) -> None:
    """Switched on with something on the pedal: a fault at once, and no press when it is let go."""
    pins.pin(PEDAL).drive_low()
    # The mock's pull-up releases the pin when the panel takes it: hold it against that.
    pins.pin(PEDAL)._set_pull = lambda value: None
    panel = open_panel(site, clock, pins=pins)
    assert panel.fault == "the pedal is held down"
    clock.at_s += 3
    pins.pin(PEDAL).drive_high()
    assert panel.pressed() == []
    assert panel.fault == ""
    panel.close()


def test_the_contact_is_held_up_and_its_bounces_left_out(panel: Panel, pins) -> None:
    """The pin is pulled up, so that a broken cable is a pedal at rest."""
    assert pins.pin(PEDAL).pull == "up"
    assert pins.pin(PEDAL).bounce == pytest.approx(0.03)


def test_the_light_stands_still_when_nobody_moves_it(panel: Panel, pins, clock: HandClock) -> None:
    """No thread of its own keeps it going: a hung assistant does not look alive."""
    panel.show(LightStatus.SPEAKING)
    assert pins.pin(LIGHT).state
    pins.pin(LIGHT).clear_states()
    clock.at_s += 10
    sleep(0.7)  # more than one turn of the rhythm
    assert len(pins.pin(LIGHT).states) == 1
    for _ in range(100):
        clock.at_s += 0.032
        panel.show(LightStatus.SPEAKING)
    assert len(pins.pin(LIGHT).states) > 4


def test_the_buzzer_is_silent_until_there_is_nothing_to_speak_with(panel: Panel, pins) -> None:
    """Three sounds and silence, without anybody's help."""
    assert not pins.pin(BUZZER).state
    panel.buzz()
    wanted = 1 + 2 * BEEPS
    tries = 0
    while len(pins.pin(BUZZER).states) < wanted and tries < 200:
        tries += 1
        sleep(0.05)
    sleep(0.5)  # and no fourth
    assert [state.state for state in pins.pin(BUZZER).states][1:] == [True, False] * BEEPS


def test_everything_is_off_and_given_back_at_the_end(site: Path, pins, clock: HandClock) -> None:
    """A panel that was closed can be opened again."""
    panel = open_panel(site, clock, pins=pins)
    panel.show(LightStatus.SPEAKING)
    panel.buzz()
    panel.close()
    assert not pins.pin(LIGHT).state
    assert not pins.pin(BUZZER).state
    open_panel(site, clock, pins=pins).close()


def test_a_box_without_a_panel(tmp_path: Path, clock: HandClock, pins) -> None:
    """All of it can be called and does nothing."""
    panel = open_panel(tmp_path, clock, pins=pins)
    assert isinstance(panel, BarePanel)
    panel.show(LightStatus.FAULT)
    panel.buzz()
    assert panel.pressed() == []
    assert panel.fault == ""
    panel.close()


def test_a_light_alone(tmp_path: Path, clock: HandClock, pins) -> None:
    """What is not wired is not touched."""
    (tmp_path / "panel.yaml").write_text(f"light_gpio: {LIGHT}\n")
    panel = open_panel(tmp_path, clock, pins=pins)
    panel.show(LightStatus.LISTENING)
    panel.buzz()
    assert panel.pressed() == []
    assert list(pins.pins) == [pins.pin(LIGHT).info]
    panel.close()


def test_a_pin_that_somebody_has_is_refused(site: Path, panel: Panel, pins, clock) -> None:
    """One sentence, and nothing is kept of the other pins."""
    with pytest.raises(BadInput, match=r"The panel's pins are not free: found .*; allowed"):
        open_panel(site, clock, pins=pins)


def test_a_machine_without_pins_is_told_so(site: Path, clock: HandClock, monkeypatch) -> None:
    """On something that is no Pi, gpiozero finds no way to the pins."""
    monkeypatch.delenv("GPIOZERO_PIN_FACTORY", raising=False)
    if Path("/dev/gpiochip0").exists():
        pytest.skip("this machine has pins")
    with pytest.warns(Warning), pytest.raises(BadInput, match="The panel's pins are not free"):  # noqa: PT030
        open_panel(site, clock)


@pytest.fixture
def with_button(tmp_path: Path, clock: HandClock, pins) -> Iterator[Panel]:
    """A box that has a mark button besides its pedal."""
    (tmp_path / "panel.yaml").write_text(f"pedal_gpio: {PEDAL}\nmark_gpio: {MARK}\n")
    opened = open_panel(tmp_path, clock, pins=pins)
    yield opened
    opened.close()


def test_each_press_of_the_button_is_one_mark_at_once(with_button: Panel, pins) -> None:
    """When it is pressed and not when it is let go, however long it is held; and no pedal's."""
    pins.pin(MARK).drive_low()
    assert (with_button.marked(), with_button.marked()) == (1, 0)
    pins.pin(MARK).drive_high()
    assert with_button.marked() == 0
    for _ in range(2):
        pins.pin(MARK).drive_low()
        pins.pin(MARK).drive_high()
    assert with_button.marked() == 2
    assert (with_button.pressed(), with_button.fault) == ([], "")


def test_the_pedal_marks_nothing(with_button: Panel, pins, clock: HandClock) -> None:
    """What the team steps on is not the facilitator's."""
    step_on(pins, clock, 0.3)
    assert with_button.marked() == 0
    assert len(with_button.pressed()) == 1


def test_a_box_without_a_button_marks_nothing(panel: Panel) -> None:
    """Nor does one with nothing wired."""
    assert (panel.marked(), BarePanel().marked()) == (0, 0)
