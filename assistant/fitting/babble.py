"""Hours of people who talk at once and never to the assistant."""

from collections import Counter

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples
from assistant.fitting import voices
from assistant.fitting.corpus import NOT_FOR_ME, grammars, sentences
from assistant.fitting.window import plain_items
from assistant.grammar.readings import Verdict
from assistant.hearing.ear import Ear, hear_file
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.site.site import Site

TALKERS = 3
GAP_S = (0.2, 2.5)
"""Between two sentences of one talker."""
LEVEL_DB = (-12.0, 0.0)
TOO_LONG = "talk that did not stop"


def listen(site: Site, minutes: int) -> None:
    """Print after each minute what was accepted so far; nothing should be.

    Each minute another of the items is open that take a plain answer, and its window never ends.
    """
    talk = [one.text for one in sentences(site, held_out=True) if one.kind in NOT_FOR_ME]
    all_known = grammars(site)
    known = [all_known[name] for name in plain_items(site)]
    engine = ClosedGrammarEngine(threads=1)
    counts: Counter[str] = Counter()
    for minute in range(minutes):
        ear = Ear(engine)
        ear.expect(known[minute % len(known)])
        for heard in hear_file(ear, _minute(talk, np.random.default_rng(minute))):
            reading = heard.reading
            counts[reading.verdict.value] += 1
            if reading.why == TOO_LONG:
                counts[reading.why] += 1
            if reading.verdict is Verdict.ACCEPT:
                print(f"minute {minute}: {reading.meaning}, {reading.text!r} accepted")
        print(f"{minute + 1} min: {dict(counts)}", flush=True)


def _minute(talk: list[str], chance: np.random.Generator) -> Samples:
    names = voices.installed(voices.HELD_OUT)
    sound = 30 * chance.standard_normal(60 * RATE_HZ)
    for _ in range(TALKERS):
        voice = names[chance.integers(len(names))]
        at = int(chance.uniform(*GAP_S) * RATE_HZ)
        while at < len(sound):
            said = voices.say(talk[chance.integers(len(talk))], voice).astype(np.float64)
            said *= 10 ** (chance.uniform(*LEVEL_DB) / 20)
            end = min(len(sound), at + len(said))
            sound[at:end] += said[: end - at]
            at = end + int(chance.uniform(*GAP_S) * RATE_HZ)
    return np.clip(sound, -32768, 32767).astype(np.int16)
