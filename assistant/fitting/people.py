"""People: a site's own recordings, and spoken digits strung together to weights."""

import random
from collections import Counter, defaultdict
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import soundfile

from assistant.audio.sound import RATE_HZ, Samples, silence, to_samples
from assistant.fitting.corpus import ANYTHING, grammars, weighed_items
from assistant.fitting.report import share
from assistant.grammar.readings import Reading, Verdict
from assistant.grammar.word_tree import WordTree
from assistant.hearing.ear import Ear, hear_file
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.site.site import Site

WEIGHTS = 200
PAUSE_S = 0.1


def measure(folder: Path, site: Site) -> None:
    """Print what became of each recording FOLDER/<speaker>/<sentence>.wav, and the sums."""
    grammar = grammars(site)[ANYTHING]
    tree = WordTree(grammar)
    ear = Ear(ClosedGrammarEngine())
    ear.expect(grammar)
    sums: dict[str, Counter[str]] = defaultdict(Counter)
    for path in sorted(folder.glob("*/*.wav")):
        words = path.stem.replace("-", " ")
        meant: list[tuple[str, Mapping[str, object]]] = [
            (one.pattern.meaning, one.values) for one in tree.match(words.split())
        ]
        readings = [one.reading for one in hear_file(ear, _recording(path))]
        result = _result(readings, meant)
        sums[path.parent.name][result] += 1
        print(f"{path.parent.name}: {words!r}: {result}; {[one.text for one in readings]}")
    for speaker, counts in sums.items():
        print(f"{speaker}: {dict(counts)}; right {share(counts['right'], counts.total())}")


def digits(folder: Path, site: Site) -> None:
    """Weights strung together from FOLDER/<digit>_<speaker>_<take>.wav, each of one speaker."""
    takes: dict[str, dict[str, list[Path]]] = defaultdict(lambda: defaultdict(list))
    for path in sorted(folder.glob("*.wav")):
        digit, speaker, _ = path.stem.split("_")
        takes[speaker][digit].append(path)
    engine = ClosedGrammarEngine(threads=1)
    engine.listen_for(grammars(site)[weighed_items(site)[0]])
    for speaker, of_digit in sorted(takes.items()):
        chance = random.Random(speaker)
        counts: Counter[str] = Counter()
        for _ in range(WEIGHTS):
            weight_kg = chance.choice((chance.randint(30, 99), chance.randint(100, 200)))
            reading = engine.read(_strung(str(weight_kg), of_digit, chance))
            counts[_result([reading], [("number", {"number": float(weight_kg)})])] += 1
        accepted = counts["right"] + counts["wrong"]
        print(f"{speaker}: {dict(counts)}; accepted {share(accepted, WEIGHTS)};", end=" ")
        print(f"of the accepted right {share(counts['right'], accepted)}")


def _result(readings: list[Reading], meant: list[tuple[str, Mapping[str, object]]]) -> str:
    accepted = [one for one in readings if one.verdict is Verdict.ACCEPT]
    if any((one.meaning, one.values) not in meant for one in accepted):
        return "wrong"
    if accepted:
        return "right"
    return "asked back" if any(one.verdict is Verdict.ASK for one in readings) else "ignored"


def _strung(number: str, of_digit: Mapping[str, list[Path]], chance: random.Random) -> Samples:
    parts = [silence(0.3)]  # as the ear leaves before a first word
    for digit in number:
        parts += [_recording(chance.choice(of_digit[digit])), silence(PAUSE_S)]
    return np.concatenate([*parts, silence(0.2)])


def _recording(path: Path) -> Samples:
    wave, rate_hz = soundfile.read(path, dtype="float32")
    return to_samples(wave if wave.ndim == 1 else wave.mean(axis=1), rate_hz or RATE_HZ)
