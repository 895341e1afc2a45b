"""What is wrong with a value and what may stand there, in plain words.

The models are pydantic's; its own messages speak of tuples, patterns and validation.
"""

import unicodedata
from typing import Any

from pydantic import BaseModel

from assistant.files.known_keys import keys_at, likely_one
from assistant.files.word_forms import (
    FOLDER_PATTERN,
    IDENTIFIER_FORM,
    IDENTIFIER_PATTERN,
    SUM_PATTERN,
)

_ALLOWED = {
    "missing": "a value for this key",
    "extra_forbidden": "only the keys that docs/site-files.md lists",
    "string_type": "text",
    "string_too_short": "text of at least {min_length} characters",
    "string_too_long": "text of at most {max_length} characters",
    "string_pattern_mismatch": "{pattern}",
    "bool_type": "true or false",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "decimal_type": "a number",
    "decimal_parsing": "a number",
    "finite_number": "a number",
    "tuple_type": "a list",
    "dict_type": "keys with their values",
    "model_type": "keys with their values",
    "model_attributes_type": "keys with their values",
    "too_short": "at least {min_length}",
    "too_long": "at most {max_length}",
    "greater_than": "more than {gt}",
    "greater_than_equal": "at least {ge}",
    "less_than": "less than {lt}",
    "less_than_equal": "at most {le}",
    "enum": "{expected}",
    "literal_error": "{expected}",
    "union_tag_invalid": "one of {expected_tags} as its kind",
    "union_tag_not_found": "a value for its kind",
    "date_parsing": "a day, such as 2026-03-01",
    "date_from_datetime_parsing": "a day, such as 2026-03-01",
}
_FORMS = {
    IDENTIFIER_PATTERN: IDENTIFIER_FORM,
    SUM_PATTERN: "a sum as `check --sign` writes it, 64 digits and letters from a to f",
    FOLDER_PATTERN: "small letters, digits, dots, hyphens and underscores",
}
_KINDS = ("union_tag_invalid", "union_tag_not_found")
_LONGEST = 60
_SMALL = {0: "none", 1: "one", 2: "two", 3: "three"}


class WrongWithinError(ValueError):
    """Raised by a part's own check of how its values go together: which of them is wrong.

    `allowed` says what may stand there, `within` leads to it from the part that is checked.
    """

    def __init__(self, allowed: str, *within: int | str) -> None:
        super().__init__(allowed)
        self.within = within


def place(error: Any) -> tuple[int | str, ...]:
    """Where it is, of one of pydantic's errors: the key itself and not all around it."""
    if error["type"] in _KINDS:
        return (*error["loc"], "kind")
    return (*error["loc"], *_within(error))


def found(error: Any) -> str:
    """What stands there, of one of pydantic's errors."""
    if error["type"] in ("missing", "union_tag_not_found"):
        return "nothing"
    if error["type"] == "union_tag_invalid":
        return shown(error["ctx"]["tag"])
    if error["type"] == "extra_forbidden":
        return f"an unknown key{_foreign(error['loc'][-1])}"
    value = error["input"]
    for step in _within(error):
        there = step in value if isinstance(value, dict) else isinstance(value, list)
        value = value[step] if there else None
    return shown(value)


def _within(error: Any) -> tuple[int | str, ...]:
    raised = error.get("ctx", {}).get("error")
    return raised.within if isinstance(raised, WrongWithinError) else ()


def allowed(error: Any, model: type[BaseModel] | None = None) -> str:
    """What may stand there; for an unknown key of `model` also the one that is likely meant."""
    kind, limits = error["type"], dict(error.get("ctx", {}))
    if kind == "string_too_short" and limits["min_length"] == 1:
        return "some text"
    if kind == "string_pattern_mismatch":
        limits["pattern"] = _FORMS.get(limits["pattern"], f"text of the form {limits['pattern']}")
    if kind.endswith(("too_short", "too_long")):
        limits = {name: _SMALL.get(limit, limit) for name, limit in limits.items()}
    message: str = error["msg"]
    if kind == "extra_forbidden" and model is not None:
        likely = likely_one(error["loc"][-1], keys_at(model, error["loc"][:-1]))
        if likely is not None:
            return f"{_ALLOWED[kind]}, such as {likely}"
    text = _ALLOWED[kind].format(**limits) if kind in _ALLOWED else message
    for opening in ("Input should be ", "Value error, "):
        text = text.removeprefix(opening)
    return text[:1].lower() + text[1:]


def _foreign(key: int | str) -> str:
    """The letter of a key that only looks like one of its others, where there is one."""
    letters = [sign for sign in str(key) if sign.isalpha()]
    foreign = next((sign for sign in letters if not sign.isascii()), None)
    if foreign is None or not any(sign.isascii() for sign in letters):
        return ""
    return f" with the letter {foreign} ({unicodedata.name(foreign, 'unnamed').lower()})"


def written_key(key: int | str) -> str:
    """A key on one line, not longer than a line."""
    text = str(key) if str(key).isprintable() and str(key) else repr(key)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 3]}..."


def shown(value: object) -> str:
    """A value as YAML has it, not longer than a line."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    text = repr(value)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 3]}..."
