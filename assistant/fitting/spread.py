"""How far the figures of the verdict move from one processor's arithmetic to another's.

The model computes in 8 bits: where one processor rounds a sound's figures up and the other down,
all that follows is a little different. The same utterances are heard with every setting of the
runtime that changes the arithmetic, and the figures compared with those of the shipped setting.

    python -m assistant.fitting spread FOLDER               # all settings, and a table
    python -m assistant.fitting spread FOLDER --as NAME     # on another machine: the shipped one

FOLDER keeps the sounds (`sounds.npz`) and for each setting what was found, so a copy of it can be
taken to another processor, or to an emulated one, and back: the table has a row for each file.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
import onnxruntime

from assistant.audio.sound import Samples
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Reading, Verdict
from assistant.hearing.ear import Ear
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.hearing.engines.closed.evidence import Evidence, features
from assistant.hearing.engines.closed.installed import installed_model
from assistant.hearing.engines.closed.moonshine import Moonshine, Prefixes
from assistant.hearing.engines.closed.verdicts import fitted
from assistant.site.site import Site

DEFAULT = "default"
RAW = ("ratio", "mean", "margin", "value_margin", "longer_margin", "denial_margin")
"""The fields of `Evidence` that come from the model; all else is of the phrase and the clock."""
_FAR = 1e3
"""A lead as large as this is over nothing at all."""
_SEED = 18
_EVERY = 41
"""The answers to any item come first in the plan and are many: so far apart, there are some of all;
and no multiple of the four levels of noise."""


@dataclass(frozen=True, slots=True)
class Setting:
    """How the runtime is told to compute."""

    entries: Mapping[str, str]
    threads: int = 1
    level: str = "ORT_ENABLE_ALL"
    together: bool = True
    """Whether the phrases of a step are scored in one call."""


SETTINGS = {
    DEFAULT: Setting({}),
    "two threads": Setting({}, threads=2),
    "x64 quant precision": Setting({"session.x64quantprecision": "1"}),
    "no graph optimisation": Setting({}, level="ORT_DISABLE_ALL"),
    "basic graph optimisation": Setting({}, level="ORT_ENABLE_BASIC"),
    "no prepacking": Setting({"session.disable_prepacking": "1"}),
    "one phrase a call": Setting({}, together=False),
}


class OneByOne(Moonshine):
    """Scores each phrase in a call of its own."""

    def step(self, prefixes: Prefixes, rows: list[int], tokens: list[int]) -> Prefixes:
        """As `Moonshine.step`."""
        alone = [
            super(OneByOne, self).step(prefixes, [row], [token])
            for row, token in zip(rows, tokens, strict=True)
        ]
        said = {name: np.concatenate([one._said[name] for one in alone]) for name in alone[0]._said}
        log_probs = np.concatenate([one.log_probs for one in alone])
        return Prefixes(log_probs, prefixes._sound, said)


def measure(folder: Path, site: Site, *, number: int, name: str | None) -> None:
    """Hear `number` utterances with every setting, or as this machine does under that name; print
    the table of all that the folder has."""
    folder.mkdir(parents=True, exist_ok=True)
    sounds = list(_sounds(folder / "sounds.npz", site, number))
    settings = SETTINGS if name is None else {name: SETTINGS[DEFAULT]}
    for called, setting in settings.items():
        path = folder / f"{called}.jsonl"
        done = len(path.read_text("utf-8").splitlines()) if path.is_file() else 0
        with path.open("a", encoding="utf-8") as file:
            for found in hear(sounds[done:], engine(setting)):
                file.write(json.dumps(None if found is None else asdict(found)) + "\n")
                file.flush()
    show(folder)


def engine(setting: Setting) -> ClosedGrammarEngine:
    """The engine with its model opened like that."""
    options = onnxruntime.SessionOptions()
    options.graph_optimization_level = getattr(onnxruntime.GraphOptimizationLevel, setting.level)
    for key, value in setting.entries.items():
        options.add_session_config_entry(key, value)
    kind = Moonshine if setting.together else OneByOne
    return ClosedGrammarEngine(model=kind(installed_model(), setting.threads, options))


def hear(
    sounds: Sequence[tuple[Grammar, Samples]], engine: ClosedGrammarEngine
) -> Iterator[Evidence | None]:
    """What speaks for the best phrase of each."""
    for grammar, samples in sounds:
        engine.listen_for(grammar)
        weighed = engine.weigh(samples)
        yield None if weighed is None else weighed.evidence


def show(folder: Path) -> None:
    """For each other setting and figure: median, 90th percentile and worst difference."""
    usual = _read(folder / f"{DEFAULT}.jsonl")
    for path in sorted(folder.glob("*.jsonl")):
        if path.stem == DEFAULT:
            continue
        pairs = list(zip(usual, _read(path), strict=False))
        alike = [(a, b) for a, b in pairs if a and b and a.words == b.words]
        print(
            f"\n{path.stem}: {len(pairs)} utterances, {len(pairs) - len(alike)} as another phrase"
        )
        for figure, moved in differences(alike).items():
            middle, most = np.percentile(moved, (50, 90))
            print(f"  {figure:24} {middle:7.4f} {most:7.4f} {max(moved):7.4f}  ({len(moved)})")


def differences(pairs: Sequence[tuple[Evidence, Evidence]]) -> dict[str, list[float]]:
    """How far each figure of the same phrase moved, as far as there is any."""
    found: dict[str, list[float]] = {}
    by = fitted()
    for one, other in pairs:
        for name in RAW:
            a, b = getattr(one, name), getattr(other, name)
            if max(abs(a), abs(b)) < _FAR:
                found.setdefault(name, []).append(abs(a - b))
        before, after = features(one), features(other)
        for name in before:
            found.setdefault(f"feature: {name}", []).append(abs(before[name] - after[name]))
        moved = abs(by.log_odds(one) - by.log_odds(other))
        found.setdefault("log odds", []).append(moved)
    return found


def _read(path: Path) -> list[Evidence | None]:
    lines = map(json.loads, path.read_text(encoding="utf-8").splitlines())
    return [None if one is None else Evidence(**one) for one in lines]


class _Keeper:
    """An engine that only keeps the sounds that the ear cuts for it."""

    name = "keeper"

    def __init__(self) -> None:
        self.sounds: list[Samples] = []

    def listen_for(self, grammar: Grammar) -> None:
        """Nothing is looked for."""

    def missing_words(self, grammar: Grammar) -> tuple[str, ...]:  # noqa: ARG002
        """None: it knows no words."""
        return ()

    def read(self, samples: Samples) -> Reading:
        """Keep it."""
        self.sounds.append(samples)
        return Reading("", "", verdict=Verdict.IGNORE)


def _sounds(path: Path, site: Site, number: int) -> Iterator[tuple[Grammar, Samples]]:
    """The utterances with what may be said then; by the tuning voices, kept in the file."""
    from assistant.fitting.corpus import grammars

    if not path.is_file():
        _render(path, site, number)
    known = grammars(site)
    with np.load(path) as kept:
        for name in kept.files:
            yield known[name.partition(" ")[2]], kept[name]


def _render(path: Path, site: Site, number: int) -> None:
    # Not needed on the other machine, where the rooms and the voices are not installed.
    from assistant.fitting import trials, voices
    from assistant.fitting.corpus import grammars

    names = voices.installed(voices.TUNING)
    planned = trials.plan(site, names, held_out=False, seed=_SEED)
    some = islice(planned, 0, None, _EVERY)
    known, keeper = grammars(site), _Keeper()
    kept: dict[str, Any] = {}
    for place, (said, _, sound) in enumerate(trials.sounds(site, some, first=0)):
        item = trials.asked(said, place)
        ear = Ear(keeper)
        ear.expect(known[item])
        keeper.sounds.clear()
        list(trials.through(ear, sound))
        kept |= {f"{len(kept) + n} {item}": one for n, one in enumerate(keeper.sounds)}
        if len(kept) >= number:
            break
    np.savez_compressed(path, **kept)
