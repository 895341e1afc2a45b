"""How soon the live assistant answers, item by item, on a loop-back sound device.

    python -m tests.bench.live [ITEMS]

Goes through the first items of the brief with a natural voice, in real time, through a real mixer
(it needs PulseAudio), and prints for each what the deciding took, from the last voiced block to the
next line on record, and the gap in the room: from the last sound of the answer to the first of
whatever is said next. Both sounds are known, and are found in a recording of the room. Of the gap
the deciding is silence that is waited for, and reading; the rest is the detector's, which hears an
end late, and the devices'. Times depend on the machine and on what else it does: its load is
printed.
"""

import argparse
import os
import tempfile
import time
from contextlib import suppress
from pathlib import Path

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples
from assistant.journal.rows import Row
from assistant.site.site import load_site
from assistant.speaking.voices import VoiceSettings, open_voice
from tests.live.box import SITE, Box
from tests.oximeter.sound_server import SoundServer
from tests.waiting import wait_for

PLAIN = {
    "bag-and-valve": "bag ready",
    "protection": "all protected",
    "saturation-call": "agreed",
    "access": "yes",
    "induction-drugs": "yes it is",
    "pressor": "done",
    "sedation-ordered": "sedation ordered",
    "monitors": "monitors on",
    "capnograph": "wave tested",
    "suction": "both working",
    "tubes-and-spares": "yes",
    "rescue-kit": "both here",
    "stomach": "done",
    "ear-and-face": "lined up",
    "mouth-and-teeth": "yes",
    "neck-felt": "neck felt",
    "saturation": "staying up",
}
"""The items whose answer is a plain one; they are measured."""
OTHERS = {
    "oxygen-on": "we saw the mask held on",
    "nasal-oxygen": "fifteen litres",
    "weight": "seventy five kilos",
    "allergies": "we went through the allergies",
    "first-attempt": "the registrar",
    "next-attempt": "the consultant",
    "front-of-neck": "the consultant",
    "failed-attempts": "we went through that plan",
    "special": "nothing special",
    "pressure": "one three five",
    "first-laryngoscope": "video laryngoscope",
    "head-up": "thirty degrees",
    "collar": "no collar",
}
AWAITED = ("ask", "read-back", "yes", "again")
MEASURED = 15
PAUSE_S = 0.6
"""People answer so long after the question."""
FOUND_BY_S = 0.4
"""A sound is looked for by its first, or its last, so many seconds."""


def main() -> None:
    """Run, and print a line an item."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "items",
        type=int,
        nargs="?",
        default=MEASURED,
        metavar="ITEMS",
        help="how many items of a plain answer are measured (default: %(default)s)",
    )
    measured = parser.parse_args().items
    with tempfile.TemporaryDirectory() as folder:
        server = SoundServer(Path(folder))
        box = Box(Path(folder), server)
        try:
            _talk(box, server, Path(folder) / "room.raw", measured)
        finally:
            box.close()
            server.close()


def _talk(box: Box, server: SoundServer, recording: Path, measured: int) -> None:
    box.start()
    box.wait_ready()
    box.open_a_case()
    box.wait_said("New case")
    heard, recorded_from_s = server.listen(recording), time.monotonic()
    box.tell("planned brief")
    asked: set[str] = set()
    while len(asked) < measured or _last_line(box).item in asked:
        line = _wait_silent(box)
        if line.item not in PLAIN | OTHERS:
            break
        item, before = str(line.item), len(_heard(box))
        asked |= {item} & PLAIN.keys()
        if len(asked) > measured:
            break
        box.say("yes correct" if line.meaning in ("yes", "read-back") else (PLAIN | OTHERS)[item])
        with suppress(AssertionError):  # not understood: it is said again
            wait_for(lambda before=before: len(_heard(box)) > before, 6, "something heard")
    time.sleep(3.0)
    heard.terminate()
    heard.wait()
    _print(box.rows(), np.fromfile(recording, dtype=np.int16), recorded_from_s)


def _heard(box: Box) -> list[Row]:
    return [row for row in box.rows() if row.kind in ("heard", "ignored")]


def _last_line(box: Box) -> Row:
    return [row for row in box.rows() if row.kind == "said"][-1]


def _wait_silent(box: Box) -> Row:
    """The last line that wants an answer, once it has been said, and a moment more."""
    while True:
        last = _last_line(box)
        left_s = last.mono_s + last.data["lasts_s"] + PAUSE_S - time.monotonic()
        if left_s <= 0 and last.meaning in AWAITED:
            return last
        time.sleep(max(0.02, left_s))


def _print(rows: tuple[Row, ...], room: Samples, recorded_from_s: float) -> None:
    person = open_voice(VoiceSettings(engine="natural", name="joe"))
    site = load_site(SITE)
    assistant = open_voice(site.wording.voice)
    decided: list[float] = []
    gaps_s: list[float] = []
    only_yes: list[bool] = []
    print(f"{'item':20} {'answer':20} {'decided':>8} {'gap':>8}   ms")
    for at, row in enumerate(rows):
        following = next((one for one in rows[at:] if one.kind == "said"), None)
        if row.kind != "heard" or row.item not in PLAIN or following is None:
            continue
        decision_s = following.mono_s - row.data["ended_s"]
        said, next_call = person.render(row.text), assistant.render(following.text)
        gap_s = _gap_s(room, recorded_from_s, said, next_call, row)
        decided.append(decision_s)
        gaps_s.append(gap_s)
        only_yes.append(row.text in site.wording.may_be_said.plain_yes)
        print(f"{row.item:20} {row.text:20} {decision_s * 1000:8.0f} {gap_s * 1000:8.0f}")
    rest = [gap - decision for gap, decision in zip(gaps_s, decided, strict=True)]
    each = list(zip(gaps_s, only_yes, strict=True))
    parts = (
        ("decided", decided),
        ("detector and devices", rest),
        ("gap in the room", gaps_s),
        ("the same after what tells of the item", [gap_s for gap_s, yes in each if not yes]),
        ("the same after only a yes", [gap_s for gap_s, yes in each if yes]),
    )
    for name, times_s in parts:
        if not times_s:  # too few items were gone through
            continue
        median, most, worst = (np.quantile(times_s, share) * 1000 for share in (0.5, 0.9, 1.0))
        print(f"{name}: median {median:.0f}, 90th percentile {most:.0f}, worst {worst:.0f} ms")
    print(f"{len(gaps_s)} answers")
    print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")


def _gap_s(
    room: Samples, recorded_from_s: float, answer: Samples, line: Samples, row: Row
) -> float:
    """From the last sound of the one to the first of the other, where they follow each other."""
    ended_s = row.data["ended_s"] - recorded_from_s
    from_s = max(0.0, ended_s - 1.5)
    heard = room[round(from_s * RATE_HZ) : round((ended_s + 6.0) * RATE_HZ)]
    known = answer[-round(FOUND_BY_S * RATE_HZ) :]
    end = _place(heard[: round(3.0 * RATE_HZ)], known) + _edge(known, last=True)
    known = line[: round(FOUND_BY_S * RATE_HZ)]
    return (_place(heard[end:], known) + _edge(known, last=False)) / RATE_HZ


def _place(room: Samples, sound: Samples) -> int:
    """Where the sound lies in the room, as it is known: where the two are most alike."""
    wave, known = room.astype(np.float64), sound.astype(np.float64)
    size = 1 << (len(wave) + len(known)).bit_length()
    spectrum = np.fft.rfft(wave, size) * np.conj(np.fft.rfft(known, size))
    matches = np.fft.irfft(spectrum, size)[: max(1, len(wave) - len(known))]
    power = np.concatenate([[0.0], np.cumsum(wave**2)])
    beneath = power[len(known) :][: len(matches)] - power[: len(matches)]
    return int(np.argmax(matches / np.sqrt(beneath + 1e6)))


def _edge(sound: Samples, *, last: bool) -> int:
    """Its last or first sample that can be heard."""
    level = np.abs(sound.astype(np.int32))
    loud = np.flatnonzero(level > 0.02 * level.max())
    return int(loud[-1] if last else loud[0])


if __name__ == "__main__":
    main()
