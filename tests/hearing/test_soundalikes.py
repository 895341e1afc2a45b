"""Phrases that sound alike, and what `check` says of them."""

import shutil
from pathlib import Path

import pytest

from assistant.commands.main import main
from assistant.hearing import soundalikes
from assistant.hearing.soundalikes import ALIKE_BELOW, alike, phonemes, unlikeness

TARN_HOLLOW = Path(__file__).parents[2] / "configs" / "tarn-hollow"


def differ(one: str, other: str) -> float:
    sounds = phonemes([one, other])
    return unlikeness(sounds[one], sounds[other])


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("fifteen", "fifty"),  # ISMP Medication Safety Alert, 24 January 2001
        ("sixteen", "sixty"),
        ("rocuronium", "vecuronium"),
        # ISMP List of Confused Drug Names (from memory): epinephrine and ephedrine
        ("noradrenaline", "adrenaline"),
        ("confirmed", "unconfirmed"),
        ("right", "write"),
    ],
)
def test_what_is_known_to_be_misheard_sounds_alike(one: str, other: str) -> None:
    """Pairs that published lists of drug errors name, and others by ear."""
    assert differ(one, other) < ALIKE_BELOW


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("confirmed", "not confirmed"),
        ("that's right", "that's wrong"),
        ("affirmative", "negative"),
        ("yes it is", "not yet"),
    ],
)
def test_plain_answers_do_not(one: str, other: str) -> None:
    """The shipped site's own pairs that mean opposite things."""
    assert differ(one, other) >= ALIKE_BELOW


def test_what_was_asked_once_is_known_to_the_next_process(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is kept; what is torn is asked for again."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    asked: list[tuple[str, ...]] = []
    ask = soundalikes._phonemes
    monkeypatch.setattr(soundalikes, "_phonemes", lambda *one: asked.append(one[0]) or ask(*one))

    def in_a_new_process(*phrases: str) -> dict[str, str]:
        soundalikes._pronounced.cache_clear()
        return phonemes(phrases)

    first = in_a_new_process("fifteen", "fifty")
    assert in_a_new_process("fifty", "sixty") | first == in_a_new_process("sixty", *first)
    assert asked == [("fifteen", "fifty"), ("sixty",)]
    (kept,) = (tmp_path / "spoken-brief" / "phonemes").iterdir()
    kept.write_bytes(kept.read_bytes()[:-9])
    assert in_a_new_process(*first) == first
    soundalikes._pronounced.cache_clear()


def test_only_different_meanings_are_compared_and_the_worst_comes_first() -> None:
    """Two phrases of one meaning may sound as alike as they like."""
    phrases = [("fifty", "50"), ("fifteen", "15"), ("one fifty", "150"), ("one fifteen", "115")]
    phrases.append(("fifteen now", "15"))

    pairs = alike(phrases, phonemes(words for words, _ in phrases))

    assert {(pair.one, pair.other) for pair in pairs} == {
        ("fifty", "fifteen"),
        ("one fifty", "one fifteen"),
    }
    assert [pair.differ for pair in pairs] == sorted(pair.differ for pair in pairs)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    folder = tmp_path / "site"
    shutil.copytree(TARN_HOLLOW, folder)
    return folder


def change(path: Path, text: str, by: str) -> int:
    """Replace a text that stands there once; returns its line."""
    content = path.read_text(encoding="utf-8")
    assert content.count(text) == 1
    path.write_text(content.replace(text, by), encoding="utf-8")
    return content[: content.index(text)].count("\n") + 1


def test_check_says_which_drugs_are_asked_apart(capsys) -> None:
    """The shipped formulary has such pairs; whoever reads it is told."""
    assert main(["check", "--site", str(TARN_HOLLOW)]) == 0

    assert "Asked apart by name: rocuronium, not vecuronium" in capsys.readouterr().out


def test_check_refuses_a_confirmation_that_sounds_like_a_decline(site: Path, capsys) -> None:
    """One sentence: the file, the line, both phrases."""
    change(site / "wording.yaml", 'decline: ["not yet",', 'decline: ["yes unconfirmed", "not yet",')

    assert main(["check", "--site", str(site)]) == 2

    sentence = capsys.readouterr().err
    assert "wording.yaml, line" in sentence
    assert "found 'yes confirmed', which sounds like 'yes unconfirmed' (decline;" in sentence


def test_check_refuses_a_telling_confirmation_that_sounds_like_a_decline(
    site: Path, capsys
) -> None:
    """Also when it is an item's own, in the brief."""
    line = change(
        site / "brief.yaml",
        'confirmations: ["we saw the mask held on", "we saw the oxygen flowing"]',
        'confirmations: ["not debt"]',
    )

    assert main(["check", "--site", str(site)]) == 2

    sentence = capsys.readouterr().err
    assert f"brief.yaml, line {line}" in sentence
    assert "'not debt', which sounds like 'not yet' (decline;" in sentence


def test_check_warns_of_a_confirmation_that_sounds_like_its_own_denial(site: Path, capsys) -> None:
    """ "We'll seal the mask" is near "we saw the mask held on"; the site's own are not."""
    own = 'confirmations: ["we saw the mask held on", "we saw the oxygen flowing"]'
    change(site / "brief.yaml", own, 'confirmations: ["we sealed the nasal oxygen"]')

    assert main(["check", "--site", str(site)]) == 0

    (warning,) = [line for line in capsys.readouterr().out.splitlines() if "own denial" in line]
    assert "'we sealed the nasal oxygen'" in warning
    assert "we'll seal the nasal oxygen" in warning
