"""A yes, as a site lists it, that denies, doubts or asks; a no that is a mere yes; and words for
what turns the case that tell the opposite."""

from collections.abc import Iterator

from assistant.brief.decisions import SiteDecisions
from assistant.files.faults import Fault
from assistant.language.denials import asks, denied_in, only_assents, says_yes, tells_of_out
from assistant.language.opposites import told_otherwise
from assistant.site.phrase_places import Place, phrase_places

ITEMS_OWN = ("confirmations", "plain_answers")
SITES_OWN = (
    *("confirm", "plain_yes", "go_ahead", "drug_given", "pulse_back"),
    *("attempt_start", "drugs_in", "tube_in", "rescue_in", "neck_open"),
)
"""What tells that something is so, or is in. A vital word that is itself a no ("can't oxygenate"),
and what tells that something failed, may hold one."""
IN = ("tube_in", "rescue_in", "neck_open")
_NOES = ("decline", "denied")


def yes_faults(site: SiteDecisions) -> Iterator[tuple[str, Fault]]:
    """A fault for each of them, with its file."""
    places = list(phrase_places(site))
    noes: set[tuple[str | None, str]] = {
        (one.item, one.words) for one in places if one.item and one.meaning in _NOES
    }
    for place in places:
        wrong = _as_a_yes(place, site, noes) or _as_a_no(place, site) or _otherwise(place, site)
        if wrong is not None:
            yield place.file, Fault(place.loc, *wrong)


def _as_a_yes(
    place: Place, site: SiteDecisions, noes: set[tuple[str | None, str]]
) -> tuple[str, str] | None:
    """What is wrong with a phrase that confirms, and what is allowed."""
    words, language = place.words, site.wording.language
    if place.key not in (*ITEMS_OWN, "plain_noes", *SITES_OWN):
        return None
    if (place.item, words) in noes:
        return repr(words), f"in one of {place.key}, not_yet and denied_by of {place.item} only"
    if asks(words, language):
        return f"{words!r}, which asks", "words that say that it is so"
    if place.key in IN and tells_of_out(words, language):
        return repr(words), "words that say that it is in"
    denial = denied_in(words, language)
    if denial is None or place.key == "plain_noes":
        return None
    instead = "; under plain_noes where just that says so" if place.key in ITEMS_OWN else ""
    return f"{words!r}, with {denial!r} in it", f"words that say without it that it is so{instead}"


def _as_a_no(place: Place, site: SiteDecisions) -> tuple[str, str] | None:
    """ "It's on" may be a no where a collar is to be off, a mere yes never; nor does it say that
    there is nothing special."""
    words, language = place.words, site.wording.language
    if place.meaning in _NOES and only_assents(words, language):
        return f"{words!r}, a mere yes", "words that tell what is not so"
    if place.meaning == "no_feature" and says_yes(words, language):
        return f"{words!r}, a mere yes", "words that tell that there is nothing, or nothing more"
    return None


def _otherwise(place: Place, site: SiteDecisions) -> tuple[str, str] | None:
    word = told_otherwise(place.words, place.meaning, site.wording.language)
    if word is None:
        return None
    meaning = place.meaning.replace("_", " ")
    return f"{place.words!r}, with {word!r} in it", f"words that tell just this: {meaning}"
