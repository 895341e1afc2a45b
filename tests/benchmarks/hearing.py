"""How well the embedded engine hears the shipped site, on synthetic voices and on recordings.

    python tests/benchmarks/hearing.py [--every N] [--voices NAME ...] [--people FOLDER]

Every sentence goes through the live path (end-pointing, then the engine) against the largest
grammar that the site has. `--people` adds recordings of people: FOLDER/<speaker>/<sentence>.wav,
the sentence in lower case with hyphens for spaces ("not-yet.wav"). Speeds are ratios to the
length of the sound, so that machines compare.
"""

import argparse
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from hearing_talk import DECLINES, HEDGES, TALK
from hearing_talk import sentences as split

from assistant.hearing.ear import Ear, hear_file
from assistant.hearing.engines import make_engine
from assistant.hearing.grammar import SLOT, Grammar, Values
from assistant.hearing.heard import Reading, Verdict
from assistant.meaning.numbers import say_digits, say_number
from assistant.meaning.phrasebook import Phrasebook
from assistant.site.site import Site, load_site
from assistant.sound import RATE_HZ, Samples, read_wav
from assistant.speaking.voices import VoiceSettings, open_voice

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"
VOICES = {
    "natural 165": VoiceSettings(engine="natural", name="joe"),
    "natural 195": VoiceSettings(engine="natural", name="joe", words_per_minute=195),
    "robot us": VoiceSettings(engine="espeak", name="en-us", words_per_minute=150),
    "robot scots": VoiceSettings(engine="espeak", name="en-gb-scotland", words_per_minute=150),
}
SNR_DB = (None, 20.0, 10.0, 5.0)
WEIGHTS_KG = (42, 50, 60, 67, 75, 80, 98, 105, 110, 115, 120, 144)
CONFIRM = "confirm"
DANGEROUS = (CONFIRM, "number", "dose")

DANGERS = {
    "FALSE CONFIRMATION": (),
    "wrong number": (),
    "wrong dose": (),
    "wrong command": ("command", "weight", "dose", "drug"),
}
"""Outcomes, and the kinds of sentences that do not count for them."""

ASKING = ("what", "what's", "why", "who", "is", "how", "where", "are", "has")

# None of these stands in the grammar. The first ones decline in other words than the site's.
NOT_CONFIRMED = """No, not confirmed. It is not confirmed. We have not confirmed.
Not quite confirmed.
Not confirmed yet. I have not checked. Not affirmative. Never. Unconfirmed. Cannot confirm.
Nobody has confirmed. That cannot be right.""".replace("\n", " ").split(". ")
ROOM_TALK = """Is it confirmed. Confirm it with the lab. He confirmed it yesterday. Yes please.
Yes I know. Yes doctor. Right. Oh. Ready. Fine. Who confirmed this. Stop the bleeding.
Let us go now. Hold on to the tube. Why not. What is left of the drip. Who has the blade.
The consultant is coming. Call the registrar. Ten past seven.
His pressure is ninety over sixty. Heart rate one hundred and ten. Saturation is ninety two.
Can we get another line in please. Pass me the suction. Somebody open the window.
We should order some lunch soon. She fell off a ladder this morning. Where is her family.
I need a bigger blade. Turn the lights up. Has anybody called the lab. That was close.
Thanks everyone. Just a second. Is the monitor on. Do you want me to start. It looks fine to me.
Hello. Come in. Put the rails down. What time is it. Are we good. How much did you give.
What was the dose. Give him a bit more. Sure. Good morning. I can see the cords. Pull back a bit.
Try again. Yesterday. Firm. Comfort. Informed.""".replace("\n", " ").split(". ")


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence, and what it means; `meaning` is empty when nothing of it may be accepted."""

    kind: str
    words: str
    meaning: str = ""
    values: Values | None = None


def sentences(site: Site, grammar: Grammar) -> Iterator[Said]:
    """What the site listens for, and what it must not take for that."""
    for pattern in grammar.patterns:
        if not SLOT.search(pattern.words):
            kind = "command" if pattern.for_me else "decoy"
            meaning = pattern.meaning if pattern.for_me else ""
            yield Said(kind, pattern.words, meaning, pattern.values)
    for place, weight in enumerate(WEIGHTS_KG):
        number = say_digits(weight) if place % 3 == 2 else say_number(weight).replace("-", " ")
        yield Said("weight", f"{number} kilos", "number", {"number": float(weight)})
        for drug in site.formulary.drugs[place % 2 :: 2]:
            values = {"drug": drug.id, "weight_kg": float(weight)}
            asked = f"what is the dose of {drug.called} for {number} kilos"
            yield Said("dose", asked, "dose", values)
    for drug in site.formulary.drugs:
        yield Said("drug", f"what is the dose of {drug.called}", "dose", {"drug": drug.id})
    for kind, talk in (("not confirmed", NOT_CONFIRMED), ("room talk", ROOM_TALK)):
        for words in talk:
            yield Said(kind, words.strip(" .").lower())
    for kind, talk in (("decline", DECLINES), ("hedge", HEDGES), ("talk", TALK)):
        for words in split(talk):
            yield Said(kind, words.strip(" .?!").lower())


def written(words: str) -> str:
    """As a book would write it: voices read that best."""
    asks = words.partition(" ")[0] in ASKING
    return words[:1].upper() + words[1:] + ("?" if asks else ".")


def in_noise(samples: Samples, snr_db: float | None, seed: int) -> Samples:
    """With a second around it, and pink noise `snr_db` below the speech; None: clean."""
    speech = np.pad(samples.astype(np.float64), RATE_HZ)
    if snr_db is not None:
        spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(len(speech)))
        spectrum /= np.sqrt(np.maximum(np.arange(len(spectrum)), 1))
        noise = np.fft.irfft(spectrum, len(speech))
        level = np.sqrt(np.mean(samples.astype(np.float64) ** 2)) * 10 ** (-snr_db / 20)
        speech += noise / noise.std() * level
    return np.clip(speech, -32768, 32767).astype(np.int16)


def recordings(
    said: list[Said], voices: list[str], people: Path | None
) -> Iterator[tuple[str, Said, Samples]]:
    """Each sentence by each voice, and by each person who recorded it."""
    for name in voices:
        voice = open_voice(VOICES[name])
        for one in said:
            yield name, one, voice.render(written(one.words))
    for speaker in sorted(people.iterdir()) if people else ():
        for one in said:
            path = speaker / f"{one.words.replace(' ', '-')}.wav"
            if path.is_file():
                yield speaker.name, one, read_wav(path)


def outcome(said: Said, readings: list[Reading]) -> str:
    """In one word what became of it."""
    accepted = [one for one in readings if one.verdict is Verdict.ACCEPT]
    for one in accepted:
        if (one.meaning, dict(one.values)) != (said.meaning, dict(said.values or {})):
            if one.meaning == CONFIRM and said.meaning != CONFIRM:
                return "FALSE CONFIRMATION"
            return f"wrong {one.meaning}" if one.meaning in DANGEROUS else "wrong command"
    if accepted:
        return "right"
    asked = any(one.verdict is Verdict.ASK for one in readings)
    return "asked back" if asked else "ignored"


def table(counts: Mapping[tuple[str, str], Counter[str]]) -> None:
    """Print the counts, one line for each kind of sentence and condition."""
    for (kind, condition), found in sorted(counts.items()):
        total = found.total()
        shares = ", ".join(f"{what} {count}" for what, count in found.most_common())
        right = f"{100 * found['right'] / total:5.1f} % right" if found["right"] else " " * 13
        print(f"{kind:14} {condition:22} {right} of {total:4}: {shares}")


def dangers(counts: Mapping[tuple[str, str], Counter[str]]) -> None:
    """Print each dangerous outcome and how often it may be at most (95 %, rule of three)."""
    for what, kinds in DANGERS.items():
        asked = [found for (kind, _), found in counts.items() if kind not in kinds]
        trials, seen = sum(found.total() for found in asked), sum(found[what] for found in asked)
        bound = f", at most {300 / trials:.2f} % (95 %)" if trials and not seen else ""
        print(f"{what}: {seen} of {trials}{bound}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=RAW)
    parser.add_argument("--every", type=int, default=1, help="take every so many sentences")
    parser.add_argument("--voices", nargs="*", choices=VOICES, default=list(VOICES))
    parser.add_argument("--engine", default="closed")
    parser.add_argument("--models", type=Path)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--people", type=Path, metavar="FOLDER")
    parser.add_argument("--show", action="store_true", help="name each sentence that went wrong")
    options = parser.parse_args()

    site = load_site(SITE)
    grammar = Phrasebook(site).when_asking("anything")
    engine = make_engine(options.engine, options.models, options.threads)
    engine.listen_for(grammar)
    said = list(sentences(site, grammar))[:: options.every]
    print(f"{len(grammar.patterns)} patterns, {len(said)} sentences")

    counts: defaultdict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    took_s = lasted_s = 0.0
    for number, (voice, one, speech) in enumerate(recordings(said, options.voices, options.people)):
        for snr_db in SNR_DB:
            sound = in_noise(speech, snr_db, seed=number)
            began_s = time.perf_counter()
            readings = [heard.reading for heard in hear_file(Ear(engine), sound)]
            took_s += time.perf_counter() - began_s
            lasted_s += len(sound) / RATE_HZ
            condition = f"{voice}, {'clean' if snr_db is None else f'{snr_db:.0f} dB'}"
            result = outcome(one, readings)
            counts[one.kind, condition][result] += 1
            if options.show and result != "right" and (one.meaning or "ignored" not in result):
                print(f"  {condition:22} {one.words!r}: {result} {readings}")
    table(counts)
    dangers(counts)
    print(f"real-time factor {took_s / lasted_s:.2f} on {options.threads} threads")


RAW = argparse.RawDescriptionHelpFormatter

if __name__ == "__main__":
    main()
