"""What the model likes to hear is not taken for what was said."""

from itertools import product

import pytest

from assistant.grammar.grammar import Danger, Filler, Grammar, Pattern
from assistant.hearing.engines.closed import name_bias
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.phrasebook.phrasebook import Phrasebook
from tests.tarn_hollow import SITE

NAMES = tuple(Filler(name, name) for name in ("fentanyl", "ketamine", "vecuronium", "sugammadex"))


@pytest.fixture(autouse=True)
def _own_cache(tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))


@pytest.fixture(scope="module")
def measured(engine, say) -> dict[str, float]:
    """By another voice than that of the shipped figures."""
    return dict(name_bias.measure(NAMES, NAMES, engine.model, say))


def test_a_common_name_is_favoured_over_a_rare_one(measured) -> None:
    """Whoever speaks: the model has read "fentanyl" more often than "sugammadex"."""
    assert measured["fentanyl"] > measured["vecuronium"]
    assert measured["ketamine"] > measured["sugammadex"]
    assert all(score < 0 for score in measured.values()), "the name that is said fits best"


def test_it_is_kept_by_name_and_spellings(measured) -> None:
    other = Filler("vecuronium", "vecuronium", ("vecur onium",))
    name_bias.store(measured, NAMES)

    assert name_bias.stored_bias(NAMES[2]) == measured["vecuronium"]
    assert name_bias.stored_bias(other) is None


def test_a_torn_file_is_as_if_never_measured(measured, tmp_path) -> None:
    """A power cut while it was written costs measuring it again."""
    name_bias.store(measured, NAMES[2:3])
    (path,) = (tmp_path / "spoken-brief" / "name-bias").iterdir()
    path.write_text("-3x")

    assert name_bias.stored_bias(NAMES[2]) is None


def test_only_what_is_favoured_more_than_usual_loses_by_it() -> None:
    """And neither a name that was never measured nor a number."""
    drugs = Phrasebook(SITE).when_asking("anything").fillers["drug"]
    new, number = Filler("somnazine", "somnazine"), Filler("fifty", 50.0)

    weighed = name_bias.with_bias(Grammar((), {"drug": (*drugs, new), "weight_kg": (number,)}))

    off = {one.words: one.bias_nats for one in weighed.fillers["drug"]}
    assert off["fentanyl"] > off["epinephrine"] > off["dexmedetomidine"] == off["somnazine"] == 0
    assert weighed.fillers["weight_kg"] == (number,)


def test_every_drug_of_the_example_site_is_measured() -> None:
    """Else `python -m assistant.fitting bias` has to be run again."""
    drugs = Phrasebook(SITE).when_asking("anything").fillers["drug"]
    assert [one.words for one in drugs if name_bias.stored_bias(one) is None] == []


def test_a_rare_drug_is_heard_in_noise(say, in_noise, monkeypatch) -> None:
    """Of six, asked for in noise from 10 dB below the voice to nearly as loud, more are told from
    all other drugs with it.
    """
    drugs = Phrasebook(SITE).when_asking("anything").fillers["drug"]
    asked = Pattern("what is the dose of {drug}", "dose", danger=Danger.READ_BACK)
    rare = ["vecuronium", "sugammadex", "glycopyrrolate", "esmolol", "dexmedetomidine", "midazolam"]
    sounds = [
        (name, in_noise(say(f"What is the dose of {name}?", "robot"), snr_db))
        for name, snr_db in product(rare, (3, 10))
    ]

    def right() -> int:
        engine = ClosedGrammarEngine(threads=1)
        engine.listen_for(Grammar((asked,), {"drug": drugs}))
        of_drug = {one.words: one.value for one in drugs}
        return sum(engine.read(sound).values.get("drug") == of_drug[name] for name, sound in sounds)

    with_it = right()
    monkeypatch.setattr(name_bias, "SHARE", 0.0)
    without = right()
    print(f"{len(sounds)} questions in noise: {with_it} right with it, {without} without")
    assert with_it > without
