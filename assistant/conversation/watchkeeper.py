"""Between the watcher and the conversation: who gives way, and who notices that nobody watches."""

from assistant.clock import Clock
from assistant.conversation.conversation import Conversation
from assistant.oximeter.messages import Calling, Message, WatchEnded, Watching

SILENT_S = 5.0
"""Without a heartbeat for so long, nobody watches; the watcher sends one every second."""

STALE_S = 10.0
"""A call that nobody could make for so long, as after a restart, is not news any more."""


class Watchkeeper:
    """Takes the watcher's messages on the conversation's behalf."""

    def __init__(self, conversation: Conversation, clock: Clock) -> None:
        self._conversation = conversation
        self._clock = clock
        self._heard_s = clock.now_s()
        self._watched = True

    def take(self, message: Message) -> None:
        """One message of the watcher."""
        self._heard_s = self._clock.now_s()
        self._watched = True
        if isinstance(message, Calling) and message.unheard:
            if self._heard_s - message.started_s < STALE_S:
                self._conversation.call_for_watcher(message.text)
        elif isinstance(message, Calling):
            self._conversation.give_way(message.until_s)
        elif isinstance(message, Watching):
            self._conversation.saturation_is(message.spo2_percent, message.at_s)
        elif isinstance(message, WatchEnded):
            self._heard_s -= SILENT_S

    def pass_time(self) -> None:
        """Notice a watcher that has gone silent; said once until it is back."""
        if self._watched and self._clock.now_s() - self._heard_s >= SILENT_S:
            self._watched = False
            self._conversation.nobody_watches()
