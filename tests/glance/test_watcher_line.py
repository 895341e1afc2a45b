"""What a heartbeat of the watcher is worth, and that telling it costs the watcher nothing."""

import time
from pathlib import Path

import pytest

from assistant.glance.watcher_line import FRESH_S, Kind, SaturationListener, judge
from assistant.oximeter.messages import Calling, ToConversation, WatchEnded, Watching
from tests.oximeter.test_process import Stage, comes_true

WATCH = """
import sys
from pathlib import Path
from assistant.clock import MonotonicClock
from assistant.oximeter.process import run_watcher
from assistant.oximeter.settings import OximeterSettings
from assistant.oximeter.sources import open_feed
from assistant.audio.sound import silence
case, port, settings, socket = sys.argv[1:]
settings = OximeterSettings.model_validate_json(settings)
feed = open_feed(settings, MonotonicClock(), port=port)
run_watcher(lambda: Path(case), settings, lambda text: silence(0.2), feed, glance=Path(socket))
"""


@pytest.mark.parametrize(
    ("percent", "age_s", "kind"),
    [
        (98, 0.5, Kind.ABOVE),
        (94, 0.5, Kind.ABOVE),
        (93, 0.5, Kind.LOW),  # reaching it counts, as it does for the call
        (70, FRESH_S, Kind.LOW),
        (98, FRESH_S + 0.1, Kind.UNWATCHED),
        (None, 0.5, Kind.NONE),
        (None, FRESH_S + 0.1, Kind.UNWATCHED),
        (98, -1.0, Kind.UNWATCHED),  # from another run of the machine
    ],
)
def test_only_a_fresh_and_believed_saturation_is_shown(
    percent: int | None, age_s: float, kind: Kind
) -> None:
    """Anything else has no figure at all, so that no old one can be taken for a new one."""
    seen = judge(Watching(percent, 100.0 - age_s), 93, 100.0)

    assert seen.kind is kind
    assert (seen.percent is None) == (kind in (Kind.NONE, Kind.UNWATCHED))


def test_without_a_watcher_nobody_watches() -> None:
    """Before the first heartbeat too."""
    assert judge(None, 93, 100.0).kind is Kind.UNWATCHED


def test_the_last_heartbeat_counts(tmp_path: Path) -> None:
    """Of all that came meanwhile; calls and farewells carry no figure."""
    line, tell = (
        SaturationListener(tmp_path / "glance.sock", 93),
        ToConversation(tmp_path, "glance.sock"),
    )
    for message in (
        Watching(97, 10.0),
        Calling("fell", "Saturation ninety-three.", 93, 93, 10.5, 12.0),
        Watching(93, 11.0),
        WatchEnded(11.1),
    ):
        tell(message)

    assert line.saturation(11.5).percent == 93
    line.close()
    tell.close()


def test_a_display_that_hangs_is_not_waited_for(tmp_path: Path) -> None:
    """Nobody takes the heartbeats: the watcher goes on, and the display is right again at once."""
    line, tell = (
        SaturationListener(tmp_path / "glance.sock", 93),
        ToConversation(tmp_path, "glance.sock"),
    )
    began_s = time.monotonic()
    for number in range(5000):
        tell(Watching(90, float(number)))
    assert time.monotonic() - began_s < 10.0  # it would wait for ever

    assert line.saturation(4999.0).kind is Kind.UNWATCHED  # the newest were lost, so none is known
    tell(Watching(95, 5000.0))
    assert line.saturation(5000.1).percent == 95
    line.close()
    tell.close()


def test_the_line_is_for_its_owner_only(tmp_path: Path) -> None:
    """Nobody else tells the display a saturation."""
    line = SaturationListener(tmp_path / "glance.sock", 93)
    assert (tmp_path / "glance.sock").stat().st_mode & 0o777 == 0o600
    line.close()
    assert not (tmp_path / "glance.sock").exists()


def test_a_real_watcher_tells_the_display(tmp_path: Path) -> None:
    """From the finger on, with nobody in a conversation; it begins before the display and outlives
    it."""
    stage, socket = Stage(tmp_path), tmp_path / "glance.sock"
    watcher = stage.start(WATCH, str(tmp_path), stage.finger.port, stage.settings(), str(socket))
    try:
        assert comes_true(stage.sees_saturation)
        for shows, kind in ((96, Kind.ABOVE), (90, Kind.LOW)):
            line = SaturationListener(socket, 93)
            stage.finger.shows = shows
            assert comes_true(
                lambda line=line, shows=shows: line.saturation(time.monotonic()).percent == shows
            )
            assert line.saturation(time.monotonic()).kind is kind
            line.close()
        assert watcher.poll() is None
    finally:
        stage.end()
