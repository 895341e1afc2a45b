"""A site's record.yaml: for how long its cases are kept.

The file may be absent; then nobody but who says so on the command line removes a case.
"""

from pathlib import Path
from typing import Annotated

from pydantic import Field

from assistant.errors import BadInput
from assistant.files.yaml_files import SiteModel, read_yaml_if_there

FILE_NAME = "record.yaml"


class RecordSettings(SiteModel):
    """What becomes of records."""

    keep_days: Annotated[int, Field(ge=1, le=36500)]
    """Cases that began longer ago are removed by `spoken-brief cases --keep-days`."""


def read_record_settings(site: Path) -> RecordSettings | None:
    """What the site has decided; None when it has no such file. Raises BadInput."""
    return read_yaml_if_there(site / FILE_NAME, RecordSettings)


def wanted_keep_days(site: Path) -> int:
    """For how many days the site keeps its cases. Raises BadInput when it has not decided."""
    settings = read_record_settings(site)
    if settings is None:
        raise BadInput.in_file(
            site / FILE_NAME,
            found="no such file, so the site has not decided for how long",
            allowed="a file with keep_days, or --keep-days with a number",
        )
    return settings.keep_days
