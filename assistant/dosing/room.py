"""The other numbers of the room, worked out: breaths, tubes, cylinders. Adults only."""

from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from enum import Enum

from assistant.dosing.figures import Cylinder, Figures, Setting
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import half_up, plain, quantity, spoken, written
from assistant.dosing.weights import Sex, predicted_weight_kg
from assistant.language.dose_terms import RoomTerms
from assistant.language.tongue import ENGLISH, Tongue

_EN = ENGLISH.terms.room
WHOM = {Sex.MALE: _EN.men, Sex.FEMALE: _EN.women}


class Breathing(Enum):
    """How a patient breathes, as far as the ventilator is set by it."""

    USUAL = "usual"
    ACIDOTIC = "acidotic"
    """Hard, against acid."""
    OBSTRUCTED = "obstructed"
    """Air gets out slowly: asthma, chronic lung disease."""


@dataclass(frozen=True, slots=True)
class RoomAnswer:
    """One answer, as it is spoken and as it is written, with what it rests on."""

    spoken: str
    written: str
    working: str
    source: str


def predicted_weight(
    figures: Figures, height_cm: int | None, sex: Sex | None, tongue: Tongue = ENGLISH
) -> RoomAnswer:
    """Predicted body weight and the tidal volume that goes by it.

    Raises NoDose when the height or the sex is not known.
    """
    weight_kg, tidal_ml, working = _tidal(figures, height_cm, sex, tongue)
    setting = figures.ventilation.tidal_volume
    return RoomAnswer(
        tongue.terms.room.predicted_weight.format(
            weight=spoken(quantity(weight_kg, "kg"), tongue),
            volume=spoken(quantity(tidal_ml, "mL"), tongue),
            per_kilogram=spoken(quantity(setting.set_to.amount, "mL"), tongue),
        ),
        f"Predicted body weight {plain(weight_kg)} kg. Tidal volume {plain(tidal_ml)} mL: "
        f"{plain(setting.set_to.amount)} mL/kg.",
        working,
        _sources(setting),
    )


def ventilator_start(
    figures: Figures,
    height_cm: int | None,
    sex: Sex | None,
    breathing: Breathing = Breathing.USUAL,
    tongue: Tongue = ENGLISH,
) -> RoomAnswer:
    """How the ventilator is set at first, with the highest plateau pressure.

    The volume comes last, as it may not be known.

    Without height and sex it gives the volume per kilogram, and says what is missing.
    """
    ventilation, terms, say = figures.ventilation, tongue.terms.room, tongue.numbers.say_number
    rate = {
        Breathing.USUAL: ventilation.breaths,
        Breathing.ACIDOTIC: ventilation.acidotic_breaths,
        Breathing.OBSTRUCTED: ventilation.obstructed_breaths,
    }[breathing]
    peep, oxygen, plateau = ventilation.peep, ventilation.oxygen, ventilation.plateau
    try:
        _, tidal_ml, working = _tidal(figures, height_cm, sex, tongue)
        volume = terms.tidal_volume.format(volume=spoken(quantity(tidal_ml, "mL"), tongue))
        short = f"tidal volume {plain(tidal_ml)} mL"
    except NoDose as unknown:
        per_kg = ventilation.tidal_volume.set_to.amount
        volume = terms.tidal_per_kilogram.format(
            volume=spoken(quantity(per_kg, "mL"), tongue), unknown=unknown
        ).removesuffix(".")
        short = f"tidal volume {plain(per_kg)} mL/kg predicted body weight. {unknown}"[:-1]
        working = ""
    return RoomAnswer(
        terms.ventilator.format(
            whom=_for_whom(breathing, terms),
            breaths=say(rate.set_to.amount),
            oxygen=say(oxygen.set_to.amount),
            peep=say(peep.set_to.amount),
            plateau=say(plateau.set_to.amount),
            volume=volume,
        ),
        f"Ventilator {_for_whom(breathing, _EN)}: {plain(rate.set_to.amount)}/min, "
        f"{plain(oxygen.set_to.amount)} % oxygen, PEEP {plain(peep.set_to.amount)} cmH2O, "
        f"plateau at most {plain(plateau.set_to.amount)} cmH2O, {short}.",
        working,
        _sources(ventilation.tidal_volume, rate, peep, oxygen, plateau),
    )


def _for_whom(breathing: Breathing, terms: RoomTerms) -> str:
    return {
        Breathing.USUAL: terms.to_start_with,
        Breathing.ACIDOTIC: terms.for_acidosis,
        Breathing.OBSTRUCTED: terms.for_obstruction,
    }[breathing]


def tube(figures: Figures, sex: Sex | None, tongue: Tongue = ENGLISH) -> RoomAnswer:
    """Size and depth of the tube by the site's rule; for both sexes when it is not known."""
    tubes = [figures.tube(sex)] if sex is not None else list(figures.tubes)
    terms = tongue.terms.room
    said = [
        sentence.format(
            whom={Sex.MALE: terms.men, Sex.FEMALE: terms.women}[one.sex],
            size=tongue.numbers.say_number(one.size.set_to.amount),
            depth=spoken(quantity(one.depth.set_to.amount, "cm"), tongue),
        )
        for one, sentence in zip(tubes, (terms.tube, terms.other_tube), strict=False)
    ]
    short = [
        f"{WHOM[one.sex]}: size {plain(one.size.set_to.amount)} mm, "
        f"{plain(one.depth.set_to.amount)} cm at the teeth"
        for one in tubes
    ]
    return RoomAnswer(
        " ".join(said),
        f"Tube for {'. For '.join(short)}.",
        "",
        _sources(*(setting for one in tubes for setting in (one.size, one.depth))),
    )


def depth_far_from(
    figures: Figures, height_cm: int | None, depth_cm: Decimal, tongue: Tongue = ENGLISH
) -> str:
    """What the height suggests, in words, where the depth of a tube in cm is far from that.

    Empty where it is near, where the height is not known, and where the site has no rule for it.
    """
    rule = figures.depth_by_height
    if rule is None or height_cm is None:
        return ""
    suggested_cm = rule.depth_cm(height_cm)
    if abs(depth_cm - suggested_cm) < rule.far_cm:
        return ""
    depth = spoken(quantity(half_up(suggested_cm, Decimal(1)), "cm"), tongue)
    return tongue.terms.room.depth_by_height.format(depth=depth)


def cylinder_minutes(
    figures: Figures, kind: Cylinder, bar: int, litres_per_min: int, tongue: Tongue = ENGLISH
) -> RoomAnswer:
    """How long a cylinder lasts, in whole minutes rounded down, down to the site's reserve.

    Oxygen is taken for an ideal gas, which is right within a few percent at these pressures.
    Raises NoDose for a pressure that this cylinder cannot have, and for no flow.
    """
    terms, say = tongue.terms.room, tongue.numbers.say_number
    if bar > kind.full.amount:
        full = say(kind.full.amount)
        raise NoDose(terms.cylinder_holds.format(cylinder=kind.called, full=full, bar=say(bar)))
    if litres_per_min <= 0:
        raise NoDose(terms.no_flow)
    usable_bar = max(Decimal(0), bar - figures.cylinders.reserve.amount)
    litres = usable_bar * kind.water.amount
    minutes = (litres / litres_per_min).quantize(Decimal(1), ROUND_DOWN)
    reserve = figures.cylinders.reserve.amount
    return RoomAnswer(
        terms.cylinder.format(
            cylinder=f"{kind.called[:1].upper()}{kind.called[1:]}",
            bar=say(bar),
            litres=say(litres_per_min),
            minutes=spoken(quantity(minutes, "min"), tongue),
            reserve=say(reserve),
        ),
        f"{kind.called[:1].upper()}{kind.called[1:]}, {bar} bar, {litres_per_min} L/min: about "
        f"{written(quantity(minutes, 'min'))}, with {plain(reserve)} bar left at the end.",
        f"({bar} - {plain(reserve)}) bar x {plain(kind.water.amount)} L = {plain(litres)} L; "
        f"/ {litres_per_min} L/min",
        f"{kind.source} ({kind.status.value})",
    )


def _tidal(
    figures: Figures, height_cm: int | None, sex: Sex | None, tongue: Tongue
) -> tuple[Decimal, Decimal, str]:
    """Predicted weight to 0.1 kg, tidal volume to 1 mL, and how."""
    if height_cm is None or sex is None:
        missing = tongue.missing(height_cm, sex, tongue.terms.dose.both)
        raise NoDose(tongue.terms.room.unknown.format(missing=missing))
    per_kg = figures.ventilation.tidal_volume.set_to.amount
    exact_kg = predicted_weight_kg(Decimal(height_cm), sex)
    tidal_ml = half_up(per_kg * exact_kg, Decimal(1))
    working = f"predicted weight of {height_cm} cm, {sex.value} = {plain(exact_kg)} kg; x {per_kg}"
    return half_up(exact_kg, Decimal("0.1")), tidal_ml, f"{working} mL/kg = {plain(tidal_ml)} mL"


def _sources(*settings: Setting) -> str:
    named = [f"{one.published.source} ({one.published.status.value})" for one in settings]
    return "; ".join(dict.fromkeys(named))
