"""Whether a spoken dose is heard as the dose it is.

    python -m tests.bench.doses_spoken [--weights N] [--voices NAME ...] [--share K/N]

For weights from 30 to 200 kg and all uses of all drugs of the demonstration site the three parts of
a dose (for whom, how much, which volume) are rendered to speech and recognised back by the default
engine. The grammar is open in its numbers: any weight from 30 to 200, any whole number or decimal
up to 3999.9 in place of the dose and the volume, any drug and any use of it. `--weights 171` takes
all of them; fewer are drawn by lot, for each drug others. `--share 2/3` takes the second third of
the sentences. Every disagreement is listed. Speeds are ratios to the length of the sound, so that
machines compare.
"""

import argparse
import random
import re
import time
from collections import Counter
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

from assistant.audio.sound import RATE_HZ
from assistant.dosing.answers import DoseAnswer
from assistant.dosing.doses import dose_of
from assistant.dosing.formulary import Formulary
from assistant.dosing.patient import Patient
from assistant.errors import BadInput
from assistant.grammar.grammar import Filler, Grammar, Pattern
from assistant.hearing.engines import make_engine
from assistant.language.numbers import say_digits, say_number
from assistant.site.site import load_site
from assistant.speaking.voices import VoiceSettings, open_voice

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"
VOICES = {
    "natural": VoiceSettings(engine="natural", name="joe"),
    "site": load_site(SITE).wording.voice,
}
MASSES = ("milligram", "microgram")
TIMES = ("", " per minute", " per hour")


def main() -> None:
    """Render, recognise, compare."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--weights", type=int, default=2, help="weights for each use of a drug")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--share", default="1/1", help="K/N: the K-th of N parts")
    parser.add_argument("--voices", nargs="+", choices=VOICES, default=list(VOICES))
    arguments = parser.parse_args()
    formulary = load_site(SITE).formulary
    answers = list(_answers(formulary, arguments.weights, random.Random(arguments.seed)))
    share, shares = map(int, arguments.share.split("/"))
    engine = make_engine("closed", threads=1)
    print(f"{len(answers)} doses of {len(formulary.drugs)} drugs, in three parts each")
    for name in arguments.voices:
        voice = open_voice(VOICES[name])
        verdicts: Counter[str] = Counter()
        took_s = sound_s = 0.0
        for grammar, sentence in islice(_sentences(answers, formulary), share - 1, None, shares):
            engine.listen_for(grammar)
            samples = voice.render(sentence)
            began_s = time.monotonic()
            reading = engine.read(samples)
            took_s += time.monotonic() - began_s
            sound_s += len(samples) / RATE_HZ
            agrees = reading.text == _plain(sentence)
            verdicts[f"{'same' if agrees else 'other'}, {reading.verdict.value}"] += 1
            if not agrees:
                print(
                    f"  {name}: {_plain(sentence)!r} as {reading.text!r} ({reading.verdict.value})"
                )
        count = sum(verdicts.values())
        same = sum(number for key, number in verdicts.items() if key.startswith("same"))
        print(f"{name}: {same} of {count} parts the same ({100 * same / count:.1f} %); ", end="")
        print(f"{dict(verdicts)}; {took_s / sound_s:.2f} s of work for a second of sound")


def _answers(formulary: Formulary, weights: int, chance: random.Random) -> Iterator[DoseAnswer]:
    for drug in formulary.drugs:
        for use in drug.indications:
            for weight_kg in chance.sample(range(30, 201), weights):
                for low_pressure in (False, True):
                    try:
                        patient = Patient(weight_kg, low_pressure=low_pressure)
                        answer = dose_of(drug, patient, indication=use.id)
                    except BadInput:
                        continue
                    if answer.low_pressure == low_pressure:
                        yield answer


def _sentences(answers: list[DoseAnswer], formulary: Formulary) -> Iterator[tuple[Grammar, str]]:
    """The three parts of each dose, with the grammar of its kind; each once.

    For whom, how much, and in which volume: the first sentence is cut in two, because the engine
    reads no more than nine seconds at once.
    """
    for place, grammar in enumerate(_grammars(formulary)):
        said = dict.fromkeys(re.split(r": |\. ", answer.spoken())[place] for answer in answers)
        for part in said:
            yield grammar, f"{part}."


def _grammars(formulary: Formulary) -> Iterator[Grammar]:
    numbers = tuple(_number(number) for number in range(1, 1000))
    fillers = {
        "drug": tuple(
            Filler(
                f"{drug.called} {use.purpose}",
                f"{drug.id}/{use.id}",
                tuple(f"{one} {use.purpose}" for one in drug.respellings),
            )
            for drug in formulary.drugs
            for use in drug.indications
        ),
        "weight": tuple(_number(number) for number in range(30, 201)),
        "number": numbers,
        "strength": numbers,
        "thousands": tuple(_number(number) for number in (1000, 2000, 3000)),
        # A teen, a ten or a thousand is said twice; whether both sayings agree is what is measured.
        "spelt": tuple(Filler(say_digits(number), float(number)) for number in range(10, 4000)),
    }
    for slot in ("tenths", "tenths2", "tenths3"):
        fillers[slot] = tuple(_number(number) for number in range(10))
    amounts = (
        "{number}",
        "{number} point {tenths}",
        "{number} point {tenths} {tenths2}",
        "zero point {tenths}",
        "{thousands} {spelt}",
        "{number} {spelt}",
        "{number} point {tenths} {spelt} point {tenths2}",
        "{thousands} {number} {spelt}",
    )
    bases = ("{weight} kilograms total weight", "fixed dose", "fixed rate")
    opening = [
        f"{{drug}}{pressure} {basis}" for pressure in ("", " low pressure dose") for basis in bases
    ]
    dose = [
        f"{capped}{amount} {mass}{plural}{per}"
        for capped in ("", "capped at the maximum of ")
        for amount in amounts
        for mass in MASSES
        for plural in ("", "s")
        for per in TIMES
    ]
    volume = [
        f"that is {amount} millilitre{plural}{per}{rounded} of {strength} {mass}{more} per "
        "millilitre"
        for amount in amounts
        for plural in ("", "s")
        for per in ("", " per hour")
        for rounded in ("", " rounded")
        for strength in ("{strength}", "zero point {tenths3}")
        for mass in MASSES
        for more in ("", "s")
    ]
    for phrases in (opening, dose, volume):
        yield _grammar(phrases, fillers)


def _grammar(phrases: list[str], fillers: dict[str, tuple[Filler, ...]]) -> Grammar:
    used = {slot for phrase in phrases for slot in re.findall(r"\{(\w+)\}", phrase)}
    patterns = tuple(Pattern(phrase, phrase) for phrase in phrases)
    return Grammar(patterns, {slot: fillers[slot] for slot in used})


def _number(number: int) -> Filler:
    words = say_number(number)
    return Filler(words.replace("-", " "), float(number), (str(number), words))


def _plain(sentence: str) -> str:
    """As a phrase of the grammar: lower case, without punctuation."""
    return re.sub(r"[.,:]", "", sentence).replace("-", " ").lower()


if __name__ == "__main__":
    main()
