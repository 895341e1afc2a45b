"""Oximeter frames: layouts as data, and bytes to samples.

A layout says where each figure sits; nothing here knows any device. What a byte stream loses or
garbles costs only the frames it touches: the decoder looks for the next frame byte by byte.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, model_validator

from assistant.site.reading import SiteModel

Byte = Annotated[int, Field(ge=0, le=255)]
Mask = Annotated[int, Field(ge=1, le=255)]
Place = Annotated[int, Field(ge=0, le=63)]
"""Which byte of the frame, from 0."""


@dataclass(frozen=True, slots=True)
class Sample:
    """What one frame says."""

    at_s: float
    """When it was read, on the case's clock."""
    spo2_percent: int | None
    """0 … 100; None when the device gives none."""
    pulse_bpm: int | None
    usable: bool
    """False when the device itself casts doubt on it, or a figure is missing."""
    why: str = ""
    """Why it is not usable, or what the device remarks; empty when nothing is the matter."""
    wave: int | None = None
    """The plethysmogram, where the layout carries it: it moves with every beat."""


class Match(SiteModel):
    """Bits that have one fixed value: byte & mask = value."""

    mask: Mask
    value: Byte

    @model_validator(mode="after")
    def _within_mask(self) -> "Match":
        if self.value & ~self.mask:
            raise ValueError("a value whose bits all lie within its mask")
        return self

    def holds(self, byte: int) -> bool:
        return byte & self.mask == self.value


class Bits(SiteModel):
    """Some bits of one byte, and where they belong in the figure."""

    byte: Place
    mask: Mask
    to_bit: Annotated[int, Field(ge=0, le=15)] = 0
    """The bit of the figure, from 0, at which the lowest bit under the mask lands."""

    @property
    def low_bit(self) -> int:
        """The lowest bit under the mask."""
        return (self.mask & -self.mask).bit_length() - 1

    def read(self, frame: bytes) -> int:
        return ((frame[self.byte] & self.mask) >> self.low_bit) << self.to_bit


Figure = Annotated[tuple[Bits, ...], Field(min_length=1)]


class Flag(SiteModel):
    """One bit by which the device remarks on its own figures."""

    byte: Place
    mask: Mask
    means: Annotated[str, Field(min_length=2)]
    unusable: bool = True
    """False for a remark that does not make the figures worthless, such as low perfusion."""


class Checksum(SiteModel):
    """The sum of all bytes before it, cut to the bits under the mask."""

    byte: Place
    mask: Mask = 0xFF

    def holds(self, frame: bytes) -> bool:
        return sum(frame[: self.byte]) & self.mask == frame[self.byte] & self.mask


class SerialLine(SiteModel):
    """How the port is set; common practice, and different between devices of one layout."""

    baud: Annotated[int, Field(ge=300, le=1_000_000)]
    data_bits: Annotated[int, Field(ge=7, le=8)] = 8
    parity: Literal["none", "even", "odd"] = "none"
    stop_bits: Annotated[int, Field(ge=1, le=2)] = 1


class FrameLayout(SiteModel):
    """One way in which oximeters write their figures."""

    line: SerialLine
    frames_per_s: Annotated[float, Field(gt=0, le=500)]
    """The device's pace; only a simulated oximeter needs it."""
    length: Annotated[int, Field(ge=2, le=64)]
    first_byte: Match
    other_bytes: Match | None = None
    """What marks every byte but the first, where the layout has such a mark."""
    saturation: Figure
    pulse_rate: Figure
    wave: tuple[Bits, ...] = ()
    no_saturation: tuple[int, ...] = ()
    """What stands for "no figure"; anything outside 0 … 100 is refused besides."""
    no_pulse_rate: tuple[int, ...] = ()
    flags: tuple[Flag, ...] = ()
    checksum: Checksum | None = None

    @model_validator(mode="after")
    def _within_frame(self) -> "FrameLayout":
        figures = (*self.saturation, *self.pulse_rate, *self.wave)
        places = [bits.byte for bits in figures] + [flag.byte for flag in self.flags]
        if self.checksum is not None:
            places.append(self.checksum.byte)
        if max(places) >= self.length:
            raise ValueError(f"bytes 0 to {self.length - 1}, as the length is {self.length}")
        return self

    def fits(self, frame: bytes) -> bool:
        """Whether these bytes, as many as a frame is long, are a frame."""
        others = self.other_bytes
        return (
            self.first_byte.holds(frame[0])
            and (others is None or all(others.holds(byte) for byte in frame[1:]))
            and (self.checksum is None or self.checksum.holds(frame))
        )

    def sample(self, frame: bytes, at_s: float) -> Sample:
        """What a whole frame says."""
        spo2, pulse = _figure(self.saturation, frame), _figure(self.pulse_rate, frame)
        flags = [flag for flag in self.flags if frame[flag.byte] & flag.mask]
        no_spo2 = spo2 in self.no_saturation or not 0 <= spo2 <= 100
        no_pulse = pulse in self.no_pulse_rate
        faults = [flag.means for flag in flags if flag.unusable]
        faults += ["no saturation"] * no_spo2 + ["no pulse rate"] * no_pulse
        remarks = [flag.means for flag in flags if not flag.unusable]
        return Sample(
            at_s,
            None if no_spo2 else spo2,
            None if no_pulse else pulse,
            usable=not faults,
            why=", ".join(faults or remarks),
            wave=_figure(self.wave, frame) if self.wave else None,
        )


def _figure(parts: tuple[Bits, ...], frame: bytes) -> int:
    return sum(part.read(frame) for part in parts)


class FrameDecoder:
    """Bytes as they come, in pieces of any size, to samples."""

    def __init__(self, layout: FrameLayout) -> None:
        self._layout = layout
        self._rest = b""

    def take(self, data: bytes, at_s: float) -> tuple[Sample, ...]:
        """The samples that these bytes complete, all stamped `at_s`."""
        length, have = self._layout.length, self._rest + data
        samples: list[Sample] = []
        place = 0
        while place + length <= len(have):
            frame = have[place : place + length]
            if self._layout.fits(frame):
                samples.append(self._layout.sample(frame, at_s))
                place += length
            else:
                place += 1
        self._rest = have[place:]
        return tuple(samples)

    def forget(self) -> None:
        """Drop a half-read frame: the port was reopened."""
        self._rest = b""
