"""The child process that speaks: espeak-ng through pyttsx3, one order a line in, one answer a line
out.

    python -m assistant.speaking.espeak_child VOICE WORDS_PER_MINUTE PITCH

An order is JSON with a `text` and the `path` of the file to speak it into. The answer is `done`
once the file is whole, or the one sentence that says why no order can be done.
"""

import json
import os
import sys
import threading
from pathlib import Path
from typing import Any


def main() -> None:
    """Serve orders until the input ends, or until a rendering was broken off."""
    answers = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)  # pyttsx3 prints on standard output
    try:
        import pyttsx3

        engine = pyttsx3.init(driverName="espeak")
    except (ImportError, RuntimeError, OSError) as fault:
        print(f"espeak-ng cannot be used ({fault}); install it.", file=answers, flush=True)
        return
    # Asked for a voice that it does not have, espeak-ng speaks on with the one it has.
    known = {
        name for voice in engine.getProperty("voices") for name in (voice.id, Path(voice.id).name)
    }
    name, words_per_minute, pitch = sys.argv[1:]
    if name.lower() not in known:
        print(f"espeak-ng has no voice {name!r}.", file=answers, flush=True)
        return
    engine.setProperty("voice", name)
    speaker = Speaker(engine)
    # Within the text, as espeak-ng's own commands: set beforehand, they sometimes go unheeded.
    manner = f"\x01{words_per_minute}S\x01{pitch}P "
    for line in sys.stdin:
        order = json.loads(line)
        if not speaker.speak(manner + order["text"], order["path"]):
            return  # its end may still come, and would be taken for that of the next phrase
        print("done", file=answers, flush=True)


class Speaker:
    """Speaks into files, one after the other, and waits for the end of each."""

    def __init__(self, engine: Any) -> None:
        """`engine` is pyttsx3's."""
        self._engine = engine
        self._ended = threading.Event()
        self._whole = False
        engine.connect("finished-utterance", self._finished)
        engine.connect("error", self._failed)
        # The first loop of an engine ends at once (pyttsx3 2.99): let that be one without a text.
        engine.runAndWait()

    def speak(self, text: str, path: str) -> bool:
        """Speak into a file; whether it was spoken to its end."""
        self._ended.clear()
        self._engine.save_to_file(text, path)
        self._engine.runAndWait()
        # The file is whole when espeak-ng says so, whatever the loop made of it. One who waits in
        # vain is ended by the parent.
        self._ended.wait()
        return self._whole

    def _finished(self, name: str | None, completed: bool) -> None:  # noqa: ARG002 - pyttsx3's own
        self._whole = completed
        self._ended.set()

    def _failed(self, name: str | None, exception: Exception) -> None:  # noqa: ARG002
        self._whole = False
        self._ended.set()


if __name__ == "__main__":
    main()
