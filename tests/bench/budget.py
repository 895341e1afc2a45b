"""What the assistant needs of a machine: memory, time to start, one core's time for hearing.

    python -m tests.bench.budget [--core N] [--repeat N] [--callgrind] [--no-live]
    python -m tests.bench.budget --pid PID [PID ...]

Hearing runs on one core and one thread, through the live path. What counts is processor time, of
each sentence the least of `--repeat` hearings: so other work on the machine matters less, and on an
idle core it is the time that passes. The load is printed all the same. Memory and start are those
of a live `listen` and `watch` on a loop-back sound device, which needs PulseAudio. `--callgrind`
counts instructions under valgrind: some minutes. `--pid` prints the memory of processes that run
already, such as the services on a Pi.

What is printed for a Raspberry Pi is an estimate from `SLOWER`, until somebody runs this on one.
"""

import argparse
import json
import os
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from assistant.audio.sound import BLOCK_S, RATE_HZ, Samples, silence

ROOT = Path(__file__).parents[2]
SITE = ROOT / "configs" / "tarn-hollow"
SENTENCES = (
    "yes confirmed",
    "not yet",
    "we saw the mask held on",
    "seventy five kilos",
    "what is left",
    "what is the dose of rocuronium for seventy kilos",
    "the attempt failed",
    "can somebody turn the suction down please",
)
SILENCE_ENDS_S, SILENCE_READS_S = 0.64, 0.32
"""hearing/endpointing.py: an utterance has ended; it is read already in case it has."""

SLOWER = {"Pi 5": (2.0, 3.5), "Pi 4": (5.0, 9.0)}
"""How many times slower one core is than one of a server of 2022 to 2024. ASSUMED, from memory:
published single-core scores of a general benchmark, about 1700 for such a server, 750 for a Pi 5,
320 for a Pi 4, are 2.3 and 5.3; widened, because 8-bit matrices have an instruction of their own on
the Pi 5 and none on the Pi 4, and because memory is slower on both."""


def main() -> None:
    """Print what was asked for."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--core", type=int, default=0, help="the one on which hearing runs")
    parser.add_argument("--repeat", type=int, default=5)
    parser.add_argument("--callgrind", action="store_true")
    parser.add_argument("--no-live", action="store_true")
    parser.add_argument("--pid", type=int, nargs="+")
    parser.add_argument("--read", type=Path, help=argparse.SUPPRESS)  # the child that hears
    options = parser.parse_args()
    if options.read is not None:
        print(json.dumps(hear(options.read, options.core, options.repeat)))
        return
    if options.pid:
        for pid in options.pid:
            print(f"{pid}: {memory(pid)}")
        return
    print(f"{os.uname().machine}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    with tempfile.TemporaryDirectory(prefix="budget-") as folder:
        place = Path(folder)
        speak(place, SENTENCES)
        report(run_hearing(place, options.core, options.repeat))
        if options.callgrind:
            count_instructions(place, options.core)
        if not options.no_live:
            live(place)
    print(f"load at the end {os.getloadavg()[0]:.1f}")


def speak(place: Path, sentences: Sequence[str]) -> None:
    """Have them said beforehand, so that the voice is in no figure."""
    from assistant.speaking.voices import VoiceSettings, open_voice

    voice = open_voice(VoiceSettings(engine="natural", name="joe"))
    rest = silence(1.0)
    for number, words in enumerate(sentences):
        np.save(place / f"{number}.npy", np.concatenate([rest, voice.render(words), rest]))


# --- Hearing, in a process of its own ----------------------------------------------------------


class Timed:
    """The engine, and how long each reading took it."""

    def __init__(self, engine: Any) -> None:
        self._engine = engine
        self.name = engine.name
        self.listen_for = engine.listen_for
        self.took_s: list[float] = []

    def read(self, samples: Samples) -> Any:
        began_s = time.process_time()
        reading = self._engine.read(samples)
        self.took_s.append(time.process_time() - began_s)
        return reading


def hear(place: Path, core: int, repeat: int) -> dict[str, Any]:
    """Hear each sentence so many times on one core; everything is imported here, to be counted."""
    os.sched_setaffinity(0, {core})
    from assistant.hearing.ear import Ear, hear_file
    from assistant.hearing.engines import make_engine
    from assistant.phrasebook.phrasebook import Phrasebook
    from assistant.site.site import load_site

    engine = Timed(make_engine("closed", threads=1))
    engine.listen_for(Phrasebook(load_site(SITE)).when_asking("anything"))
    told: dict[str, Any] = {"ready_s": time.process_time(), "sentences": []}
    for path in sorted(place.glob("*.npy")):
        sound = np.load(path)
        best = None
        for _ in range(repeat):
            engine.took_s.clear()
            before_s = time.process_time()
            heard = hear_file(Ear(engine), sound)
            all_s = time.process_time() - before_s
            if best is None or all_s < best["all_s"]:
                best = {
                    "text": heard[0].reading.text if heard else "",
                    "verdict": heard[0].reading.verdict.value if heard else "no voice",
                    "lasts_s": len(sound) / RATE_HZ,
                    "read_s": max(engine.took_s, default=0.0),
                    "reads": len(engine.took_s),
                    "all_s": all_s,
                    "ear_s": all_s - sum(engine.took_s),
                }
        if best is not None:
            told["sentences"].append(best)
    told["memory"] = memory(os.getpid())
    return told


def run_hearing(place: Path, core: int, repeat: int) -> dict[str, Any]:
    """The same in a fresh process."""
    done = subprocess.run(child(place, core, repeat), cwd=ROOT, capture_output=True, check=True)
    return dict(json.loads(done.stdout))


def child(place: Path, core: int, repeat: int) -> list[str]:
    order = [sys.executable, "-m", "tests.bench.budget", "--read", str(place)]
    return [*order, "--core", str(core), "--repeat", str(repeat)]


def report(told: dict[str, Any]) -> None:
    """Print ratios, times, and what they would be on a Pi."""
    print("\nHEARING, one core, one thread, processor time")
    for one in told["sentences"]:
        print(
            f"  {one['text'] or '-':50} {one['verdict']:7} read in {one['read_s']:.3f} s; "
            f"{one['all_s'] / one['lasts_s']:.3f} of its {one['lasts_s']:.1f} s"
        )
    sentences = told["sentences"]
    lasts_s = sum(one["lasts_s"] for one in sentences)
    factor = sum(one["all_s"] for one in sentences) / lasts_s
    ear = sum(one["ear_s"] for one in sentences) / lasts_s
    reads_s = [one["read_s"] for one in sentences]
    median_s, worst_s = statistics.median(reads_s), max(reads_s)
    print(
        f"engine and grammar ready after {told['ready_s']:.1f} s of the processor; {told['memory']}"
    )
    print(f"real-time factor {factor:.3f}; of a quiet room (end-pointing alone) {ear:.3f}")
    told_s = f"{answer_s(median_s):.2f} s median, {answer_s(worst_s):.2f} s worst"
    print(f"from the last voice to a decision: {told_s} (sound device and queue not in it)")
    for board, (low, high) in SLOWER.items():
        medians = " to ".join(f"{answer_s(median_s * times):.2f}" for times in (low, high))
        worst = " to ".join(f"{answer_s(worst_s * times):.2f}" for times in (low, high))
        print(
            f"ESTIMATE, {board}, {low:g} to {high:g} times slower (assumed): factor "
            f"{factor * low:.2f} to {factor * high:.2f}, decided after {medians} s median, "
            f"{worst} s worst"
        )


def answer_s(read_s: float) -> float:
    """From the last voiced block to the reading: it is begun early, and waited for."""
    return max(SILENCE_ENDS_S, SILENCE_READS_S + read_s) + BLOCK_S


# --- Instructions ------------------------------------------------------------------------------


def count_instructions(place: Path, core: int) -> None:
    """The difference of two runs, one of which hears one sentence once more."""
    valgrind = shutil.which("valgrind")
    if valgrind is None:
        print("instructions not counted: valgrind is not installed")
        return
    print("\nINSTRUCTIONS, callgrind (it shows the program no 512-bit vectors)")
    only = place / "one"
    only.mkdir()
    shutil.copy(place / "0.npy", only)
    lasts_s = len(np.load(only / "0.npy")) / RATE_HZ
    order = [valgrind, "--tool=callgrind", "--callgrind-out-file=/dev/null"]
    counts = []
    for repeat in (1, 2):
        done = subprocess.run(
            [*order, *child(only, core, repeat)],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": "0"},
            capture_output=True,
            text=True,
            check=False,
        )
        found = re.search(r"Collected : (\d+)", done.stderr)
        if done.returncode or found is None:
            print(f"  it does not run under valgrind here: {done.stderr.strip()[-300:]}")
            return
        counts.append(int(found[1]))
    once, twice = counts
    print(
        f"  {SENTENCES[0]!r}, {lasts_s:.1f} s with its silence: {(twice - once) / 1e9:.2f} "
        f"thousand million; starting and hearing it once: {once / 1e9:.1f}"
    )


# --- Live --------------------------------------------------------------------------------------


def live(place: Path) -> None:
    """Memory, start and use of the processor by the two processes, in a case."""
    if shutil.which("pulseaudio") is None:
        print("live not measured: PulseAudio is not installed")
        return
    from tests.live.box import Box
    from tests.oximeter.sound_server import SoundServer

    server = SoundServer(place)
    told = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
    told.bind(str(place / "notify"))
    server.environment["NOTIFY_SOCKET"] = str(place / "notify")
    box = Box(place, server)
    try:
        print("\nLIVE, listen and watch on a loop-back sound device")
        box.start_watcher()
        print(f"  watch ready after {ready_after_s(told):.1f} s")
        box.start("--no-watcher")
        print(f"  listen ready after {ready_after_s(told):.1f} s, before its spoken self-test")
        told.close()
        pids = {"listen": box.process.pid, "watch": box.watcher.pid}
        box.wait_ready(within_s=90)
        tell_use("between cases", pids)
        box.say("open a new case")
        box.wait_said("A new case", within_s=60)
        for words, then in (
            ("begin the brief", "flush rate"),
            ("we saw the mask held on", "nasal"),
        ):
            box.say(words)
            box.wait_said(then, within_s=60)
        tell_use("in a case", pids)
    finally:
        box.close()
        server.close()


def ready_after_s(told: socket.socket) -> float:
    """How long it takes until a service says that it is ready, as it would to systemd."""
    began_s = time.monotonic()
    told.settimeout(120)
    while not told.recv(4096).startswith(b"READY=1"):
        continue
    return time.monotonic() - began_s


def tell_use(when: str, pids: dict[str, int], seconds: float = 10.0) -> None:
    """Memory now, and the share of one core over some seconds."""
    before_s = {name: cpu_s(pid) for name, pid in pids.items()}
    time.sleep(seconds)
    for name, pid in pids.items():
        share = (cpu_s(pid) - before_s[name]) / seconds
        print(f"  {name} {when}: {memory(pid)}; {share:.0%} of a core")


def cpu_s(pid: int) -> float:
    """Processor time of a process so far."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def memory(pid: int) -> str:
    """Resident, its fair share of what others use too, and the most so far (proc(5))."""
    rollup = Path(f"/proc/{pid}/smaps_rollup").read_text(encoding="ascii")
    status = Path(f"/proc/{pid}/status").read_text(encoding="utf-8")
    kilobytes = {
        name: int(found[1])
        for name, text in (("Rss", rollup), ("Pss", rollup), ("VmHWM", status))
        if (found := re.search(rf"^{name}:\s+(\d+) kB", text, re.MULTILINE))
    }
    rss, pss, peak = (kilobytes[name] / 1024 for name in ("Rss", "Pss", "VmHWM"))
    return f"{rss:.0f} MiB resident, {pss:.0f} MiB its share, {peak:.0f} MiB at most"


if __name__ == "__main__":
    main()
