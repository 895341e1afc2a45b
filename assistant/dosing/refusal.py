"""A dose that is not given."""

from assistant.errors import BadInput


class NoDose(BadInput):
    """There is no answer to this question; the text is one sentence to be spoken, saying why."""
