"""What `check` says of a site whose files, each allowed, do not go together."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from assistant.brief.brief import Brief
from assistant.files.plain_yaml import read_plain_yaml
from assistant.site.remarks import remarks
from assistant.site.site import Site
from assistant.speaking.wording import Wording
from tests.site.slips import Slip, said, text
from tests.tarn_hollow import SITE

FOLDER = Path(__file__).parents[2] / "configs" / "tarn-hollow"


def _no_neck(site: dict[str, Any]) -> None:
    sections = site["brief"]["sections"]
    site["brief"]["sections"] = [one for one in sections if one["phase"] != "front-of-neck"]


def changed(slip: Slip) -> Site:
    """The example site with one thing changed."""
    content = {
        name: read_plain_yaml(FOLDER / f"{name}.yaml").content for name in ("brief", "wording")
    }
    slip[1](content)
    brief = Brief.model_validate_json(json.dumps(content["brief"]))
    return replace(
        SITE, brief=brief, wording=Wording.model_validate_json(json.dumps(content["wording"]))
    )


def test_nothing_is_said_of_the_site_as_it_is() -> None:
    """Every phrase that it tells people to say is heard."""
    assert list(remarks(SITE)) == []


@pytest.mark.parametrize(
    ("slip", "sentence"),
    [
        (said("new_case", "next one please"), "'open a new case', in live.ready"),
        (said("resume", "carry on"), "'go on', in vital.arrest"),
        (said("start", "we start"), "'begin', in says.opened"),
        (said("drugs_in", "drugs are in"), "'the drugs went in', in says.before_done"),
        (said("hold", "wait"), "'hold on', in says.help"),
        (("no neck", _no_neck), "(vital.cannot_oxygenate), and no more: 'Front of neck, now."),
        (
            ("two attempts", lambda site: site["brief"]["attempts"].update(at_most=2)),
            "At most 2 attempts are agreed on, and read aloud is: 'Up to three attempts",
        ),
        (text("first-attempt", "called", "the first look"), "'who is doing the the first look'"),
    ],
    ids=lambda one: str(one[0]),
)
def test_what_does_not_go_together_is_told(slip: Slip, sentence: str) -> None:
    """Words that nobody is heard by, a plan of another length, a word twice."""
    told = list(remarks(changed(slip)))
    assert any(sentence in one for one in told), told


def test_a_slot_is_filled_by_what_a_text_names() -> None:
    """Whoever says "rocuronium given" is heard by "{drug} given"."""
    says = {"deferred": "Later. Say: rocuronium given."}
    told = changed((str(says), lambda site: site["wording"]["says"].update(says)))
    assert list(remarks(told)) == []


@pytest.mark.parametrize(
    ("deferred", "in_vain"),
    [
        ("Later. Say: begin the attempt, or go for the supraglottic.", ""),
        ("Later. Say: no, wait.", ""),
        ("Later. Say: begin the attempt, or sing a song.", "'sing a song'"),
    ],
)
def test_each_of_several_phrases_is_looked_for(deferred: str, in_vain: str) -> None:
    """Those that stand beside each other are no single phrase that nobody is heard by."""
    says = {"deferred": deferred}
    told = list(remarks(changed((str(says), lambda site: site["wording"]["says"].update(says)))))
    assert [one.partition(", in ")[0].rpartition(": ")[2] for one in told] == [in_vain] * bool(
        in_vain
    )


def test_a_drug_that_is_cut_is_not_heard_and_named_once() -> None:
    """In one sentence; not where it stands under absent, nor in a language without its name."""
    kept = [one for one in SITE.formulary.drugs if one.id not in ("esmolol", "atropine")]
    fewer = replace(SITE, formulary=SITE.formulary.model_copy(update={"drugs": tuple(kept)}))
    (told,) = remarks(fewer)
    assert told == "Not listened for, unless it stands under absent: esmolol, atropine"

    korean = SITE.wording.model_copy(update={"language": "ko"})
    assert list(remarks(replace(fewer, wording=korean))) == []
