"""Between the watcher and the conversation: who gives way, and who notices that nobody watches."""

from assistant.clock import Clock
from assistant.conversation.conversation import Conversation
from assistant.oximeter.messages import Calling, Message, WatchEnded, Watching

SILENT_S = 5.0
"""Without a heartbeat for so long, nobody watches; the watcher sends one every second."""


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
            self._conversation.call_for_watcher(message)
        elif isinstance(message, Calling):
            self._conversation.give_way(message.until_s)
            self._conversation.overtaken_by(message)
        elif isinstance(message, Watching):
            self._conversation.saturation_is(message.spo2_percent, message.at_s)
        elif isinstance(message, WatchEnded):
            self._heard_s -= SILENT_S

    def pass_time(self) -> None:
        """Notice a watcher that has gone silent; said once until it is back."""
        if self._watched and self._clock.now_s() - self._heard_s >= SILENT_S:
            self._watched = False
            self._conversation.nobody_watches()
