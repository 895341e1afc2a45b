"""What several tests of the oximeter need."""

import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.oximeter.sound_server import SoundServer


@pytest.fixture
def sound_server() -> Iterator[SoundServer]:
    """Skips where PulseAudio or its way from ALSA is not installed."""
    if shutil.which("pulseaudio") is None or shutil.which("parec") is None:
        pytest.skip("PulseAudio is not installed")
    # A short path: a socket's has to fit into 107 bytes.
    with tempfile.TemporaryDirectory(prefix="sound-") as folder:
        try:
            server = SoundServer(Path(folder))
        except OSError as fault:
            pytest.skip(str(fault))
        yield server
        server.close()
