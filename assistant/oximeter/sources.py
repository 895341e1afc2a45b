"""Which feed: the site's own, another port, or a recording."""

from pathlib import Path

from assistant.clock import Clock
from assistant.oximeter.feed import Feed, Keep, SerialFeed
from assistant.oximeter.replay import ReplayFeed
from assistant.oximeter.settings import BluetoothLayout, OximeterSettings


def open_feed(
    settings: OximeterSettings,
    clock: Clock,
    *,
    port: str | None = None,
    replay: Path | None = None,
    keep: Keep | None = None,
) -> Feed:
    """The feed to watch; `port` is a serial port instead of the site's own device.

    `keep` is told of every piece that is read. Raises BadInput.
    """
    layout = settings.own_layout
    if replay is not None:
        return ReplayFeed(replay, layout, clock)
    if isinstance(layout, BluetoothLayout) and port is None:
        from assistant.oximeter.bluetooth import BluetoothFeed  # with asyncio, for this one only

        return BluetoothFeed(settings.port, layout, clock, keep)
    return SerialFeed(port or settings.port, settings.frame_layout, clock, keep)
