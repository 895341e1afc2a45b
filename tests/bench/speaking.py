"""Is every rendering of espeak-ng whole, and the phrase that was ordered? How long does it take?

`python -m tests.bench.speaking [--rounds 3] [--seed 1]`

Every fixed phrase of the example site's wording is rendered some times by one child, each round in
another order, without the cache and without the second rendering that a voice usually waits for. A
rendering is judged beside the others: `cut` is shorter or longer by 0.2 s than the usual one of its
phrase (espeak-ng itself is not more regular than some 0.05 s), `swapped` is more like another
phrase. It prints, and asserts nothing.
"""

import argparse
import os
import random
import statistics
import time
from pathlib import Path

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples
from assistant.site.site import load_site
from assistant.speaking.espeak import Espeak

WHOLE_WITHIN_SAMPLES = round(0.2 * RATE_HZ)
SLIP_FRAMES = 10
SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


def main() -> None:
    """Render, judge, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    site = load_site(SITE)
    phrases = {*site.wording.for_need(), *(item.ask for item in site.brief.items())}
    order, chance = sorted(phrases), random.Random(options.seed)
    voice = Espeak("en-us", 165, 50)
    voice.render("Ready.")
    made: dict[str, list[Samples]] = {phrase: [] for phrase in order}
    took_ms: list[float] = []
    for _ in range(options.rounds):
        chance.shuffle(order)
        for phrase in order:
            began_s = time.perf_counter()
            made[phrase].append(voice._once(phrase))
            took_ms.append(1000 * (time.perf_counter() - began_s))
    models = {phrase: _model(renderings) for phrase, renderings in made.items()}
    empty = cut = swapped = 0
    for phrase, renderings in made.items():
        for one in renderings:
            empty += not len(one)
            cut += bool(len(one)) and abs(len(one) - len(models[phrase])) > WHOLE_WITHIN_SAMPLES
            if len(one) and (heard := _nearest(one, models)) != phrase:
                swapped += 1
                print(f"swapped: {phrase!r} sounds like {heard!r}")
    lasts_s = sum(len(one) for renderings in made.values() for one in renderings) / RATE_HZ
    print(
        f"{len(took_ms)} renderings of {len(phrases)} phrases: {empty} empty, {cut} cut, "
        f"{swapped} swapped; median {statistics.median(took_ms):.0f} ms, 90th percentile "
        f"{np.percentile(took_ms, 90):.0f} ms, {sum(took_ms) / 1000 / lasts_s:.3f} of their sound; "
        f"load {os.getloadavg()[0]:.1f}"
    )


def _model(renderings: list[Samples]) -> Samples:
    """The one of median length."""
    return sorted(renderings, key=len)[len(renderings) // 2]


def _nearest(one: Samples, models: dict[str, Samples]) -> str:
    """The phrase whose model is most like it."""
    return max(models, key=lambda phrase: _likeness(one, models[phrase]))


def _likeness(one: Samples, other: Samples) -> float:
    """How alike two sounds are, band by band and moment by moment, with a slip of up to 0.1 s."""
    pictures = [_picture(sound) for sound in (one, other)]
    if abs(len(pictures[0]) - len(pictures[1])) > 2 * SLIP_FRAMES:
        return -1.0
    frames = min(len(picture) for picture in pictures) - SLIP_FRAMES
    slips = [(at, 0) for at in range(SLIP_FRAMES)] + [(0, at) for at in range(SLIP_FRAMES)]
    return max(
        float(
            np.corrcoef(pictures[0][at:][:frames].ravel(), pictures[1][to:][:frames].ravel())[0, 1]
        )
        for at, to in slips
    )


def _picture(sound: Samples) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Loudness in dB of each 10 ms in 16 bands of 500 Hz, shape (frames, 16)."""
    frames = sound[: len(sound) // 160 * 160].astype(float).reshape(-1, 160)
    power = np.abs(np.fft.rfft(frames * np.hanning(160)))[:, :80] ** 2
    return np.asarray(10 * np.log10(power.reshape(-1, 16, 5).sum(axis=2) + 1e4))


if __name__ == "__main__":
    main()
