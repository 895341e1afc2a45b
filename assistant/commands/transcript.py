"""A case as it is printed while it is played: a line for each thing said and heard."""

from assistant.clock import minutes_and_seconds
from assistant.journal.rows import Row
from assistant.oximeter.messages import Calling


class Transcript:
    """Prints each row of the record and each call with its time from the first row."""

    def __init__(self) -> None:
        self._began_s: float | None = None

    def show(self, what: Row | Calling) -> None:
        """Print it, if it is something for people to read."""
        if isinstance(what, Calling):
            self._print(what.started_s, "watcher", what.text)
            return
        if self._began_s is None:
            self._began_s = what.mono_s
        if what.kind == "heard":
            doubt = "" if what.data["verdict"] == "accept" else "  (not sure)"
            self._print(what.mono_s, "team", f"{what.text}{doubt}")
        elif what.kind == "ignored":
            self._print(what.mono_s, "team", f"[{what.data['why']}]")
        elif what.kind == "said":
            self._print(what.mono_s, "assistant", what.text)
        elif what.who == "clock":
            self._print(what.mono_s, "clock", what.text)

    def _print(self, at_s: float, who: str, text: str) -> None:
        at = minutes_and_seconds(at_s - (self._began_s or 0.0))
        print(f"{at}  {who:<9}  {text}", flush=True)
