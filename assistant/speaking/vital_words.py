"""The words that a case turns on: what people say for them, and what is said to them."""

from typing import Annotated

from pydantic import Field

from assistant.files.templates import Template, with_all
from assistant.files.word_forms import Spoken, Utterance
from assistant.files.yaml_files import SiteModel

Plain = Spoken
Answers = Annotated[tuple[Utterance, ...], Field(min_length=1)]


class VitalWords(SiteModel):
    """What the case turns on, by meaning; heard in every state that has not ended.

    What is not surely heard is asked back in two words, and a yes counts.
    """

    attempt_start: Answers
    attempt_failed: Answers
    """The operator comes out, or the tube did not go in."""
    tube_in: Answers
    tube_past_cords: tuple[Utterance, ...] = ()
    """The same, and by the mouth, also while the neck is being opened."""
    tube_out: Answers = (
        "the tube came out",
        "tube out",
        "we lost the tube",
        "we took the tube out",
    )
    """No tube is in any more, or it is in the gullet."""
    wave_lost: tuple[Utterance, ...] = ()
    """There is no carbon dioxide, or none any more: what is in has to come out."""
    drugs_in: Answers
    cannot_oxygenate: Answers = (
        "can't oxygenate",
        "we cannot oxygenate",
        "front of neck now",
    )
    """No oxygen gets in by mask, tube or supraglottic airway."""
    cannot_ventilate: tuple[Utterance, ...] = ()
    """No breath gets in by the mask, or by the tube that is in: what that means depends on where
    the case is. What always means the neck is `cannot_oxygenate`."""
    rescue_start: Answers = ("go for the rescue airway", "we go for the supraglottic")
    """Somebody decides for the supraglottic airway; an attempt that runs has failed."""
    rescue_in: Answers = ("supraglottic in", "the supraglottic went in")
    """The supraglottic airway is in."""
    neck_open: Answers = ("the neck tube went in", "tube in through the neck")
    """A tube is in through the front of the neck."""
    arrest: Answers = ("cardiac arrest", "the heart stopped", "start compressions")


class AskedBack(SiteModel):
    """How each is asked back if it was not clearly heard."""

    attempt_start: Plain = "Attempt begun?"
    attempt_failed: Plain = "Attempt failed?"
    tube_in: Plain = "Tube in?"
    tube_past_cords: Plain = "Tube through the cords?"
    tube_out: Plain = "Tube out?"
    wave_lost: Plain = "No wave, correct?"
    drugs_in: Plain = "Drugs in?"
    cannot_oxygenate: Plain = "Can't oxygenate, correct?"
    cannot_ventilate: Plain = "Can't ventilate, correct?"
    rescue_start: Plain = "Rescue airway now?"
    rescue_in: Plain = "Supraglottic in?"
    neck_open: Plain = "Tube in through the neck?"
    arrest: Plain = "Cardiac arrest?"
    no_wave: Plain = "No wave, correct?"
    """No vital word, but what denies the wave that is asked for."""
    look_by_mouth: Plain = "Another look by the mouth?"
    """An attempt was said to begin while the neck is being opened: it may be said of the neck."""
    another_failed: Plain = "Another attempt, failed?"
    """An attempt was said to have failed some time after the last, and none to have begun."""
    rescue_out: Plain = "Supraglottic out?"
    """Somebody comes out, or cannot get something in, while one is in."""


class VitalSays(SiteModel):
    """What is said to the words that a case turns on, besides the plan of the brief."""

    asked_back: AskedBack = AskedBack()
    attempt_runs: Annotated[Template, with_all("number", perhaps=("time",))] = (
        "Attempt {number} runs, {time}."
    )
    """An attempt was said to begin while one runs."""
    tube_out: Plain = "It is out. Bag now."
    cannot_oxygenate: Plain = "Front of neck, now. Keep oxygen on from above."
    cannot_ventilate: Plain = (
        "Two hands on the mask, jaw up, an airway under it. If no oxygen gets in, say so."
    )
    """Nobody has looked yet, and no rescue has begun."""
    rescue_in: Plain = "Supraglottic in. Bag through it."
    neck_open: Plain = "Tube in through the neck. Oxygen through it."
    arrest: Plain = "Arrest, clock running. I am quiet until you say: go on."
    pulse_back: Annotated[Template, with_all("time")] = "Pulse back, after {time}."
    """An arrest was timed, and is over."""
    pulse_back_some_time: Plain = "Pulse back."
    """The same where nobody knows for how long, as after a restart."""
    arrest_runs: Annotated[Template, with_all("time")] = "Arrest, {time}."
