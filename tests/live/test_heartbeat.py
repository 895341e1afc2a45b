"""The watchdog's beat, against a socket that stands in for systemd's."""

import socket

import pytest

from assistant.clock import SoundClock
from assistant.live.heartbeat import Heartbeat


@pytest.fixture
def systemd(tmp_path, monkeypatch):
    """The receiving end of a notify socket (sd_notify(3))."""
    line = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
    line.bind(str(tmp_path / "notify"))
    line.setblocking(False)
    monkeypatch.setenv("NOTIFY_SOCKET", str(tmp_path / "notify"))
    yield line
    line.close()


def received(line):
    """All messages that have come."""
    messages = []
    while True:
        try:
            messages.append(line.recv(1000).decode())
        except BlockingIOError:
            return messages


def test_it_is_ready_once_and_beats_once_a_second(systemd):
    """Blocks of 32 ms give one beat a second, not thirty."""
    clock = SoundClock()
    heartbeat = Heartbeat(clock)

    heartbeat.ready()
    for number in range(100):
        clock.move_to(number * 0.032)
        heartbeat.heard_a_block()

    assert received(systemd) == ["READY=1", *["WATCHDOG=1"] * 4]


def test_no_block_no_beat(systemd):
    """Time alone does not beat: alive but deaf counts as stuck."""
    clock = SoundClock()
    heartbeat = Heartbeat(clock)
    heartbeat.heard_a_block()
    received(systemd)

    clock.move_to(3600.0)
    heartbeat.status("between cases")

    assert received(systemd) == ["STATUS=between cases"]


def test_without_systemd_it_is_silent(monkeypatch):
    """On a bench there is nobody to notify, and nothing fails."""
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    Heartbeat(SoundClock()).ready()


def test_a_systemd_that_is_gone_stops_nobody(systemd):
    """The beat is dropped, the listener goes on."""
    heartbeat = Heartbeat(SoundClock())
    systemd.close()

    heartbeat.ready()
    heartbeat.heard_a_block()
