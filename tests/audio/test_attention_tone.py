"""The attention tone, measured: it is none of the alarm signals of IEC 60601-1-8.

The bounds are those of the standard's Tables 3 and 4. The frequencies and the harmonics were read
in summaries of the standard (150 to 1000 Hz; at least four components within 15 dB between 300
and 4000 Hz). The number of pulses and their lengths (two or more, none longer than 250 ms; one
pulse only for a low priority) are from memory.
"""

import numpy as np
import numpy.typing as npt

from assistant.audio.attention_tone import attention_tone
from assistant.audio.sound import RATE_HZ

WINDOW = RATE_HZ // 20


def windows() -> npt.NDArray[np.float64]:
    """The tone in pieces of 50 ms, shape (n, samples), without its faint edges."""
    tone = attention_tone().astype(np.float64)
    pieces = tone[: len(tone) // WINDOW * WINDOW].reshape(-1, WINDOW)
    loudness = np.sqrt((pieces**2).mean(axis=1))
    return pieces[loudness > loudness.max() / 4]


def spectrum_db(piece: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """One level per Hz, relative to the loudest."""
    power = np.abs(np.fft.rfft(piece * np.hanning(len(piece)), RATE_HZ))
    return 20 * np.log10(np.maximum(power / power.max(), 1e-9))


def components(piece: npt.NDArray[np.float64], within_db: float) -> list[int]:
    """The pitches, in Hz, of the separate peaks between 150 and 4000 Hz."""
    level = spectrum_db(piece)
    return [
        hz
        for hz in range(150, 4000)
        if level[hz] >= -within_db and level[hz] == level[max(0, hz - 40) : hz + 41].max()
    ]


def test_it_is_one_long_sound_and_no_burst() -> None:
    """There is one sound, without a gap, longer than the longest pulse of a burst."""
    tone = np.abs(attention_tone().astype(np.float64))
    envelope = np.array([piece.max() for piece in np.array_split(tone, 60)])

    sounding = np.flatnonzero(envelope > envelope.max() / 4)

    assert np.all(np.diff(sounding) == 1)
    assert len(sounding) * len(tone) / 60 / RATE_HZ > 1.5 * 0.250


def test_it_has_too_few_harmonics_for_an_alarm_pulse() -> None:
    """Nowhere are there four components within 15 dB, nor even two."""
    assert [len(components(piece, within_db=15)) for piece in windows()] == [1] * len(windows())


def test_its_pitch_never_rests() -> None:
    """Every 50 ms it has risen by at least half a semitone; by more than a fifth in all."""
    pitches = np.array([components(piece, within_db=1)[0] for piece in windows()], dtype=float)

    semitones = 12 * np.diff(np.log2(pitches))

    assert np.all(semitones > 0.5)
    assert semitones.sum() > 6.5


def test_it_begins_and_ends_softly() -> None:
    """It takes longer to reach its loudest than an alarm pulse may, which is 100 ms."""
    tone = np.abs(attention_tone().astype(np.float64))

    first_loud_s = np.argmax(tone > 0.9 * tone.max()) / RATE_HZ

    assert first_loud_s > 0.1
    assert tone[0] == tone[-1] == 0 or max(tone[0], tone[-1]) < 50
