"""What several tests of the oximeter need."""

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.needs import need
from tests.oximeter.sound_server import SoundServer


@pytest.fixture
def sound_server() -> Iterator[SoundServer]:
    """A mixer of its own, and a room without anybody in it."""
    need("pulseaudio")
    need("libasound2-plugins")
    # A short path: a socket's has to fit into 107 bytes.
    with tempfile.TemporaryDirectory(prefix="sound-") as folder:
        server = SoundServer(Path(folder))
        yield server
        server.close()
