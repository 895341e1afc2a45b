"""The bag paced for ten minutes, at the usual rate and at another: each tick found in the sound."""

import wave
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from assistant.audio.sound import RATE_HZ
from assistant.hearing.engines import make_engine
from assistant.journal.rows import Row
from assistant.rehearsal.conductor import RECORDING_NAME, Conductor
from assistant.rehearsal.scenario import read_scenario
from assistant.site.site import Site

SCENARIO = """
name: "Ten minutes of bagging"
seed: 5
people:
  operator: {voice: {engine: natural, name: joe}}
replies:
  - {on: opened, by: operator, say: "begin pacing"}
  - {on: pacing, by: operator, say: "the patient has asthma", after_s: 600}
  - {on: read-back, by: operator, say: "yes correct"}
  - {on: noted, by: operator, say: "stop pacing", after_s: 60}
patient: {weight_kg: 70, height_cm: 170, start_spo2_percent: 98, start_oxygen_fraction: 0.5}
expected: {calls: 0, longest_s: 690}
"""
NEAR_S = 0.05
"""So near to its place each tick has to begin; nobody squeezes more exactly (no source)."""
KNOCK_HZ, KNOCK_S, DIES_S = 320.0, 0.06, 0.012
"""The tick as docs and ears have it, made anew here: a low knock that dies away at once."""
SURE = 0.8
"""How like a knock, from 0 to 1, a tick is at least; voices come to 0.65 and the room to 0.3."""
TALK_S = 9.0
"""So long before and after it counts is talked about the other rate."""
Wave = npt.NDArray[np.float64]


def ticks_s(sound: Wave) -> list[float]:
    """When a tick begins in the sound, in s: where that is like a knock, whatever the level."""
    at_s = np.arange(round(KNOCK_S * RATE_HZ)) / RATE_HZ
    knock = np.sin(2 * np.pi * KNOCK_HZ * at_s) * np.exp(-at_s / DIES_S)
    knock /= np.linalg.norm(knock)
    energy = np.concatenate([[0.0], np.cumsum(sound**2)])
    level = np.sqrt(energy[len(knock) :] - energy[: -len(knock)])
    likeness = np.concatenate(list(_correlated(sound, knock))) / np.maximum(level, 1.0)
    found: list[float] = []
    for start in range(0, len(likeness), RATE_HZ):  # two ticks are never within a second
        best = start + int(np.argmax(likeness[start : start + RATE_HZ]))
        around = likeness[max(0, best - RATE_HZ // 2) : best + RATE_HZ // 2]
        if likeness[best] >= SURE and likeness[best] == around.max():
            found.append(best / RATE_HZ)
    return found


def _correlated(sound: Wave, knock: Wave, piece: int = 1 << 18) -> Iterator[Wave]:
    """The correlation at every place where the knock fits, piece by piece."""
    turned, places = np.fft.rfft(knock[::-1], piece), len(sound) - len(knock) + 1
    step = piece - len(knock) + 1
    for start in range(0, places, step):
        of = np.fft.irfft(np.fft.rfft(sound[start : start + piece], piece) * turned, piece)
        yield of[len(knock) - 1 :][: places - start]


def happened_s(rows: list[Row], event: str) -> float:
    """When it happened, in s from the beginning of the sound."""
    row = next(row for row in rows if row.data.get("event") == event)
    return row.mono_s - rows[0].mono_s


@pytest.mark.slow
def test_every_tick_is_in_the_sound_within_50_ms_of_its_place(site: Site, tmp_path: Path) -> None:
    """Ten minutes at one breath every six seconds, then one every eight, and no tick besides."""
    path = tmp_path / "pacing.yaml"
    path.write_text(SCENARIO, encoding="utf-8")
    conductor = Conductor(
        site,
        read_scenario(path, site),
        tmp_path,
        make_engine("closed"),
        real_time=False,
        player=None,
        show=lambda _: None,
    )
    rows = list(conductor.run().rows)
    with wave.open(str(tmp_path / RECORDING_NAME)) as recording:
        sound = np.frombuffer(recording.readframes(recording.getnframes()), dtype="<i2")

    began_s, slower_s = happened_s(rows, "pacing-started"), happened_s(rows, "fact-taken")
    stopped_s, timing = happened_s(rows, "pacing-stopped"), site.wording.timing
    usual = round((slower_s - began_s) // timing.breath_every_s) + 1  # the last was already set
    last_s = began_s + usual * timing.breath_every_s
    places_s = [began_s + (1 + n) * timing.breath_every_s for n in range(usual)]
    places_s += np.arange(last_s, stopped_s, timing.breath_every_obstruction_s)[1:].tolist()

    found_s = ticks_s(sound.astype(np.float64))
    # A tick under a voice is less like a knock: what was said for the other rate is left out.
    found_s, places_s = (
        [at_s for at_s in some if not slower_s - TALK_S < at_s < slower_s + TALK_S]
        for some in (found_s, places_s)
    )
    assert slower_s - began_s >= 600
    assert len(found_s) == len(places_s) > 100
    assert max(np.abs(np.subtract(found_s, places_s))) < NEAR_S
