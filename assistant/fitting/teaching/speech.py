"""Who speaks to the model while it is taught, and what: no voice or sentence that is held out."""

import random
import re
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import islice, product
from pathlib import Path

import soxr

from assistant.audio.sound import RATE_HZ, Samples, read_wav, to_samples
from assistant.fitting import corpus, spoken_words, voices, window
from assistant.hearing.engines.closed.installed import installed_model
from assistant.hearing.engines.closed.tokenizer import SPACE, read_pieces
from assistant.site.site import Site

LONGEST_S = 4.0
_NATURAL = tuple(one.split()[1] for one in voices.TUNING if one.startswith("kokoro "))
_BETWEEN, _EVENNESS = 60, 0.6
"""Voices made of shares of those: of the gamma distribution, so that one or two prevail."""
_SPEAKERS = "m1 m2 m3 m4 m5 m6 m7 m8 f1 f2 f3 f4 f5 klatt2 Annie Denis Lee steph zac linda".split()  # noqa: SIM905
_SHARES = (0.35, 0.1)
"""Of all sentences, those of the answer window and those of the bench; the rest are words in any
order, one to five."""
_PACE = 170
"""Of the robotic voices, in words a minute."""
_PACES = (0.88, 1.14)
_PIECE_S = 1.5
"""People's orders are taken in pieces."""


def natural_voices(chance: random.Random) -> tuple[str, ...]:
    """The neural voices that tune, and as many more as `_BETWEEN` somewhere between them."""
    shares = ([chance.gammavariate(_EVENNESS, 1) for _ in _NATURAL] for _ in range(_BETWEEN))
    between = (
        "+".join(
            f"{speaker}:{share / sum(some):.2f}"
            for speaker, share in zip(_NATURAL, some, strict=True)
        )
        for some in shares
    )
    return voices.installed(tuple(f"kokoro {one}" for one in (*_NATURAL, *between)))


def robotic_voices() -> tuple[str, ...]:
    """Those of flite that tune, and espeak-ng's accents in many voices."""
    accents = ("en-us", "en-gb", "en-gb-scotland", "en-029", "en-gb-x-gbclan", "en-us-nyc")
    pairs = product(accents, _SPEAKERS)
    made = (f"espeak {accent}+{speaker} {_PACE}" for accent, speaker in pairs)
    flite = (one for one in voices.TUNING if one.startswith("flite "))
    return voices.installed((*flite, *made))


def sentences(site: Site, chance: random.Random) -> Iterator[str]:
    """For ever."""
    answers = sorted({one.text for one in window.sentences(site, held_out=False)})
    others = sorted({one.text for one in corpus.sentences(site, held_out=False)})
    words = _words()
    while True:
        lot = chance.random()
        if lot < _SHARES[0]:
            yield chance.choice(answers)
        elif lot < sum(_SHARES):
            yield chance.choice(others)
        else:
            yield corpus.written(" ".join(chance.choices(words, k=chance.randint(1, 5))))


def spoken(site: Site, names: Sequence[str], number: int, chance: random.Random) -> list[Samples]:
    """So many sentences by voices that tune, some at another pace and pitch; none is too long."""
    said = [(text, chance.choice(names)) for text in islice(sentences(site, chance), number)]
    with ThreadPoolExecutor() as pool:
        waves = list(pool.map(lambda one: voices.say(*one), said))
    found = [
        to_samples(soxr.resample(one / 32768, RATE_HZ, RATE_HZ * chance.uniform(*_PACES)), RATE_HZ)
        for one in waves
    ]
    return [one for one in found if len(one) <= LONGEST_S * RATE_HZ]


def people(folder: Path) -> list[Samples]:
    """The half that tunes of a public set of people's words and orders: see `spoken_words`."""
    found: list[Samples] = []
    step = round(_PIECE_S * RATE_HZ)
    for path, kind, _, _ in spoken_words.recordings(folder, held_out=False):
        whole = read_wav(path)
        if kind == spoken_words.ORDER:
            found += [whole[at : at + step] for at in range(0, len(whole) - step, step)]
        else:
            found.append(whole)
    return found


def noises(folder: Path) -> list[Samples]:
    """Every second of its noises."""
    return [read_wav(path) for path in sorted(folder.glob("noises/*/*.flac"))[::2]]


def _words() -> list[str]:
    """Common words: those that the model of sentences writes in one piece."""
    pieces = read_pieces(installed_model() / "tokenizer.bin")
    decoded = (piece.decode(errors="ignore") for piece in pieces if piece)
    words = (one.removeprefix(SPACE).lower() for one in decoded if one.startswith(SPACE))
    return sorted({one for one in words if re.fullmatch("[a-z]{2,12}", one)})
