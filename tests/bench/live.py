"""How soon the live assistant answers, on a loop-back sound device.

`python -m tests.bench.live` speaks a few answers into a real mixer in real time and prints,
for each, where the time went from the end of the answer to the first sound of the next line. It
needs PulseAudio. Times depend on the machine and on what else it does; say which it was.
"""

import statistics
import tempfile
from itertools import pairwise
from pathlib import Path

import numpy as np

from assistant.audio.sound import RATE_HZ
from assistant.journal.at_hand import case_at_hand
from assistant.journal.journal import read_case
from tests.live.box import Box, wait_for
from tests.oximeter.sound_server import SoundServer

ANSWERS = (
    ("begin the brief", "oxygen on at flush rate"),
    ("we saw the mask held on", "nasal oxygen running"),
    ("yes confirmed", "bag connected"),
    ("yes confirmed", "patient weigh"),
    ("eighty two kilos", "eight two"),
    ("yes correct", "allergic"),
    ("yes confirmed", "Circulation at"),
    ("we went through the circulation", "Oxygenation at"),
    ("yes confirmed", "Acidosis at"),
    ("yes confirmed", "Which technique"),
)

LONGER_THAN_A_COMMA_S = 0.6


def main() -> None:
    """Run, and print a line an answer."""
    with tempfile.TemporaryDirectory() as folder:
        server = SoundServer(Path(folder))
        box = Box(Path(folder), server)
        try:
            _measure(box, server, Path(folder) / "room.raw")
        finally:
            box.close()
            server.close()


def _measure(box: Box, server: SoundServer, recording: Path) -> None:
    box.start()
    box.wait_ready()
    box.say("open a new case")
    wait_for(lambda: case_at_hand(box.cases) is not None, 20, "a case")
    box.wait_said("A new case")
    heard = server.listen(recording)
    for words, then in ANSWERS:
        box.say(words)
        box.wait_said(then)
    heard.terminate()
    gaps_s = _gaps(np.fromfile(recording, dtype=np.int16))
    print(f"{'answer':28} {'decided':>8}   from its last voiced block to the line on record")
    _, rows = read_case(box.cases / case_at_hand(box.cases))
    decided: list[float] = []
    for at, row in enumerate(rows):
        if row.kind == "heard":
            said = next((one for one in rows[at:] if one.kind == "said"), None)
            if said is not None:
                decided.append(said.mono_s - row.data["ended_s"])
                print(f"{row.text:28} {decided[-1] * 1000:6.0f} ms")
    print(f"decided: {_summed_up(decided)}")
    print(f"heard in the room, from last sound to first sound: {_summed_up(gaps_s)}")


def _summed_up(times_s: list[float]) -> str:
    median_ms, worst_ms = statistics.median(times_s) * 1000, max(times_s) * 1000
    return f"median {median_ms:.0f} ms, worst {worst_ms:.0f} ms of {len(times_s)}"


def _gaps(room: np.ndarray) -> list[float]:
    """The silences after each answer: every second long one, as answers and lines alternate."""
    step = RATE_HZ // 100
    loud = np.abs(room[: len(room) // step * step].reshape(-1, step)).max(axis=1) > 300
    edges = np.flatnonzero(np.diff(loud.astype(int)))
    silences_s = [(b - a) / 100 for a, b in pairwise(edges) if not loud[a + 1]]
    return [gap_s for gap_s in silences_s if gap_s > LONGER_THAN_A_COMMA_S][: 2 * len(ANSWERS) : 2]


if __name__ == "__main__":
    main()
