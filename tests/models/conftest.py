"""A server on the loopback that breaks off, lies and forgets, and the ZIP that it serves."""

import threading
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from hashlib import sha256
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from random import Random

import pytest

from assistant.models.catalogue import KnownModel

MODEL_FILES = {
    "am/final.mdl": Random(6).randbytes(300_000),
    "conf/mfcc.conf": b"--sample-frequency=16000\n",
    "conf/model.conf": b"--min-active=200\n",
    "graph/phones/word_boundary.int": b"1 begin\n",
}
"""The folders of a Vosk model, small; its bytes are noise that does not compress."""


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    """A model as it is published: one folder around everything."""
    path = tmp_path / "published.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        made.mkdir("some-model-1.0")
        for name, content in MODEL_FILES.items():
            made.writestr(f"some-model-1.0/{name}", content)
    return path


@pytest.fixture
def model(archive: Path) -> KnownModel:
    """That archive, as if the project knew it."""
    content = archive.read_bytes()
    return KnownModel("some-model", "a model", len(content), sha256(content).hexdigest(), "MIT")


@dataclass
class Served:
    """What the server does, and what it was asked for."""

    content: bytes
    address: str = ""
    cut_after: list[int] = field(default_factory=list)
    """For each answer to come: after how many bytes the connection breaks."""
    ranges: bool = True
    refuses: int = 0
    """A status with which it refuses everything."""
    says_bytes: int | None = None
    asked: list[str] = field(default_factory=list)
    """The Range of each request, empty when it had none."""


@pytest.fixture
def served(archive: Path) -> Iterator[Served]:
    """The archive at an address."""
    what = Served(archive.read_bytes())

    class Handler(BaseHTTPRequestHandler):
        def log_message(self, *_: object) -> None:
            pass

        def do_GET(self) -> None:
            asked = self.headers.get("Range", "")
            what.asked.append(asked)
            if what.refuses:
                self.send_error(what.refuses)
                return
            first = int(asked.removeprefix("bytes=").removesuffix("-")) if asked else 0
            if not what.ranges:
                first = 0
            body = what.content[first:]
            self.send_response(206 if first else 200)
            if first:
                last = len(what.content) - 1
                self.send_header("Content-Range", f"bytes {first}-{last}/{len(what.content)}")
            self.send_header("Content-Length", str(what.says_bytes or len(body)))
            self.end_headers()
            end = what.cut_after.pop(0) if what.cut_after else len(body)
            self.wfile.write(body[:end])

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True).start()
    what.address = f"http://127.0.0.1:{server.server_port}/published.zip"
    yield what
    server.shutdown()
    server.server_close()
