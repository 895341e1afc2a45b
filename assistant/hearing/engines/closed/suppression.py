"""The room's steady noise taken out of an utterance, as far as it helps the engine.

Spectral gating (noisereduce, MIT): what is no louder than the noise before the first word was, at
its frequency, is turned down. Measured in docs/hearing.md; suppressors made for people's ears,
which take out more, cost as much as they gained.
"""

import numpy as np
from noisereduce import reduce_noise

from assistant.audio.levels import level_dbfs
from assistant.audio.sound import RATE_HZ, Samples

_BEFORE_SAMPLES = round(0.3 * RATE_HZ)
"""The ear keeps so much from before the first word."""
_SHARE = 0.7
"""How much of the noise is taken: with 0.9, words went with it."""
_BELOW_DB = 3.1
"""No further below what follows, somebody spoke at once: 5 dB above the noise, a speaker leaves it
6 dB below."""


def without_noise(samples: Samples) -> Samples:
    """The same utterance, 16 bits at 16 kHz, quieter between its words.

    Unchanged when its first 0.3 s are no noise: digital silence, or somebody speaking.
    """
    noise, rest = samples[:_BEFORE_SAMPLES], samples[_BEFORE_SAMPLES:]
    if len(rest) < _BEFORE_SAMPLES or not noise.any():
        return samples
    if level_dbfs(noise) > level_dbfs(rest) - _BELOW_DB:
        return samples
    quieter = reduce_noise(
        y=samples.astype(np.float32),
        sr=RATE_HZ,
        y_noise=noise.astype(np.float32),
        stationary=True,
        prop_decrease=_SHARE,
    )
    return np.asarray(np.clip(quieter, -32768, 32767), dtype=np.int16)
