"""What the watcher reads of a site: its own file, and in which voice the site speaks.

It is read apart from the rest, so that a slip in the formulary, in the brief or in any other phrase
stops no saturation call.
"""

from dataclasses import dataclass
from pathlib import Path

from assistant.errors import BadInput
from assistant.files.faults import Fault, complaint
from assistant.files.yaml_files import SiteModel, read_yaml
from assistant.language.tongue import Language
from assistant.oximeter.settings import OximeterSettings
from assistant.speaking.voices import VoiceSettings


class SpokenWith(SiteModel, extra="ignore"):
    """The part of wording.yaml that the watcher needs; all its other keys are ignored here."""

    language: Language = "en"
    voice: VoiceSettings = VoiceSettings()


@dataclass(frozen=True, slots=True)
class WatcherFiles:
    """What a site has decided about the watcher."""

    oximeter: OximeterSettings
    voice: VoiceSettings


def read_watcher_files(folder: Path) -> WatcherFiles:
    """Read oximeter.yaml, and language and voice of wording.yaml.

    Raises BadInput, with one sentence, at the first thing that is wrong with these. What else
    stands in the site's files may be wrong, but wording.yaml has to be YAML.
    """
    if not folder.is_dir():
        raise BadInput.in_file(folder, found="no such folder", allowed="a site's folder")
    oximeter = read_yaml(folder / "oximeter.yaml", OximeterSettings)
    spoken = read_yaml(folder / "wording.yaml", SpokenWith)
    check_one_language(folder, oximeter, spoken.language)
    return WatcherFiles(oximeter, spoken.voice)


def check_one_language(folder: Path, oximeter: OximeterSettings, spoken: Language) -> None:
    """Refuse calls whose numbers are of another language than the voice that says them.

    Raises BadInput, which names the place in oximeter.yaml.
    """
    called = oximeter.words.language
    if called != spoken:
        allowed = f"the language of wording.yaml, {spoken!r}"
        fault = Fault(("words", "language"), repr(called), allowed)
        raise complaint(folder / "oximeter.yaml", fault)
