"""A drug's question that names a feature of the brief."""

import shutil
from pathlib import Path

import pytest

from assistant.errors import BadInput
from assistant.site.site import load_site

TARN_HOLLOW = Path(__file__).parents[2] / "configs" / "tarn-hollow"


def test_one_that_nobody_can_tell_is_refused(tmp_path: Path) -> None:
    """It would bar no drug, and nobody would know."""
    folder = tmp_path / "site"
    shutil.copytree(TARN_HOLLOW, folder)
    formulary = folder / "formulary.yaml"
    text = formulary.read_text(encoding="utf-8")
    formulary.write_text(text.replace("told_by: [obstruction]", "told_by: [asthma]"), "utf-8")
    with pytest.raises(BadInput) as fault:
        load_site(folder)
    told = str(fault.value)
    assert "told_by" in told
    assert "found asthma" in told
    assert "a feature of brief.yaml" in told
