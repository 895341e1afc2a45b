"""Sentences with places to be filled in: which `{names}` a site's sentence may have, and must."""

from dataclasses import dataclass
from string import Formatter
from typing import Annotated, Any

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import core_schema

Template = Annotated[str, Field(min_length=1)]
"""Words that are said aloud with something filled in; what, one of these functions says."""


@dataclass(frozen=True, slots=True)
class Placeholders:
    """Which a phrase must use, each once, and which it may use besides; pydantic asks it."""

    names: tuple[str, ...]
    perhaps: tuple[str, ...] = ()

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_after_validator_function(self._checked, handler(source))

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {**handler(schema), "form": self._form()}

    def _checked(self, phrase: str) -> str:
        used, names = _placeholders(phrase), self.names
        if not set(used) <= {*names, *self.perhaps} or any(used.count(one) != 1 for one in names):
            raise ValueError(_wanted(names, self.perhaps))
        return phrase

    def _form(self) -> str:
        """As docs/site-files.md has it."""
        text = f"text with {_listed(self.names)}" if self.names else "text"
        return f"{text}, perhaps with {_listed(self.perhaps)}" if self.perhaps else text


def only(*names: str) -> Placeholders:
    """A phrase may use these placeholders and no others."""
    return with_all(perhaps=names)


def all_of(*names: str) -> Placeholders:
    """A phrase must use each of these placeholders once and no others: nothing is left out."""
    return with_all(*names)


def with_all(*names: str, perhaps: tuple[str, ...] = ()) -> Placeholders:
    """A phrase must use each of `names` once, and may use those of `perhaps`."""
    return Placeholders(names, perhaps)


def _placeholders(phrase: str) -> list[str]:
    """Their names; one that is not closed, or is more than a name, has a name that nothing has."""
    try:
        parts = list(Formatter().parse(phrase))
    except ValueError:
        return ["{"]
    named = [(name, form, turned) for _, name, form, turned in parts if name is not None]
    return [name if not (form or turned) else "{" for name, form, turned in named]


def _wanted(names: tuple[str, ...], perhaps: tuple[str, ...]) -> str:
    if not names and not perhaps:
        return "a phrase with no placeholder"
    if not names:
        return f"a phrase with only these placeholders: {_listed(perhaps)}"
    each = f"a phrase with each of these placeholders once: {_listed(names)}"
    return f"{each}; perhaps {_listed(perhaps)}" if perhaps else each


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(f"{{{name}}}" for name in names)
