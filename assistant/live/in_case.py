"""Live: the conversation of the case at hand."""

from collections.abc import Callable
from dataclasses import replace

from assistant.audio.sound import Samples
from assistant.conversation.conversation import Conversation
from assistant.conversation.parts import Parts, SoundPath
from assistant.conversation.watchkeeper import Watchkeeper
from assistant.grammar.readings import Engine
from assistant.hearing.ear import Ear
from assistant.journal.rows import Row
from assistant.live.resuming import OpenCase
from assistant.oximeter.messages import Message
from assistant.speaking.voices import Voice


class InCase:
    """A conversation, and between it and the rest the shift of its clock after a reboot."""

    def __init__(
        self,
        case: OpenCase,
        engine: Engine,
        voice: Voice,
        *,
        sound: SoundPath,
        on_voice: Callable[[float, float], None],
    ) -> None:
        """`on_voice` is told when somebody spoke to the assistant, from when to when."""
        self._shift_s = case.clock.shift_s
        self._on_voice = on_voice
        self.opened = case
        self.conversation = Conversation(
            case.site,
            Parts(case.clock, Ear(engine), voice, case.journal, case.sounds),
            resumed=case.resumed,
            sound=sound,
            on_row=self._told,
        )
        self._watchkeeper = Watchkeeper(self.conversation, case.clock)

    def take(self, message: Message) -> None:
        """One message of the watcher, which has the machine's own clock."""
        times_s = {
            name: getattr(message, name) + self._shift_s
            for name in ("at_s", "started_s", "until_s")
            if hasattr(message, name)
        }
        self._watchkeeper.take(replace(message, **times_s))

    @property
    def speaking(self) -> bool:
        """Whether the assistant speaks, or is about to."""
        return self.conversation.speaking

    @property
    def unspoken(self) -> int:
        """Lines for which the voice gave no sound."""
        return self.conversation.unspoken

    def note(self, text: str, say: str | None) -> None:
        """Something happened to the sound."""
        self.conversation.note(text, say)

    def sound_is(self, *, hears: bool, speaks: bool) -> None:
        """What microphone and loudspeaker can do."""
        self.conversation.sound_is(hears=hears, speaks=speaks)

    def _told(self, row: Row) -> None:
        if row.kind == "heard":
            self._on_voice(row.mono_s - self._shift_s, row.data["ended_s"] - self._shift_s)

    def pressed(self, meaning: str) -> None:
        """In a case a new one means that this one is to end, which is asked back."""
        self.conversation.pressed(meaning)

    def marked(self) -> None:
        """A facilitator's button was pressed."""
        self.conversation.marked()

    def step(self, mic: Samples, began_s: float, *, hold: bool = False) -> Samples:
        """One block in, one block out; see `Conversation.step`."""
        self._watchkeeper.pass_time()
        return self.conversation.step(mic, began_s + self._shift_s, hold=hold)
