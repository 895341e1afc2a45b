"""The sound model: which sound of speech is heard in each fiftieth of a second.

It is the model that the wheel `hama` carries, with other weights: the bench taught it further, to
hear through noise what it hears without (`assistant/fitting/teaching`). It runs on the wheel's own
small runtime. It was taught sounds and no words, so it has no liking for one word over another: it
hears "tied" where a model of sentences writes "tight".
"""

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.audio.sound import Samples
from assistant.errors import BadInput
from assistant.hearing.engines.closed.installed import check_same
from assistant.hearing.engines.closed.sounds.alphabet import shares

Heard = npt.NDArray[np.float32]
"""Shape (frames, sounds + 1): how likely each sound is in each frame, as a logarithm; in the last
column that none is."""

FRAME_S = 0.02
SHIPPED = Path(__file__).with_name("taught.hama")
_SHA256 = "4bfd1a0d32c228a9748f959db4deac0ac8de2831ba83e2457b60f7adf99cf0c1"
_LEVEL = 0.5
"""All sound is brought to this peak: the model is not indifferent to loudness."""
_LEAST = 1e-4
"""No sound is ever less likely than this: one frame rules out nothing."""


class SoundModel:
    """Opened once, and used for one utterance after the other."""

    def __init__(self) -> None:
        """Raises BadInput when the runtime is missing or the model is another."""
        check_file()
        from hama.asr import ASRModel

        self._model: Any = ASRModel(SHIPPED)
        self._shares = shares(self._model.decoder_tokens)

    def heard(self, samples: Samples) -> Heard:
        """What is heard in the sound."""
        peak = max(1, int(np.abs(samples.astype(np.int32)).max(initial=0)))
        wave = (samples.astype(np.float32) * (_LEVEL / peak))[None]
        (log_probs, frames) = self._model.session.run(
            ["log_probs", "out_lengths"],
            {"waveform": wave, "waveform_lengths": np.array([wave.shape[1]], np.int64)},
        )
        likely = np.exp(log_probs[0][: int(frames[0])]) @ self._shares
        return np.asarray(np.log(likely + _LEAST), np.float32)


@cache
def check_file() -> None:
    """Once in a process: the model is the one that the fit was made with."""
    if find_spec("hama") is None:
        raise BadInput(
            "The closed engine's sound model has nothing to run on: found no package hama;"
            " allowed: hama 1.7.0."
        )
    check_same(SHIPPED, _SHA256, "the sound model as this project ships it")
