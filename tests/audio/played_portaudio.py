"""A stand-in for PortAudio and the hardware under it: the test calls back as its thread would.

For devices that this machine cannot have: of any rate, with two channels only, gone, or lying.
"""

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import numpy.typing as npt

Wave = npt.NDArray[np.int16]


class PortAudioError(Exception):
    """Stands in for PortAudio's own."""


class Stream:
    """Stands in for a stream of sounddevice."""

    def __init__(
        self,
        *,
        samplerate: float,
        channels: int,
        callback: Callable[..., None] | None = None,
        **_: Any,
    ) -> None:
        self.samplerate, self.channels, self.callback = samplerate, channels, callback
        self.active = False
        self.written: list[Wave] = []

    def start(self) -> None:
        self.active = True

    def close(self, ignore_errors: bool) -> None:
        self.active = False

    def write(self, block: Wave) -> None:
        assert block.shape[1] == self.channels
        self.written.append(block.copy())

    def ask(self, frames: int) -> Wave:
        """What the device is given to play next, shape (frames, channels)."""
        out = np.full((frames, self.channels), 77, np.int16)  # PortAudio does not clear it
        assert self.callback is not None
        self.callback(out, frames, None, None)
        return out

    def hear(self, chunk: Wave, *, lost: bool = False) -> None:
        """The device delivers a chunk, shape (frames, channels)."""
        assert chunk.shape[1] == self.channels
        assert self.callback is not None
        self.callback(chunk, len(chunk), None, SimpleNamespace(input_overflow=lost))


class PlayedPortAudio:
    """Stands in for the module sounddevice; `opened` has the last stream of each kind."""

    def __init__(self) -> None:
        self.rates_hz = {16_000.0}
        self.usual_hz = 16_000.0
        self.channels = {1, 2}
        self.there = {"input", "output"}
        self.opened: dict[str, Stream] = {}
        self.PortAudioError = PortAudioError

    def _terminate(self) -> None:
        """Nothing to end."""

    def _initialize(self) -> None:
        """Nothing to begin."""

    def query_devices(self, name: str | None = None, kind: str = "") -> Any:
        most = max(self.channels)
        if not kind:
            return [{"name": "USB", **self._channels(one, most)} for one in sorted(self.there)]
        if kind not in self.there or name not in (None, "USB"):
            raise ValueError(f"no {kind} device")
        return {"default_samplerate": self.usual_hz, f"max_{kind}_channels": most}

    def _channels(self, kind: str, most: int) -> dict[str, int]:
        return {f"max_{one}_channels": most * (one == kind) for one in ("input", "output")}

    def InputStream(self, **how: Any) -> Stream:  # noqa: N802 - PortAudio's own name
        return self._open("input", how)

    def OutputStream(self, **how: Any) -> Stream:  # noqa: N802
        return self._open("output", how)

    def _open(self, kind: str, how: dict[str, Any]) -> Stream:
        if how["samplerate"] not in self.rates_hz:
            raise PortAudioError("invalid sample rate")
        if how["channels"] not in self.channels:
            raise PortAudioError("invalid number\nof channels")
        self.opened[kind] = Stream(**how)
        return self.opened[kind]
