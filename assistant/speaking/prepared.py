"""What has to be said when a voice or the disk has failed is rendered beforehand."""

from collections.abc import Iterable

from assistant.audio.sound import Samples
from assistant.speaking.voices import Voice


class PreparedVoice:
    """A voice that has some texts in memory; all others are the given voice's."""

    def __init__(self, voice: Voice) -> None:
        self._voice = voice
        self._ready: dict[str, Samples] = {}

    def prepare(self, texts: Iterable[str]) -> None:
        """Render these now. Raises BadInput when the voice cannot; those before it are kept."""
        for text in texts:
            self._ready[text] = self._voice.render(text)

    def render(self, text: str) -> Samples:
        """The whole text as sound, shape (n,)."""
        ready = self._ready.get(text)
        return self._voice.render(text) if ready is None else ready
