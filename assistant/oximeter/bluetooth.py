"""An oximeter over Bluetooth: notifications of the open Pulse Oximeter Service.

Bluetooth has an event loop of its own, in a thread of its own; what it brings is taken from a
queue, so that it can hang without holding up the watcher. Tried on packets and on a machine
without a radio; never yet on a device.
"""

import asyncio
import threading
from collections import deque
from contextlib import suppress

from assistant.clock import Clock
from assistant.errors import BadInput
from assistant.oximeter.feed import FIRST_WAIT_S, QUIET_S, SILENT, Keep
from assistant.oximeter.pulse_service import CONTINUOUS_MEASUREMENT
from assistant.oximeter.samples import Sample
from assistant.oximeter.settings import BluetoothLayout

CONNECTS_WITHIN_S = 20.0
LONGEST_WAIT_S = 8.0
"""Between attempts: a radio that scans all the time disturbs others."""
KEPT_PACKETS = 1024


class BluetoothFeed:
    """Connects to one address, and again for as long as it takes."""

    def __init__(
        self, address: str, layout: BluetoothLayout, clock: Clock, keep: Keep | None = None
    ) -> None:
        """Raises BadInput when the library for Bluetooth is not installed."""
        try:
            import bleak
        except ImportError as fault:
            raise BadInput(
                "The oximeter's layout is one of Bluetooth, and the library for it is not "
                "installed; allowed: a serial layout, or installing the project with [bluetooth]."
            ) from fault
        self.name = address
        self.fault = "not connected yet"
        self._bleak = bleak
        self._decoder = layout.decoder()
        self._clock = clock
        self._keep = keep
        self._packets: deque[tuple[float, bytes]] = deque(maxlen=KEPT_PACKETS)
        self._sampled_s = clock.now_s()
        self._connected = False
        self._ending = asyncio.Event()
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._run, name="bluetooth", daemon=True)
        self._thread.start()

    def read(self) -> tuple[Sample, ...]:
        """The samples of the notifications that have come, oldest first; never waits."""
        now_s = self._clock.now_s()
        samples: list[Sample] = []
        while self._packets:
            at_s, packet = self._packets.popleft()
            samples += self._decoder.take(packet, at_s)
            if self._keep is not None:
                self._keep(at_s, packet)
        if samples:
            self.fault, self._sampled_s = "", now_s
        elif self._connected and now_s - self._sampled_s >= QUIET_S:
            self.fault = SILENT
        return tuple(samples)

    def close(self) -> None:
        """End the connection; a radio that hangs is waited for 2 s."""
        with suppress(RuntimeError):  # the loop has ended by itself
            self._loop.call_soon_threadsafe(self._ending.set)
        self._thread.join(2.0)

    def _run(self) -> None:
        self._loop.run_until_complete(self._stay_connected())
        self._loop.close()

    async def _stay_connected(self) -> None:
        wait_s = FIRST_WAIT_S
        while not self._ending.is_set():
            try:
                await self._listen()
                wait_s = FIRST_WAIT_S
            # Every back end has errors of its own beside bleak's; none may end the attempts.
            except Exception as fault:  # noqa: BLE001
                self.fault = f"no Bluetooth connection ({fault or type(fault).__name__})"
            self._connected = False
            with suppress(TimeoutError):
                await asyncio.wait_for(self._ending.wait(), wait_s)
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)

    async def _listen(self) -> None:
        """Be connected until the device goes, or the watch ends."""
        gone = asyncio.Event()
        async with self._bleak.BleakClient(
            self.name,
            disconnected_callback=lambda _client: gone.set(),
            timeout=CONNECTS_WITHIN_S,
        ) as client:
            await client.start_notify(CONTINUOUS_MEASUREMENT, self._notified)
            self.fault, self._sampled_s, self._connected = "", self._clock.now_s(), True
            ended = [asyncio.ensure_future(one.wait()) for one in (gone, self._ending)]
            await asyncio.wait(ended, return_when=asyncio.FIRST_COMPLETED)
            for one in ended:
                one.cancel()
        if gone.is_set():
            self.fault = "the device has gone"

    def _notified(self, _characteristic: object, packet: bytearray) -> None:
        self._packets.append((self._clock.now_s(), bytes(packet)))
