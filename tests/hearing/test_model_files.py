"""The recogniser's model is the one that the fit was made with, or it is not used."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.errors import BadInput
from assistant.hearing.engines.closed.installed import installed_model
from assistant.hearing.engines.closed.moonshine import Moonshine


def test_a_changed_byte_is_refused(tmp_path: Path) -> None:
    """A torn download or a bad card would hear, but otherwise than was measured."""
    folder = tmp_path / "model"
    shutil.copytree(installed_model(), folder)
    path = folder / "encoder_model.ort"
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)
    with pytest.raises(BadInput, match="another file than the fit was made with"):
        Moonshine(folder)


def test_the_default_engine_does_without_vosk() -> None:
    """It is a core dependency, and imported only where a site has chosen it."""
    code = (
        "import sys; from assistant.hearing.engines import make_engine; make_engine('closed');"
        "sys.exit('vosk' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
