"""The other numbers of the room, asked at any time: breaths, tubes, cylinders, saturation."""

from assistant.brief.going_on import tell
from assistant.brief.moment import FRESH_S, Moment, Steps
from assistant.brief.ventilating import sex_of, ventilator_words
from assistant.dosing.refusal import NoDose
from assistant.dosing.room import Breathing, cylinder_minutes
from assistant.dosing.room import predicted_weight as predict
from assistant.dosing.room import tube as tube_for
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line
from assistant.speaking.sentences import filled


def predicted_weight(now: Moment, _: Reading) -> Steps:
    """Predicted body weight, and the breath that goes by it."""
    try:
        told = predict(now.site.figures, now.case.known.height_cm, sex_of(now), now.tongue).spoken
    except NoDose as unknown:
        told = str(unknown)
    yield from tell(now, Line(told, "told"))


def ventilator(now: Moment, _: Reading) -> Steps:
    """Where to start the ventilator, for what was told of this patient's breathing."""
    yield from tell(now, Line(ventilator_words(now), "told"))


def ventilator_acidotic(now: Moment, _: Reading) -> Steps:
    """The same for somebody who breathes hard against acid."""
    yield from tell(now, Line(ventilator_words(now, Breathing.ACIDOTIC), "told"))


def ventilator_obstructed(now: Moment, _: Reading) -> Steps:
    """The same for somebody whose air gets out slowly."""
    yield from tell(now, Line(ventilator_words(now, Breathing.OBSTRUCTED), "told"))


def tube(now: Moment, _: Reading) -> Steps:
    """Which tube, and how deep."""
    yield from tell(now, Line(tube_for(now.site.figures, sex_of(now), now.tongue).spoken, "told"))


def size_of(now: Moment, reading: Reading) -> Steps:
    """Which size of something."""
    yield from tell(now, Line(now.site.figures.size_of(str(reading.values["thing"])).rule, "told"))


def cylinder(now: Moment, reading: Reading) -> Steps:
    """How long a cylinder lasts."""
    figures, values = now.site.figures, reading.values
    kind = figures.cylinder(str(values["cylinder"]))
    try:
        bar, litres = int(values["bar"]), int(values["litres"])
        told = cylinder_minutes(figures, kind, bar, litres, now.tongue).spoken
    except NoDose as refusal:
        told = str(refusal)
    yield from tell(now, Line(told, "told"))


def saturation(now: Moment, _: Reading) -> Steps:
    """What the watcher saw last, if that was within three seconds; an old one is never passed off
    as a new one, nor said after a call that came in between."""
    present = now.present
    if present.seen_ago_s is None or present.spo2_percent is None:
        yield from tell(now, Line(now.says.no_saturation, "told"))
        return
    seconds = now.tongue.say_quantity(say_whole(present.seen_ago_s), "second")
    percent = now.say(present.spo2_percent)
    text = filled(now.says.saturation, percent=percent, ago=seconds)
    yield from tell(now, Line(text, "told", until_s=present.now_s + FRESH_S))


def say_whole(seconds: float) -> int:
    """Elapsed seconds for the ear: at least one, as none is ever told the moment it is seen."""
    return max(1, round(seconds))
