"""What a patient monitor sounds like: its pulse tone, and an alarm signal.

The pulse tone is common practice, no source: one short beep a heartbeat, whose pitch falls with the
saturation. The alarm signal is built after the pulse timing of IEC 60601-1-8 (tables 3 and 4, from
memory): ten pulses of 75 to 200 ms in two groups of five, 50 to 125 ms between them and twice that
and a pulse's length before the fourth, a fundamental of 150 to 1000 Hz with at least four
harmonics, and the whole again after 2.5 to 15 s. It has no melody.
"""

import numpy as np

from assistant.audio.sound import RATE_HZ, Samples

LEVEL = 6000
BEEP_S = 0.12
BEEP_HZ = 880.0
"""At 100 %; a semitone lower for each two per cent less."""
PULSE_S = 0.15
GAP_S = 0.1
BETWEEN_FIVES_S = 0.8
BETWEEN_BURSTS_S = 5.0


def pulse_tone(seconds: float, pulse_bpm: float, spo2_percent: float) -> Samples:
    """Beeps at that rate and that pitch, shape (n,)."""
    pitch_hz = BEEP_HZ * 2 ** ((spo2_percent - 100) / 24)
    beep = _tone(BEEP_S, [(pitch_hz, 1.0), (2 * pitch_hz, 0.3)])
    return _placed(seconds, [(at_s, beep) for at_s in np.arange(0.0, seconds, 60 / pulse_bpm)])


def desaturation(seconds: float) -> Samples:
    """A pulse tone that falls from 100 to 80 % while the rate goes from 60 to 140 a minute."""
    placed, at_s = [], 0.0
    while at_s < seconds:
        share = at_s / seconds
        pitch_hz = BEEP_HZ * 2 ** (-20 * share / 24)
        placed.append((at_s, _tone(BEEP_S, [(pitch_hz, 1.0), (2 * pitch_hz, 0.3)])))
        at_s += 60 / (60 + 80 * share)
    return _placed(seconds, placed)


def high_priority_alarm(seconds: float, fundamental_hz: float = 523.0) -> Samples:
    """Bursts of an alarm signal of high priority, shape (n,)."""
    pulse = _tone(PULSE_S, [(fundamental_hz * n, 1.0 / n**0.5) for n in range(1, 6)])
    x = PULSE_S + GAP_S
    five = [0.0, x, 2 * x, 2 * x + PULSE_S + 2 * GAP_S + PULSE_S, 3 * x + 2 * (PULSE_S + GAP_S)]
    burst = five + [five[-1] + PULSE_S + BETWEEN_FIVES_S + at_s for at_s in five]
    again_s = burst[-1] + PULSE_S + BETWEEN_BURSTS_S
    starts_s = [n * again_s + at_s for n in range(int(seconds // again_s) + 1) for at_s in burst]
    return _placed(seconds, [(at_s, pulse) for at_s in starts_s])


def _tone(seconds: float, partials: list[tuple[float, float]]) -> Samples:
    at_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    wave = sum(level * np.sin(2 * np.pi * hz * at_s) for hz, level in partials)
    ramp = np.minimum(1.0, np.minimum(at_s, seconds - at_s) / (0.15 * seconds))
    return np.asarray(LEVEL * ramp * wave / sum(level for _, level in partials), np.int16)


def _placed(seconds: float, sounds: list[tuple[float, Samples]]) -> Samples:
    whole = np.zeros(round(seconds * RATE_HZ), np.int16)
    for at_s, sound in sounds:
        start = round(at_s * RATE_HZ)
        piece = sound[: len(whole) - start]
        whole[start : start + len(piece)] += piece
    return whole
