"""How well the embedded engine hears the shipped site, and the fitting of its thresholds.

    python -m assistant.fitting record tuning|held-out FILE [--limit N] [--seed N] [--only KIND]
        [--window]                                   # answers as in the answer window
    python -m assistant.fitting bias                 # writes name_bias.json: do this before others
    python -m assistant.fitting spellings            # writes answer_spellings.json: and this
    python -m assistant.fitting fit FILE...          # writes the engine's fitted.json
    python -m assistant.fitting report FILE... [--picture PNG]
    python -m assistant.fitting fit-window FILE...   # of those, and of words: after `fit`
    python -m assistant.fitting report-window FILE...
    python -m assistant.fitting people FOLDER        # a site's own recordings
    python -m assistant.fitting words tuning|held-out FOLDER FILE  # a public set of people's words
    python -m assistant.fitting digits FOLDER        # spoken digits, <digit>_<speaker>_<take>.wav
    python -m assistant.fitting babble --minutes N   # three at once, and nobody means the ear
    python -m assistant.fitting reference          # writes reference.json, for check --hearing
    python -m assistant.fitting teach FOLDER FILE [--steps N]  # the model of sounds
    python -m assistant.fitting speed                # on one thread and on two
    python -m assistant.fitting spread FOLDER [--as NAME]  # the same sounds on other arithmetic

`record` goes on where a file left off. A recording of a person is
FOLDER/<speaker>/<sentence>.wav, the sentence in lower case with hyphens for spaces
("not-yet.wav").
"""

import argparse
import json
import platform
from collections.abc import Callable, Iterable, Iterator
from importlib.metadata import version
from importlib.util import find_spec
from itertools import islice
from pathlib import Path
from statistics import fmean

from assistant.audio.sound import RATE_HZ, Samples, silence
from assistant.errors import BadInput
from assistant.fitting import (
    babble,
    fitting,
    people,
    reference,
    report,
    speed,
    spoken_words,
    spread,
    trials,
    voices,
    window,
    window_report,
)
from assistant.fitting.room import in_noise, in_room
from assistant.hearing.engines.closed import answer_spellings, name_bias
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.hearing.engines.closed.spellings import with_spellings
from assistant.hearing.engines.closed.suppression import without_noise
from assistant.phrasebook.phrasebook import Phrasebook
from assistant.site.site import Site, load_site
from assistant.speaking.voices import LEARNING_VOICES, open_voice

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"
_BEFORE_SAMPLES, _AFTER_SAMPLES = round(0.3 * RATE_HZ), round(0.75 * RATE_HZ)
"""Cut off before and after, of what a noise has around an answer: the ear leaves as little."""


def main() -> None:
    """Do what the command line asks for."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    does = parser.add_subparsers(dest="does", required=True)
    recording = does.add_parser("record")
    recording.add_argument("half", choices=("tuning", "held-out"))
    recording.add_argument("file", type=Path)
    recording.add_argument("--limit", type=int, default=2000)
    recording.add_argument("--seed", type=int, default=1)
    recording.add_argument("--only", metavar="KIND", help='such as "dose": more trials of a few')
    recording.add_argument("--window", action="store_true", help="answers in the answer window")
    words = does.add_parser("words")
    words.add_argument("half", choices=("tuning", "held-out"))
    words.add_argument("folder", type=Path)
    words.add_argument("file", type=Path)
    teaching = does.add_parser("teach")
    teaching.add_argument("folder", type=Path)
    teaching.add_argument("file", type=Path)
    teaching.add_argument("--steps", type=int, default=2800)
    for name in ("fit", "report", "fit-window", "report-window"):
        reading = does.add_parser(name)
        reading.add_argument("file", type=Path, nargs="+")
        reading.add_argument("--picture", type=Path)
    for name in ("people", "digits"):
        does.add_parser(name).add_argument("folder", type=Path)
    does.add_parser("bias")
    does.add_parser("spellings")
    does.add_parser("reference")
    does.add_parser("speed")
    spreading = does.add_parser("spread")
    spreading.add_argument("folder", type=Path)
    spreading.add_argument("--number", type=int, default=150)
    spreading.add_argument("--as", dest="name")
    does.add_parser("babble").add_argument("--minutes", type=int, default=60)
    options = parser.parse_args()
    _run(options)


def _run(options: argparse.Namespace) -> None:
    site = load_site(SITE)
    does: dict[str, Callable[[], None]] = {
        "record": lambda: record(options),
        "people": lambda: people.measure(options.folder, site),
        "digits": lambda: people.digits(options.folder, site),
        "words": lambda: record_words(
            options.folder, options.file, site, held_out=options.half == "held-out"
        ),
        "bias": measure_bias,
        "spellings": learn_spellings,
        "reference": write_reference,
        "teach": lambda: teach(site, options.folder, options.file, options.steps),
        "speed": lambda: speed.measure(site),
        "spread": lambda: spread.measure(
            options.folder, site, number=options.number, name=options.name
        ),
        "babble": lambda: babble.listen(site, options.minutes),
        "fit-window": lambda: fitting.fit_window(_recorded(options.file, site)),
        "report-window": lambda: window_report.show(_recorded(options.file, site), site),
        "fit": lambda: fitting.fit(_recorded(options.file, site)),
        "report": lambda: report.show(_recorded(options.file, site), site, options.picture),
    }
    does[options.does]()


def _recorded(paths: Iterable[Path], site: Site) -> list[trials.Trial]:
    return [one for path in paths for one in trials.load(path, site)]


def teach(site: Site, folder: Path, path: Path, steps: int) -> None:
    """Teach the model of sounds further, which needs torch."""
    if find_spec("torch") is None:
        raise BadInput("Nothing can be taught without torch; allowed: pip install torch==2.14.1.")
    from assistant.fitting.teaching.teach import teach

    teach(site, folder, path, steps)


def record(options: argparse.Namespace) -> None:
    """Hear so many trials, of one kind of sentences or of all, and append what was found."""
    site, held_out, path = load_site(SITE), options.half == "held-out", options.file
    names = voices.installed(voices.HELD_OUT if held_out else voices.TUNING)
    print(f"voices: {', '.join(names)}")
    done = len(path.read_text("utf-8").splitlines()) if path.is_file() else 0
    planner = window.plan if options.window else trials.plan
    plan = planner(site, names, held_out=held_out, seed=options.seed)
    wanted = (one for one in plan if options.only in (None, one[0].kind))
    planned = islice(wanted, done, options.limit)
    with path.open("a", encoding="utf-8") as file:
        for trial in trials.run(site, planned, ClosedGrammarEngine(threads=1), first=done):
            file.write(trials.save(trial) + "\n")
            file.flush()


def record_words(folder: Path, path: Path, site: Site, *, held_out: bool) -> None:
    """Hear what people said, all of that half."""
    with path.open("w", encoding="utf-8") as file:
        for trial in spoken_words.record(site, folder, held_out=held_out):
            file.write(trials.save(trial) + "\n")
            file.flush()


def write_reference() -> None:
    """What this machine makes of the reference set."""
    scores = list(reference.score(load_site(SITE), reference.KeepingEngine(threads=1)))
    provenance = {
        "made by": "python -m assistant.fitting reference",
        "engine": f"moonshine tiny-en of moonshine-voice {version('moonshine-voice')}",
        "onnxruntime": version("onnxruntime"),
        "processor": platform.machine(),
    }
    reference.write(scores, provenance)
    print(f"{len(scores)} scores written to {reference.SHIPPED}")


def measure_bias() -> None:
    """How much the model favours each drug of the site, and how much is usual."""
    drugs = with_spellings(Phrasebook(load_site(SITE)).when_asking("anything")).fillers["drug"]
    voice = open_voice(LEARNING_VOICES[0])
    found = name_bias.measure(drugs, drugs, ClosedGrammarEngine(threads=1).model, voice.render)
    written = {
        "made by": "python -m assistant.fitting bias",
        "engine": f"moonshine tiny-en of moonshine-voice {version('moonshine-voice')}",
        "voice": f"{LEARNING_VOICES[0].engine} {LEARNING_VOICES[0].name}",
        "usual_nats": round(fmean(found.values()), 2),
        "names": {name_bias.key(one): round(found[one.words], 2) for one in drugs},
    }
    name_bias.SHIPPED.write_text(json.dumps(written, indent=1) + "\n", "utf-8")


def learn_spellings() -> None:
    """How else the model writes each plain answer of the sites, said by the voices that tune."""
    names = voices.installed(voices.TUNING)
    model = ClosedGrammarEngine(threads=1).model

    def say(text: str) -> Iterator[Samples]:
        for name in names:
            wave = in_room(voices.say(text, name), "close")
            for snr_db in (None, 20.0):
                around = in_noise(wave, "pink", snr_db, len(text), lambda _: silence(1.0))
                yield without_noise(around[_BEFORE_SAMPLES:-_AFTER_SAMPLES])

    learnt: dict[str, tuple[str, ...]] = {}
    for folder in ("skerry-point", "tarn-hollow"):
        grammar = Phrasebook(load_site(SITE.with_name(folder))).when_asking("anything")
        new = [one for one in answer_spellings.answers(grammar) if one not in learnt]
        learnt |= answer_spellings.learn(new, grammar, model, say)
    written = {
        "made by": "python -m assistant.fitting spellings",
        "engine": f"moonshine tiny-en of moonshine-voice {version('moonshine-voice')}",
        "voices": names,
        "answers": dict(sorted(learnt.items())),
    }
    answer_spellings.SHIPPED.write_text(json.dumps(written, indent=1) + "\n", "utf-8")
    print(f"{sum(map(bool, learnt.values()))} of {len(learnt)} answers have other spellings")


if __name__ == "__main__":
    main()
