"""The pace of the bag: one breath every six seconds (common practice, no source)."""

import numpy as np

from assistant.audio.sound import BLOCK_S, BLOCK_SAMPLES, RATE_HZ
from assistant.hearing.endpointing import Endpointer
from assistant.speaking.pacer import Pacer


def paced(
    seconds: float, every_s: float, starts_s: float = 0.0, pacer: Pacer | None = None
) -> np.ndarray:
    """So many seconds of pacing, as one wave."""
    pacer = pacer or Pacer()
    wave = np.zeros((round(seconds / BLOCK_S), BLOCK_SAMPLES), np.int16)
    for number, block in enumerate(wave):
        tick = pacer.pull(BLOCK_SAMPLES, starts_s + number * BLOCK_S, every_s=every_s)
        block[:] = 0 if tick is None else tick
    return wave.ravel()


def ticks_s(wave: np.ndarray) -> list[float]:
    """When each tick begins."""
    sounding = np.flatnonzero(wave)
    begins = sounding[np.diff(sounding, prepend=-RATE_HZ) > RATE_HZ // 2]
    return [float(at / RATE_HZ) for at in begins]


def test_one_tick_every_six_seconds_and_no_drift():
    """Ten ticks a minute; after ten minutes the pace has not slipped by more than a block."""
    ticks = ticks_s(paced(600.5, 6.0))

    assert len(ticks) == 100
    assert np.allclose(ticks, 6.0 * np.arange(1, 101), atol=2 * BLOCK_S)


def test_it_begins_anew_when_it_is_stopped_and_started():
    """The first tick comes a whole breath after the pacing was asked for."""
    pacer = Pacer()
    for number in range(100):
        pacer.pull(BLOCK_SAMPLES, number * BLOCK_S, every_s=6.0)
    pacer.pull(BLOCK_SAMPLES, 3.2, every_s=None)

    later = paced(300 * BLOCK_S, 6.0, starts_s=5.0, pacer=pacer)

    assert abs(ticks_s(later)[0] - 6.0) <= 2 * BLOCK_S


def test_a_tick_is_no_voice():
    """The end-pointer does not take the ticks for somebody speaking, so nobody is cut off."""
    endpointer = Endpointer()
    room = np.random.default_rng(1).normal(0, 60, round(60 / BLOCK_S) * BLOCK_SAMPLES)
    wave = paced(60, 2.0)[: len(room)] + room

    blocks = wave.astype(np.int16).reshape(-1, BLOCK_SAMPLES)
    heard = [endpointer.feed(block, n * BLOCK_S) for n, block in enumerate(blocks)]

    assert not any(heard)
