"""The model of sounds in torch: what the runtime of the wheel `hama` calculates, to be taught.

Four conformer blocks ("Conformer: Convolution-augmented Transformer for Speech Recognition",
Interspeech, 2020) over a log-mel spectrum, two frames of 10 ms in one. Written after the names and
shapes in its file; a test holds its result against the runtime's.
"""

from collections.abc import Mapping, Sequence

import torch
from torch import Tensor
from torch.nn import functional

FRAME_SAMPLES = 320
"""Of the sound, for one frame of the result."""
_HOP_SAMPLES = 160
_AROUND_SAMPLES = 200
_LEAST = 1e-10
_BLOCKS, _HEADS, _WIDTH, _REACH = 4, 4, 144, 15
_FIXED = ("mel_fb", "stft_real_kernel", "stft_imag_kernel")
"""How the spectrum is taken is not taught."""
_MATRICES = {
    "ffn1.fc1": 829,
    "ffn1.fc2": 830,
    "attn.in_proj": 831,
    "attn.out_proj": 835,
    "ffn2.fc1": 836,
    "ffn2.fc2": 837,
}
"""What the file calls each matrix of the first block; those of the next are nine further on."""

Parameters = Mapping[str, Tensor]
"""The numbers of the file, by their names there."""


def taught(weights: Parameters) -> list[Tensor]:
    """Those that change when it is taught."""
    return [one for name, one in weights.items() if name not in _FIXED]


def frames_of(samples: int) -> int:
    """How many frames the result has for a sound of so many samples."""
    return (samples // _HOP_SAMPLES + 2) // 2


def frames_said(lengths: Sequence[int]) -> Tensor:
    """Which frames of the result are each sound's own, shape (sounds, frames)."""
    frames = torch.tensor([frames_of(one) for one in lengths])
    return torch.arange(int(frames.max()))[None] < frames[:, None]


def log_probs(weights: Parameters, waves: Tensor, lengths: Sequence[int]) -> Tensor:
    """How likely each sign is in each frame, shape (sounds, frames, signs), as a logarithm.

    `waves` has shape (sounds, samples), at 16 kHz and within 1; each is as long as `lengths` says
    and zero after that.
    """
    whole = frames_said(lengths)
    mel = _log_mel(weights, waves)
    first, bias = weights["onnx::Conv_801"], weights["onnx::Conv_802"]
    heard = functional.gelu(functional.conv1d(mel, first, bias, stride=2, padding=1))
    heard = heard.transpose(1, 2)
    for number in range(_BLOCKS):
        heard = _block(weights, number, heard, whole)
    name = "acoustic_model.model.proj"
    told = functional.linear(heard, weights[f"{name}.weight"][..., 0], weights[f"{name}.bias"])
    return functional.log_softmax(told, dim=-1)


def _log_mel(weights: Parameters, waves: Tensor) -> Tensor:
    around = (_AROUND_SAMPLES, _AROUND_SAMPLES)
    padded = functional.pad(waves[:, None], around, mode="reflect")
    parts = (weights["stft_real_kernel"], weights["stft_imag_kernel"])
    power = sum(functional.conv1d(padded, one, stride=_HOP_SAMPLES) ** 2 for one in parts)
    mel = torch.einsum("sft,fm->smt", power, weights["mel_fb"])
    return torch.log(mel.clamp_min(_LEAST))


def _block(weights: Parameters, number: int, heard: Tensor, whole: Tensor) -> Tensor:
    own = f"acoustic_model.model.blocks.{number}."
    matrices = {
        name: weights[f"onnx::MatMul_{first + 9 * number}"] for name, first in _MATRICES.items()
    }

    def normed(name: str, given: Tensor) -> Tensor:
        scale, shift = weights[f"{own}{name}.weight"], weights[f"{own}{name}.bias"]
        return functional.layer_norm(given, (_WIDTH,), scale, shift)

    def forward(name: str, given: Tensor) -> Tensor:
        wide = normed(f"{name}.norm", given) @ matrices[f"{name}.fc1"]
        wide = functional.silu(wide + weights[f"{own}{name}.fc1.bias"])
        return wide @ matrices[f"{name}.fc2"] + weights[f"{own}{name}.fc2.bias"]

    heard = heard + 0.5 * forward("ffn1", heard)
    three = normed("attn_norm", heard) @ matrices["attn.in_proj"]
    heard = heard + (
        _attended(three + weights[f"{own}attn.in_proj_bias"], whole) @ matrices["attn.out_proj"]
        + weights[f"{own}attn.out_proj.bias"]
    )
    heard = heard + _convolved(weights, number, normed("conv.norm", heard), whole)
    heard = heard + 0.5 * forward("ffn2", heard)
    return normed("norm", heard)


def _attended(three: Tensor, whole: Tensor) -> Tensor:
    sounds, frames, _ = three.shape
    shape = (sounds, frames, 3, _HEADS, _WIDTH // _HEADS)
    query, key, value = three.view(shape).permute(2, 0, 3, 1, 4)
    mask = whole[:, None, None, :]
    found = functional.scaled_dot_product_attention(query, key, value, attn_mask=mask)
    return found.transpose(1, 2).reshape(sounds, frames, _WIDTH)


def _convolved(weights: Parameters, number: int, given: Tensor, whole: Tensor) -> Tensor:
    own = f"acoustic_model.model.blocks.{number}.conv."
    wide, narrow = (
        (weights[f"{own}pointwise{one}.weight"], weights[f"{own}pointwise{one}.bias"])
        for one in (1, 2)
    )
    deep = weights[f"onnx::Conv_{804 + 3 * number}"], weights[f"onnx::Conv_{805 + 3 * number}"]
    heard = functional.glu(functional.conv1d(given.transpose(1, 2), *wide), dim=1)
    heard = functional.conv1d(heard * whole[:, None], *deep, padding=_REACH, groups=_WIDTH)
    return functional.conv1d(functional.silu(heard), *narrow).transpose(1, 2)
