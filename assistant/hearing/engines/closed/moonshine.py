"""The Moonshine tiny English model on onnxruntime: sound in, token log-probabilities out.

The wheel's own runtime is never loaded.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import onnxruntime

from assistant.audio.sound import RATE_HZ, Samples
from assistant.errors import BadInput
from assistant.hearing.engines.closed.installed import check_same
from assistant.hearing.engines.closed.tokenizer import BEGIN, END, Tokenizer

Floats = npt.NDArray[np.float32]
Tokens = tuple[int, ...]

_FILES = {
    "encoder_model.ort": "94e90a4654fc45cdfedb77c4c08e1739f48862998e58fada384b25118134f221",
    "decoder_model_merged.ort": "cf524c4862d36e9e5ab032eddc73637efd822d70e868ac575cf1a46e1e4708a0",
    "tokenizer.bin": "6884b35fd6377d4c4d32336a0bc152f36b64d1e45b6503683cdc238250a8472d",
}
"""Each file with its SHA-256: the fit is of this very model."""
_LAYERS, _HEADS, _WIDTH = 6, 8, 36
_TOKENS_PER_S = 7  # fast English; a decode that goes on beyond this is a loop
_TOKENS_SPARE = 6
_SHORTEST_SAMPLES = RATE_HZ // 2  # the encoder's convolutions need something to work on


@dataclass(frozen=True, slots=True)
class Prefixes:
    """Several sentences read up to the same number of tokens, one a row.

    `log_probs` has shape (rows, tokens of the list): what follows each. The memory of the sound
    is shared by all rows; that of the words before has shape (rows, heads, tokens read, width).
    """

    log_probs: Floats
    _sound: dict[str, Any]
    _said: dict[str, Floats]


class Moonshine:
    """The encoder and the decoder, and the token list."""

    def __init__(self, folder: Path, threads: int = 2, options: Any = None) -> None:
        """`options`: onnxruntime's, where its arithmetic is to be another (for measuring).

        Raises BadInput when a file is missing or is not the model.
        """
        _check_files(folder)
        self.tokenizer = Tokenizer(folder / "tokenizer.bin")
        opened = _opened(folder, threads) if options is None else _open(folder, threads, options)
        self._encoder, self._decoder = opened
        self._scratch: Floats = np.empty((1, len(self.tokenizer)), np.float32)
        self._presents = [output.name for output in self._decoder.get_outputs()][1:]

    def begin(self, samples: Samples) -> Prefixes:
        """Encode the sound and read the begin token: one row."""
        short = max(0, _SHORTEST_SAMPLES - len(samples))
        wave = np.pad(samples.astype(np.float32) / 32768, (0, short))[None]
        (states,) = self._encoder.run(
            None, {"input_values": wave, "attention_mask": np.ones(wave.shape, np.int64)}
        )
        sound: dict[str, Any] = {
            "encoder_hidden_states": states,
            "encoder_attention_mask": np.ones(states.shape[:2], np.int64),
        }
        nothing = np.zeros((1, _HEADS, 0, _WIDTH), np.float32)
        past = {
            f"past_key_values.{layer}.{side}.{part}": nothing
            for layer in range(_LAYERS)
            for side in ("decoder", "encoder")
            for part in ("key", "value")
        }
        log_probs, present = self._run(sound | past, np.array([[BEGIN]]), cached=False)
        sound |= {name: past for name, past in present.items() if ".encoder." in name}
        return Prefixes(log_probs, sound, _words_only(present))

    def step(self, prefixes: Prefixes, rows: list[int], tokens: list[int]) -> Prefixes:
        """Read one more token: `tokens[i]` after the prefix in row `rows[i]`."""
        said = {name: past[rows] for name, past in prefixes._said.items()}
        # The rows share the one copy of the sound: its batch of 1 broadcasts.
        log_probs, present = self._run(
            prefixes._sound | said, np.array(tokens)[:, None], cached=True
        )
        return Prefixes(log_probs, prefixes._sound, _words_only(present))

    def free(self, start: Prefixes, seconds: float) -> tuple[Tokens, float]:
        """What the model itself would write: tokens with the end, and their total log-probability.

        Greedy. A decode that runs in a loop is cut off; it then has no end token.
        """
        at, tokens, total = start, [], 0.0
        for _ in range(_TOKENS_SPARE + round(_TOKENS_PER_S * seconds)):
            token = int(at.log_probs[0].argmax())
            total += float(at.log_probs[0, token])
            tokens.append(token)
            if token == END:
                break
            at = self.step(at, [0], [token])
        return tuple(tokens), total

    def forced(
        self, start: Prefixes, sentences: Sequence[Tokens], *, reach: float = math.inf
    ) -> list[float]:
        """The total log-probability of each sentence, read side by side, what several begin with
        once.

        What has fallen further than `reach` behind the first, once that is read, is given up: its
        total is what it had come to, and would have fallen further.
        """
        first = sentences[0]
        totals = [0.0] * len(sentences)
        at, floor = start, -math.inf
        rows: dict[Tokens, int] = {(): 0}
        for depth in range(max(map(len, sentences))):
            read = {
                place: sentence[:depth]
                for place, sentence in enumerate(sentences)
                if depth < len(sentence) and totals[place] >= floor
            }
            if not read:
                break
            if depth:
                once = tuple(dict.fromkeys(read.values()))
                at = self.step(at, [rows[one[:-1]] for one in once], [one[-1] for one in once])
                rows = {one: row for row, one in enumerate(once)}
            for place, beginning in read.items():
                totals[place] += float(at.log_probs[rows[beginning], sentences[place][depth]])
            if depth == len(first) - 1:
                floor = totals[0] - reach
        return totals

    def _run(
        self, feed: dict[str, Any], tokens: npt.NDArray[np.int64], *, cached: bool
    ) -> tuple[Floats, dict[str, Floats]]:
        logits, *presents = self._decoder.run(
            None, feed | {"input_ids": tokens, "use_cache_branch": np.array([cached])}
        )
        named = {
            name.replace("present", "past_key_values"): present
            for name, present in zip(self._presents, presents, strict=True)
        }
        return self._log_softmax(logits[:, -1]), named

    def _log_softmax(self, logits: Floats) -> Floats:
        """In place, and with one scratch space for good: the arrays are megabytes, often."""
        if len(logits) > len(self._scratch):
            self._scratch = np.empty_like(logits)
        scratch = self._scratch[: len(logits)]
        logits -= logits.max(axis=1, keepdims=True)
        np.exp(logits, out=scratch)
        logits -= np.log(scratch.sum(axis=1, keepdims=True))
        return logits


def _words_only(present: dict[str, Floats]) -> dict[str, Floats]:
    return {name: past for name, past in present.items() if ".decoder." in name}


@cache
def _check_files(folder: Path) -> None:
    """Once in a process: every file is there, and is the one that the fit was made with."""
    for name, wanted in _FILES.items():
        path = folder / name
        if not path.is_file():
            raise BadInput.in_file(
                path, found="no such file", allowed="the files of Moonshine tiny-en"
            )
        check_same(path, wanted, "Moonshine tiny-en as moonshine-voice 0.0.73 carries it")


@cache
def _opened(folder: Path, threads: int) -> tuple[Any, Any]:
    """Encoder and decoder, once in a process: several may run them side by side."""
    return _open(folder, threads, onnxruntime.SessionOptions())


def _open(folder: Path, threads: int, options: Any) -> tuple[Any, Any]:
    options.intra_op_num_threads = threads
    options.inter_op_num_threads = 1
    # Spinning threads would take the processor from the watcher between utterances.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    encoder, decoder = "encoder_model.ort", "decoder_model_merged.ort"
    return _session(folder / encoder, options), _session(folder / decoder, options)


def _session(path: Path, options: Any) -> Any:
    try:
        return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    except Exception as fault:  # onnxruntime raises classes of its own that share no base
        raise BadInput.in_file(
            path, found="a file that is not the model", allowed="the file of Moonshine tiny-en"
        ) from fault
