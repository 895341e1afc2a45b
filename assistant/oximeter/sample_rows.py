"""What the device sent, for the record: every sample at the feed's own pace, believed or not."""

from assistant.oximeter.samples import Sample

SAMPLES = "samples"
"""The text of such a row."""
SATURATION = "saturation"
"""The text of the watcher's rows that hold one saturation, now and then, as it is believed."""
EVERY_S = 1.0
"""One row in this time; a kill costs no more."""

SampleRun = list[float | int | bool | None]
"""When its first was read, in s; saturation in percent, pulse per minute, whether the device calls
them usable; and how many came one after the other with the same figures."""


class SampleRows:
    """Gathers samples until a row of them is due; equal ones in a row are counted, not repeated."""

    def __init__(self) -> None:
        self._runs: list[SampleRun] = []
        self._since_s = 0.0
        self._times = 0

    def add(self, sample: Sample) -> None:
        """One sample more."""
        figures = [sample.spo2_percent, sample.pulse_bpm, sample.usable]
        if not self._runs:
            self._since_s = sample.at_s
        if self._runs and self._runs[-1][1:4] == figures:
            self._times += 1
            self._runs[-1][4] = self._times
            return
        self._times = 1
        self._runs.append([round(sample.at_s, 3), *figures, self._times])

    def due(self, now_s: float) -> list[SampleRun]:
        """What was gathered, when it is time for a row; else nothing."""
        if not self._runs or now_s - self._since_s < EVERY_S:
            return []
        runs, self._runs = self._runs, []
        return runs
