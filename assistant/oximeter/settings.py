"""A site's oximeter.yaml."""

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag, model_validator

from assistant.files.complaints import WrongWithinError
from assistant.files.templates import all_of
from assistant.files.yaml_files import SiteModel
from assistant.language.numbers_in_text import numbers_in
from assistant.language.tongue import Language, number_words
from assistant.oximeter.crossing import MOST_PERCENT, CallKind, CrossingSettings
from assistant.oximeter.frames import FrameLayout
from assistant.oximeter.lines import TextLayout
from assistant.oximeter.pulse_service import PacketDecoder

SerialLayout = FrameLayout | TextLayout
Words = Annotated[str, Field(min_length=2)]
OfALevel = Annotated[Words, all_of("level")]
OfNoLevel = Annotated[Words, all_of()]


class BluetoothLayout(SiteModel):
    """The open Pulse Oximeter Service over Bluetooth; it needs the project's extra `bluetooth`."""

    kind: Literal["bluetooth"]
    frames_per_s: Annotated[float, Field(gt=0, le=500)] = 1.0
    """The device's pace, in notifications; only a replay needs it."""

    def decoder(self) -> PacketDecoder:
        """A decoder for its notifications."""
        return PacketDecoder()


def _kind(layout: Any) -> str:
    if isinstance(layout, dict):
        return str(layout.get("kind", "frames"))
    return str(getattr(layout, "kind", "frames"))  # a number or a list is told to be no layout


Layout = Annotated[
    Annotated[FrameLayout, Tag("frames")]
    | Annotated[TextLayout, Tag("text")]
    | Annotated[BluetoothLayout, Tag("bluetooth")],
    Discriminator(_kind),
]


SATURATIONS_PERCENT = range(50, 101)
"""What a number in a call is taken for."""


class CallWords(SiteModel):
    """What is said; `{level}` is the level that was reached, in words."""

    language: Language = "en"
    """The language of the level's number words."""
    fell: OfALevel = "Saturation {level}."
    started_low: OfALevel = "Saturation at or below {level}."
    recovered: OfALevel = "Saturation above {level}."
    signal_lost: OfNoLevel = "No saturation signal. Look at the finger probe."
    feed_lost: OfNoLevel = "Oximeter not connected. Nobody is calling the saturation."

    @model_validator(mode="after")
    def _no_level_in_words(self) -> "CallWords":
        for key in ("fell", "started_low", "recovered", "signal_lost", "feed_lost"):
            told = numbers_in(getattr(self, key), number_words(self.language))
            if any(one.number in SATURATIONS_PERCENT for one in told):
                outlives = "no saturation in words, which would outlive a change of the level"
                raise WrongWithinError(outlives, key)
        return self

    def say(self, kind: CallKind, level_percent: int | None) -> str:
        """One call in full."""
        numbers = number_words(self.language)
        level = "" if level_percent is None else numbers.say_number(level_percent)
        return self.of(kind).format(level=level)

    def of(self, kind: CallKind) -> str:
        """The words of one kind of call, `{level}` still to be filled in."""
        return {
            CallKind.FELL: self.fell,
            CallKind.FELL_AGAIN: self.fell,
            CallKind.STARTED_LOW: self.started_low,
            CallKind.RECOVERED: self.recovered,
            CallKind.SIGNAL_LOST: self.signal_lost,
            CallKind.FEED_LOST: self.feed_lost,
        }[kind]


class OximeterSettings(SiteModel):
    """Where the oximeter is, how it sends its figures, and when and in which words the
    saturation is called."""

    port: Words
    """A serial port, best by a name that stays the same when it is plugged in again; or, if the
    layout is a Bluetooth one, the device's address."""
    layout: Words
    """Which of the layouts this site's oximeter uses."""
    layouts: Annotated[dict[str, Layout], Field(min_length=1)]
    crossing: CrossingSettings = CrossingSettings()
    words: CallWords = CallWords()

    @model_validator(mode="after")
    def _layout_is_known(self) -> "OximeterSettings":
        if self.layout not in self.layouts:
            raise WrongWithinError(f"one of layouts: {', '.join(self.layouts)}", "layout")
        if all(isinstance(layout, BluetoothLayout) for layout in self.layouts.values()):
            raise WrongWithinError(
                "a layout of frames or text among them too: rehearsals use it", "layouts"
            )
        for name, layout in self.layouts.items():
            for at, code in enumerate(getattr(layout, "no_saturation", ())):
                if self._is_a_saturation(str(code)):
                    lost = "no figure that may be a saturation: whoever has that would not be seen"
                    raise WrongWithinError(lost, "layouts", name, "no_saturation", at)
        return self

    def _is_a_saturation(self, code: str) -> bool:
        figure = int(code) if code.strip().isdecimal() else 0
        return self.crossing.belief.lowest_percent <= figure <= MOST_PERCENT

    @property
    def own_layout(self) -> FrameLayout | TextLayout | BluetoothLayout:
        """The layout that this site's oximeter uses."""
        return self.layouts[self.layout]

    @property
    def frame_layout(self) -> SerialLayout:
        """The layout for a serial port, such as a rehearsal's pseudo-terminal.

        The site's own; where that is one of Bluetooth, the first other.
        """
        return next(
            layout
            for layout in (self.own_layout, *self.layouts.values())
            if not isinstance(layout, BluetoothLayout)
        )
