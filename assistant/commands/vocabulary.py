"""Which words of a site its recogniser lacks, said before anybody has to say them."""

from collections.abc import Iterator

from assistant.errors import BadInput
from assistant.grammar.grammar import Grammar
from assistant.grammar.readings import Engine
from assistant.hearing.engines.vosk.engine import VoskEngine
from assistant.hearing.engines.vosk.respelling import offers


def unheard(engine: Engine, grammar: Grammar) -> Iterator[str]:
    """A sentence that names the missing words of a grammar, if there are any."""
    missing = engine.missing_words(grammar)
    if missing:
        yield f"Unknown to the recogniser, give other words or respellings: {', '.join(missing)}"


def respellings(engine: Engine, grammar: Grammar, voice: str) -> Iterator[str]:
    """For each missing word, what a model with a vocabulary of words knows that sounds like it."""
    if not isinstance(engine, VoskEngine):
        return
    missing = engine.missing_words(grammar)
    try:
        offered = offers(missing, engine.vocabulary(), voice)
    except (BadInput, OSError) as fault:
        yield f"No respellings to offer: {fault}"
        return
    for word, known in offered.items():
        alike = ", ".join(f'"{one}"' for one in known) or "nothing that the recogniser knows"
        yield f"Sounds like {word}: {alike}"
