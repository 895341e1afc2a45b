"""What has to be said when a voice or the disk has failed is rendered beforehand."""

import time
from collections.abc import Callable, Iterable

from assistant.audio.sound import Samples
from assistant.errors import BadInput
from assistant.speaking.sentences import in_breaths
from assistant.speaking.voices import Voice

HANGS_S = 2.0
"""A voice that fails after so long hangs; whoever waits for it is deaf, and a call waits behind."""
FIRST_REST_S, LONGEST_REST_S = 30.0, 240.0
"""So long it is not asked then; each time that it hangs again, twice as long."""


class PreparedVoice:
    """A voice that has some texts in memory; all others are the given voice's.

    Once that hangs it is left alone for a while, and the others fail at once.
    """

    def __init__(self, voice: Voice, now_s: Callable[[], float] = time.monotonic) -> None:
        self._voice = voice
        self._now_s = now_s
        self._ready: dict[str, Samples] = {}
        self._rest_s = FIRST_REST_S
        self._rests_until_s = float("-inf")

    def prepare(self, texts: Iterable[str]) -> None:
        """Render these now, whole and breath by breath.

        Raises BadInput when the voice cannot; those before it are kept.
        """
        for text in texts:
            for part in {text, *in_breaths(text)}:
                self._ready[part] = self.render(part)

    def render(self, text: str) -> Samples:
        """The whole text as sound, shape (n,). Raises BadInput while the voice is left alone."""
        ready = self._ready.get(text)
        if ready is not None:
            return ready
        began_s = self._now_s()
        if began_s < self._rests_until_s:
            raise BadInput(f"The voice hangs; it is not asked for {text!r}.")
        try:
            samples = self._voice.render(text)
        except Exception:
            self._rest_if_it_hangs(began_s)
            raise
        self._rest_s = FIRST_REST_S
        return samples

    def _rest_if_it_hangs(self, began_s: float) -> None:
        now_s = self._now_s()
        if now_s - began_s >= HANGS_S:
            self._rests_until_s = now_s + self._rest_s
            self._rest_s = min(2 * self._rest_s, LONGEST_REST_S)
