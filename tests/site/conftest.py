"""Slips in a copy of the example site, and what `load_site` says of each."""

import json
import shutil
from collections.abc import Callable
from itertools import islice
from pathlib import Path
from typing import Any

import pytest

from assistant.dosing.reading import read_figures, read_formulary
from assistant.errors import BadInput
from assistant.files.plain_yaml import PlainYaml, read_plain_yaml
from assistant.site.phrase_faults import phrase_faults
from assistant.site.site import load_site
from tests.site.slips import Slip

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Slip], str]:
    """Spoils one thing in a copy of the example site; what `load_site` says of it, or "".

    Formulary and figures are never spoilt here, and read once; no text is parsed twice; and one
    fault of the phrases is enough.
    """
    formulary = read_formulary(SITE / "formulary.yaml")
    figures = read_figures(SITE / "figures.yaml")
    parsed: dict[bytes, PlainYaml] = {}

    def read_once(path: Path) -> PlainYaml:
        text = path.read_bytes()
        if text not in parsed:
            parsed[text] = read_plain_yaml(path)
        return parsed[text]

    folder = Path(shutil.copytree(SITE, tmp_path_factory.mktemp("slips") / "site"))
    whole = {
        name: read_plain_yaml(SITE / f"{name}.yaml").content
        for name in ("brief", "wording", "oximeter")
    }
    as_written = {name: (SITE / f"{name}.yaml").read_text("utf-8") for name in whole}

    def spoil(slip: Slip) -> str:
        site = {name: _copied(one) for name, one in whole.items()}
        slip[1](site)
        for name, one in site.items():
            same = one == whole[name]
            text = as_written[name] if same else json.dumps(one)  # which is YAML too
            (folder / f"{name}.yaml").write_text(text, "utf-8")
        try:
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr("assistant.site.site.read_formulary", lambda _: formulary)
                patch.setattr("assistant.site.site.read_figures", lambda _: figures)
                patch.setattr("assistant.files.yaml_files.read_plain_yaml", read_once)
                patch.setattr(
                    "assistant.site.phrase_faults.phrase_faults",
                    lambda *given: islice(phrase_faults(*given), 1),
                )
                load_site(folder)
        except BadInput as fault:
            return str(fault)
        return ""

    return spoil


def _copied(one: Any) -> Any:
    if isinstance(one, dict):
        return {key: _copied(value) for key, value in one.items()}
    return [_copied(value) for value in one] if isinstance(one, list) else one
