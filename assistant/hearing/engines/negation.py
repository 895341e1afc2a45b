"""What a confirmation becomes with a "not" in it: "the tube isn't in" is one soft sound away."""

import re

_VERB = re.compile(r"\b(is|are|has|have|was|were|does)\b")
_SPEAKER = re.compile(r"(i|we) ")
_NOT_DONE = (" didn't", " don't", " haven't", " did not", " have not", " never", "'ll", " will")
"""What "we tested the wave" may become: not done, or only meant, as in "we'll test the wave". That
"tested" then should be "test" is left as it is: "passed the tube" and "pass the tube" sound the
same."""


def negated(words: str) -> tuple[str, ...]:
    """The phrase denied: its last verb contracted and spelt out, and "not" before all of it.

    Where there is no verb that takes a "not": when the speaker says what was done, with all that
    denies a deed; else with a "not" before each of its words.
    """
    verbs = list(_VERB.finditer(words))
    if not verbs:
        if speaker := _SPEAKER.match(words):
            deed = words[speaker.end() :]
            return tuple(f"{speaker[1]}{denial} {deed}" for denial in _NOT_DONE)
        said = words.split()
        return tuple(" ".join((*said[:at], "not", *said[at:])) for at in range(len(said)))
    verb = verbs[-1] if words.endswith(verbs[-1][0]) else verbs[0]
    head, tail = words[: verb.end()], words[verb.end() :]
    return (f"{head}n't{tail}", f"{head} not{tail}", f"not {words}")
