"""All of a site's wording: what is said, what may be answered, by which voice and how patiently."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from assistant.files.complaints import WrongWithinError
from assistant.files.word_forms import Utterance
from assistant.files.yaml_files import SiteModel
from assistant.language.terms import Terms
from assistant.language.tongue import Language, Tongue
from assistant.speaking.handover_words import HandoverSays
from assistant.speaking.may_be_said import MayBeSaid
from assistant.speaking.pause_words import PauseSays
from assistant.speaking.says import LiveSays, Says
from assistant.speaking.vital_words import VitalSays
from assistant.speaking.voices import VoiceSettings


class Timing(SiteModel):
    """How patient the assistant is."""

    ask_again_after_s: Annotated[float, Field(ge=2, le=60)] = 7.0
    ask_at_most: Annotated[int, Field(ge=1, le=10)] = 3
    """Times that one item is asked before the assistant goes quiet and waits."""
    still_held_after_s: Annotated[float, Field(ge=10, le=600)] = 60.0
    """So long after it was told to wait, it says that it is still waiting; after "stop" only
    once, and in the silence of an arrest never."""
    breath_every_s: Annotated[float, Field(ge=2, le=12)] = 6.0
    """While the bag is paced."""
    breath_every_acidosis_s: Annotated[float, Field(ge=2, le=12)] = 3.0
    """The same for a patient who was told to be acidotic."""
    breath_every_obstruction_s: Annotated[float, Field(ge=2, le=12)] = 8.0
    """And for one who was told to be obstructed, acidotic or not."""
    answer_window_s: Annotated[float, Field(ge=2, le=30)] = 7.0
    """A plain yes that begins later than this after the question answers nothing."""
    tail_s: Annotated[float, Field(ge=0, le=2)] = 0.2
    """The microphone stays shut this long after the assistant has spoken."""

    @model_validator(mode="after")
    def _against_acid_and_trapped_air(self) -> "Timing":
        usual_s = self.breath_every_s
        if self.breath_every_acidosis_s > usual_s:
            faster = f"at most breath_every_s, {usual_s:g}: against acid the bag goes faster"
            raise WrongWithinError(faster, "breath_every_acidosis_s")
        if self.breath_every_obstruction_s < usual_s:
            slower = f"at least breath_every_s, {usual_s:g}: trapped air needs longer to get out"
            raise WrongWithinError(slower, "breath_every_obstruction_s")
        return self


class Wording(SiteModel):
    """All of wording.yaml."""

    language: Language = "en"
    """The language of the numbers that are said and heard."""
    terms: Terms = Terms()
    voice: VoiceSettings = VoiceSettings()
    echo_cancelled: bool = False
    """Whether the sound device, or the system, takes the assistant's own voice out of what its
    microphone hears. People may then speak while it does; the self-test checks it first."""
    timing: Timing = Timing()
    form: Literal["short", "long"] = "long"
    """Whether items are asked by their `call` or in full; both may be asked for aloud."""
    says: Says
    vital: VitalSays = VitalSays()
    pause: PauseSays = PauseSays()
    handover: HandoverSays = HandoverSays()
    live: LiveSays
    may_be_said: MayBeSaid
    address: tuple[Utterance, ...] = ()
    """What people call the assistant. With it, a question or a fact about the patient that comes
    while nothing is being asked must begin with one of these words; without it, none must."""

    @property
    def tongue(self) -> Tongue:
        """The site's language with its terms."""
        return Tongue(self.language, self.terms)

    @property
    def phonetic_voice(self) -> str:
        """espeak-ng's voice that tells how the site's words are pronounced."""
        speaks = self.voice.engine == "espeak"
        return self.voice.name if speaks else self.tongue.phonetic_voice

    def for_need(self) -> tuple[str, ...]:
        """Every phrase with nothing to fill in: what has to come when all else fails is in it."""
        vital = self.vital.model_dump()
        asked_back = vital.pop("asked_back")
        pause = self.pause.model_dump()
        told = (self.says.model_dump(), self.live.model_dump(), vital, asked_back, pause)
        phrases = (phrase for one in told for phrase in one.values())
        return tuple(phrase for phrase in phrases if "{" not in phrase)
