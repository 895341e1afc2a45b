"""Between the watcher and the conversation: who gives way, and who notices that nobody watches."""

from assistant.clock import Clock
from assistant.conversation.conversation import Conversation
from assistant.oximeter.messages import Calling, Message, WatchEnded, Watching

SILENT_S = 5.0
"""Without a heartbeat for so long, nobody watches; the watcher sends one every second."""
STEADY_S = 10.0
"""So long it has to be back before that is said."""
COMES_AND_GOES_S = 180.0
"""One that is gone again this soon after that comes and goes: from then on it is said to be back
only after so long, and to be gone no more often."""


class Watchkeeper:
    """Takes the watcher's messages on the conversation's behalf."""

    def __init__(self, conversation: Conversation, clock: Clock) -> None:
        self._conversation = conversation
        self._clock = clock
        self._heard_s = clock.now_s()
        self._watched = True
        self._since_s = self._heard_s
        """Since when it has watched without a break."""
        self._told_lost_s: float | None = None
        """When the room was told last that nobody watches; None while it takes it that somebody
        does."""
        self._told_back_s = float("-inf")
        self._steady_s = STEADY_S

    def take(self, message: Message) -> None:
        """One message of the watcher."""
        self._heard_s = self._clock.now_s()
        if not self._watched:
            self._watched, self._since_s = True, self._heard_s
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
        """Notice a watcher that has gone silent, or has come back to stay."""
        now_s = self._clock.now_s()
        if self._watched and now_s - self._heard_s >= SILENT_S:
            self._watched = False
            self._lost(now_s)
        back = self._watched and self._told_lost_s is not None
        if back and now_s - self._since_s >= self._steady_s:
            self._told_lost_s, self._told_back_s = None, now_s
            self._conversation.watched_again()

    def _lost(self, now_s: float) -> None:
        if self._told_lost_s is None:
            soon = now_s - self._told_back_s < COMES_AND_GOES_S
            self._steady_s = COMES_AND_GOES_S if soon else STEADY_S
        elif now_s - self._told_lost_s < COMES_AND_GOES_S:
            return
        self._told_lost_s = now_s
        self._conversation.nobody_watches()
