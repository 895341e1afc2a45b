"""The server: for this machine only, to be read only, and nothing waits for it."""

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.glance.server import POLICY
from assistant.oximeter.messages import somebody_listens
from tests.glance.conftest import PATIENCE_S, ROOT, Bedside, fetched, shown
from tests.waiting import wait_for

PAGES = ("/", "/glance.css", "/glance.js", "/now.json")


def test_it_shows_one_case_after_the_other(served: Bedside) -> None:
    """Between cases, in one, and in the next, without being started again."""
    assert shown(served)["headline"]["title"] == "No case is open"
    assert shown(served)["headline"]["text"] == "Say: open a new case"
    for _ in range(2):
        served.open_case().hear("start")
        assert shown(served)["headline"]["mark"] == "asked"
        served.end_case()
        assert shown(served)["headline"]["mark"] == "idle"


def test_the_saturation_comes_and_goes(served: Bedside) -> None:
    """Fresh, at the threshold, not believed, and not watched any more."""
    served.open_case()
    assert shown(served)["saturation"]["kind"] == "unwatched"
    for percent, kind, figure in (
        (98, "above", "98"),
        (93, "low", "93"),
        (None, "none", "no signal"),
    ):
        served.sees(percent)
        saturation = shown(served)["saturation"]
        assert (saturation["kind"], saturation["figure"]) == (kind, figure)
    served.sees(97)
    served.watches_no_more()
    wait_for(lambda: shown(served)["saturation"]["figure"] == "not watched", PATIENCE_S, "its end")


def test_nobody_listens_when_the_listener_is_gone(served: Bedside) -> None:
    """In a case and between cases."""
    served.open_case().hear("start")
    assert shown(served)["headline"]["mark"] == "asked"
    served.hang_up()
    assert shown(served)["headline"]["title"] == "Nobody listens"
    served.end_case()
    served.hang_up()
    assert shown(served)["headline"]["title"] == "Nobody listens"


def test_asking_whether_somebody_listens_tells_nobody_anything(bedside: Bedside) -> None:
    """The conversation's line stays empty."""
    folder = bedside.cases / "idle"
    assert somebody_listens(folder)
    assert bedside.line is not None
    assert list(bedside.line.poll()) == []
    bedside.hang_up()
    assert not somebody_listens(folder)
    assert not somebody_listens(folder / "absent")


@pytest.mark.parametrize("page", PAGES)
def test_every_answer_forbids_what_is_not_needed(served: Bedside, page: str) -> None:
    """Nothing from elsewhere, nothing kept, in nobody's frame, for no other page's script."""
    status, headers, _ = fetched(served, page)

    assert status == 200
    assert headers["content-security-policy"] == POLICY
    assert "default-src 'none'" in POLICY
    assert "unsafe" not in POLICY
    assert headers["cache-control"] == "no-store"
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert not any(name.startswith("access-control") for name in headers)
    assert "server" not in headers


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize(
    "host", ["brief.example", "127.0.0.1", "127.0.0.1:1", "localhost.example", ""]
)
def test_another_name_is_not_answered(served: Bedside, page: str, host: str) -> None:
    """A page elsewhere whose name was made to point here (DNS rebinding) learns nothing."""
    status, _, body = fetched(served, page, host=host)

    assert status == 421
    assert b"saturation" not in body


def test_its_own_names_are_answered(served: Bedside) -> None:
    """The loopback by number and by name."""
    for name in ("127.0.0.1", "localhost"):
        assert fetched(served, "/", host=f"{name}:{served.port}")[0] == 200


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "PATCH"])
def test_nothing_can_be_written(served: Bedside, method: str) -> None:
    """Only GET and HEAD are answered."""
    assert fetched(served, "/now.json", method)[0] == 405


def test_a_head_has_no_body(served: Bedside) -> None:
    """But the length that it would have."""
    status, headers, body = fetched(served, "/", "HEAD")
    assert (status, body) == (200, b"")
    assert int(headers["content-length"]) > 1000


@pytest.mark.parametrize(
    "path", ["/x", "/../settings.py", "//etc/passwd", "/glance.html", "/%2e%2e/"]
)
def test_there_are_four_pages_and_no_other(served: Bedside, path: str) -> None:
    """No path leads to a file."""
    assert fetched(served, path)[0] == 404


def test_only_this_machine_can_ask(served: Bedside) -> None:
    """The port is on the loopback and on no other address."""
    assert served.server is not None
    table = Path(f"/proc/{served.server.pid}/net/tcp").read_text(encoding="ascii")
    port = f":{served.port:04X}"
    places = [line.split()[1] for line in table.splitlines()[1:] if line.split()[3] == "0A"]
    assert [place for place in places if place.endswith(port)] == [f"0100007F{port}"]


def test_a_server_that_hangs_is_not_waited_for(served: Bedside) -> None:
    """Stopped in its tracks, it holds up neither the record nor the watcher, and loses nothing."""
    table = served.open_case()
    table.hear("start")
    shown(served)
    served.server_stops()
    began_s = time.monotonic()
    for _ in range(20):
        table.answer()
        served.sees(95)
    assert not table.journal.lost
    assert time.monotonic() - began_s < 10.0  # a single lock would take longer
    served.server_goes_on()
    item = table.case.current
    assert item is not None
    assert shown(served)["headline"]["text"] == item.ask


def test_killed_it_is_started_again_where_it_was(served: Bedside) -> None:
    """Its socket that was left behind is no hindrance."""
    served.open_case().hear("start")
    served.server_dies()
    served.serve()
    served.sees(96)
    assert shown(served)["saturation"]["figure"] == "96"


def test_told_to_end_it_ends(served: Bedside) -> None:
    """Without a word, and its socket goes with it."""
    assert served.server is not None
    served.server.send_signal(signal.SIGTERM)
    assert served.server.wait(10) == 0
    assert not (served.cases / "glance.sock").exists()


def test_a_place_that_is_taken_is_refused(
    served: Bedside, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence, and the one that runs goes on."""
    arguments = ["glance", "--site", str(served.site_folder), "--cases", str(served.cases)]
    taken = signal.getsignal(signal.SIGTERM)
    try:
        assert main([*arguments, "--watcher", str(served.cases / "other.sock")]) == 2
    finally:
        signal.signal(signal.SIGTERM, taken)
    assert f"port {served.port}: found an address that is not free" in capsys.readouterr().err
    assert fetched(served, "/")[0] == 200


def test_a_socket_that_the_site_names(bedside: Bedside, tmp_path: Path) -> None:
    """Nobody but its own user may open it; there is no port then."""
    place = tmp_path / "page.sock"
    (bedside.site_folder / "glance.yaml").write_text(f"socket: {place}\n", encoding="utf-8")
    server = subprocess.Popen(
        [
            *(sys.executable, "-m", "assistant", "glance", "--cases", str(bedside.cases)),
            *("--site", str(bedside.site_folder)),
        ],
        cwd=ROOT,
    )
    try:
        wait_for(place.exists, PATIENCE_S, "the socket")
        assert place.stat().st_mode & 0o777 == 0o600
        with socket.socket(socket.AF_UNIX) as line:
            wait_for(lambda: line.connect_ex(os.fsencode(place)) == 0, PATIENCE_S, "a server")
            line.sendall(b"GET /now.json HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
            line.settimeout(10)
            answer = b"".join(iter(lambda: line.recv(65536), b""))
        assert answer.startswith(b"HTTP/1.1 200")
        assert b"No case is open" in answer
    finally:
        server.terminate()
        server.wait()
