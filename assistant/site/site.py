"""One site: all its files, read and checked together before anything starts."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar

from assistant.brief.brief import Brief
from assistant.dosing.figures import Figures
from assistant.dosing.formulary import Formulary
from assistant.dosing.reading import read_figures, read_formulary
from assistant.dosing.spoken_figures import spoken_otherwise
from assistant.errors import BadInput
from assistant.files.faults import Fault, complaint
from assistant.files.yaml_files import read_yaml
from assistant.hearing.settings import read_hearing
from assistant.journal.settings import read_record_settings
from assistant.oximeter.settings import OximeterSettings
from assistant.panel.settings import read_panel
from assistant.site.figure_faults import misset
from assistant.site.folder import files_of, misnamed
from assistant.site.plan_faults import plan_faults
from assistant.site.reachable import unreachable
from assistant.site.signature import Signing, signing_of
from assistant.site.spoken_faults import contradictions
from assistant.site.told_features import untold_features
from assistant.site.watcher_files import check_one_language
from assistant.speaking.voices import missing_voice
from assistant.speaking.wording import Wording

R = TypeVar("R")


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
    files: Mapping[str, bytes] = field(compare=False, repr=False)
    """Its files by their names, as they were read: each case keeps them."""


def read_site(folder: Path) -> Site:
    """Read a site's folder: for a case that has begun, and for what no team listens to.

    Each file is whole by itself. Raises BadInput, with a sentence for each thing that is wrong with
    any of them, file by file.
    """
    faults: list[BadInput] = []
    parts = _read(folder, faults)
    if parts is None or faults:
        raise BadInput.all_of(faults)
    return _composed(parts)


def load_site(folder: Path, also: Iterable[Callable[[Path], object]] = ()) -> Site:
    """Read a site's folder for a team to rely on: as a whole, too, it must make sense.

    Whatever `check` refuses is refused here, and nothing starts with it. `also` read further files
    of the folder, which are no part of a case, and raise BadInput themselves. Raises BadInput,
    with a sentence for each thing that is wrong, file by file.
    """
    faults: list[BadInput] = []
    parts = _read(folder, faults)
    for read in (read_hearing, read_panel, read_record_settings, *also):
        _try(lambda read=read: read(folder), faults)  # type: ignore[misc]
    faults += misnamed(folder)
    if parts is not None:
        faults += _as_a_whole(parts)
    if parts is None or faults:
        raise BadInput.all_of(faults)
    return _composed(parts)


def _read(folder: Path, faults: list[BadInput]) -> Site | None:
    """All the files, as they are written, when each is whole."""
    if not folder.is_dir():
        raise BadInput.in_file(folder, found="no such folder", allowed="a site's folder")
    brief = _try(lambda: read_yaml(folder / "brief.yaml", Brief), faults)
    formulary = _try(lambda: read_formulary(folder / "formulary.yaml"), faults)
    figures = _try(lambda: read_figures(folder / "figures.yaml"), faults)
    oximeter = _try(lambda: read_yaml(folder / "oximeter.yaml", OximeterSettings), faults)
    wording = _try(lambda: read_yaml(folder / "wording.yaml", Wording), faults)
    if not (brief and formulary and figures and oximeter and wording):
        return None
    _try(lambda: check_one_language(folder, oximeter, wording.language), faults)
    signing = _try(lambda: signing_of(folder), faults)
    if signing is None:
        return None
    files = files_of(folder)
    return Site(folder, brief, formulary, figures, oximeter, wording, signing, files)


def _composed(parts: Site) -> Site:
    """What is set in one file and spoken in another is filled in."""
    threshold_percent = parts.oximeter.crossing.threshold_percent
    threshold = parts.wording.tongue.numbers.say_number(threshold_percent)
    return replace(parts, brief=parts.brief.calling_at(threshold))


def _as_a_whole(parts: Site) -> Iterator[BadInput]:
    # With what tells how phrases sound, which who only reads a site does without.
    from assistant.site.fact_faults import fact_faults
    from assistant.site.name_faults import name_faults
    from assistant.site.phrase_faults import phrase_faults
    from assistant.site.unit_faults import unit_faults
    from assistant.site.yes_faults import yes_faults

    brief, formulary, tongue = parts.brief, parts.formulary, parts.wording.tongue
    for name, faults in (
        ("brief.yaml", contradictions(brief, tongue)),
        ("formulary.yaml", spoken_otherwise(formulary, tongue)),
        ("brief.yaml", unreachable(brief)),
        ("formulary.yaml", untold_features(formulary, brief)),
        ("brief.yaml", plan_faults(brief)),
        ("brief.yaml", misset(brief, tongue)),
    ):
        for fault in faults:
            yield complaint(parts.folder / name, fault)
    for of_phrases in (unit_faults, fact_faults, yes_faults, phrase_faults, name_faults):
        for name, fault in of_phrases(parts):
            yield complaint(parts.folder / name, fault)
    missing = missing_voice(parts.wording.voice)
    if missing is not None:
        no_voice = Fault(("voice", "name"), missing, "a voice that is installed here")
        yield complaint(parts.folder / "wording.yaml", no_voice)


def _try(read: Callable[[], R], faults: list[BadInput]) -> R | None:
    try:
        return read()
    except BadInput as fault:
        faults.append(fault)
        return None
