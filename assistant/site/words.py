"""The forms that words take in a site's files."""

from typing import Annotated

from pydantic import Field

Identifier = Annotated[str, Field(pattern=r"^[a-z][a-z0-9-]*$")]
Spoken = Annotated[str, Field(min_length=2)]
"""Words that are said aloud by the assistant, with ordinary punctuation."""
Utterance = Annotated[str, Field(pattern=r"^[a-z' ]+$")]
"""Words that a person says: lower case, no digits, no punctuation."""
