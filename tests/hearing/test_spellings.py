"""Learning a drug's name that the model has never read."""

from dataclasses import replace

import pytest

from assistant.grammar.grammar import Filler, Grammar
from assistant.grammar.readings import Verdict
from assistant.hearing.ear import Ear, hear_file
from assistant.hearing.engines.closed.spellings import (
    learn,
    store,
    stored_spellings,
    with_spellings,
)
from assistant.hearing.soundalikes import phonemes, unlikeness

DRUGS = ("ketamine", "rocuronium", "vecuronium")


@pytest.fixture(autouse=True)
def _own_cache(tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))


@pytest.fixture(scope="module")
def learnt(engine, say) -> dict[str, tuple[str, ...]]:
    """Two voices say "sugammadex"."""
    voices = ("natural", "robot")
    model = engine.model
    return dict(learn(["sugammadex"], DRUGS, model, lambda text: [say(text, v) for v in voices]))


def test_what_is_learnt_sounds_like_the_drug_and_like_no_other(learnt) -> None:
    """A spelling that is nearer to another drug would be that drug's."""
    spellings = learnt["sugammadex"]
    sounds = phonemes(["sugammadex", *DRUGS, *spellings])

    assert spellings
    for spelling in spellings:
        away = unlikeness(sounds[spelling], sounds["sugammadex"])
        assert all(away < unlikeness(sounds[spelling], sounds[drug]) for drug in DRUGS)


def test_it_is_kept_by_content_and_found_again(learnt) -> None:
    """A name that was never learnt is None; one that needed no other spelling is empty."""
    store(learnt | {"ketamine": ()})

    assert stored_spellings("sugammadex") == learnt["sugammadex"]
    assert stored_spellings("ketamine") == ()
    assert stored_spellings("esmolol") is None


def test_the_site_s_own_respellings_go_before(learnt) -> None:
    """What somebody wrote by hand is not mixed with what was learnt."""
    store(learnt)
    own = Filler("sugammadex", "sugammadex", ("sugar may dix",))
    bare = Filler("sugammadex", "sugammadex")
    number = Filler("fifty", 50.0)

    drugs = with_spellings(Grammar((), {"drug": (own, bare), "weight_kg": (number,)})).fillers

    assert drugs["drug"] == (own, replace(bare, respellings=learnt["sugammadex"]))
    assert drugs["weight_kg"] == (number,)


def test_a_learnt_drug_is_heard_from_another_rate_of_speech(engine, brief, say, learnt) -> None:
    """Added to the grammar by its name alone, as in YAML."""
    store(learnt)
    more = (*brief.fillers["drug"], Filler("sugammadex", "sugammadex"))
    ear = Ear(engine)
    ear.expect(replace(brief, fillers={**brief.fillers, "drug": more}))

    (heard,) = hear_file(ear, say("What is the dose of sugammadex for seventy kilos?", "brisk"))

    assert heard.reading.values == {"drug": "sugammadex", "weight_kg": 70.0}
    assert heard.reading.verdict is not Verdict.IGNORE


def test_a_torn_file_is_as_if_never_learnt(learnt, tmp_path) -> None:
    """A power cut while it was written costs learning it again."""
    store(learnt)
    (path,) = (tmp_path / "spoken-brief" / "spellings").iterdir()
    path.write_text('["suga-med')

    assert stored_spellings("sugammadex") is None
