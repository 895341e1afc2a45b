"""The forms that words take in a site's files, in whatever script the site writes."""

import unicodedata
from typing import Annotated

from pydantic import AfterValidator, Field

from assistant.files.templates import only

UTTERANCE_FORM = "words without digits or punctuation"
RESPELLING_FORM = "words, with hyphens if need be, without digits or other punctuation"
IDENTIFIER_PATTERN = r"^[a-z][a-z0-9-]*$"
SUM_PATTERN = r"^[0-9a-f]{64}$"
FOLDER_PATTERN = r"^[a-z0-9][a-z0-9._-]{0,63}$"
IDENTIFIER_FORM = "small letters, digits and hyphens, beginning with a letter"


def as_said(text: str, also: str = "") -> str:
    """Words as they are listened for: composed (NFC), lower case, single spaces.

    Letters of any script, the marks that belong to them, and the apostrophe; `also` lists further
    characters. Lower case and not case-folded, which would take "ß" from words that a model knows.
    Raises ValueError, which names the first character that nobody says.
    """
    words = (
        unicodedata.normalize("NFC", text).lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
    )
    for sign in words:
        if not (unicodedata.category(sign)[0] in "LM" or sign in "' " or sign in also):
            raise ValueError(f"{_form(also)}, which {sign!r} is not: write it as it is said")
    if not words.strip():
        raise ValueError(_form(also))
    return " ".join(words.split())


def _form(also: str) -> str:
    return RESPELLING_FORM if also else UTTERANCE_FORM


def _respelling(text: str) -> str:
    words = as_said(text, also="-")
    if not unicodedata.category(words[0]).startswith("L"):
        raise ValueError(f"{RESPELLING_FORM}, beginning with a letter")
    return words


def _continuing(text: str) -> str:
    if unicodedata.category(text[:1] or " ") not in ("Ll", "Lo"):
        raise ValueError("words that go on in a sentence: no capital or digit at their beginning")
    return text


Identifier = Annotated[
    str, Field(pattern=IDENTIFIER_PATTERN, json_schema_extra={"form": IDENTIFIER_FORM})
]
Spoken = Annotated[str, Field(min_length=1), only()]
"""Words that are said aloud by the assistant, with ordinary punctuation; nothing is filled in."""
Sentence = Annotated[
    str, Field(pattern=r".[.!。]$", max_length=80, json_schema_extra={"form": "a short sentence"})
]
"""Words that are said aloud between other sentences, with a full stop at their end."""
Utterance = Annotated[
    str, AfterValidator(as_said), Field(json_schema_extra={"form": UTTERANCE_FORM})
]
"""Words that a person says, in any script: no digits, no punctuation."""
Respelling = Annotated[
    str, AfterValidator(_respelling), Field(json_schema_extra={"form": RESPELLING_FORM})
]
"""What a speech model writes for a name it does not know: "rock uronium"."""
Continuing = Annotated[
    str,
    AfterValidator(_continuing),
    Field(min_length=2, json_schema_extra={"form": "words that go on in a sentence"}),
]
"""Words in the middle of a sentence: "for paralysis"."""
