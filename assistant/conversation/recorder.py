"""The recorder: everything that becomes a row of the record does so here."""

from collections.abc import Callable
from typing import Final

from assistant.brief.case import Case
from assistant.brief.events.stored import stored
from assistant.brief.moment import Happened
from assistant.conversation.near_voice import Nearness
from assistant.grammar.readings import Heard, Verdict
from assistant.journal.journal import Journal
from assistant.journal.kept_sounds import NOT_KEPT
from assistant.journal.rows import Row
from assistant.journal.sound_keeper import KeptSound, SoundKeeper
from assistant.speaking.mouth import Line

SOUND_KEPT: Final = "sound-kept"
"""The tag of the line that says so."""


class CaseRecorder:
    """Writes one case's rows and applies its events; each row is on disk before it is told."""

    def __init__(
        self,
        journal: Journal,
        case: Case,
        *,
        on_row: Callable[[Row], None],
        on_loss: Callable[[], None],
        sounds: SoundKeeper | None = None,
    ) -> None:
        """`on_row` is told of each row; `on_loss` when the disk has begun to take none."""
        self._journal = journal
        self._case = case
        self._on_row = on_row
        self._on_loss = on_loss
        self._loss_told = False
        self._sounds = sounds
        self._keeps_sound = False

    def said_to_the_end(self, line: Line) -> None:
        """From the end of the line that says so on, and not before, sound is kept."""
        self._keeps_sound |= line.tag == SOUND_KEPT

    def event(self, happened: Happened) -> None:
        """Something that the caller has decided: recorded, and the case goes on from there.

        Raises ImpossibleEvent for one that cannot happen now; nothing is recorded then.
        """
        event = happened.event
        self._case.check(event)
        row = self._journal.append(
            event.who, "event", happened.text, item=happened.item, data=stored(event)
        )
        self._case.apply(row)
        self._tell(row)

    def heard(self, heard: Heard, voice: Nearness = "unknown") -> None:
        """An utterance of the room, taken in or ignored by its verdict; from how near it came."""
        reading = heard.reading
        sound = self._packed(heard)
        row = self._journal.append(
            "team",
            "ignored" if reading.verdict is Verdict.IGNORE else "heard",
            reading.text,
            meaning=reading.meaning or None,
            item=self._case.known.current,
            confidence=reading.confidence,
            data={
                "verdict": reading.verdict.value,
                "why": reading.why,
                "values": dict(reading.values),
                "ended_s": heard.ended_s,
                "voice": voice,
                **({} if sound is None else {"sound": sound.told}),
            },
            mono_s=heard.started_s,
        )
        if sound is not None and self._sounds is not None:
            self._sounds.write(sound)  # the row goes first, and nobody waits for the file
        self._tell(row)

    def pressed(self, meaning: str) -> None:
        """Somebody used the pedal for that."""
        self._tell(self._journal.append("team", "event", f"pedal: {meaning}"))

    def said(self, line: Line, lasts_s: float) -> None:
        """A line whose first sample leaves now, and how long it lasts, in s."""
        row = self._journal.append(
            "assistant",
            "said",
            line.text,
            meaning=line.tag,
            item=line.item,
            data={"lasts_s": round(lasts_s, 3)},
        )
        self._tell(row)

    def cut_short(self, line: Line) -> None:
        """A line that somebody has interrupted."""
        self._note("cut short", line, {"text": line.text})

    def not_spoken(self, line: Line, why: str) -> None:
        """A line for which the voice gave no sound."""
        self._note("not spoken", line, {"text": line.text, "why": why})

    def note(self, text: str) -> None:
        """Something that happened to the assistant itself."""
        self._tell(self._journal.append("assistant", "event", text))

    def close(self) -> None:
        """End the record; the case may go on later where it was."""
        if self._sounds is not None:
            self._sounds.close()
            self._tell_of_lost_sounds(self._sounds)
        self._journal.close()

    def _packed(self, heard: Heard) -> KeptSound | None:
        """Its sound, if it is to be kept: never of what was not said to the assistant."""
        if self._sounds is None or not self._keeps_sound or heard.samples is None:
            return None
        self._tell_of_lost_sounds(self._sounds)
        if heard.reading.verdict is Verdict.IGNORE:
            return None
        return self._sounds.packed(heard.samples, heard.started_s)

    def _tell_of_lost_sounds(self, sounds: SoundKeeper) -> None:
        for name, why in sounds.failures():
            text = f"a sound could not be kept: {why}"
            self._tell(self._journal.append("assistant", "event", text, data={NOT_KEPT: name}))

    def _note(self, text: str, line: Line, data: dict[str, str]) -> None:
        self._tell(self._journal.append("assistant", "event", text, item=line.item, data=data))

    def _tell(self, row: Row) -> None:
        if self._journal.lost and not self._loss_told:
            self._on_loss()
        self._loss_told = self._journal.lost
        self._on_row(row)
