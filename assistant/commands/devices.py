"""`spoken-brief devices`: what could be the oximeter's port, the microphone, the loudspeaker."""

import argparse
from pathlib import Path

from serial.tools import list_ports

STABLE_NAMES = Path("/dev/serial/by-id")

DESCRIPTION = (
    "Lists this machine's serial ports and sound devices. Names of ports that stay the same when a "
    "plug is pulled and put back come first; put one of them into oximeter.yaml."
)


def add_options(_parser: argparse.ArgumentParser) -> None:
    """Add the command's own options."""


def run(_arguments: argparse.Namespace) -> int:
    """Print them."""
    _serial_ports()
    _sound_devices()
    return 0


def _serial_ports() -> None:
    stable = {}
    if STABLE_NAMES.is_dir():
        stable = {str(link.resolve()): str(link) for link in sorted(STABLE_NAMES.iterdir())}
    ports = sorted(list_ports.comports(), key=lambda port: port.device)
    print("Serial ports" if ports else "Serial ports: none")
    for port in ports:
        names = [stable[port.device]] if port.device in stable else []
        about = "" if port.description in ("n/a", None) else f"  ({port.description})"
        print(f"  {'  =  '.join([*names, port.device])}{about}")
        if not names:
            print("      without a stable name: give it one by a udev rule, docs/oximeters.md")


def _sound_devices() -> None:
    try:
        import sounddevice

        devices = list(sounddevice.query_devices())
        default_in, default_out = sounddevice.default.device
        version = sounddevice.get_portaudio_version()[1]
    # PortAudio is missing, or finds no sound system at all.
    except Exception as fault:  # noqa: BLE001
        print(f"Sound devices: none can be listed ({fault})")
        return
    print(f"Sound devices, by {version}" if devices else "Sound devices: none")
    for number, device in enumerate(devices):
        does = [f"{device['max_input_channels']} in"] * (device["max_input_channels"] > 0)
        does += [f"{device['max_output_channels']} out"] * (device["max_output_channels"] > 0)
        marks = ["microphone by default"] * (number == default_in)
        marks += ["loudspeaker by default"] * (number == default_out)
        about = ", ".join([*does, f"{device['default_samplerate']:.0f} Hz", *marks])
        print(f"  {device['name']}  ({about})")
