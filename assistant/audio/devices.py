"""Opening loudspeakers and microphones, the one way for all who need one, through PortAudio.

A device is asked for 16 kHz and one channel. One that does not do that runs at its own usual rate,
or with two channels: whoever plays or listens sees one channel all the same, at `rate_hz`.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from assistant.audio.sound import BLOCK_S, RATE_HZ, Samples

PLAYS_LATE_S = 0.06
"""Through a mixer on a busy machine the least that PortAudio offers runs dry, and loses words
(docs/on-a-pi.md has what was measured)."""
HEARS_LATE_S = 0.05
"""What is heard waits in the mixer when nobody fetches it, and is not lost."""

Give = Callable[[Samples], None]
"""Fills a buffer of silence, shape (n,), with what is to be played next, at the device's rate. It
is called in PortAudio's own thread and must not wait."""
Take = Callable[[Samples, bool], None]
"""Takes what was heard, shape (n,), at the device's rate, and whether sound was lost before it. It
is called in PortAudio's own thread and must not wait."""


Kind = Literal["input", "output"]
_CALLED: Mapping[Kind, str] = {"input": "microphone", "output": "loudspeaker"}


class DeviceFault(Exception):  # noqa: N818 - as in "the loudspeaker's fault"
    """A device cannot be opened; the text says why."""


class OpenDevice:
    """A loudspeaker or microphone that runs."""

    def __init__(self, stream: Any, rate_hz: float, channels: int) -> None:
        """`stream` is one of sounddevice's, started."""
        self.rate_hz = rate_hz
        self._stream = stream
        self._channels = channels

    @property
    def active(self) -> bool:
        """Whether it still runs, as far as PortAudio knows; a device may be gone all the same."""
        return bool(self._stream.active)

    def write(self, sound: Samples) -> None:
        """Play sound of shape (n,), at the device's rate; waits while the device is busy.

        Only for a loudspeaker that was opened without `give`.
        """
        self._stream.write(np.repeat(sound[:, np.newaxis], self._channels, axis=1))

    def close(self) -> None:
        """Let the device go."""
        self._stream.close(ignore_errors=True)


def look_again() -> None:
    """Start PortAudio anew, which ends every stream of this process.

    Only so does it see a device that was plugged in later; sounddevice has no public way to ask
    for it. Raises DeviceFault where PortAudio is missing or fails.
    """
    sounddevice = _portaudio()
    try:
        sounddevice._terminate()
        sounddevice._initialize()
    except sounddevice.PortAudioError as fault:
        raise DeviceFault(_why(fault)) from fault


def look_for(kind: Kind, device: str | int | None) -> Mapping[str, Any]:
    """What PortAudio knows of a device, by (part of) its name or its number; None is the usual one.

    Raises DeviceFault, which names what was asked for and what is there, when there is none.
    """
    sounddevice = _portaudio()
    try:
        about: Mapping[str, Any] = sounddevice.query_devices(device, kind)
    except (sounddevice.PortAudioError, ValueError) as fault:  # ValueError: no such name
        asked = "" if device is None else f" {device!r}"
        there = ", ".join(_there(sounddevice, kind)) or "none"
        raise DeviceFault(
            f"no {_CALLED[kind]}{asked} ({_why(fault)}); there is: {there}"
        ) from fault
    return about


def _there(sounddevice: Any, kind: Kind) -> list[str]:
    try:
        devices = list(sounddevice.query_devices())
    except sounddevice.PortAudioError:
        return []
    return [one["name"] for one in devices if one[f"max_{kind}_channels"] > 0]


def open_loudspeaker(device: str | int | None, give: Give | None = None) -> OpenDevice:
    """Open and start a loudspeaker, by (part of) its name or its number; None is the usual one.

    With `give` it asks for sound by itself; without, it plays what is written to it. Raises
    DeviceFault when there is none, or none that can be opened.
    """
    if give is None:
        return _opened("output", device, lambda _: {})

    def fill(block: npt.NDArray[np.int16], frames: int, _time: object, _status: object) -> None:
        sound = np.zeros(frames, dtype=np.int16)
        give(sound)
        block[:] = sound[:, np.newaxis]

    return _opened("output", device, lambda _: {"latency": PLAYS_LATE_S, "callback": fill})


def open_microphone(device: str | int | None, take: Take, *, own_rate: bool = False) -> OpenDevice:
    """Open and start a microphone, named as a loudspeaker is; `take` has a block every 32 ms.

    `own_rate` asks for the device's usual rate at once, without trying 16 kHz. Raises DeviceFault
    as `open_loudspeaker` does.
    """

    def hear(block: npt.NDArray[np.int16], _frames: int, _time: object, status: Any) -> None:
        # The mean, as either channel may be the one that nothing is plugged into.
        sound = block[:, 0].copy() if block.shape[1] == 1 else block.mean(axis=1).astype(np.int16)
        take(sound, bool(status.input_overflow))

    def how(rate_hz: float) -> Mapping[str, Any]:
        blocksize = round(BLOCK_S * rate_hz)
        return {"latency": HEARS_LATE_S, "blocksize": blocksize, "callback": hear}

    return _opened("input", device, how, own_rate=own_rate)


def _opened(
    kind: Kind,
    device: str | int | None,
    how: Callable[[float], Mapping[str, Any]],
    *,
    own_rate: bool = False,
) -> OpenDevice:
    sounddevice = _portaudio()
    make = sounddevice.InputStream if kind == "input" else sounddevice.OutputStream
    about = look_for(kind, device)
    usual_hz = float(about["default_samplerate"])
    refused: Exception | None = None
    for rate_hz, channels in _forms(usual_hz, about[f"max_{kind}_channels"], own_rate=own_rate):
        try:
            stream = make(
                samplerate=rate_hz,
                channels=channels,
                dtype="int16",
                device=device,
                **how(rate_hz),
            )
        except sounddevice.PortAudioError as fault:  # the device does not do this
            refused = fault
            continue
        try:
            stream.start()
        except sounddevice.PortAudioError as fault:
            stream.close(ignore_errors=True)
            refused = fault
            continue
        return OpenDevice(stream, rate_hz, channels)
    raise DeviceFault(_why(refused)) from refused


def _forms(
    usual_hz: float, most_channels: int, *, own_rate: bool
) -> Iterator[tuple[float, Literal[1, 2]]]:
    """Rates and channels to ask for, the most wanted first."""
    rates_hz = dict.fromkeys((usual_hz,) if own_rate else (float(RATE_HZ), usual_hz))
    for channels in (1, 2):
        if channels <= max(1, most_channels):
            yield from ((rate_hz, channels) for rate_hz in rates_hz)


def _portaudio() -> Any:
    """sounddevice, imported only where sound is opened: a machine may be without PortAudio."""
    try:
        import sounddevice
    except OSError as fault:
        raise DeviceFault(_why(fault)) from fault
    return sounddevice


def _why(fault: Exception | None) -> str:
    """PortAudio's reason on one line."""
    return " ".join(str(fault).split())
