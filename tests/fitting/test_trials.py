"""What a recorded trial is judged by: the danger of what it was taken for, where it was said."""

from pathlib import Path

import pytest

from assistant.fitting.corpus import Said
from assistant.fitting.trials import Condition, Trial, Utterance, load, save
from assistant.grammar.grammar import Danger
from assistant.hearing.engines.closed.evidence import Evidence
from tests.tarn_hollow import SITE

NUMBER = {"number": 30.0}


def taken_for(words: str, meaning: str, values: dict[str, float], item: str) -> Trial:
    """Of something said while that item is asked."""
    evidence = Evidence(words, filled=bool(values), voice_s=0.6, ratio=0.0, mean=-0.5)
    heard = Utterance(evidence, meaning, dict(values), Danger.HIGH, True, "", lost=False)
    said = Said("command", f"{words}.", (item,), meaning)
    return Trial(said, Condition("joe", "close", "pink", None), (heard,), 0.1, 1.0)


@pytest.mark.parametrize(
    ("trial", "danger"),
    [
        (taken_for("thirty kilos", "number", NUMBER, "weight"), Danger.NUMBER),
        (taken_for("thirty degrees", "number", NUMBER, "head-up"), Danger.SETTING),
        (taken_for("wait", "hold", {}, "suction"), Danger.LOW),
        (taken_for("hold on", "hold", {}, "suction"), Danger.USUAL),
        (taken_for("both working", "plain_yes", {}, "suction"), Danger.PLAIN),
    ],
)
def test_it_is_as_dangerous_as_where_it_was_said(
    trial: Trial, danger: Danger, tmp_path: Path
) -> None:
    """A number settles one item at once and is read back at another: judged as a setting, half of
    the weights that were understood would count as asked back."""
    (tmp_path / "rows").write_text(save(trial), encoding="utf-8")

    (found,) = load(tmp_path / "rows", SITE)

    assert [one.danger for one in found.heard] == [danger]
    assert found.said.text == trial.said.text
