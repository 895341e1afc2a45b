"""What a confirmation, a choice or a role becomes when it is denied or only meant.

"The tube isn't in" is one soft sound from "the tube is in", and "I'll pass it" from "I passed it".
"""

from dataclasses import dataclass

from assistant.language.verbs import AUXILIARY, forms_of, holds_auxiliary, verbs_of

_SPEAKERS = ("i", "we")
CONDITIONS = (
    *("after", "although", "as", "as long as", "as soon as", "because", "before", "even if", "if"),
    *("in case", "lest", "now that", "once", "only if", "provided", "providing", "since"),
    *("so that", "suppose", "supposing", "though", "till", "unless", "until", "when", "where"),
    *("whether", "while", "assuming", "hopefully", "maybe", "perhaps", "presumably", "probably"),
    *("i hope", "i think"),
)
"""English has but few words that make a condition, a part of something else or a guess of a whole
sentence, and noise can swallow any of them. "And", "so", "but" and "then" leave it a statement."""
_NOBODY = ("yes",)
_HELPERS = {
    one: f"{one}n't"
    for one in ("is", "are", "have", "had", "do", "did", "would", "could", "should")
} | {"can": "can't", "will": "won't"}
"""What a verb leans on, and that denied; besides the auxiliaries, where they stand in full. "Can't"
is hardly more than "can"."""
_SHORT_FOR = {"'s": "is", "'re": "are", "'ve": "have", "'ll": "will"}
_NOT_SO = ("isn't", "aren't")
BEFORE_AN_ANSWER = (
    *("if", "when", "once", "unless", "until", "as soon as", "provided", "in case", "check if"),
    *("nearly", "almost", "maybe", "perhaps", "probably", "i think", "should be", "will be"),
    *("is it", "is the", "are we", "was that", "what's", "who's", "have you got", "make sure"),
    *("no", "never", "no longer", "isn't", "it isn't", "not quite", "not all", "get", "hardly"),
)
AFTER_AN_ANSWER = (
    "soon",
    "not yet",
    "no",
    "is it",
    "or not",
    "but",
    "if",
    "in a minute",
    "nearly",
)
"""What people put before and after a few words without a verb, and take back what they say."""
_OPPOSITES = {
    one: other
    for pair in (
        ("on", "off"),
        ("in", "out"),
        ("up", "down"),
        ("above", "below"),
        ("left", "right"),
        ("open", "closed"),
        ("full", "empty"),
        ("good", "bad"),
    )
    for one, other in (pair, pair[::-1])
} | {"both": "one", "all": "none", "everyone": "nobody", "everybody": "nobody", "safe": "unsafe"}
"""Short words that are never said for each other and of which one denies the other: "it's off"."""


@dataclass(frozen=True, slots=True)
class _Deed:
    """Who did something, and the forms of what was done."""

    who: str
    between: str
    """What stands between the two, with a space after it: "all" in "we all listened"."""
    did: str
    what: str
    """All that follows, with a space before it."""

    @property
    def do(self) -> str:
        """The verb by itself: "take" of "took"."""
        return verbs_of(self.did)[0]

    @property
    def done(self) -> str:
        """Its participle: "taken"."""
        return forms_of(self.do, "VBN")[0]

    @property
    def sounds_apart(self) -> bool:
        """Whether no other form of the verb sounds like it: "took", not "sealed", nor "brought", of
        which "have we brought" is one soft sound away.
        """
        return self.did not in (self.do, self.done) and not self.did.endswith("ed")

    def denials(self) -> tuple[str, ...]:
        """Not done, not yet or only nearly, only meant, or asked after."""
        do, done = self.do, self.done
        several = self.who in _SPEAKERS or self.who.endswith("s")
        has, does = ("have", "don't") if several else ("has", "doesn't")
        ways = (
            *(f" {never} {do}" for never in ("didn't", does, "did not")),
            *(f" {has}{never} {done}" for never in ("n't", " not")),
            f" never {self.did}",
            f" nearly {self.did}",
            *(f"{will} {do}" for will in ("'ll", " will")),
        )
        if self.sounds_apart and self.did in forms_of(do, "VBD"):
            # "We take" of "we took"; but "we seal" would deny every "we sealed".
            ways += (f" {do if several else forms_of(do, 'VBZ')[0]}",)
        asked = (f"{has} {self.who} {self.between}{done}", f"did {self.who} {self.between}{do}")
        return (
            *map(self._with, ways),
            *(f"{question}{self.what}" for question in asked),
        )

    def _with(self, way: str) -> str:
        helper, _, verb = way.rpartition(" ")
        return f"{self.who}{helper} {self.between}{verb}{self.what}"


def denials(words: str) -> tuple[str, ...]:
    """All that sounds like the phrase and does not confirm it.

    With an auxiliary, that contracted and spelt out, and "not" before all of it. Without one: what
    somebody did as not done, only meant or asked after; an order with "don't"; and anything else
    with a "not" before each of its words, and in place of the first: "not done" of "that's done",
    "not working" of "both working". And what has a verb that is short or left out with that denied.
    """
    auxiliaries = list(AUXILIARY.finditer(words))
    if auxiliaries:
        at = auxiliaries[-1 if words.endswith(auxiliaries[-1][0]) else 0]
        head, tail = words[: at.end()], words[at.end() :]
        return (f"{head}n't{tail}", f"{head} not{tail}", f"not {words}")
    said = words.split()
    helped = _with_its_helper_denied(said)
    if helped:
        return (*_with_a_not(said), *helped)
    stated = _stated_otherwise(said)
    if deed := _deed(said):
        # The "masks" of "gloves and masks on" looks like a verb: then the one left out counts too.
        return deed.denials() if deed.who in _SPEAKERS else (*deed.denials(), *stated)
    if len(said) > 1 and said[0] in verbs_of(said[0]):
        return (*(f"{no} {words}" for no in ("don't", "do not", "not")), *stated)
    return (*_with_a_not(said), *stated)


def _with_a_not(said: list[str]) -> tuple[str, ...]:
    elliptic = len(said) > 1 and said[0] != "not"
    return (
        *(" ".join((*said[:at], "not", *said[at:])) for at in range(len(said))),
        *((" ".join(("not", *said[1:])),) if elliptic else ()),
    )


def _with_its_helper_denied(said: list[str]) -> tuple[str, ...]:
    """ "It isn't on" of "it's on", "we can't see them" of "we can see them"; nothing where there is
    no such word."""
    for at, word in enumerate(said):
        stem, _, short = word.partition("'")
        helper = _SHORT_FOR.get(f"'{short}") if short else word
        if helper in _HELPERS:
            before = (*said[:at], stem) if short else tuple(said[:at])
            return (" ".join((*before, _HELPERS[helper], *said[at + 1 :])),)
    return ()


def _stated_otherwise(said: list[str]) -> tuple[str, ...]:
    """What is said without its verb, with that denied: "the collar isn't off" of "collar off".
    Nothing of a mere yes, nor of an order."""
    if len(said) == 1 or said[0] in _NOBODY or said[1] == "the":
        return ()
    places = dict.fromkeys((1, len(said) - 1))
    return tuple(" ".join((*said[:at], no, *said[at:])) for at in places for no in _NOT_SO)


def conditions(words: str) -> tuple[str, ...]:
    """A statement as a condition, a part of something else or a guess: "if we saw the wave come";
    nothing of an order, or of what has no verb.
    """
    states = AUXILIARY.search(words) or _deed(words.split())
    return tuple(f"{one} {words}" for one in CONDITIONS) if states else ()


def doubts_before(words: str) -> tuple[str, ...]:
    """A plain answer behind what takes it back: "nearly drawn up", "is it drawn up"."""
    return tuple(f"{one} {words}" for one in BEFORE_AN_ANSWER)


def doubts_after(words: str) -> tuple[str, ...]:
    """A plain answer before what takes it back: "drawn up soon", "drawn up or not"."""
    return tuple(f"{words} {one}" for one in AFTER_AN_ANSWER)


def opposites(words: str) -> tuple[str, ...]:
    """A plain answer with one of its words turned into its opposite: "it's off" of "it's on"."""
    said = words.split()
    return tuple(
        " ".join((*said[:at], _OPPOSITES[word], *said[at + 1 :]))
        for at, word in enumerate(said)
        if word in _OPPOSITES
    )


def is_near_its_denial(words: str) -> bool:
    """Whether the phrase sounds like one of its denials.

    "The tube is in" does, for its "isn't", and "we sealed the mask", for "we'll seal the mask";
    "we took the collar off" does not, nor what has no verb, nor "the attempt failed", as the "'ll"
    after a noun is a syllable of its own.
    """
    if holds_auxiliary(words):
        return True
    deed = _deed(words.split())
    return deed is not None and deed.who in _SPEAKERS and not deed.sounds_apart


def is_another_form(word: str, of: str) -> bool:
    """Whether both are forms of one verb and mean different times: "drawing" of "drawn".

    Two ways to write the same one do not: "labelled", "labeled".
    """
    verbs = set(verbs_of(word)) & set(verbs_of(of))
    past = {form for verb in verbs for tense in ("VBD", "VBN") for form in forms_of(verb, tense)}
    return bool(verbs) and not {word, of} <= past


def _deed(said: list[str]) -> _Deed | None:
    """The verb after whoever did it: the first one after a speaker, else one that shows its tense,
    the past before the present, as "drugs" is also a form of a verb.
    """
    if said[0] in _SPEAKERS:
        at = next((at for at, word in enumerate(said) if at and verbs_of(word)), None)
        between = "".join(f"{one} " for one in said[1:at])
        return None if at is None else _Deed(said[0], between, said[at], _after(said, at))
    for tense in ("VBD", "VBZ"):
        for at, word in enumerate(said):
            if at and said[0] not in _NOBODY and _is(word, tense):
                return _Deed(" ".join(said[:at]), "", word, _after(said, at))
    return None


def _after(said: list[str], at: int) -> str:
    return "".join(f" {one}" for one in said[at + 1 :])


def _is(word: str, tense: str) -> bool:
    """Whether it is that form of a verb, and no other."""
    verbs = verbs_of(word)
    return word not in verbs and any(word in forms_of(verb, tense) for verb in verbs)
