"""A site's hearing.yaml: which recogniser hears it, with which model.

The file may be absent; then it is the default engine with its own model.
"""

from pathlib import Path
from typing import Annotated

from pydantic import Field, model_validator

from assistant.files.yaml_files import SiteModel, read_yaml_if_there
from assistant.hearing.engines import EngineName
from assistant.models.shelf import MODEL_NAME

FILE_NAME = "hearing.yaml"


class HearingSettings(SiteModel):
    """A site's recogniser. The command line takes precedence."""

    engine: EngineName = "closed"
    """`closed` is for English and comes with its model; `vosk` needs a model of its language."""
    model: Annotated[str, Field(pattern=MODEL_NAME)] | None = None
    """For vosk: the model's folder in the models folder, as `models list` names it. If left out:
    the one called vosk."""

    @model_validator(mode="after")
    def _model_for_vosk_only(self) -> "HearingSettings":
        if self.model is not None and self.engine != "vosk":
            raise ValueError("a model only with engine vosk, as closed has its own")
        return self

    def instead(self, engine: str | None, model: str | None) -> tuple[str, str | None]:
        """Engine and model when the command line names these, or None for the site's own.

        Another engine than the site's does not get the site's model.
        """
        chosen = engine or self.engine
        return chosen, model or (self.model if chosen == self.engine else None)


def read_hearing(site: Path) -> HearingSettings:
    """The site's choice; the default when the site has no such file.

    Raises BadInput with a sentence for each thing that is wrong with the file.
    """
    return read_yaml_if_there(site / FILE_NAME, HearingSettings) or HearingSettings()
