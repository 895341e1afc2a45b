"""The other numbers of the room, asked at any time: breaths, tubes, cylinders, saturation."""

from assistant.brief.going_on import go_on
from assistant.brief.situation import Desk, Steps
from assistant.dosing.refusal import NoDose
from assistant.dosing.room import cylinder_minutes, ventilator_start
from assistant.dosing.room import predicted_weight as predict
from assistant.dosing.room import tube as tube_for
from assistant.dosing.weights import Sex
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line

FRESH_S = 3.0
"""A saturation older than this is none; the watcher tells one every second."""


def predicted_weight(desk: Desk, _: Reading) -> Steps:
    try:
        told = predict(desk.site.figures, desk.case.known.height_cm, _sex(desk), desk.tongue).spoken
    except NoDose as unknown:
        told = str(unknown)
    yield from _tell(desk, told)


def ventilator(desk: Desk, _: Reading) -> Steps:
    yield from _ventilator(desk, acidotic=False)


def ventilator_acidotic(desk: Desk, _: Reading) -> Steps:
    yield from _ventilator(desk, acidotic=True)


def tube(desk: Desk, _: Reading) -> Steps:
    yield from _tell(desk, tube_for(desk.site.figures, _sex(desk), desk.tongue).spoken)


def size_of(desk: Desk, reading: Reading) -> Steps:
    yield from _tell(desk, desk.site.figures.size_of(str(reading.values["thing"])).rule)


def cylinder(desk: Desk, reading: Reading) -> Steps:
    figures, values = desk.site.figures, reading.values
    kind = figures.cylinder(str(values["cylinder"]))
    try:
        bar, litres = int(values["bar"]), int(values["litres"])
        told = cylinder_minutes(figures, kind, bar, litres, desk.tongue).spoken
    except NoDose as refusal:
        told = str(refusal)
    yield from _tell(desk, told)


def saturation(desk: Desk, _: Reading) -> Steps:
    """What the watcher saw last, with its age; an old one is never passed off as a new one."""
    present = desk.present
    age_s = None if present.seen_s is None else max(0.0, present.now_s - present.seen_s)
    if age_s is None or present.spo2_percent is None or age_s > FRESH_S:
        yield from _tell(desk, desk.says.no_saturation)
        return
    seconds = desk.tongue.say_quantity(say_whole(age_s), "second")
    percent = desk.say(present.spo2_percent)
    yield from _tell(desk, desk.filled(desk.says.saturation, percent=percent, ago=seconds))


def say_whole(seconds: float) -> int:
    """Elapsed seconds for the ear: at least one, as none is ever told the moment it is seen."""
    return max(1, round(seconds))


def _ventilator(desk: Desk, *, acidotic: bool) -> Steps:
    height_cm = desk.case.known.height_cm
    figures = desk.site.figures
    told = ventilator_start(figures, height_cm, _sex(desk), acidotic=acidotic, tongue=desk.tongue)
    yield from _tell(desk, told.spoken)


def _tell(desk: Desk, text: str) -> Steps:
    yield Line(text, "told")
    yield from go_on(desk)


def _sex(desk: Desk) -> Sex | None:
    sex = desk.case.known.sex
    return None if sex is None else Sex(sex)
