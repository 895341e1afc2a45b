"""The watcher's process: its own clock tick, loudspeaker and record, whatever else may hang."""

import os
import signal
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from assistant.audio.sound import Samples
from assistant.clock import MonotonicClock
from assistant.errors import BadInput
from assistant.oximeter.calls import ReadyCalls
from assistant.oximeter.device_speaker import DeviceSpeaker
from assistant.oximeter.feed import Feed
from assistant.oximeter.messages import Calling, Message, ToConversation
from assistant.oximeter.record import RECORD_NAME, BackgroundRecord, WatcherRecord, row_now
from assistant.oximeter.settings import OximeterSettings
from assistant.oximeter.watcher import Watcher
from assistant.supervision import notify

STEP_S = 0.02
"""Between two looks at the port."""
NICENESS = -10
"""Before everything else that wants the processor, where the system lets it (LimitNICE=)."""
ALIVE_S = 1.0
"""Between two signs of life for the service manager."""


def run_watcher(
    at_hand: Callable[[], Path],
    settings: OximeterSettings,
    render: Callable[[str], Samples],
    feed: Feed,
    *,
    output_device: str | int | None = None,
    ends_with_parent_pid: int | None = None,
    glance: Path | None = None,
    idle: str | None = None,
) -> None:
    """Watch until SIGTERM or SIGINT; call it in the main thread of a process of its own.

    `at_hand` gives the folder of the case that is at hand, without waiting for a disk; when it
    gives another one, the next patient is watched from the beginning. SIGUSR1 says the last call
    again.
    `ends_with_parent_pid` is the process id of whoever started this process, as that one knows
    it: the watch ends when that process is gone, however it went (a rehearsal). With None it goes
    on alone, which is what a live case needs. `glance` is the socket of a display that is told
    too, if one is there. `idle` names folders that stand in for a case: no saturation is kept
    there but what is called.

    Raises BadInput when the case folder cannot be used.
    """
    with suppress(OSError):
        os.nice(NICENESS)
    stop, again = threading.Event(), threading.Event()
    for ending in (signal.SIGTERM, signal.SIGINT):
        signal.signal(ending, lambda *_: stop.set())
    signal.signal(signal.SIGUSR1, lambda *_: again.set())

    calls = ReadyCalls(settings.crossing, settings.words, render)
    for text in calls.missing:
        _print(f"the voice cannot say: {text}")
    clock = MonotonicClock()
    speaker = DeviceSpeaker(clock, output_device)
    alive_s = float("-inf")
    to_glance = _to_glance(glance)

    def goes_on(name: str) -> Path | None:
        """Where the case of that name is now; None when it is to be watched no more. The service
        manager is told that it is watched."""
        nonlocal alive_s
        if clock.now_s() - alive_s >= ALIVE_S:
            notify("READY=1" if alive_s < 0 else "WATCHDOG=1")
            alive_s = clock.now_s()
        parent_lives = ends_with_parent_pid in (None, os.getppid())
        folder = at_hand()
        still = not stop.is_set() and parent_lives and folder.name == name
        return folder if still else None

    unwritten: list[BackgroundRecord] = []
    try:
        while not stop.is_set() and ends_with_parent_pid in (None, os.getppid()):
            folder = at_hand()
            record = _watch_case(
                folder,
                settings,
                calls,
                feed,
                speaker,
                clock,
                again,
                goes_on,
                to_glance,
                keep_saturation=folder.name != idle,
            )
            record.end()  # by itself, while the next patient is watched
            unwritten = [one for one in (*unwritten, record) if not one.ended]
    finally:
        notify("STOPPING=1")
        speaker.close()
        for record in unwritten:
            record.close()


def _watch_case(  # noqa: PLR0917 - what one patient's watch shares with the next one's
    case_dir: Path,
    settings: OximeterSettings,
    calls: ReadyCalls,
    feed: Feed,
    speaker: DeviceSpeaker,
    clock: MonotonicClock,
    again: threading.Event,
    goes_on: Callable[[str], Path | None],
    to_glance: Callable[[Message], None],
    *,
    keep_saturation: bool,
) -> BackgroundRecord:
    """Watch one patient; return the record, in which more may wait to be written."""
    try:
        to_conversation = ToConversation(case_dir)
    except OSError as fault:
        raise BadInput(f"{case_dir}: the case folder cannot be used ({fault.strerror})") from fault

    def tell(message: Message) -> None:
        to_conversation(message)
        to_glance(message)
        if isinstance(message, Calling) and message.unheard:
            _print(f"not heard, for want of a loudspeaker: {message.text}")

    record = BackgroundRecord(WatcherRecord(case_dir / RECORD_NAME))
    watcher = Watcher(
        settings,
        feed,
        speak=speaker,
        record=record,
        clock=clock,
        tell=tell,
        calls=calls,
        keep_saturation=keep_saturation,
    )
    record.add(row_now(clock.now_s(), clock.name, "event", "watch began", {"feed": feed.name}))
    heard_fault = ""
    while (folder := goes_on(case_dir.name)) is not None:
        if folder != case_dir:  # the same case elsewhere: the disk took no more of it
            with suppress(OSError):
                to_conversation.move(folder)
                record.move(folder / RECORD_NAME)
                case_dir = folder
        watcher.step()
        if again.is_set():
            again.clear()
            watcher.repeat()
        if speaker.missed():
            watcher.unheard()
        speaker.keep_open()
        if speaker.fault != heard_fault:
            heard_fault = speaker.fault
            text = "loudspeaker failed" if heard_fault else "loudspeaker open"
            _print(f"{text}: {heard_fault}" if heard_fault else text)
            record.add(row_now(clock.now_s(), clock.name, "event", text, {"fault": heard_fault}))
        time.sleep(STEP_S)
    watcher.end()
    to_conversation.close()
    return record


def _print(text: str) -> None:
    """For whoever watches by hand, and for the log, which may be slow or hang: nobody waits."""
    threading.Thread(target=print, args=(text,), kwargs={"flush": True}, daemon=True).start()


def _to_glance(socket: Path | None) -> Callable[[Message], None]:
    """A display is never needed: where there can be none, nothing is told."""
    if socket is not None:
        with suppress(OSError):  # there is no such folder
            return ToConversation(socket.parent, socket.name)
    return lambda _: None
