"""Words that make a phrase no plain yes: a denial, a doubt, a question; and words of mere assent.

For checking what a site lists, not for hearing. In Korean 없음 ("there is none") is left out, as
"네 이상 없음" says that all is well.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from assistant.language.tongue import Language

_PERSON = r"(?:i|we|you|he|she|they)"
_SUBJECT = (
    r"(?:i|we|you|he|she|they|it|there|the|this|that|these|those|both|all|any|anyone|anybody|"
    r"everyone|everybody|everything|his|her|our|your|their)"
)


@dataclass(frozen=True, slots=True)
class _Words:
    """Of one language."""

    denial: re.Pattern[str]
    question: re.Pattern[str]
    assent: re.Pattern[str]
    around: re.Pattern[str]
    """What stands with an assent and is none by itself: "that's it" ends a list."""
    out: re.Pattern[str]


_WORDS: Final[Mapping[Language, _Words]] = MappingProxyType(
    {
        "en": _Words(
            denial=re.compile(
                r"\b(no|not|never|nope|none|nothing|nobody|neither|nor|without|cannot|negative|"
                r"incorrect|\w+n't|almost|nearly|hardly|barely|maybe|perhaps|probably|hopefully|"
                r"presumably|should|think|guess|suppose|if|unless|whether|yet)\b"
            ),
            # "Have it" and "did that" answer; "have you it" and "did we" ask.
            question=re.compile(
                rf"^(?:is|are|was|were) {_SUBJECT}\b"
                rf"|^(?:am|do|does|did|have|has|had|can|could|shall|will|would|may) {_PERSON}\b"
                r"|^(?:does|has|can|could|shall|will|would) (?:it|that|this|the|everyone|both) "
                r"|^(?:what|what's|who|who's|whose|why|how|how's|where's)\b"
                r"|\b(?:is it|is he|is she|are we|are they)$"
            ),
            assent=re.compile(r"(?:yes|yeah|yep|yup|aye|okay|right|correct|affirmative|confirmed)"),
            around=re.compile(r"(?:it|is|that|that's)"),
            # "Stylet out, tube in" tells what is in.
            out=re.compile(r"^(?!.*\b(?:in|through)\b).*\bout\b|\b(?:gullet|o?esophag\w+)\b"),
        ),
        "ko": _Words(
            denial=re.compile(r"(?:^|\s)(아니\S*|아닙니다|아직|안|못|않\S*|거의|아마)(?=\s|$)"),
            question=re.compile(r"(?:까|나요)$"),
            assent=re.compile(r"(?:네|예|응|맞\S*)"),
            around=re.compile(r"습니다"),
            out=re.compile(r"(?:^|\s)(?:제거|빠\S*|식도\S*)(?=\s|$)"),
        ),
    }
)


def denied_in(words: str, language: Language) -> str | None:
    """The first word that denies or doubts what a phrase says; None where all of it says so."""
    found = _WORDS[language].denial.search(words)
    return None if found is None else found[1]


def asks(words: str, language: Language) -> bool:
    """Whether it is put as a question: "are both working", "all done is it"."""
    return _WORDS[language].question.search(words) is not None


def only_assents(words: str, language: Language) -> bool:
    """Whether nothing but a yes is in it: "yes it is", and not "yes it's on"."""
    known = _WORDS[language]
    return all(known.assent.fullmatch(one) or known.around.fullmatch(one) for one in words.split())


def says_yes(words: str, language: Language) -> bool:
    """Whether it is a yes and nothing else: "yes that's it", and not "that's it"."""
    assent = _WORDS[language].assent
    return only_assents(words, language) and any(map(assent.fullmatch, words.split()))


def tells_of_out(words: str, language: Language) -> bool:
    """Whether it says of something that it is out, or where it should not be."""
    return _WORDS[language].out.search(words) is not None
