"""The line between the watcher and the conversation: nobody ever waits on it."""

import os
import stat
from pathlib import Path

import pytest

from assistant.oximeter.messages import (
    SOCKET_NAME,
    Calling,
    FeedLost,
    Message,
    Restored,
    SignalLost,
    ToConversation,
    WatchEnded,
    WatcherLine,
    Watching,
    from_json,
    to_json,
)

CALLING = Calling("fell", "Saturation ninety-three.", 93, 93, 10.0, 12.5)
MESSAGES: list[Message] = [
    CALLING,
    Watching(97, 1.0),
    Watching(None, 2.0, "no finger"),
    SignalLost(3.0, "no finger"),
    FeedLost(4.0, "no such port"),
    Restored(5.0),
    WatchEnded(6.0),
]


@pytest.mark.parametrize("message", MESSAGES)
def test_a_message_survives_its_json(message: Message) -> None:
    """What is read back is what was written."""
    assert from_json(to_json(message)) == message


@pytest.mark.parametrize(
    "text",
    [
        *("", "[]", "7", "null", '"x"', "{}", '{"message":"Watching"}'),
        *('{"message":"Other","at_s":1}', '{"message":"Restored","at_s":"soon"}', "[" * 4000),
    ],
)
def test_anything_else_is_no_message(text: str) -> None:
    """Rubbish on the socket is dropped, and raises nothing."""
    assert from_json(text) is None


def test_a_flood_keeps_nobody_at_the_socket(tmp_path: Path) -> None:
    """Whoever polls comes to an end, also where for each message that is taken another comes."""
    line, tell = WatcherLine(tmp_path), ToConversation(tmp_path)
    tell(CALLING)

    for taken, _ in enumerate(line.poll()):
        tell(CALLING)
        assert taken < 5000


def test_messages_arrive_in_order(tmp_path: Path) -> None:
    """The conversation polls and gets everything since, oldest first."""
    line, tell = WatcherLine(tmp_path), ToConversation(tmp_path)

    for message in MESSAGES:
        tell(message)

    assert list(line.poll()) == MESSAGES
    assert list(line.poll()) == []


def test_the_socket_is_its_owners_only(tmp_path: Path) -> None:
    """Nobody else on the machine may tell the conversation that a call is being made."""
    WatcherLine(tmp_path)

    mode = (tmp_path / SOCKET_NAME).stat().st_mode

    assert stat.S_ISSOCK(mode)
    assert stat.S_IMODE(mode) == 0o600


def test_works_however_long_the_path_is(tmp_path: Path) -> None:
    """A socket's path may have no more than 107 bytes; a case folder's may."""
    case = tmp_path / ("long" * 30) / ("longer" * 20)
    case.mkdir(parents=True)
    line, tell = WatcherLine(case), ToConversation(case)

    tell(CALLING)

    assert list(line.poll()) == [CALLING]
    line.close()
    assert not (case / SOCKET_NAME).exists()


def test_nobody_listening_costs_nothing(tmp_path: Path) -> None:
    """With nobody there, or nobody reading, telling returns, and drops only heartbeats."""
    tell = ToConversation(tmp_path)
    tell(CALLING)
    line = WatcherLine(tmp_path)
    for second in range(5000):
        tell(Watching(97, float(second)))
    tell(Restored(6000.0))

    got = list(line.poll())
    tell(Watching(96, 6001.0))
    got += list(line.poll())

    assert got[0] == CALLING
    assert Restored(6000.0) in got
    assert got[-1] == Watching(96, 6001.0)
    assert len(got) < 5000


def test_a_new_conversation_takes_over(tmp_path: Path) -> None:
    """After a conversation was killed its socket lies about; the next one binds all the same."""
    tell = ToConversation(tmp_path)
    killed = WatcherLine(tmp_path)
    tell(Watching(97, 1.0))
    os.close(killed._socket.detach())  # as the kernel does it: the file stays

    tell(CALLING)
    line = WatcherLine(tmp_path)
    tell(Watching(96, 3.0))

    assert list(line.poll()) == [CALLING, Watching(96, 3.0)]


def test_says_when_nobody_heard_it() -> None:
    """A call that ends when it starts had no loudspeaker: somebody else must say it."""
    assert not CALLING.unheard
    assert Calling("fell", "Saturation ninety-three.", 93, 93, 10.0, 10.0).unheard


def test_nothing_is_lost_when_the_conversation_moves(tmp_path: Path) -> None:
    """What was not polled yet is handed over, and what is told from then on is kept for later."""
    tell, line = ToConversation(tmp_path), WatcherLine(tmp_path)
    tell(CALLING)
    left = line.close()
    tell(Restored(2.0))
    line = WatcherLine(tmp_path)
    tell(Watching(96, 3.0))

    assert left == [CALLING]
    assert list(line.poll()) == [Restored(2.0), Watching(96, 3.0)]
