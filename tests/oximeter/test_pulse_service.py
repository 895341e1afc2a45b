"""The Bluetooth Pulse Oximeter Service and its numbers, on bytes.

Fields and bits: Bluetooth SIG, Pulse Oximeter Service 1.0.1 (2022), characteristic 0x2A5F (read).
SFLOAT: IEEE 11073-20601; the first eight vectors and the special values are those of the table in
HL7's Personal Health Device guide, "MDER FLOATs and SFLOATs" (read); the others were worked out
from the definition.
"""

import asyncio
import math
import sys
import time
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.clock import MonotonicClock
from assistant.errors import BadInput
from assistant.oximeter.bluetooth import BluetoothFeed
from assistant.oximeter.pulse_service import PacketDecoder, read_packet
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import BluetoothLayout
from assistant.oximeter.sfloat import sfloat


@pytest.mark.parametrize(
    ("word", "value"),
    [
        (0x0002, 2),
        (0xF014, 2.0),
        (0xE0C8, 2.00),
        (0x1002, 20),
        (0x2002, 200),
        (0x00C8, 200),
        (0x04D2, 1234),
        (0x0B2E, -1234),
        (0x0062, 98),
        (0x0048, 72),
        (0xF3D4, 98.0),
        (0xF3CF, 97.5),
        (0x07FE, math.inf),
        (0x0802, -math.inf),
    ],
)
def test_sfloat(word: int, value: float) -> None:
    """Sixteen bits to the published value, exactly."""
    assert sfloat(word) == value


@pytest.mark.parametrize("word", [0x07FF, 0x0800, 0x0801])
def test_sfloat_that_is_no_number(word: int) -> None:
    """Not a number, not at this resolution, reserved: none is a figure."""
    assert math.isnan(sfloat(word))


def test_special_values_are_special_only_without_an_exponent() -> None:
    """The same twelve bits with an exponent are an ordinary number."""
    assert sfloat(0xF7FF) == 204.7


@pytest.mark.parametrize(
    ("packet", "spo2", "pulse", "why"),
    [
        pytest.param("00 62 00 48 00", 98, 72, "", id="usual"),
        pytest.param("00 D4 F3 48 00", 98, 72, "", id="with a decimal"),
        pytest.param("00 CF F3 48 00", 97, 72, "", id="a half is rounded downwards"),
        pytest.param("00 FF 07 48 00", None, 72, "no saturation", id="no number"),
        pytest.param(
            "1F 62 00 48 00 61 00 4A 00 62 00 47 00 00 01 00 00 00 0F F0", 98, 72, "", id="all"
        ),
        pytest.param(
            "0C FF 07 FF 07 00 20 00 08 00",
            None,
            None,
            "measurement unavailable, no finger, no saturation, no pulse rate",
            id="finger off",
        ),
        pytest.param("08 62 00 48 00 20 00 00", 98, 72, "low perfusion", id="a remark"),
        pytest.param("04 62 00 48 00 00 04", 98, 72, "demonstration", id="a demonstration"),
        pytest.param("00 62 00 48 00 AA BB", 98, 72, "", id="more than we know of"),
    ],
)
def test_packets(packet: str, spo2: int | None, pulse: int | None, why: str) -> None:
    """Each packet gives its figures, and what the device says against them."""
    sample = read_packet(bytes.fromhex(packet), 3.0)

    assert sample is not None
    assert (sample.at_s, sample.spo2_percent, sample.pulse_bpm, sample.why) == (
        3.0,
        spo2,
        pulse,
        why,
    )
    assert sample.usable == (why in ("", "low perfusion"))


@pytest.mark.parametrize("packet", ["00 D4 F3", "", "04 62 00 48 00 00", "1F 62 00 48 00 61"])
def test_short_packets_are_refused(packet: str) -> None:
    """A packet that lacks what its flags announce is no sample, and the next one is read."""
    decoder = PacketDecoder()

    assert decoder.take(bytes.fromhex(packet), 0.0) == ()
    assert [one.spo2_percent for one in decoder.take(bytes.fromhex("0062004800"), 0.0)] == [98]


@given(packet=st.binary(max_size=40))
def test_any_packet_never_gives_an_impossible_saturation(packet: bytes) -> None:
    """Whatever comes, a saturation lies within 0 and 100 or is none."""
    for sample in PacketDecoder().take(packet, 0.0):
        assert sample.spo2_percent is None or 0 <= sample.spo2_percent <= 100
        assert sample.usable <= (sample.spo2_percent is not None)


def test_without_the_library_a_site_is_told_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A layout of Bluetooth without its library is refused in one sentence."""
    monkeypatch.setitem(sys.modules, "bleak", None)

    with pytest.raises(BadInput, match=r"installing the project with \[bluetooth\]"):
        BluetoothFeed("00:00:00:00:00:00", BluetoothLayout(kind="bluetooth"), MonotonicClock())


def test_without_a_radio_it_says_so_and_keeps_trying() -> None:
    """A machine without Bluetooth gives a fault in words; nothing raises, nothing waits.

    No device was ever at hand: what is shown here is the way to the radio, not a device.
    """
    feed = BluetoothFeed("00:00:5E:00:53:01", BluetoothLayout(kind="bluetooth"), MonotonicClock())
    until_s = time.monotonic() + 10
    while feed.fault == "not connected yet" and time.monotonic() < until_s:
        assert feed.read() == ()
        time.sleep(0.05)

    assert feed.fault.startswith("no Bluetooth connection (")
    feed.close()


class StandIn:
    """A stand-in for the library, with a device that sends one packet and goes: no radio here."""

    connections = 0

    class BleakClient:
        def __init__(self, address: str, **options: Any) -> None:
            self._gone = options["disconnected_callback"]

        async def __aenter__(self) -> "StandIn.BleakClient":
            StandIn.connections += 1
            if StandIn.connections == 1:
                raise OSError("out of reach")
            return self

        async def __aexit__(self, *_: object) -> None:
            return

        async def start_notify(self, uuid: str, notified: Callable[..., None]) -> None:
            assert uuid.startswith("00002a5f")
            notified(uuid, bytearray.fromhex("0062004800"))
            asyncio.get_running_loop().call_later(0.05, self._gone, self)


def test_a_device_that_comes_and_goes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each connection's packets are read, and a lost or failed one is tried again by itself."""
    monkeypatch.setitem(sys.modules, "bleak", StandIn)  # type: ignore[arg-type]
    kept: list[bytes] = []
    feed = BluetoothFeed(
        "00:00:5E:00:53:01",
        BluetoothLayout(kind="bluetooth"),
        MonotonicClock(),
        lambda at_s, data: kept.append(data),
    )
    samples: list[Sample] = []
    until_s = time.monotonic() + 10
    while len(samples) < 2 and time.monotonic() < until_s:
        samples += feed.read()
        time.sleep(0.02)
    feed.close()

    assert [(one.spo2_percent, one.pulse_bpm) for one in samples] == [(98, 72)] * 2
    assert kept == [bytes.fromhex("0062004800")] * 2
    assert StandIn.connections >= 3
