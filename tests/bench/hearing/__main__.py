"""How well the embedded engine hears the shipped site, and the fitting of its thresholds.

    python -m tests.bench.hearing record tuning|held-out FILE [--limit N] [--seed N]
    python -m tests.bench.hearing fit FILE...          # writes the engine's fitted.json
    python -m tests.bench.hearing report FILE... [--picture PNG]
    python -m tests.bench.hearing people FOLDER        # a site's own recordings
    python -m tests.bench.hearing digits FOLDER        # spoken digits, <digit>_<speaker>_<take>.wav
    python -m tests.bench.hearing babble --minutes N   # three at once, and nobody means the ear

`record` goes on where a file left off. A recording of a person is
FOLDER/<speaker>/<sentence>.wav, the sentence in lower case with hyphens for spaces
("not-yet.wav").
"""

import argparse
from itertools import islice
from pathlib import Path

from assistant.hearing.engines.closed import ClosedGrammarEngine
from assistant.site.site import load_site
from tests.bench.hearing import babble, fitting, people, report, trials, voices

SITE = Path(__file__).parents[3] / "configs" / "tarn-hollow"


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    does = parser.add_subparsers(dest="does", required=True)
    recording = does.add_parser("record")
    recording.add_argument("half", choices=("tuning", "held-out"))
    recording.add_argument("file", type=Path)
    recording.add_argument("--limit", type=int, default=2000)
    recording.add_argument("--seed", type=int, default=1)
    for name in ("fit", "report"):
        reading = does.add_parser(name)
        reading.add_argument("file", type=Path, nargs="+")
        reading.add_argument("--picture", type=Path)
    for name in ("people", "digits"):
        does.add_parser(name).add_argument("folder", type=Path)
    does.add_parser("babble").add_argument("--minutes", type=int, default=60)
    options = parser.parse_args()
    if options.does == "record":
        record(options.file, options.half == "held-out", options.limit, options.seed)
    elif options.does == "people":
        people.measure(options.folder, load_site(SITE))
    elif options.does == "digits":
        people.digits(options.folder, load_site(SITE))
    elif options.does == "babble":
        babble.listen(load_site(SITE), options.minutes)
    else:
        site = load_site(SITE)
        recorded = [one for path in options.file for one in trials.load(path, site)]
        if options.does == "fit":
            fitting.fit(recorded)
        else:
            report.show(recorded, site, options.picture)


def record(path: Path, held_out: bool, limit: int, seed: int) -> None:
    """Hear so many trials and append what was found."""
    site = load_site(SITE)
    names = voices.installed(voices.HELD_OUT if held_out else voices.TUNING)
    print(f"voices: {', '.join(names)}")
    done = len(path.read_text("utf-8").splitlines()) if path.is_file() else 0
    planned = islice(trials.plan(site, names, held_out=held_out, seed=seed), done, limit)
    with path.open("a", encoding="utf-8") as file:
        for trial in trials.run(site, planned, ClosedGrammarEngine(threads=1), first=done):
            file.write(trials.save(trial) + "\n")
            file.flush()


if __name__ == "__main__":
    main()
