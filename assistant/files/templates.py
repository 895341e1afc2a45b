"""Sentences with places to be filled in: which `{names}` a site's sentence may have, and must."""

from string import Formatter
from typing import Annotated

from pydantic import AfterValidator, Field

Template = Annotated[str, Field(min_length=1)]
"""Words that are said aloud with something filled in; what, one of these functions says."""


def only(*names: str) -> AfterValidator:
    """A phrase may use these placeholders and no others."""
    return with_all(perhaps=names)


def all_of(*names: str) -> AfterValidator:
    """A phrase must use each of these placeholders once and no others: nothing is left out."""
    return with_all(*names)


def with_all(*names: str, perhaps: tuple[str, ...] = ()) -> AfterValidator:
    """A phrase must use each of `names` once, and may use those of `perhaps`."""

    def check(phrase: str) -> str:
        used = _placeholders(phrase)
        if not set(used) <= {*names, *perhaps} or any(used.count(name) != 1 for name in names):
            raise ValueError(_wanted(names, perhaps))
        return phrase

    return AfterValidator(check)


def _placeholders(phrase: str) -> list[str]:
    """Their names; one that is not closed, or is more than a name, has a name that nothing has."""
    try:
        parts = list(Formatter().parse(phrase))
    except ValueError:
        return ["{"]
    named = [(name, form, turned) for _, name, form, turned in parts if name is not None]
    return [name if not (form or turned) else "{" for name, form, turned in named]


def _wanted(names: tuple[str, ...], perhaps: tuple[str, ...]) -> str:
    each = f"a phrase with each of these placeholders once: {_listed(names)}" if names else ""
    if not names:
        listed = _listed(perhaps) or "no placeholder"
        return f"a phrase with only these placeholders: {listed}"
    return f"{each}; perhaps {_listed(perhaps)}" if perhaps else each


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(f"{{{name}}}" for name in names)
