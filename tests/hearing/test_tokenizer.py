"""The token list of the model."""

from pathlib import Path

import pytest

from assistant.errors import BadInput
from assistant.hearing.engines.closed.engine import ClosedGrammarEngine
from assistant.hearing.engines.closed.installed import installed_model
from assistant.hearing.engines.closed.moonshine import Moonshine
from assistant.hearing.engines.closed.tokenizer import END, Tokenizer, read_pieces


@pytest.fixture(scope="module")
def tokenizer() -> Tokenizer:
    return Tokenizer(installed_model() / "tokenizer.bin")


@pytest.mark.parametrize(
    "text", ["Not yet.", "seventy-five", "75", "succinylcholine", "I don't know, why?", "naïve"]
)
def test_spelling_and_reading_back_give_the_same_text(tokenizer: Tokenizer, text: str) -> None:
    """Tokens of a sentence, spelt out, are the sentence."""
    assert tokenizer.text(tokenizer.sentence(text)) == text


def test_the_model_itself_spells_as_the_tokenizer_does(engine, say, in_noise) -> None:
    """What the model writes for plain speech has exactly the tokens that we would give it."""
    model: Moonshine = engine._model
    sound = in_noise(say("What is the dose of ketamine for seventy five kilos?"), None)

    written, _ = model.free(model.begin(sound), len(sound) / 16000)

    assert written[-1] == END
    assert model.tokenizer.sentence(model.tokenizer.text(written)) == written[:-1]


def test_a_token_list_that_breaks_off_is_refused(tmp_path: Path) -> None:
    """Half a file is named as such, not read as a shorter list."""
    broken = tmp_path / "tokenizer.bin"
    broken.write_bytes((installed_model() / "tokenizer.bin").read_bytes()[:1001])

    with pytest.raises(BadInput, match=r"tokenizer\.bin: found a list that breaks off"):
        read_pieces(broken)


def test_a_model_folder_without_the_model_is_refused(tmp_path: Path) -> None:
    """The sentence names the file that is missing."""
    with pytest.raises(BadInput, match=r"encoder_model\.ort: found no such file"):
        ClosedGrammarEngine(model_folder=tmp_path)
