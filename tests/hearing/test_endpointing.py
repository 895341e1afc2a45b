"""Where utterances begin and end."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

from assistant.audio.levels import level_dbfs
from assistant.audio.sound import RATE_HZ, mixed, scaled, silence
from assistant.hearing.endpointing import Endpointer, Endpointing, Utterance


@pytest.fixture
def cut(blocks):
    """Feed a stream to an end-pointer and collect what it cuts out."""

    def run(*parts, settings: Endpointing | None = None) -> list[Utterance]:
        endpointer = Endpointer(settings)
        stream = np.concatenate(parts)
        fed = [endpointer.feed(block, at_s) for at_s, block in blocks(stream)]
        return [one for one in (*fed, endpointer.end()) if one is not None]

    return run


def test_an_utterance_is_cut_where_it_was_said(cut, say) -> None:
    """Begin and end lie within a fifth of a second of the speech, the pre-roll before them."""
    speech = say("The consultant.")

    (one,) = cut(silence(2), speech, silence(2))

    assert one.started_s == pytest.approx(2.0, abs=0.2)
    assert one.ended_s == pytest.approx(2.0 + len(speech) / RATE_HZ, abs=0.25)
    assert len(one.samples) / RATE_HZ == pytest.approx(one.ended_s - one.started_s + 0.5, abs=0.1)
    assert not one.clipped_start
    assert not one.too_long


def test_two_utterances_are_two(cut, say) -> None:
    """A second of silence parts them."""
    found = cut(silence(1), say("Confirmed."), silence(1.2), say("Say again."), silence(1))

    assert len(found) == 2


@pytest.mark.parametrize("pause_s", [0.2, 0.35, 0.5])
def test_a_weight_with_a_pause_in_it_stays_whole(cut, say, pause_s: float) -> None:
    """Somebody who reads a weight off a chart hesitates: "seventy … five kilos" is one answer."""
    tens, rest = say("Seventy"), say("five kilos.")

    (one,) = cut(silence(1), tens, silence(pause_s), rest, silence(1))

    assert len(one.samples) > len(tens) + len(rest)


def test_a_click_is_no_utterance(cut) -> None:
    """Something short and loud that is no voice is not read at all."""
    click = np.zeros(RATE_HZ // 50, np.int16)
    click[::7] = 20_000

    assert cut(silence(1), click, silence(1)) == []


def test_steady_noise_alone_is_no_utterance(cut, in_noise) -> None:
    """Ten seconds of noise at a conversational level give nothing to read."""
    loud = np.full(RATE_HZ * 10, 2000, np.int16)

    assert cut(in_noise(loud, 0) - np.pad(loud, RATE_HZ // 2)) == []


@pytest.mark.parametrize("snr_db", [20, 10])
def test_speech_is_found_in_noise(cut, say, in_noise, snr_db: float) -> None:
    """The noise of the room changes nothing but the edges."""
    speech = say("What is left?")

    (one,) = cut(in_noise(np.concatenate([silence(1), speech, silence(1)]), snr_db))

    assert one.started_s == pytest.approx(1.5, abs=0.25)
    assert one.ended_s == pytest.approx(1.5 + len(speech) / RATE_HZ, abs=0.35)


def test_talk_that_does_not_stop_is_dropped_and_the_next_answer_is_not(cut, say) -> None:
    """A monologue is one too-long utterance without sound; after it, listening goes on."""
    monologue = np.concatenate(
        [say("She fell off a ladder this morning and was found at noon.")] * 4
    )

    talk, answer = cut(silence(1), monologue, silence(1), say("Confirmed."), silence(1))

    assert talk.too_long
    assert len(talk.samples) == 0
    assert not answer.too_long


def test_voice_that_was_there_before_listening_has_lost_its_beginning(cut, say) -> None:
    """The first block already has voice: whatever stood before it was never heard."""
    speech = say("Not confirmed.")

    (one,) = cut(speech[RATE_HZ // 5 :], silence(1))

    assert one.clipped_start


def test_a_prompt_answer_is_not_taken_for_a_clipped_one(cut, say) -> None:
    """Less than half a second after listening began is soon enough for a quick person."""
    (one,) = cut(silence(0.4), say("Confirmed."), silence(1))

    assert not one.clipped_start


def _tone(long_s: float, dbfs: float) -> np.ndarray:
    """A pulse tone with an overtone."""
    at_s = np.arange(round(long_s * RATE_HZ)) / RATE_HZ
    wave = np.sin(2 * np.pi * 620 * at_s) + 0.3 * np.sin(2 * np.pi * 1240 * at_s)
    sound = (20_000 * wave).astype(np.int16)
    return scaled(sound, dbfs - level_dbfs(sound))


def _knock(long_s: float, dbfs: float) -> np.ndarray:
    noise = np.random.default_rng(7).standard_normal(round(long_s * RATE_HZ))
    sound = (3000 * noise).astype(np.int16)
    return scaled(sound, dbfs - level_dbfs(sound))


@pytest.mark.parametrize(
    ("below_voice_db", "gap_s", "hidden"),
    [(0.0, 0.05, True), (15.0, 0.05, False), (0.0, 0.6, False)],
    ids=["as loud as the voice", "far below it", "long before it"],
)
def test_a_loud_sound_just_before_the_voice_may_hide_a_word(
    cut, say, below_voice_db: float, gap_s: float, hidden: bool
) -> None:
    """It lasts about a tenth of a second, as long as an "if"."""
    speech = say("We saw both sides rise alike.")
    knock = _knock(0.1, level_dbfs(speech) - below_voice_db)

    (one,) = cut(silence(2), knock, silence(gap_s), speech, silence(1))

    assert one.hidden_start is hidden


@pytest.mark.parametrize("above_voice_db", [0.0, 6.0])
def test_under_a_pulse_tone_nothing_is_hidden_when_nothing_is_there(
    cut, say, above_voice_db: float
) -> None:
    """A tone is on its own pitches only: beside them the room is as quiet as before."""
    speech = say("We saw both sides rise alike.")
    tone = _tone(0.1, level_dbfs(speech) + above_voice_db)

    (one,) = cut(silence(2), tone, silence(0.05), speech, silence(1))

    assert not one.hidden_start


def test_what_sounds_like_a_tone_for_too_long_may_be_a_word(cut, say) -> None:
    """No pulse tone lasts a quarter of a second; a vowel that the detector missed may."""
    speech = say("We saw both sides rise alike.")
    long_tone = _tone(0.25, level_dbfs(speech))

    (one,) = cut(silence(2), long_tone, silence(0.05), speech, silence(1))

    assert one.hidden_start


@pytest.mark.parametrize("above_voice_db", [0.0, 6.0])
def test_a_word_under_a_pulse_tone_is_known_to_be_there(cut, say, above_voice_db: float) -> None:
    """The same tone, with something like a word as loud as the voice under it."""
    speech = say("We saw both sides rise alike.")
    tone = _tone(0.1, level_dbfs(speech) + above_voice_db)
    word = _knock(0.1, level_dbfs(speech))

    (one,) = cut(silence(2), mixed(tone, word), silence(0.05), speech, silence(1))

    assert one.hidden_start


@pytest.mark.parametrize(
    ("gap_s", "softer_db", "missed"),
    [(0.7, 0, True), (1.5, 0, False), (0.7, 20, False)],
    ids=["soon before", "long before", "somebody further away"],
)
def test_voice_soon_before_may_belong_to_what_follows(
    cut, say, gap_s: float, softer_db: float, missed: bool
) -> None:
    """ "Unless … we saw both sides rise alike": the second part alone is not what was said."""
    before = scaled(say("Unless"), -softer_db)

    *_, found = cut(silence(1), before, silence(gap_s), say("We saw both sides rise alike."))

    assert found.hidden_start is missed


@pytest.mark.parametrize(("rustle_db", "missed"), [(4.0, True), (12.0, False)])
def test_a_word_that_the_detector_missed_is_known_to_be_missing(
    cut, say, rustle_db: float, missed: bool
) -> None:
    """Under a rustle it is a little like a voice, too long before to be kept with what follows;
    under a louder one, a noise."""
    word = say("Unless").astype(np.float64)
    rustle = np.random.default_rng(7).standard_normal(len(word))
    under_it = word / word.std() + rustle * 10 ** (rustle_db / 20)
    loud = (under_it / under_it.std() * word.std()).astype(np.int16)

    (one,) = cut(silence(1), loud, silence(0.3), say("We saw both sides rise alike."), silence(1))

    assert one.started_s > 1.0 + len(word) / RATE_HZ
    assert one.hidden_start is missed


def test_steady_noise_hides_no_word_by_itself(cut, say) -> None:
    """Noise 5 dB below the voice is as loud before it as anywhere: nothing stands out."""
    speech = np.concatenate([silence(2), say("Yes confirmed."), silence(1)])
    noise = np.random.default_rng(7).standard_normal(len(speech))
    noisy = speech + noise * 32768 * 10 ** ((level_dbfs(say("Yes confirmed.")) - 5) / 20)

    found = cut(np.clip(noisy, -32768, 32767).astype(np.int16))

    assert [one.hidden_start for one in found] == [False]


def test_noise_that_the_detector_takes_for_a_voice_is_held_back_and_reported(say, blocks) -> None:
    """A drone of one vowel, over and over: it becomes the room's noise, and speech still counts."""
    word = say("Confirmed.")
    vowel = scaled(word[1024:2048], -15)
    drone = np.tile(np.concatenate([vowel, vowel[::-1]]), 160)
    speech = np.pad(word, (0, len(drone) - len(word)))
    endpointer = Endpointer()

    for at_s, block in blocks(drone):
        endpointer.feed(block, at_s)
    assert endpointer.steady_noise

    over_it = np.clip(drone.astype(np.int32) + speech, -32768, 32767).astype(np.int16)
    heard = [endpointer.feed(block, at_s) for at_s, block in blocks(over_it)]
    assert [one.too_long for one in heard if one is not None] == [False]


def test_a_block_of_another_length_is_refused() -> None:
    """The detector's frame is 512 samples and nothing else."""
    with pytest.raises(ValueError, match="a block of 160 samples; it must have 512"):
        Endpointer().feed(np.zeros(160, np.int16), 0.0)


def test_thresholds_without_hysteresis_are_refused() -> None:
    """A voice must not be easier to begin than to go on with."""
    with pytest.raises(ValidationError, match="a voice_goes_on_at that is not above"):
        Endpointing(voice_begins_at=0.4, voice_goes_on_at=0.6)


def test_what_may_go_on_is_not_ended_sooner_than_the_rest() -> None:
    """The longer wait must be the longer one."""
    with pytest.raises(ValidationError, match="a may_go_on_ends_after_s that is below"):
        Endpointing(ends_after_s=1.5)


COUNT_THREADS = """
import os
import numpy as np
from assistant.hearing.endpointing import Endpointer
endpointer = Endpointer()
before = len(os.listdir("/proc/self/task"))
for number in range(20):
    endpointer.feed(np.zeros(512, np.int16), number * 0.032)
print(len(os.listdir("/proc/self/task")) - before)
"""


def test_the_voice_detector_works_in_one_thread() -> None:
    """Four that wait for each other would take a Pi's other cores from the recogniser."""
    told = subprocess.run(
        [sys.executable, "-c", COUNT_THREADS],
        check=True,
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
        env={name: value for name, value in os.environ.items() if not name.startswith("OMP_")},
    )

    assert told.stdout == "0\n"
