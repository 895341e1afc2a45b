"""Lines of text: one line is one sample, taken apart by a regular expression or by columns."""

import re
from collections.abc import Iterable
from functools import cached_property
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator

from assistant.files.complaints import WrongWithinError
from assistant.files.yaml_files import SiteModel
from assistant.oximeter.frames import SerialLine
from assistant.oximeter.samples import Sample, sample_of

LONGEST_LINE_BYTES = 1000
SPO2, PULSE = "spo2", "pulse"


def _compiles(pattern: str) -> str:
    try:
        re.compile(pattern)
    except re.error as fault:
        raise ValueError(f"a regular expression; {fault}") from fault
    return pattern


Pattern = Annotated[str, Field(min_length=1), AfterValidator(_compiles)]
Column = Annotated[int, Field(ge=1, le=100)]


class Columns(SiteModel):
    """Figures that stand in columns, counted from 1."""

    separator: Annotated[str, Field(min_length=1, max_length=3)] = ","
    saturation: Column
    pulse_rate: Column

    @model_validator(mode="after")
    def _two_columns(self) -> "Columns":
        if self.saturation == self.pulse_rate:
            raise ValueError("different columns for the saturation and the pulse rate")
        return self

    def pattern(self) -> str:
        """The same as a regular expression."""
        cell = f"(?:(?!{re.escape(self.separator)}).)*"
        cells = [cell] * max(self.saturation, self.pulse_rate)
        cells[self.saturation - 1] = f"(?P<{SPO2}>{cell})"
        cells[self.pulse_rate - 1] = f"(?P<{PULSE}>{cell})"
        return "^" + re.escape(self.separator).join(cells)


class Remark(SiteModel):
    """Words in a line by which the device remarks on its own figures."""

    pattern: Pattern
    means: Annotated[str, Field(min_length=2)]
    unusable: bool = True


class TextLayout(SiteModel):
    """One way in which oximeters write their figures as lines of text."""

    kind: Literal["text"]
    line: SerialLine
    frames_per_s: Annotated[float, Field(gt=0, le=500)] = 1.0
    """The device's pace, in lines; only a simulated oximeter and a replay need it."""
    pattern: Pattern | None = None
    """A regular expression with the groups `spo2` and `pulse`, found anywhere in the line …"""
    columns: Columns | None = None
    """… or where the figures stand. A line without two such places is no sample."""
    no_saturation: tuple[str, ...] = ("---",)
    """What stands for "no figure"; anything that is not a number is refused as well."""
    no_pulse_rate: tuple[str, ...] = ("---",)
    remarks: tuple[Remark, ...] = ()
    example: Annotated[str, Field(min_length=3)]
    """A line of the device with good figures: the layout is tried on it when it is read, and a
    simulated oximeter writes its lines after it."""

    @model_validator(mode="after")
    def _reads_its_example(self) -> "TextLayout":
        if (self.pattern is None) == (self.columns is None):
            raise ValueError("either a pattern or columns")
        if not {SPO2, PULSE} <= set(self.expression.groupindex):
            raise WrongWithinError(f"the groups (?P<{SPO2}>…) and (?P<{PULSE}>…) in it", "pattern")
        sample = self.sample(self.example, 0.0)
        if sample is None or not sample.usable:
            why = "no sample" if sample is None else sample.why
            raise WrongWithinError(
                f"a line that the layout itself can read; it gives: {why}", "example"
            )
        return self

    @cached_property
    def expression(self) -> re.Pattern[str]:
        """What a line has to match."""
        return re.compile(self.pattern or (self.columns.pattern() if self.columns else ""))

    def sample(self, line: str, at_s: float) -> Sample | None:
        """What a whole line says; None when it does not have the two figures."""
        match = self.expression.search(line)
        if match is None:
            return None
        raised = [remark for remark in self.remarks if re.search(remark.pattern, line)]
        return sample_of(
            at_s,
            _number(match[SPO2], self.no_saturation),
            _number(match[PULSE], self.no_pulse_rate),
            faults=[remark.means for remark in raised if remark.unusable],
            remarks=[remark.means for remark in raised if not remark.unusable],
        )

    def decoder(self) -> "LineDecoder":
        """A decoder for a line that carries such text."""
        return LineDecoder(self)

    def encode(
        self,
        spo2_percent: int | None,
        pulse_bpm: int | None,
        wave: int = 0,  # noqa: ARG002 - text carries no wave
        flags: Iterable[str] = (),  # noqa: ARG002 - nor does the example say how it would remark
    ) -> bytes:
        """One line as the device writes it: the example with these figures."""
        match = self.expression.search(self.example)
        if match is None:  # the validator has seen it match
            raise ValueError(self.example)
        line = self.example
        figures = (
            (SPO2, spo2_percent, self.no_saturation),
            (PULSE, pulse_bpm, self.no_pulse_rate),
        )
        for group, figure, missing in sorted(figures, key=lambda one: -match.start(one[0])):
            start, end = match.span(group)
            width, zeros = end - start, match[group].startswith("0")
            text = (*missing, "---")[0] if figure is None else f"{figure:{'0' * zeros}{width}d}"
            line = line[:start] + text + line[end:]
        return f"{line}\r\n".encode()


class LineDecoder:
    """Lines out of a stream of bytes."""

    def __init__(self, layout: TextLayout) -> None:
        self._layout = layout
        self._rest = b""

    def take(self, data: bytes, at_s: float) -> tuple[Sample, ...]:
        """The samples of the lines that these bytes complete, all stamped `at_s`."""
        *lines, self._rest = re.split(rb"[\r\n]+", self._rest + data)
        if len(self._rest) > LONGEST_LINE_BYTES:
            self.forget()
        return tuple(sample for line in lines if (sample := self._read(line, at_s)) is not None)

    def forget(self) -> None:
        """Drop a line that was half read."""
        self._rest = b""

    def _read(self, line: bytes, at_s: float) -> Sample | None:
        if len(line) > LONGEST_LINE_BYTES:
            return None
        return self._layout.sample(line.decode("utf-8", "replace"), at_s)


def _number(text: str, missing: tuple[str, ...]) -> float | None:
    text = text.strip()
    if text in missing:
        return None
    try:
        return float(text)
    except ValueError:
        return None
