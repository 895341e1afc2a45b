"""What a debrief needs of time and memory: a case of ten hours, and a year of five hundred cases.

    python -m tests.bench.debrief [--hours N] [--cases N]

Cases are made in memory where the system has a folder for that: making them waits for no disk. Each
command runs in a process of its own; memory is the most that it held (VmHWM). The comparison runs
over a tenth of the cases too: memory that stays the same does not grow with them.
"""

import argparse
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from assistant.clock import SoundClock
from assistant.journal.folder import new_case
from assistant.journal.journal import Journal
from assistant.oximeter.record import RECORD_NAME, WatcherRecord, row_now
from assistant.rehearsal.text_case import TextCase
from assistant.site.folder import files_of
from assistant.site.site import load_site

ROOT = Path(__file__).parents[2]
SITE = ROOT / "configs" / "tarn-hollow"
SAID = ("begin", "the drugs went in", "begin the attempt", "the tube went through", "yes confirmed")


def main() -> None:
    """Make the cases, run the commands, print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--hours", type=float, default=10.0)
    parser.add_argument("--cases", type=int, default=500)
    arguments = parser.parse_args()
    memory = Path("/dev/shm")  # noqa: S108 - only where it is there, and a folder of its own in it
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
        long = new_case(Path(folder) / "long", files_of(SITE))
        rows, watched = _long_case(long, arguments.hours)
        print(f"A case of {arguments.hours:g} hours: {rows} rows, {watched} of the watcher")
        page = str(Path(folder) / "page.html")
        for words in (("--json",), ("--html", page), ("--verify",), ("--aloud",)):
            _run(str(long), *words)
        year = Path(folder) / "year"
        _year(year, arguments.cases)
        few = Path(folder) / "tenth"
        for case in sorted(year.iterdir())[: max(1, arguments.cases // 10)]:
            shutil.copytree(case, few / case.name)
        print(f"{arguments.cases} cases of ten minutes")
        _run(str(few), "--all")
        _run(str(year), "--all")
        _run(str(year), "--all", "--html", page)


def _run(*words: str) -> None:
    began_s = time.monotonic()
    before_s = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    with subprocess.Popen(
        [sys.executable, "-c", RUN, *words], stdout=subprocess.PIPE, text=True, cwd=ROOT
    ) as done:
        assert done.stdout is not None
        peak = done.stdout.read().strip().splitlines()[-1]
    used_s = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before_s
    told = " ".join(Path(word).name if "/" in word else word for word in words)
    print(f"  debrief {told:<40} {time.monotonic() - began_s:6.1f} s ({used_s:.1f} s busy) {peak}")


RUN = r"""
import contextlib, io, re, sys
from assistant.commands.main import main
with contextlib.redirect_stdout(io.StringIO()):
    assert main(["debrief", *sys.argv[1:]]) == 0
told = open("/proc/self/status").read()
print(round(int(re.search(r"VmHWM:\s+(\d+)", told).group(1)) / 1024), "MiB")
"""


def _long_case(folder: Path, hours: float) -> tuple[int, int]:
    """Talk every ten seconds, a sample every second, a saturation that wanders."""
    clock = SoundClock()
    journal = Journal(folder, clock, "Tarn Hollow airway brief")
    record = WatcherRecord(folder / RECORD_NAME)
    seconds = round(hours * 3600)
    rows = watched = 0
    for second in range(seconds):
        clock.move_to(float(second))
        if second % 10 == 0:
            spoken = {
                "verdict": "ignore",
                "why": "room talk",
                "values": {},
                "ended_s": second + 2.0,
            }
            journal.append("team", "ignored", "not yet", data=spoken)
            journal.append(
                "assistant", "said", "Still open.", meaning="left", data={"lasts_s": 1.0}
            )
            rows += 2
        spo2 = 97 - (second // 60) % 6
        runs = [[float(second), spo2, 80, True, 60]]
        record.add(row_now(float(second), "sound", "event", "samples", {"samples": runs}))
        watched += 1
        if second % 5 == 0:
            data = {"spo2_percent": spo2, "pulse_bpm": 80}
            record.add(row_now(float(second), "sound", "event", "saturation", data))
            watched += 1
    journal.close()
    record.close()
    return rows, watched


def _year(cases: Path, count: int) -> None:
    """One case gone through in text, and its copies."""
    site = load_site(SITE)
    first = new_case(cases, site.files)
    table = TextCase(site, folder=first)
    for words in SAID:
        table.hears(words)
        table.waits(20.0)
    table.waits(500.0)
    table.close()
    record = WatcherRecord(first / RECORD_NAME)
    for second in range(600):
        runs = [[float(second), 95, 80, True, 60]]
        record.add(row_now(float(second), "sound", "event", "samples", {"samples": runs}))
        if second % 10 == 0:
            data = {"spo2_percent": 95, "pulse_bpm": 80}
            record.add(row_now(float(second), "sound", "event", "saturation", data))
    record.close()
    for number in range(1, count):
        shutil.copytree(first, cases / f"case-{number:04d}")


if __name__ == "__main__":
    main()
