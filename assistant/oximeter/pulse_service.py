"""The continuous measurement of the Bluetooth Pulse Oximeter Service (0x1822), version 1.0.1.

One notification of characteristic 0x2A5F is one sample. Field order, flags and status bits are
those of the published specification.
"""

import construct
from construct import FlagsEnum, If, Int8ul, Int16ul, Int24ul, Struct, this

from assistant.oximeter.samples import Sample, sample_of
from assistant.oximeter.sfloat import sfloat

CONTINUOUS_MEASUREMENT = "00002a5f-0000-1000-8000-00805f9b34fb"

# What makes the figures worthless, by the bit that says so; the other bits are remarks.
MEASUREMENT_FAULTS = {
    "measurement from storage": 1 << 9,
    "demonstration": 1 << 10,
    "testing": 1 << 11,
    "calibrating": 1 << 12,
    "measurement unavailable": 1 << 13,
    "invalid measurement": 1 << 15,
}
MEASUREMENT_REMARKS = {"early estimate": 1 << 6, "questionable measurement": 1 << 14}
SENSOR_FAULTS = {
    "equipment malfunction": 1 << 1,
    "inadequate signal": 1 << 3,
    "no pulse in the signal": 1 << 7,
    "no finger": 1 << 11,
    "unknown sensor": 1 << 12,
    "sensor displaced": 1 << 13,
    "sensor malfunction": 1 << 14,
    "sensor disconnected": 1 << 15,
}
SENSOR_REMARKS = {
    "irregular processing": 1 << 2,
    "poor signal": 1 << 4,
    "low perfusion": 1 << 5,
    "erratic signal": 1 << 6,
    "questionable pulse": 1 << 8,
    "interference": 1 << 10,
}
FAULTS, REMARKS = (*MEASUREMENT_FAULTS, *SENSOR_FAULTS), (*MEASUREMENT_REMARKS, *SENSOR_REMARKS)

FIGURES = Struct("spo2" / Int16ul, "pulse" / Int16ul)
MEASUREMENT = Struct(
    "has" / FlagsEnum(Int8ul, fast=1, slow=2, measurement=4, sensor=8, amplitude=16),
    "usual" / FIGURES,
    "fast" / If(this.has.fast, FIGURES),
    "slow" / If(this.has.slow, FIGURES),
    "measurement"
    / If(this.has.measurement, FlagsEnum(Int16ul, **MEASUREMENT_FAULTS, **MEASUREMENT_REMARKS)),
    "sensor" / If(this.has.sensor, FlagsEnum(Int24ul, **SENSOR_FAULTS, **SENSOR_REMARKS)),
    "amplitude" / If(this.has.amplitude, Int16ul),
)


def read_packet(packet: bytes, at_s: float) -> Sample | None:
    """One notification as a sample; None when it is too short for what its flags announce."""
    try:
        read = MEASUREMENT.parse(packet)
    except construct.StreamError:
        return None
    status = {**(read.measurement or {}), **(read.sensor or {})}
    return sample_of(
        at_s,
        sfloat(read.usual.spo2),
        sfloat(read.usual.pulse),
        faults=[means for means in FAULTS if status.get(means)],
        remarks=[means for means in REMARKS if status.get(means)],
    )


class PacketDecoder:
    """Notifications to samples: each piece of data is one whole packet."""

    def take(self, data: bytes, at_s: float) -> tuple[Sample, ...]:
        """The sample of this packet; none when it is too short for what it announces."""
        sample = read_packet(data, at_s) if data else None
        return () if sample is None else (sample,)

    def forget(self) -> None:
        """A packet is never half read."""
