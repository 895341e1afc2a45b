"""A drug that a site adds by its name alone is told of, learnt once, and known from then on."""

from pathlib import Path

import pytest

from tests.commands.conftest import Command


def test_a_new_drug_is_learnt_once(
    command: Command, own_site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Named at first, then learnt and measured, then neither named nor learnt again."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    formulary = own_site / "formulary.yaml"
    # Three of its drugs are enough to measure the new one by.
    before_drugs, *drugs = formulary.read_text(encoding="utf-8").split("\n  - id: ")
    few = [
        drug for drug in drugs if drug.startswith(("ketamine\n", "rocuronium\n", "vecuronium\n"))
    ]
    top = before_drugs[: before_drugs.index("\nabsent:")]
    absent = "\nabsent:\n  - {called: dexamethasone}\n\ndrugs:"
    formulary.write_text("\n  - id: ".join((top + absent, *few)), encoding="utf-8")

    before, learnt, after = (
        command("check", "--site", own_site, *more) for more in ((), ("--learn",), ("--learn",))
    )

    assert [one.code for one in (before, learnt, after)] == [0, 0, 0]
    assert "New to the recogniser: dexamethasone." in before.out
    assert "Learnt: dexamethasone, also written" in learnt.out
    (measured,) = [line for line in learnt.out.splitlines() if line.startswith("Measured")]
    assert "dexamethasone" in measured
    for told in (learnt.out, after.out):
        assert "New to the recogniser" not in told
    assert "Learnt:" not in after.out
    assert "Measured" not in after.out
