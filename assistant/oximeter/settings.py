"""A site's oximeter.yaml."""

from string import Formatter
from typing import Annotated

from pydantic import Field, model_validator

from assistant.oximeter.crossing import CallKind, CrossingSettings
from assistant.oximeter.frames import FrameLayout
from assistant.site.reading import SiteModel

Words = Annotated[str, Field(min_length=2)]


class CallWords(SiteModel):
    """What is said; `{level}` is the level that was reached, in words."""

    fell: Words = "Saturation {level}."
    started_low: Words = "Saturation at or below {level}."
    signal_lost: Words = "No saturation signal. Look at the finger probe."
    feed_lost: Words = "Oximeter not connected. Nobody is calling the saturation."

    @model_validator(mode="after")
    def _level_where_it_belongs(self) -> "CallWords":
        for words, allowed in (
            (self.fell, ["level"]),
            (self.started_low, ["level"]),
            (self.signal_lost, []),
            (self.feed_lost, []),
        ):
            used = [name for _, name, _, _ in Formatter().parse(words) if name is not None]
            if used != allowed:
                raise ValueError(
                    "{level} once in fell and started_low, and no placeholder in the other words"
                )
        return self

    def of(self, kind: CallKind) -> str:
        """The words of one kind of call, `{level}` still to be filled in."""
        return {
            CallKind.FELL: self.fell,
            CallKind.STARTED_LOW: self.started_low,
            CallKind.SIGNAL_LOST: self.signal_lost,
            CallKind.FEED_LOST: self.feed_lost,
        }[kind]


class OximeterSettings(SiteModel):
    """Where the oximeter is, how it writes, when and in which words it is called."""

    port: Words
    layout: Words
    layouts: Annotated[dict[str, FrameLayout], Field(min_length=1)]
    crossing: CrossingSettings = CrossingSettings()
    words: CallWords = CallWords()

    @model_validator(mode="after")
    def _layout_is_known(self) -> "OximeterSettings":
        if self.layout not in self.layouts:
            raise ValueError(f"a layout that layouts describes: {', '.join(self.layouts)}")
        return self

    @property
    def frame_layout(self) -> FrameLayout:
        """The layout that this site's oximeter uses."""
        return self.layouts[self.layout]
