"""Teaching: in a room and through noise, to hear what was heard of the same voice without.

What the model makes of a clean recording is what it is to make of the noisy one (distillation):
no recording has to be written out, and what it knows of people's speech stays the measure.
"""

import random
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import torch
from torch import Tensor
from torch.nn import functional

from assistant.audio.sound import RATE_HZ, Samples
from assistant.errors import BadInput
from assistant.fitting import room
from assistant.fitting.teaching import network, speech, weights
from assistant.hearing.engines.closed.installed import inside
from assistant.site.site import Site

NATURAL, ROBOTIC = 1000, 2000
"""So many sentences by voices of each kind."""
SHARES = {"natural": 0.6, "robotic": 0.2, "people": 0.2}
BATCH = 24
RATE, WARM_STEPS = 2.5e-4, 150
WEIGHT_DECAY = 1e-3
KEPT = 0.998
"""What is written is the mean of the last steps: so much of it is kept at each."""
SNR_DB, WITHOUT_NOISE = (0.0, 25.0), 0.15
REVERBERANT, ROOMS = 0.5, 60
BEFORE_FRAMES, AFTER_S = (10, 15), (0.15, 0.7)
"""What the ear keeps around an utterance, about."""
_LEVEL = 0.5
_SILENT_COUNTS = 0.25
"""A frame in which nothing is heard counts so much; one with a sound 1 more."""
_NOISE_S = 20
_KINDS, _OF_EACH_KIND = ("pink", "pink", "hum", "beeps", "babble", "suction", "own voice"), 4

Floats = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Lesson:
    """A clean recording, and what the model hears in it after the longest silence before it."""

    wave: Floats
    heard: Tensor
    """Shape (frames, signs)."""


def teach(site: Site, folder: Path, path: Path, steps: int, seed: int = 0) -> None:
    """Write what was learnt to `path`, every hundred steps; `folder`: see `speech.people`."""
    torch.set_num_threads(1)  # two wait for each other on a machine that does anything else
    torch.manual_seed(seed)
    chance, numbers = random.Random(seed), np.random.default_rng(seed)
    plain = inside("hama", "assets/asr_waveform.hama")
    if plain is None:
        raise BadInput("hama 1.7.0, whose model is taught further, is not installed.")
    told = weights.read(plain)
    said = {
        "natural": speech.spoken(site, speech.natural_voices(chance), NATURAL, chance),
        "robotic": speech.spoken(site, speech.robotic_voices(), ROBOTIC, chance),
        "people": speech.people(folder),
    }
    teacher = {name: torch.from_numpy(one) for name, one in told.items()}
    lessons = {kind: _lessons(teacher, waves) for kind, waves in said.items() if waves}
    around = Surroundings(said["natural"] + said["robotic"], speech.noises(folder), numbers, chance)
    pupil = Pupil(told, steps)
    kinds, began_s, lost = list(lessons), time.monotonic(), 0.0
    for step in range(1, steps + 1):
        drawn = chance.choices(kinds, [SHARES[one] for one in kinds], k=BATCH)
        lost += pupil.learn([chance.choice(lessons[one]) for one in drawn], around)
        if step % 100 == 0:
            print(f"{step}: {lost / 100:.3f} nats, {time.monotonic() - began_s:.0f} s", flush=True)
            lost = 0.0
            weights.write(path, pupil.mean(), like=plain)


class Pupil:
    """The numbers that are taught, and the mean of what they have been of late."""

    def __init__(self, told: weights.Weights, steps: int) -> None:
        """`steps`: how many lessons it will have; it learns less from the last ones."""
        self._now = {name: torch.from_numpy(one.copy()) for name, one in told.items()}
        self._mean = {name: torch.from_numpy(one.copy()) for name, one in told.items()}
        self._taught = network.taught(self._now)
        for one in self._taught:
            one.requires_grad_()
        self._optimizer = torch.optim.AdamW(
            self._taught, lr=RATE, weight_decay=WEIGHT_DECAY, betas=(0.9, 0.98)
        )
        self._plan = torch.optim.lr_scheduler.OneCycleLR(
            self._optimizer, RATE, total_steps=steps, pct_start=min(0.3, WARM_STEPS / steps)
        )
        self._steps = 0

    def learn(self, lessons: Sequence[Lesson], around: "Surroundings") -> float:
        """One step; returns how far it was from what the clean recordings were heard as, in nats
        for each frame."""
        loss = _loss(self._now, lessons, around)
        self._optimizer.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(self._taught, 1.0)
        self._optimizer.step()
        self._plan.step()
        self._steps += 1
        kept = min(KEPT, self._steps / (self._steps + 20))
        with torch.no_grad():
            for name, one in self._mean.items():
                one.lerp_(self._now[name], 1 - kept)
        return float(loss.item())

    def mean(self) -> weights.Weights:
        """What is written."""
        return {name: one.numpy() for name, one in self._mean.items()}


class Surroundings:
    """Rooms and noises, drawn by lot."""

    def __init__(
        self,
        talk: Sequence[Samples],
        recorded: Sequence[Samples],
        numbers: np.random.Generator,
        chance: random.Random,
    ) -> None:
        """`talk`: what a babble is made of; `recorded`: noises besides those of the bench."""
        self._chance = chance
        self._rooms = [one for _ in range(ROOMS) if (one := _room(numbers)) is not None]
        length = _NOISE_S * RATE_HZ

        def voice(number: int) -> Samples:
            return talk[number % len(talk)]

        self._noises = [
            room.made(kind, length, np.random.default_rng(numbers.integers(1 << 30)), voice)
            for kind in _KINDS
            for _ in range(_OF_EACH_KIND)
        ]
        self._noises += [np.resize(one, length) for one in recorded if np.any(one)]

    def put(self, wave: Floats) -> tuple[Floats, int]:
        """The recording in some of it, and how many frames there are before."""
        chance = self._chance
        before, after_s = chance.randint(*BEFORE_FRAMES), chance.uniform(*AFTER_S)
        begins = before * network.FRAME_SAMPLES
        sound = np.zeros(begins + len(wave) + round(after_s * RATE_HZ), np.float32)
        arrived = wave
        if chance.random() < REVERBERANT:
            arrived = _in_room(wave, chance.choice(self._rooms))
        kept = min(len(arrived), len(sound) - begins)
        sound[begins : begins + kept] = arrived[:kept]
        if chance.random() >= WITHOUT_NOISE:
            noise = chance.choice(self._noises)
            at = chance.randrange(len(noise) - len(sound))
            level = _loudness(wave) * 10 ** (-chance.uniform(*SNR_DB) / 20)
            sound += noise[at : at + len(sound)] / max(1e-9, _loudness(noise)) * level
        return _levelled(sound), before


def _loss(pupil: network.Parameters, lessons: Sequence[Lesson], around: Surroundings) -> Tensor:
    """How far it is from what the clean recording was heard as, in nats for each frame."""
    sounds, befores = zip(*(around.put(one.wave) for one in lessons), strict=True)
    waves, lengths = _side_by_side(sounds)
    found = network.log_probs(pupil, waves, lengths)
    wanted = torch.zeros_like(found)
    wanted[..., -1] = 1.0
    for place, (lesson, before) in enumerate(zip(lessons, befores, strict=True)):
        heard = lesson.heard[BEFORE_FRAMES[1] - before :][: network.frames_of(lengths[place])]
        wanted[place, : len(heard)] = heard
    far = functional.kl_div(found, wanted, reduction="none").sum(dim=-1)
    counts = (_SILENT_COUNTS + 1 - wanted[..., -1]) * network.frames_said(lengths)
    return (far * counts).sum() / counts.sum()


def _lessons(teacher: network.Parameters, said: Sequence[Samples]) -> list[Lesson]:
    found = []
    for samples in sorted(said, key=len):
        wave = samples.astype(np.float32)
        around = (BEFORE_FRAMES[1] * network.FRAME_SAMPLES, RATE_HZ)
        waves, lengths = _side_by_side([_levelled(np.pad(wave, around))])
        with torch.no_grad():
            found.append(Lesson(wave, network.log_probs(teacher, waves, lengths)[0].exp()))
    return found


def _side_by_side(sounds: Sequence[Floats]) -> tuple[Tensor, list[int]]:
    lengths = [len(one) for one in sounds]
    waves = torch.zeros(len(sounds), max(lengths))
    for place, one in enumerate(sounds):
        waves[place, : len(one)] = torch.from_numpy(one)
    return waves, lengths


def _room(numbers: np.random.Generator) -> Floats | None:
    """The impulse response of some room, as loud as its direct sound; None of an impossible one."""
    from pyroomacoustics import inverse_sabine  # of the extra [bench]

    size_m = numbers.uniform((3.0, 3.0, 2.4), (7.0, 6.0, 3.2))
    try:
        absorption, order = inverse_sabine(numbers.uniform(0.25, 0.7), size_m)
    except ValueError:
        return None
    mouth_m = np.array([*numbers.uniform(0.7, size_m[:2] - 0.7), 1.5])
    away_m, turned = numbers.uniform(0.3, 1.5), numbers.uniform(0, 2 * np.pi)
    ear_m = mouth_m + np.array([away_m * np.cos(turned), away_m * np.sin(turned), -0.3])
    ear_m = np.clip(ear_m, 0.2, size_m - 0.2)
    response = room.impulse_response(size_m, absorption, min(order, 12), mouth_m, ear_m)
    return np.asarray(response, np.float32)[:RATE_HZ]


def _in_room(wave: Floats, response: Floats) -> Floats:
    return np.asarray(room.arrived(wave, response)[: len(wave) + RATE_HZ // 3], np.float32)


def _loudness(wave: npt.NDArray[np.floating]) -> float:
    return float(np.sqrt(np.mean(wave**2)))


def _levelled(sound: Floats) -> Floats:
    return np.asarray(sound * (_LEVEL / max(1.0, float(np.abs(sound).max()))), np.float32)
