"""A site's record.yaml: for how long its cases are kept, and whether any sound is kept at all.

The file may be absent; then no sound is kept, and nobody but who says so on the command line
removes a case.
"""

from pathlib import Path
from typing import Annotated

from pydantic import Field, model_validator

from assistant.errors import BadInput
from assistant.files.complaints import WrongWithinError
from assistant.files.yaml_files import SiteModel, read_yaml_if_there

FILE_NAME = "record.yaml"


class RecordSettings(SiteModel):
    """What becomes of records."""

    keep_days: Annotated[int, Field(ge=1, le=36500)]
    """Cases that began longer ago are removed by `spoken-brief cases --keep-days`."""
    keep_sound: bool = False
    """Whether the sound of what was said to the assistant is kept with a case; it says so aloud
    when the case is opened. Room talk is never kept."""
    keep_sound_approved: Annotated[str, Field(min_length=10)] | None = None
    """By which role, when and what for that was approved in writing; required with `keep_sound`."""
    keep_sound_days: Annotated[int, Field(ge=1, le=36500)] | None = None
    """Sound is removed after so many days, before its case is; required with `keep_sound`."""

    @model_validator(mode="after")
    def _sound_is_approved(self) -> "RecordSettings":
        if not self.keep_sound:
            return self
        for key in ("keep_sound_approved", "keep_sound_days"):
            if getattr(self, key) is None:
                raise WrongWithinError("a value for this key where keep_sound is true", key)
        if self.keep_sound_days is not None and self.keep_sound_days > self.keep_days:
            raise WrongWithinError(f"at most its keep_days, {self.keep_days}", "keep_sound_days")
        return self


def read_record_settings(site: Path) -> RecordSettings | None:
    """What the site has decided; None when it has no such file. Raises BadInput."""
    return read_yaml_if_there(site / FILE_NAME, RecordSettings)


def wanted_settings(site: Path) -> RecordSettings:
    """The same. Raises BadInput when the site has not decided for how long its cases are kept."""
    settings = read_record_settings(site)
    if settings is None:
        raise BadInput.in_file(
            site / FILE_NAME,
            found="no such file, so the site has not decided for how long",
            allowed="a file with keep_days, or --keep-days with a number",
        )
    return settings
