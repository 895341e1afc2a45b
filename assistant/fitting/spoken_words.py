"""People: words, orders and noises of public sets of recordings, heard in the answer window.

FOLDER/words/WORD/SPEAKER_nohash_N.flac, FOLDER/orders/N.flac, FOLDER/noises/KIND/N.flac. Each is
heard as `spoken-brief hear --asking confirm` hears it, silence around it.
"""

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from assistant.audio.sound import BLOCK_SAMPLES, Samples, read_wav, silence
from assistant.fitting.corpus import Said, grammars
from assistant.fitting.trials import Condition, Trial, Weigher, hear
from assistant.fitting.window import plain_items
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.site.site import Site

MEANS = {"yes": "plain_yes", "no": "decline", "stop": "stop"}
"""What the words mean; every other means nothing."""
ORDER, NOISE, OTHER_WORD = "a person's order", "noise", "a person's other word"
_AROUND_S = 1.5


def record(site: Site, folder: Path, *, held_out: bool) -> Iterator[Trial]:
    """Hear the half of one's choice: speakers whose hexadecimal number is odd are held out.

    Orders and noises do not name their speakers: of the orders, those of odd number are held out;
    the noises are all heard with those, though every second of them lay behind voices while the
    model of sounds was taught.
    """
    asked = next(name for name, item in plain_items(site).items() if item.kind == "confirm")
    grammar = grammars(site)[asked]
    weigher = Weigher(ClosedGrammarEngine(threads=1))
    for path, kind, text, meaning in recordings(folder, held_out=held_out):
        said = Said(kind, text, (asked,), meaning)
        condition = Condition(f"{path.parent.name}/{path.stem}", "close", "none", None)
        yield hear(weigher, grammar, said, condition, _in_silence(read_wav(path)))


def is_person(trial: Trial) -> bool:
    """Whether a person spoke, or at least no synthetic voice."""
    return "/" in trial.condition.voice


def speaker(trial: Trial) -> str:
    """Who that was; of an order or a noise, which one it was."""
    return trial.condition.voice.rpartition("/")[2].partition("_")[0]


def recordings(folder: Path, *, held_out: bool) -> Iterator[tuple[Path, str, str, str]]:
    """That half: each file, its kind, the word or number of it, and what it means."""
    for path in sorted(folder.glob("words/*/*.flac")):
        if int(path.stem.partition("_")[0], 16) % 2 == held_out:
            word = path.parent.name
            kind = f"a person's {word}" if word in MEANS else OTHER_WORD
            yield path, kind, word, MEANS.get(word, "")
    for path in sorted(folder.glob("orders/*.flac")):
        if int(path.stem) % 2 == held_out:
            yield path, ORDER, path.stem, ""
    if held_out:
        for path in sorted(folder.glob("noises/*/*.flac")):
            yield path, NOISE, path.parent.name, ""


def _in_silence(samples: Samples) -> Samples:
    lead = round(_AROUND_S * 16_000 / BLOCK_SAMPLES) * BLOCK_SAMPLES
    stream = np.concatenate([np.zeros(lead, np.int16), samples, silence(_AROUND_S)])
    return np.pad(stream, (0, -len(stream) % BLOCK_SAMPLES))
