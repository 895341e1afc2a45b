"""Serial frames: drawn bit by bit in a site's file, read and written by a binary-format library.

A layout says where each figure sits; nothing here knows any device. What a line loses or garbles
costs only the frames it touches: the decoder looks for the next frame byte by byte.
"""

import re
from collections import deque
from collections.abc import Iterable
from functools import cached_property, lru_cache
from typing import Annotated, Literal, NamedTuple

import construct
from pydantic import AfterValidator, Field, model_validator

from assistant.files.complaints import WrongWithinError
from assistant.files.yaml_files import SiteModel
from assistant.oximeter.samples import Sample, sample_of

CHECKSUM = "checksum"
UNUSED = "-"
RECENT_S = 2.0
"""So far back goes the look at how much of what came is frames."""
NEVER_BY_CHANCE = 0.02
"""Where random bytes are frames no more often than this, a frame counts whatever comes between."""
_KEPT = 512
"""Frames of the last few beats."""
TOKEN = re.compile(r"(?P<fixed>[01]{1,8})|(?P<name>-|[a-z][a-z0-9_]*)(?::(?P<bits>[1-8]))?")


class Part(NamedTuple):
    """Some neighbouring bits of one byte."""

    name: str
    bits: int
    fixed: int | None = None
    """What these bits always are; None where they carry something."""


def parts_of(drawing: str) -> tuple[Part, ...]:
    """One byte's drawing as its parts, from the top bit. Raises ValueError."""
    parts = []
    for token in drawing.split():
        match = TOKEN.fullmatch(token)
        if match is None:
            raise ValueError(f"0, 1, a name, name:bits or -:bits; {token!r} is none of these")
        if match["fixed"]:
            parts.append(Part("", len(token), int(token, 2)))
        else:
            parts.append(Part(match["name"], int(match["bits"] or 1)))
    if sum(part.bits for part in parts) != 8:
        raise ValueError(f"eight bits for each byte; {drawing!r} has another number")
    return tuple(parts)


def _is_drawn(drawing: str) -> str:
    parts_of(drawing)
    return drawing


Drawing = Annotated[str, AfterValidator(_is_drawn)]
Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
Figure = Annotated[tuple[Name, ...], Field(min_length=1)]


class Flag(SiteModel):
    """Bits by which the device remarks on its own figures; the flag is set when any of them is."""

    bits: Name
    means: Annotated[str, Field(min_length=2)]
    unusable: bool = True
    """False for a remark that does not make the figures worthless, such as low perfusion."""


class SerialLine(SiteModel):
    """How the port is set; common practice, and it differs between devices with the same layout."""

    baud: Annotated[int, Field(ge=300, le=1_000_000)]
    data_bits: Annotated[int, Field(ge=7, le=8)] = 8
    parity: Literal["none", "even", "odd"] = "none"
    stop_bits: Annotated[int, Field(ge=1, le=2)] = 1


class FrameLayout(SiteModel):
    """One way in which oximeters write their figures as bytes."""

    kind: Literal["frames"] = "frames"
    line: SerialLine
    frames_per_s: Annotated[float, Field(gt=0, le=500)]
    """The device's pace; only a simulated oximeter and a replay need it."""
    frame: Annotated[tuple[Drawing, ...], Field(min_length=2, max_length=64)]
    """Each byte from its top bit: bits that are always 0 or 1, by which the start of a frame is
    found; `name` or `name:bits` for what is read; `-:bits` for what is not. `checksum` is the sum
    of all bytes before its own, cut to its bits."""
    saturation: Figure
    """The names that make up the figure, the highest bits first."""
    pulse_rate: Figure
    wave: tuple[Name, ...] = ()
    """Leave it out if the device always sends the same."""
    no_saturation: tuple[int, ...] = ()
    """What stands for "no figure"; anything outside 0 … 100 is refused as well."""
    no_pulse_rate: tuple[int, ...] = ()
    flags: tuple[Flag, ...] = ()

    @model_validator(mode="after")
    def _names_are_drawn(self) -> "FrameLayout":
        parts = [part for drawing in self.frame for part in parts_of(drawing)]
        names = [part.name for part in parts if part.fixed is None and part.name != UNUSED]
        if len(set(names)) != len(names):
            raise WrongWithinError("each name for one place only", "frame")
        drawn = f"a name that frame draws: {', '.join(names)}"
        for key in ("saturation", "pulse_rate", "wave"):
            for at, name in enumerate(getattr(self, key)):
                if name not in names:
                    raise WrongWithinError(drawn, key, at)
        for at, flag in enumerate(self.flags):
            if flag.bits not in names:
                raise WrongWithinError(drawn, "flags", at, "bits")
        if all(part.fixed is None for part in parts):
            raise WrongWithinError("bits that are always 0 or 1, to find its start by", "frame")
        return self

    def decoder(self) -> "MostlyFrames":
        """A decoder for a line that carries such frames."""
        return MostlyFrames(self)

    def encode(
        self,
        spo2_percent: int | None,
        pulse_bpm: int | None,
        wave: int = 0,
        flags: Iterable[str] = (),
    ) -> bytes:
        """One frame as a device writes it; `flags` by what the layout says they mean."""
        return self.format.built(spo2_percent, pulse_bpm, wave, tuple(flags))

    @cached_property
    def format(self) -> "FrameFormat":
        """The layout prepared for use."""
        return FrameFormat(self)


class FrameFormat:
    """A layout prepared for use: whether bytes are a frame, what a frame says, how one is built."""

    def __init__(self, layout: FrameLayout) -> None:
        self._layout = layout
        drawn = [parts_of(drawing) for drawing in layout.frame]
        self.length = len(drawn)
        self._fixed = [_fixed_bits(parts) for parts in drawn]
        self._bits = {part.name: part.bits for parts in drawn for part in parts}
        self._format = construct.BitStruct(*(_field(part) for parts in drawn for part in parts))
        self._checksum_byte = next(
            (n for n, parts in enumerate(drawn) if any(part.name == CHECKSUM for part in parts)),
            None,
        )
        # Sixty times a second, and mostly a frame like one of the last few beats: taking each of
        # them apart cost the watcher more than all else that it does.
        self._parsed = lru_cache(maxsize=_KEPT)(self._format.parse)
        self.built = lru_cache(maxsize=_KEPT)(self._build)
        """The frame of a saturation, a pulse rate, a wave and flags."""

    @property
    def noise_share(self) -> float:
        """How much of a line of random bytes would be taken for frames, 0 … 1."""
        fixed = sum(mask.bit_count() for mask, _ in self._fixed) + self._bits.get(CHECKSUM, 0)
        return self.length / (self.length + 2.0**fixed - 1)

    def fits(self, frame: bytes) -> bool:
        """Whether these bytes, as many as a frame is long, are a frame."""
        fixed = all(
            byte & mask == value for byte, (mask, value) in zip(frame, self._fixed, strict=True)
        )
        if not fixed or self._checksum_byte is None:
            return fixed
        return bool(self._parsed(frame)[CHECKSUM] == self._sum(frame))

    def sample(self, frame: bytes, at_s: float) -> Sample:
        """What a whole frame says."""
        layout, read = self._layout, self._parsed(frame)
        spo2, pulse = self._figure(layout.saturation, read), self._figure(layout.pulse_rate, read)
        raised = [flag for flag in layout.flags if read[flag.bits]]
        return sample_of(
            at_s,
            None if spo2 in layout.no_saturation else spo2,
            None if pulse in layout.no_pulse_rate else pulse,
            faults=[flag.means for flag in raised if flag.unusable],
            remarks=[flag.means for flag in raised if not flag.unusable],
            wave=self._figure(layout.wave, read) if layout.wave else None,
        )

    def _build(
        self, spo2_percent: int | None, pulse_bpm: int | None, wave: int, flags: tuple[str, ...]
    ) -> bytes:
        layout = self._layout
        no_spo2, no_pulse = (*layout.no_saturation, 127)[0], (*layout.no_pulse_rate, 0)[0]
        values = {
            **self._spread(layout.saturation, no_spo2 if spo2_percent is None else spo2_percent),
            **self._spread(layout.pulse_rate, no_pulse if pulse_bpm is None else pulse_bpm),
            **self._spread(layout.wave, wave),
            **{flag.bits: 1 for flag in layout.flags if flag.means in flags},
        }
        frame = bytes(self._format.build(values))
        if self._checksum_byte is not None:
            frame = bytes(self._format.build({**values, CHECKSUM: self._sum(frame)}))
        return frame

    def _sum(self, frame: bytes) -> int:
        return int(sum(frame[: self._checksum_byte]) & ((1 << self._bits[CHECKSUM]) - 1))

    def _figure(self, names: tuple[str, ...], read: construct.Container) -> int:
        figure = 0
        for name in names:
            figure = figure << self._bits[name] | read[name]
        return figure

    def _spread(self, names: tuple[str, ...], figure: int) -> dict[str, int]:
        spread = {}
        for name in reversed(names):
            spread[name] = figure & (1 << self._bits[name]) - 1
            figure >>= self._bits[name]
        return spread


class FrameDecoder:
    """Frames out of a stream of bytes."""

    def __init__(self, layout: FrameLayout) -> None:
        self.read_bytes = 0
        """All that were looked at."""
        self.made_out_bytes = 0
        """Of these, those of frames, and those between two where as many lie as between the two
        before: a device may send more than its site has drawn."""
        self._format = layout.format
        self._rest = b""
        self._gap_bytes = self._last_gap_bytes = 0

    def take(self, data: bytes, at_s: float) -> tuple[Sample, ...]:
        """The samples of the frames that these bytes complete, all stamped `at_s`."""
        length, have = self._format.length, self._rest + data
        samples: list[Sample] = []
        place = 0
        while place + length <= len(have):
            frame = have[place : place + length]
            if self._format.fits(frame):
                samples.append(self._format.sample(frame, at_s))
                place += length
                self._make_out(length)
            else:
                place += 1
                self._gap_bytes += 1
        self.read_bytes += place
        self._rest = have[place:]
        return tuple(samples)

    def forget(self) -> None:
        """Drop a frame that was half read."""
        self._rest = b""

    def _make_out(self, length: int) -> None:
        """A frame, and what lies before it."""
        gap, last = self._gap_bytes, self._last_gap_bytes
        self.made_out_bytes += length + (gap if gap == last else 0)
        self._gap_bytes, self._last_gap_bytes = 0, gap


class MostlyFrames:
    """The frames of a line that mostly carries frames; none of one that carries noise.

    Few fixed bits and no checksum: then now and then random bytes, as of a wrong speed or a loose
    plug, are a frame like any other, and what they say would be called. So the frames count only
    while more of what has come in the last two seconds is made out than chance explains: by a
    third of the way from there to all of it. A device that begins is read at once, and after noise
    of any length within two seconds.
    """

    def __init__(self, layout: FrameLayout) -> None:
        self._frames = FrameDecoder(layout)
        by_chance = layout.format.noise_share
        self._least_share = by_chance + (1 - by_chance) / 3 if by_chance > NEVER_BY_CHANCE else 0.0
        self._recent: deque[tuple[float, int, int]] = deque()
        """Times, and how many bytes were read then, and made out."""
        self._read_bytes = self._made_out_bytes = 0

    def take(self, data: bytes, at_s: float) -> tuple[Sample, ...]:
        """The samples of the frames that these bytes complete, all stamped `at_s`."""
        read, made_out = self._frames.read_bytes, self._frames.made_out_bytes
        samples = self._frames.take(data, at_s)
        self._count(at_s, self._frames.read_bytes - read, self._frames.made_out_bytes - made_out)
        return samples if self._made_out_bytes >= self._least_share * self._read_bytes else ()

    def forget(self) -> None:
        """Drop a frame that was half read, and what the line was like."""
        self._frames.forget()
        self._recent.clear()
        self._read_bytes = self._made_out_bytes = 0

    def _count(self, at_s: float, read: int, made_out: int) -> None:
        if read:
            self._recent.append((at_s, read, made_out))
        self._read_bytes += read
        self._made_out_bytes += made_out
        while self._recent and at_s - self._recent[0][0] > RECENT_S:
            _, read, made_out = self._recent.popleft()
            self._read_bytes -= read
            self._made_out_bytes -= made_out


def _field(part: Part) -> construct.Construct:
    bits = construct.BitsInteger(part.bits)
    if part.fixed is not None:
        return construct.Const(part.fixed, bits)
    if part.name == UNUSED:
        return construct.Padding(part.bits)
    return part.name / construct.Default(bits, 0)


def _fixed_bits(parts: tuple[Part, ...]) -> tuple[int, int]:
    """Mask and value of the bits of one byte that never change."""
    mask = value = 0
    for part in parts:
        mask, value = mask << part.bits, value << part.bits
        if part.fixed is not None:
            mask, value = mask | (1 << part.bits) - 1, value | part.fixed
    return mask, value
