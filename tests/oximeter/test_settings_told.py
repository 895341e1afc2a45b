"""What `check` says of settings of the oximeter that are allowed, and cost something."""

from pathlib import Path
from typing import Any

import pytest

from assistant.files.yaml_files import read_yaml
from assistant.oximeter.remarks import remarks
from assistant.oximeter.settings import OximeterSettings

SETTINGS = read_yaml(
    Path(__file__).parents[2] / "configs" / "tarn-hollow" / "oximeter.yaml", OximeterSettings
)


def _with(**changed: Any) -> OximeterSettings:
    belief = SETTINGS.crossing.belief.model_copy(update=changed.pop("belief", {}))
    crossing = SETTINGS.crossing.model_copy(update={"belief": belief, **changed})
    return SETTINGS.model_copy(update={"crossing": crossing})


def test_of_the_usual_settings_nothing_is_said() -> None:
    """Those of the example site."""
    assert list(remarks(SETTINGS)) == []


@pytest.mark.parametrize(
    ("settings", "sentence"),
    [
        (_with(threshold_percent=98), "by a new fall, after plateau_s, 30 s"),
        (_with(held_s=10.0), "Called late: each fall must last for held_s, 10 s"),
        (_with(belief={"jump_held_s": 60.0}), "believed after jump_held_s, 60 s"),
        (_with(belief={"frozen_s": 20.0}), "not believed after frozen_s, 20 s"),
    ],
)
def test_what_costs_something_is_told(settings: OximeterSettings, sentence: str) -> None:
    """With the setting and what it costs."""
    (only,) = remarks(settings)
    assert sentence in only
