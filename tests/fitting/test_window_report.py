"""What a trial in the answer window comes to: beside the answers of which voice it is weighed."""

import pytest

from assistant.fitting.corpus import Said
from assistant.fitting.trials import Condition, Trial, Utterance
from assistant.fitting.window_report import CONFIRMS, READ_BACK, RIGHT, Judge
from assistant.grammar.grammar import Danger
from assistant.hearing.engines.closed.evidence import Evidence
from assistant.hearing.engines.closed.verdicts import fitted
from tests.tarn_hollow import SITE

LOUD, SOFT = "pico en-US", "joe 165"


def answered(voice: str, level_dbfs: float, kind: str = "plain answer") -> Trial:
    """ "Both working", surely heard."""
    evidence = Evidence("both working", filled=False, voice_s=0.6, ratio=0.0, mean=-0.1)
    heard = Utterance(
        evidence,
        "plain_yes",
        {},
        Danger.PLAIN,
        True,
        "",
        lost=False,
        level_dbfs=level_dbfs,
        noise_dbfs=-90.0,
    )
    means = "plain_yes" if kind == "plain answer" else ""
    said = Said(kind, "Both working.", ("suction",), means)
    return Trial(said, Condition(voice, "close", "pink", None), (heard,), 0.1, 1.0)


@pytest.mark.parametrize(("fainter_db", "comes_to"), [(0.0, RIGHT), (4.0, RIGHT), (7.0, READ_BACK)])
def test_an_answer_is_weighed_beside_the_same_voice(fainter_db: float, comes_to: str) -> None:
    """A case has one or two who answer: a soft voice is no farther away than it was before."""
    usual = [*[answered(LOUD, -16.0)] * 9, *[answered(SOFT, -23.0)] * 5]
    found = answered(SOFT, -23.0 - fainter_db)
    assert Judge(fitted(), SITE, [*usual, found]).outcome(found) == comes_to


@pytest.mark.parametrize(("level_dbfs", "comes_to"), [(-26.0, READ_BACK), (-20.0, CONFIRMS)])
def test_others_speak_beside_somebody_else(level_dbfs: float, comes_to: str) -> None:
    """Who answers there is another one, louder or softer: across the bay a soft voice is faint
    beside a loud one, and as loud as that it cannot be told."""
    usual = [*[answered(LOUD, -16.0)] * 9, *[answered(SOFT, -23.0)] * 5]
    found = answered(SOFT, level_dbfs, "others' yes")
    assert Judge(fitted(), SITE, usual).outcome(found) == comes_to
