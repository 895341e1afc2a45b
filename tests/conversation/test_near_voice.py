"""From how near a plain yes comes, and in how loud a room."""

from dataclasses import replace
from pathlib import Path

import pytest

from assistant.conversation.near_voice import FAINTER_DB, LEAST_ABOVE_NOISE_DB, NearVoice
from assistant.grammar.readings import Heard, Reading, Verdict
from assistant.rehearsal.text_case import TextCase
from assistant.site.site import load_site

SITE = Path(__file__).parents[2] / "configs" / "tarn-hollow"


def said(
    level_dbfs: float | None, text: str = "both working", noise_dbfs: float | None = None
) -> Heard:
    reading = Reading(text, "plain_yes", verdict=Verdict.ACCEPT)
    return Heard(1.0, 2.0, reading, level_dbfs=level_dbfs, noise_dbfs=noise_dbfs)


def test_before_anybody_has_spoken_a_level_says_nothing() -> None:
    """The first answer of a case may be the softest."""
    assert NearVoice().doubt(said(-50.0, "yes")) == ""


@pytest.mark.parametrize(
    ("fainter_db", "doubted"), [(-6, False), (0, False), (4, False), (6, True)]
)
def test_a_voice_much_fainter_than_the_others_is_somebody_elses(
    fainter_db: float, doubted: bool
) -> None:
    """Against the median of those who have spoken to the assistant in this case."""
    near = NearVoice()
    for level_dbfs in (-20.0, -23.0, -40.0, -22.0, -23.0):
        near.learn(said(level_dbfs))

    assert FAINTER_DB == 5.0
    assert bool(near.doubt(said(-23.0 - fainter_db, "yes"))) is doubted


def test_a_lone_word_teaches_nothing() -> None:
    """A yes from across the bay must not make the next one near."""
    near = NearVoice()
    near.learn(said(-20.0))
    for _ in range(20):
        near.learn(said(-45.0, "yes"))

    assert near.doubt(said(-45.0, "yes"))


def test_it_follows_a_team_that_moves_away() -> None:
    """Only the last answers count."""
    near = NearVoice()
    near.learn(said(-15.0))
    for _ in range(20):
        near.learn(said(-30.0))

    assert near.doubt(said(-33.0, "yes")) == ""


@pytest.mark.parametrize("above_db", [LEAST_ABOVE_NOISE_DB - 1, LEAST_ABOVE_NOISE_DB + 1])
def test_in_a_loud_room_a_plain_yes_is_doubted(above_db: float) -> None:
    """However near: what is told from a no by one soft sound is not told there."""
    doubt = NearVoice().doubt(said(-30.0, "yes", noise_dbfs=-30.0 - above_db))

    assert bool(doubt) is (above_db < LEAST_ABOVE_NOISE_DB)


def test_what_has_no_level_is_not_doubted_for_it() -> None:
    """Typed words and the pedal have none."""
    near = NearVoice()
    near.learn(said(-20.0))
    near.learn(said(None))

    assert near.doubt(said(None, "yes")) == ""


def test_whose_voice_it_was_is_near_other_or_unknown() -> None:
    """Unknown before anybody has answered, where nothing measured it, and in a room too loud."""
    near = NearVoice()
    assert near.whose(said(-20.0)) == "unknown"
    near.learn(said(-20.0))
    assert near.whose(said(-24.0)) == "near"
    assert near.whose(said(-20.0 - FAINTER_DB - 1.0)) == "other"
    assert near.whose(said(None)) == "unknown"
    noisy_dbfs = -24.0 - LEAST_ABOVE_NOISE_DB + 1.0
    assert near.whose(said(-24.0, noise_dbfs=noisy_dbfs)) == "unknown"


def test_each_utterance_is_on_record_with_from_how_near_it_came(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of words that were taken and of room talk alike; typed words have no loudness."""
    table = TextCase(load_site(SITE), word_s=0)
    table.hears("begin")
    hear = table._ear.hear

    def as_loud(level_dbfs: float) -> None:
        def heard(*words, **more):
            found = hear(*words, **more)
            return found and replace(found, level_dbfs=level_dbfs, noise_dbfs=-60.0)

        monkeypatch.setattr(table._ear, "hear", heard)

    for level_dbfs, words in (
        (-20.0, "we saw the mask held on"),
        (-21.0, "nasal oxygen on"),
        (-35.0, "pass me that"),
    ):
        as_loud(level_dbfs)
        table.hears(words)
    rows = [row for row in table.rows if row.kind in ("heard", "ignored")]
    assert [row.data["voice"] for row in rows] == ["unknown", "unknown", "near", "other"]
    assert rows[-1].kind == "ignored"
    table.close()
