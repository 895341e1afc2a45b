"""One site: all its files, read and checked together before anything starts."""

from dataclasses import dataclass
from pathlib import Path

from assistant.brief.brief import Brief
from assistant.dosing.figures import Figures
from assistant.dosing.formulary import Formulary
from assistant.dosing.reading import read_figures, read_formulary
from assistant.errors import BadInput
from assistant.files.yaml_files import read_yaml
from assistant.oximeter.settings import OximeterSettings
from assistant.site.signature import Signing, signing_of
from assistant.site.watcher_files import check_one_language
from assistant.speaking.wording import Wording


@dataclass(frozen=True, slots=True)
class Site:
    """What a site has decided."""

    folder: Path
    brief: Brief
    formulary: Formulary
    figures: Figures
    oximeter: OximeterSettings
    wording: Wording
    signing: Signing


def load_site(folder: Path) -> Site:
    """Read a site's folder.

    Raises BadInput, with one sentence, at the first thing that is wrong with any of its files.
    """
    if not folder.is_dir():
        raise BadInput.in_file(folder, found="no such folder", allowed="a site's folder")
    site = Site(
        folder=folder,
        brief=read_yaml(folder / "brief.yaml", Brief),
        formulary=read_formulary(folder / "formulary.yaml"),
        figures=read_figures(folder / "figures.yaml"),
        oximeter=read_yaml(folder / "oximeter.yaml", OximeterSettings),
        wording=read_yaml(folder / "wording.yaml", Wording),
        signing=signing_of(folder),
    )
    check_one_language(folder, site.oximeter, site.wording.language)
    return site
