"""A real mixer whose loudspeaker is a null sink, for whoever wants to hear what was played."""

import os
import subprocess
import time
from pathlib import Path

NULL_SINK = "module-null-sink sink_name=room rate=16000 channels=1 format=s16le"


class SoundServer:
    """PulseAudio in a folder of its own: `environment` makes a process play into it."""

    def __init__(self, folder: Path) -> None:
        self.socket = folder / "native"
        self.environment = {
            **os.environ,
            "HOME": str(folder),
            "XDG_RUNTIME_DIR": str(folder),
            "XDG_CACHE_HOME": os.environ.get("XDG_CACHE_HOME", str(Path.home() / ".cache")),
            "PULSE_SERVER": f"unix:{self.socket}",
        }
        self._server = subprocess.Popen(
            [
                *("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1"),
                *("--disallow-exit", "--use-pid-file=no"),
                *("-L", f"module-native-protocol-unix socket={self.socket} auth-anonymous=1"),
                *("-L", NULL_SINK),
            ],
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        until_s = time.monotonic() + 10
        while self._pactl("info").returncode != 0:
            if time.monotonic() > until_s or self._server.poll() is not None:
                self.close()
                raise OSError("PulseAudio does not start here")
            time.sleep(0.1)
        self._pactl("set-default-sink", "room")
        self._pactl("set-default-source", "room.monitor")

    def listen(self, file: Path | None = None) -> "subprocess.Popen[bytes]":
        """What the room hears, to a file or a pipe: a process that writes 16 kHz, mono, 16 bit."""
        return subprocess.Popen(
            [
                *("parec", "--device=room.monitor", "--rate=16000", "--channels=1"),
                *("--format=s16le", "--raw", "--latency-msec=10"),
            ],
            env=self.environment,
            stdout=subprocess.PIPE if file is None else file.open("wb"),
            stderr=subprocess.DEVNULL,
        )

    def streams(self) -> int:
        """How many programs hold the loudspeaker now."""
        return len(self._pactl("list", "short", "sink-inputs").stdout.splitlines())

    def sleep(self, *, asleep: bool) -> None:
        """Make the loudspeaker take no sound, as a card that has gone dead does."""
        self._pactl("suspend-sink", "room", str(int(asleep)))

    def unplug(self) -> None:
        """Take the device away, as a pulled plug does: its module is unloaded."""
        for line in self._pactl("list", "short", "modules").stdout.splitlines():
            number, name, *_ = line.split("\t")
            if name == "module-null-sink":
                self._pactl("unload-module", number)

    def plug_in(self) -> None:
        """Put it back."""
        self._pactl("load-module", *NULL_SINK.split())
        self._pactl("set-default-sink", "room")
        self._pactl("set-default-source", "room.monitor")

    def close(self) -> None:
        self._server.kill()
        self._server.wait()

    def _pactl(self, *words: str) -> "subprocess.CompletedProcess[str]":
        return subprocess.run(
            ["pactl", *words],  # noqa: S607 - wherever the system has it
            env=self.environment,
            capture_output=True,
            text=True,
            timeout=10,
            check=False,
        )
