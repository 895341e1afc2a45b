"""The recognisers, each behind the same small protocol."""

from pathlib import Path

from assistant.errors import BadInput
from assistant.hearing.heard import Engine

ENGINES = ("closed", "vosk")
VOSK_MODEL = "vosk"  # the folder of that name among the models


def make_engine(name: str, models_dir: Path | None = None, threads: int | None = None) -> Engine:
    """The engine of that name; `models_dir` holds the models that no wheel carries.

    Raises BadInput when there is no such engine, or its model is not there.
    """
    if name == "closed":
        from assistant.hearing.engines.closed import ClosedGrammarEngine

        return ClosedGrammarEngine(threads=threads or 2)
    if name == "vosk":
        from assistant.hearing.engines.vosk import VoskEngine

        if models_dir is None:
            raise BadInput("The vosk engine needs a model: found no models folder; allowed: one.")
        return VoskEngine(models_dir / VOSK_MODEL)
    raise BadInput(
        f"There is no engine called {name!r}: found {name!r}; allowed: {', '.join(ENGINES)}."
    )
