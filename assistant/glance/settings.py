"""A site's glance.yaml: whether there is a glance display, where it is served, and its words.

The file may be absent; then there is no display.
"""

from math import ceil, floor, radians, tan
from pathlib import Path
from typing import Annotated

from pydantic import Field, model_validator

from assistant.errors import BadInput
from assistant.files.complaints import WrongWithinError
from assistant.files.templates import all_of
from assistant.files.yaml_files import SiteModel, read_yaml_if_there

FILE_NAME = "glance.yaml"
LOOPBACK = "127.0.0.1"
"""No other address: the page shows what is said in the room."""

LEAST_ARCMIN = 16.0
"""Height of a capital letter, as the eye sees it, at least. ISO 9241-303:2011, character height
(from memory)."""
CAPITAL_EM = 0.688
"""Height of a capital of Liberation Sans in its size: 1409 of 2048 units."""
SMALLEST_UNITS = 5.8
"""The smallest font size of page/glance.css, in hundredths of the page's width."""


Shown = Annotated[str, Field(min_length=1, max_length=24)]
"""Words on the page; longer ones do not fit in letters that can be read from afar."""


class GlanceWords(SiteModel):
    """What is on the page besides the items themselves."""

    between_cases: Shown = "No case is open"
    say: Annotated[str, all_of("words")] = "Say: {words}"
    """Between cases; `{words}` are the first of the site's words that open one."""
    caution: Shown = "Not a monitor's alarm"
    """Shown between cases."""
    opened: Shown = "New case"
    yes_or_no: Shown = "Yes or no?"
    """Over what was read back or asked back."""
    waiting: Shown = "Waiting"
    """Everything else is asked, and a clock runs."""
    holding: Shown = "Holding"
    still_open: Shown = "Still open"
    nothing_left: Shown = "Nothing left"
    attempt: Annotated[Shown, all_of("number")] = "Attempt {number}"
    left: Shown = "left"
    """Beside the number of items that are left."""
    not_yet: Annotated[Shown, all_of("count")] = "{count} not yet"
    """How many of these were answered with not yet."""
    clock_unknown: Shown = "?"
    """In place of a time that is not known, after the machine was started anew."""
    case: Shown = "case"
    """The clock since the case was opened."""
    saturation: Shown = "Saturation"
    called_at: Annotated[Shown, all_of("threshold")] = "called at {threshold}"
    low: Annotated[Shown, all_of("threshold")] = "{threshold} or less"
    """In its place when the saturation is that low."""
    no_saturation: Shown = "no signal"
    nobody_watches: Shown = "not watched"
    nobody_listens: Shown = "Nobody listens"
    unreadable: Shown = "No record to read"
    old: Shown = "OLD"
    """Over the whole page when it is out of date."""
    old_since: Annotated[Shown, all_of("time")] = "nothing new for {time}"


class GlanceSettings(SiteModel):
    """Where the page is served, and from how far it has to be readable."""

    port: Annotated[int, Field(ge=1024, le=65535)] | None = None
    """A port on this machine's loopback."""
    socket: Annotated[str, Field(pattern=r"^/.{1,99}$")] | None = None
    """Or a Unix socket, by its full path, which only the service's own user may open."""
    screen_width_mm: Annotated[float, Field(ge=100, le=3000)] = 480.0
    """The picture's width; on a screen wider than sixteen to nine, the width of the
    sixteen-to-nine part."""
    read_from_m: Annotated[float, Field(ge=0.5, le=10)] = 4.0
    """The distance from which it has to be readable."""
    old_after_s: Annotated[float, Field(ge=2, le=10)] = 3.0
    """Without an answer from the server for so long, the page says that it is old."""
    words: GlanceWords = GlanceWords()

    @model_validator(mode="after")
    def _somewhere_and_readable(self) -> "GlanceSettings":
        if (self.port is None) == (self.socket is None):
            key = "port" if self.socket is None else "socket"
            raise WrongWithinError("either a port or a socket", key)
        share = self.smallest_arcmin / LEAST_ARCMIN
        if share < 1 and "screen_width_mm" in self.model_fields_set:
            least_mm = ceil(self.screen_width_mm / share)
            wide = f"{least_mm} or more for a read_from_m of {self.read_from_m:g}"
            raise WrongWithinError(wide, "screen_width_mm")
        if share < 1:
            most_m = floor(10 * self.read_from_m * share) / 10
            near = f"at most {most_m:g} for a screen_width_mm of {self.screen_width_mm:g}"
            raise WrongWithinError(near, "read_from_m")
        return self

    @property
    def smallest_arcmin(self) -> float:
        """Height of the smallest capital on the page, in minutes of arc, from `read_from_m`."""
        return seen_arcmin(self.letter_mm(SMALLEST_UNITS), self.read_from_m)

    def letter_mm(self, units: float) -> float:
        """Height of a capital on this screen, for a font size in hundredths of the width."""
        return CAPITAL_EM * units * self.screen_width_mm / 100


def seen_arcmin(letter_mm: float, distance_m: float) -> float:
    """Visual angle of a letter, in minutes of arc; small angles, so that tan is all there is."""
    return letter_mm / (distance_m * 1000 * tan(radians(1 / 60)))


def read_glance(site: Path) -> GlanceSettings | None:
    """The site's display; None when the site has no such file.

    Raises BadInput with a sentence for each thing that is wrong with it.
    """
    return read_yaml_if_there(site / FILE_NAME, GlanceSettings)


def wanted_glance(site: Path) -> GlanceSettings:
    """As `read_glance`, for serving it. Raises BadInput also when the site has no display."""
    settings = read_glance(site)
    if settings is None:
        raise BadInput.in_file(
            site / FILE_NAME,
            found="no such file, so no glance display is wanted here",
            allowed="a file with a port, such as port: 8093",
        )
    return settings
