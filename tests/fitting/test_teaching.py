"""The model of sounds as it is shipped, and the network that it is taught in."""

from pathlib import Path

import numpy as np
import pytest

from assistant.fitting.teaching import weights
from assistant.hearing.engines.closed.installed import inside
from assistant.hearing.engines.closed.sounds.model import SHIPPED
from assistant.speaking.voices import VoiceSettings, open_voice


def plain() -> Path:
    """The model as its wheel carries it."""
    found = inside("hama", "assets/asr_waveform.hama")
    assert found is not None
    return found


def test_a_file_that_is_read_and_written_is_the_same(tmp_path: Path) -> None:
    """Nothing is lost on the way."""
    weights.write(tmp_path / "same.hama", weights.read(SHIPPED), like=plain())

    assert (tmp_path / "same.hama").read_bytes() == SHIPPED.read_bytes()


def test_what_is_shipped_is_the_wheels_model_with_other_weights() -> None:
    """The same names and shapes, the spectrum taken alike, and no weight far from what it was."""
    before, after = weights.read(plain()), weights.read(SHIPPED)

    assert {name: one.shape for name, one in before.items()} == {
        name: one.shape for name, one in after.items()
    }
    same = {name for name, one in before.items() if np.array_equal(one, after[name])}
    assert same == {"mel_fb", "stft_real_kernel", "stft_imag_kernel"}
    moved = [np.abs(after[name] - one).mean() / np.abs(one).mean() for name, one in before.items()]
    assert np.median(moved) < 0.5
    assert all(np.isfinite(one).all() for one in after.values())


def test_the_network_calculates_what_the_runtime_does() -> None:
    """hama 1.7.0's own library is the reference: else another model would be taught than runs."""
    torch = pytest.importorskip("torch", reason="only who teaches the model needs torch")
    from hama.asr import ASRModel

    from assistant.fitting.teaching import network

    samples = open_voice(VoiceSettings()).render("Drawn up and labelled.")
    wave = samples.astype(np.float32) / 32768
    heard, frames = ASRModel(SHIPPED).session.run(
        ["log_probs", "out_lengths"],
        {"waveform": wave[None], "waveform_lengths": np.array([len(wave)], np.int64)},
    )
    told = {name: torch.from_numpy(one) for name, one in weights.read(SHIPPED).items()}
    found = network.log_probs(told, torch.from_numpy(wave)[None], [len(wave)])[0].numpy()

    assert len(found) == frames[0] == network.frames_of(len(wave))
    assert np.exp(found) == pytest.approx(np.exp(heard[0]), abs=0.005)
