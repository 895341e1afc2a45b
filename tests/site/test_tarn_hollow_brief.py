"""The brief of Tarn Hollow: it reads, it says where it comes from, and it covers its trade."""

import re
from collections import Counter
from difflib import SequenceMatcher
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest

from assistant.brief.brief import Brief
from assistant.brief.case import Case
from assistant.brief.confirmed_items import PlanItem, TimedItem
from assistant.brief.item import Option, Standing
from assistant.brief.items import ITEM_KINDS, AnyItem
from assistant.brief.phases import Phase
from assistant.brief.states import VITAL
from assistant.brief.valued_items import ChooseItem, NumberItem
from assistant.files.yaml_files import read_yaml
from assistant.language.numbers import wordings
from assistant.phrasebook.phrasebook import Phrasebook
from tests.tarn_hollow import SITE

ROOT = Path(__file__).parents[2]
BRIEF = ROOT / "configs" / "tarn-hollow" / "brief.yaml"
WORDING = ROOT / "configs" / "tarn-hollow" / "wording.yaml"
SOURCES = ROOT / "docs" / "brief-sources.md"

ANSWERS = {
    "confirm", "confirmed", "affirmative", "yes", "yeah", "yep", "agreed", "correct", "okay",
    "check", "checked", "done", "no", "nope", "not", "never", "negative", "wait", "later", "skip",
    "repeat", "again", "why", "stop", "resume",
}  # fmt: skip
"""Words a site is likely to take for an answer or a command: a question that held one could be
heard as its own answer (common practice of spoken interfaces, no source)."""

SHORT_OPTIONS = {"me", "fluid"}
"""Nobody says anything longer than "me", and "fluid" has two syllables though its vowels touch. The
name that is taken is said back before the next call."""
NOT_ROLES = {"speaker", "nobody"}
DECLINES = {"no", "not", "never", "nothing", "none", "without", "nope", "negative", "cannot"}
AUXILIARIES = {"is", "are", "am", "was", "were", "be", "been", "has", "have", "had", "do", "does",
    "did", "can", "could", "will", "would", "should"}  # fmt: skip
NUMBERS = {word for n in range(301) for said in wordings(n) for word in said.split()} - {"and", "a"}

COVERED = {
    # The minutes before; the published source of each stands in docs/brief-sources.md.
    "denitrogenation at flush rate": ("oxygen-on", "flush rate"),
    "three minutes": ("oxygen-on", "three minutes"),
    "or eight vital-capacity breaths": ("oxygen-on", "eight as deep"),
    "oxygenation apart from denitrogenation": ("saturation", "ninety-six percent or more"),
    "pressure support when it stays below": ("saturation", "positive pressure"),
    "one call at 93 percent": ("saturation-call", "one call at ninety-three"),
    "one breath every six seconds": ("bagging-rate", "one breath every six seconds"),
    "faster for the acidotic": ("bagging-rate", "faster, for the acid"),
    "slower for the obstructed": ("bagging-rate", "slower, for trapped air"),
    "head up 30 degrees": ("head-up", "thirty degrees"),
    "ear level with sternal notch": ("ear-and-face", "ear level with sternal notch"),
    "face parallel to the ceiling": ("ear-and-face", "face parallel to the ceiling"),
    "collar off": ("collar", "collar off"),
    "in-line hold": ("collar", "in line"),
    "nasal oxygen at 15 litres a minute": ("nasal-oxygen", "fifteen litres a minute"),
    "two working suctions": ("suction", "two suctions working"),
    "capnography tested before": ("capnograph", "wave been tested"),
    "up to three attempts": ("failed-attempts", "up to three attempts"),
    "each attempt changes something": ("failed-attempts", "each one changes something"),
    "then a supraglottic airway": ("failed-attempts", "supraglottic airway"),
    "then a front-of-neck airway": ("failed-attempts", "front of the neck"),
    "who makes the first attempt": ("first-attempt", "who"),
    "who makes the next attempt": ("next-attempt", "changes hands"),
    "who goes through the neck": ("front-of-neck", "front of the neck"),
    "neck felt beforehand": ("neck-felt", "gap below the larynx"),
    "neck opened by the plan": ("rescue-kit", "stays shut until the plan"),
    "sedation ordered before induction": ("sedation-ordered", "already ordered"),
    "pressure raised before the drugs": ("pressure-held", "raised first"),
    "what helps the oxygen": ("oxygen-help", "agreed beforehand"),
    "allergies": ("allergies", "allergic"),
    "pressor labelled apart": ("pressor", "labelled, and kept apart"),
    "mouth opening": ("mouth-and-teeth", "mouth opening"),
    "teeth": ("mouth-and-teeth", "teeth"),
    "monitors that work": ("monitors", "reading"),
    "monitors that can be seen": ("monitors", "everyone sees"),
    "tested access": ("access", "flushed"),
    "stomach": ("stomach", "stomach"),
    "bag with its PEEP valve": ("bag-and-valve", "peep valve"),
    "laryngoscope": ("first-laryngoscope", "laryngoscope"),
    "tubes and spares": ("tubes-and-spares", "spares"),
    "rescue kit": ("rescue-kit", "supraglottic airway"),
    "neck set within reach": ("rescue-kit", "neck set within reach"),
    "help with larynx and head": ("helping-hands", "larynx and head"),
    "protective equipment": ("protection", "gloved"),
    "drugs for this weight": ("induction-drugs", "for this weight"),
    # Of some patients, and in some briefs.
    "children are not for it": ("age", "nothing here is for children"),
    "what is special": ("special", "opens the questions that this patient needs"),
    "low pressure raised first": ("pressure", "raised first"),
    "shock before the pressure falls": ("pulse", "shock before the pressure falls"),
    "womb off the vein": ("womb-aside", "pushed over to the left"),
    "smaller tube for a swollen throat": ("smaller-tube", "smaller tube"),
    "pressure in the head": ("head-guarded", "raises the pressure in the head"),
    "failing right heart": ("right-heart-held", "failing right heart"),
    "oxygen to both ways": ("oxygen-to-neck", "at the neck and at the face"),
    "which way in": ("way-in", "through the neck, or through the mouth"),
    "the last tube": ("last-look", "last tube"),
    "numb and tried": ("throat-numbed", "tested"),
    "light sedation": ("light-sedation", "kept light"),
    "asleep only after the wave": ("sleep-waits", "until the wave is seen"),
    "what ends an awake look": ("when-to-stop", "what ends this"),
    "what failed after extubation": ("what-failed", "throat, breathing, cough"),
    # On the way.
    "gentle breaths while asleep": ("pace-asleep", "gentle breaths"),
    "no faster between attempts": ("pace-between", "squeezed too fast"),
    "something changes": ("what-changes", "what changes"),
    "who makes this one": ("who-goes-next", "who makes"),
    "oxygen back first": ("oxygen-back", "back at ninety-six percent or more"),
    "who places the supraglottic airway": ("supraglottic-who", "who places"),
    "ventilation through it": ("supraglottic-wave", "wave through it"),
    "what then": ("next-step", "buys time"),
    "neck extended": ("neck-extended", "neck extended"),
    "relaxed for the neck": ("neck-relaxed", "fully relaxed"),
    "windpipe and not beside it": ("neck-wave", "beside the windpipe"),
    "held until tied": ("neck-held", "until it is tied"),
    "reversal before waking": ("relaxant-reversed", "relaxant reversed"),
    "upright to wake": ("upright-with-oxygen", "sitting up"),
    # After the tube.
    "sustained carbon dioxide over seven breaths": (
        "sustained-carbon-dioxide",
        "after seven breaths",
    ),
    "depth": ("tube-depth", "at the teeth"),
    "fixation": ("tube-fixed", "fixed at that depth"),
    "both sides": ("both-sides", "both sides"),
    "analgesia and sedation": ("sedation-running", "pain relief and sedation running"),
    "ventilator volume": ("breath-size", "predicted body weight"),
    "height for the breath": ("patient-height", "size of a breath goes by it"),
    "sex for the predicted weight": ("patient-sex", "predicted weight"),
    "plateau pressure": ("plateau", "thirty or less"),
    "gastric tube": ("stomach-tube", "gastric tube in"),
    "chest film": ("film-and-gas", "chest film"),
    "blood gas": ("film-and-gas", "blood gas"),
    "repeat relaxant": ("relaxant-again", "to be repeated, or left to wear off"),
    "cuff pressure": ("cuff-pressure", "twenty and thirty"),
    "head stays up": ("head-stays-up", "up thirty degrees"),
}
"""Fact of the trade -> the item that covers it, and words that it must say."""


@cache
def brief() -> Brief:
    return read_yaml(BRIEF, Brief).calling_at("ninety-three")


@cache
def tables() -> dict[str, tuple[str, ...]]:
    """Rows of the tables of docs/brief-sources.md, by the key or item id in their first cell."""
    rows: dict[str, tuple[str, ...]] = {}
    for line in SOURCES.read_text(encoding="utf-8").splitlines():
        if named := re.match(r"\| `([a-z0-9-]+)` \|(.*)\|$", line):
            assert named[1] not in rows, f"{named[1]} stands twice"
            rows[named[1]] = tuple(cell.strip() for cell in named[2].split("|"))
    return rows


def said(item: AnyItem) -> str:
    """All that the assistant may say for an item, in lower case."""
    parts = [item.ask, item.why]
    if isinstance(item, ChooseItem):
        parts += [option.called for option in item.options]
    if isinstance(item, PlanItem):
        parts += item.read_aloud
    if isinstance(item, TimedItem):
        parts.append(item.ask_again)
    return " ".join(parts).lower()


def confirmations() -> list[str]:
    return [one for item in brief().items() for one in item.telling_answers]


def words(text: str) -> list[str]:
    return re.findall(r"[a-z']+", text.lower())


def plain(phrase: str) -> str:
    """A phrase without the article before it."""
    return re.sub(r"^(the|an?) ", "", phrase)


def option_groups() -> list[tuple[Option, ...]]:
    return [brief().roster] + [i.options for i in brief().items() if isinstance(i, ChooseItem)]


def test_every_kind_of_item_is_used() -> None:
    """The example shows a site every kind of item, and most of them are plain confirmations."""
    kinds = Counter(item.kind for item in brief().items())

    assert set(ITEM_KINDS) == set(kinds)
    assert kinds["confirm"] > len(list(brief().items())) / 2


def test_it_is_a_brief_and_not_a_book() -> None:
    """About thirty items before the tube in the planned brief, half of them in the usual one; and
    fifteen after it, of which two are mostly known."""
    count = Counter(section.phase for section in brief().sections for _ in section.items)
    whole, usual = Case(brief()), Case(brief())
    whole.known.brief = "planned"

    assert 28 <= len(whole.with_standing(Standing.OPEN)) <= 36
    assert len(usual.with_standing(Standing.OPEN)) <= 16
    assert 9 <= count[Phase.AFTER] <= 15


def test_oxygen_runs_first_and_the_weight_comes_before_the_drugs() -> None:
    """What takes longest starts first, and no drug is asked for before the weight it goes by."""
    order = [item.id for item in brief().items()]

    assert order[0] == "oxygen-on"
    assert order.index("weight") < order.index("induction-drugs")


def test_everything_before_stands_before_everything_after() -> None:
    """Sections stand in the order of the phases, as a reader expects them."""
    phases = [section.phase for section in brief().sections]

    assert phases == sorted(phases, key=list(Phase).index)


def test_oxygen_runs_three_minutes() -> None:
    """Denitrogenation takes three minutes of tidal breaths (`preoxygenation-2012`)."""
    oxygen = next(item for item in brief().items() if isinstance(item, TimedItem))

    assert oxygen.id == "oxygen-on"
    assert oxygen.lasts_s == 180


def test_the_weight_is_an_adult_weight_and_is_set() -> None:
    """Doses hang on this item: it sets the weight and takes 30 to 200 kg only."""
    weight = next(item for item in brief().items() if item.id == "weight")

    assert isinstance(weight, NumberItem)
    assert (weight.sets, weight.low, weight.high) == ("weight_kg", 30, 200)


@pytest.mark.parametrize("fact", COVERED)
def test_a_fact_of_the_trade_is_covered(fact: str) -> None:
    """Each fact that a team relies on is asked or told by a named item."""
    item_id, must_say = COVERED[fact]
    item = next(item for item in brief().items() if item.id == item_id)

    assert must_say in said(item)


def test_every_item_is_held_to_some_fact() -> None:
    """No item is asked for nothing; the weight and the pressure are tested apart."""
    needed = {item_id for item_id, _ in COVERED.values()} | {"weight", "pressure-after"}

    assert {item.id for item in brief().items()} == needed


def test_every_source_is_documented() -> None:
    """Each key an item names has a row with citation, what it supports and how it is known."""
    for item in (*brief().items(), *brief().first_steps):
        for key in item.sources:
            citation, supports, status = tables()[key]
            assert citation
            assert supports
            if key != "common-practice":
                assert re.search(r"\bread\b|from memory", status), key


def test_every_item_stands_in_the_table_with_the_same_sources() -> None:
    """The item-by-item table cannot drift from the brief."""
    for item in (*brief().items(), *brief().first_steps):
        _, sources, _ = tables()[item.id]
        assert tuple(re.findall(r"`([a-z0-9-]+)`", sources)) == item.sources, item.id


def test_no_source_or_item_is_documented_for_nothing() -> None:
    """Every row is an item, or a source of one, or one of the two trials of checklists."""
    items = {item.id for item in (*brief().items(), *brief().first_steps)}
    sources = {key for item in brief().items() for key in item.sources}

    assert set(tables()) == items | sources | {
        "crisis-checklists-2013",
        "intubation-checklist-2018",
    }


def test_questions_are_short_and_are_questions() -> None:
    """One short question for the ear: fewer than twelve words, one question mark, at its end."""
    for item in brief().items():
        assert len(item.ask.split()) < 12, item.ask
        assert item.ask.endswith("?")
        assert len(re.findall(r"[.?!]", item.ask)) == 1, item.ask


def test_reasons_are_short() -> None:
    """Two sentences and some 36 words are what anybody listens to at the bedside."""
    for item in brief().items():
        assert len(item.why.split()) <= 36, item.why
        assert len(re.findall(r"[.?!](?:\s|$)", item.why)) <= 2, item.why


def test_no_question_holds_an_answer() -> None:
    """The assistant's own question, half heard, must not be taken for an answer to it."""
    for item in brief().items():
        assert not ANSWERS & set(words(item.ask)), item.ask
        assert not set(confirmations()) & {item.ask.lower().rstrip("?")}


def test_nothing_spoken_holds_what_a_synthesiser_garbles() -> None:
    """No digits, units in letters or abbreviations: everything is written as it is said."""
    plan = [step.say for step in brief().attempts.after_failure]
    spoken = [said(item) for item in brief().items()] + plan
    raw = [item.ask + item.why for item in brief().items()] + plan

    assert not [text for text in spoken if re.search(r"[\d%/]", text)]
    assert not [text for text in raw if re.search(r"\b[A-Z]{2,}\b", text)]


def test_a_telling_answer_never_sounds_like_a_decline() -> None:
    """No confirming phrase holds a word that would make it a "no"."""
    assert not [one for one in confirmations() if DECLINES & set(one.split())]


def test_a_telling_answer_is_a_statement() -> None:
    """Somebody says what they did or see: neither a question nor an order, as "collar off" may be.

    Without an auxiliary verb: "isn't" is one soft sound away from "is", "we didn't take" is not
    from "we took".
    """
    for one in confirmations():
        assert 3 <= len(one.split()) <= 7, one
        assert one.split()[0] in {"i", "we"}, one
        assert not AUXILIARIES & set(one.split()), one


@pytest.mark.parametrize("command", VITAL)
def test_what_acts_at_once_with_an_auxiliary_is_asked_back(command: str) -> None:
    """Nobody is before a clock starts or stops, but then: "the tube isn't in" must not do it."""
    spoken = Phrasebook(SITE).when_asking("anything").patterns
    phrases = [one for one in spoken if one.meaning == command]

    assert phrases
    for one in phrases:
        assert one.is_asked_back == bool(AUXILIARIES & set(one.words.split())), one.words


def test_no_option_holds_an_auxiliary() -> None:
    """ "The neck isn't marked" must not choose the option that it denies."""
    said = [one for group in option_groups() for option in group for one in option.said]

    assert not [one for one in said if AUXILIARIES & set(one.split())]


def test_a_telling_answer_holds_no_number() -> None:
    """ "Twenty degrees", half heard, must not pass for the thirty that was asked."""
    assert not [one for one in confirmations() if NUMBERS & set(one.split())]


def test_what_counts_only_in_the_answer_window_denies_nothing() -> None:
    """A plain answer holds no word of a decline, but where "no …" is how it is told."""
    plain = {one for item in brief().items() for one in item.told_plainly}

    assert {one for one in plain if DECLINES & set(one.split())} == {
        "no allergies",
        "no allergies known",
        "no dentures",
        "no known allergies",
        "none that we know",
        "none",
        "none known",
        "nothing known",
    }


def test_calls_are_short() -> None:
    """One to six words, one question, and no word that answers it."""
    for item in brief().items():
        call = item.call or ""
        assert 1 <= len(call.split()) <= 6, item.id
        assert len(re.findall(r"[.?!]", call)) == 1 == call.endswith("?"), call


def test_the_vital_items_want_more_than_a_yes() -> None:
    """Oxygen, allergies and the plan are read back, and that an awake patient is not put to sleep
    too early; carbon dioxide has to be told."""
    vital = {item.id for item in brief().items() if item.doubts_a_plain_yes or item.telling_only}

    assert vital == {
        *("oxygen-on", "allergies", "failed-attempts", "sleep-waits"),
        *("sustained-carbon-dioxide", "supraglottic-wave", "neck-wave"),
    }


def test_no_telling_answer_confirms_two_items() -> None:
    """What confirms one item does not confirm another when the open item has just changed."""
    twins = [one for one, count in Counter(confirmations()).items() if count > 1]

    assert not twins


def test_options_of_one_question_sound_different() -> None:
    """Between two options the words they do not share are unlike, and long enough to tell.

    A woman and a man are not unlike: what sets a figure of the patient is read back first.
    """
    read_back = [i.options for i in brief().items() if isinstance(i, ChooseItem) and i.sets]
    for group in option_groups():
        if group in read_back:
            continue
        for one, other in combinations(group, 2):
            for here in one.said:
                for there in other.said:
                    left = [w for w in here.split() if w not in there.split()]
                    right = [w for w in there.split() if w not in here.split()]
                    likeness = SequenceMatcher(None, " ".join(left), " ".join(right)).ratio()
                    assert left, (here, there)
                    assert right, (here, there)
                    assert likeness < 0.6, (here, there)


def test_options_can_be_said_in_two_ways_and_only_once() -> None:
    """Every option has two wordings or more, none shared, all but "me" of two syllables or more."""
    for group in option_groups():
        phrases = [phrase for option in group for phrase in option.said]

        assert all(len(option.said) >= 2 for option in group)
        assert len(phrases) == len(set(phrases))
        long = [phrase for phrase in phrases if phrase not in SHORT_OPTIONS]
        assert all(len(re.findall(r"[aeiouy]+", phrase)) >= 2 for phrase in long)
        assert len({option.id for option in group}) == len(group)


def test_what_a_question_offers_may_be_answered() -> None:
    """Whoever hears "valve, ventilator, or bagging?" answers with one of these words."""
    for item in brief().items():
        offer = item.ask.rpartition(": ")[2] if isinstance(item, ChooseItem) else ""
        if offer in ("", item.ask):
            continue
        answers = {plain(phrase) for option in item.options for phrase in option.said}
        for one in re.split(r",? or |, ", offer.rstrip("?")):
            assert plain(one) in answers, (item.id, one)


def test_a_small_team_is_on_the_roster() -> None:
    """Six or seven roles: a small team, and few enough to tell apart by ear."""
    assert 6 <= len([one for one in brief().roster if one.id not in NOT_ROLES]) <= 7


def test_three_failures_each_have_their_words() -> None:
    """After the first and second a change is asked for, after the third the way out is said."""
    first, second, third = (step.say.lower() for step in brief().attempts.after_failure)

    assert "bag now" in first
    assert any("what changes" in item.ask.lower() for item in brief().items_of(Phase.BETWEEN))
    assert "change" in second
    assert third.index("supraglottic airway") < third.index("front of the neck")


def test_the_cautions_stand_on_top() -> None:
    """Whoever opens the sources reads first that this is no protocol and no proven benefit."""
    text = SOURCES.read_text(encoding="utf-8")
    cautions = text[text.index("## Cautions") : text.index("## How it was written")]

    assert text.index("## Cautions") < 500
    assert "not a medical device" in cautions
    assert "licensed clinician" in cautions
    assert "intubation-checklist-2018" in cautions
