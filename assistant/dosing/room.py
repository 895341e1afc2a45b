"""The other numbers of the room, worked out: breaths, tubes, cylinders. Adults only."""

from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal

from assistant.dosing.figures import Cylinder, Figures, Setting
from assistant.dosing.refusal import NoDose
from assistant.dosing.units import half_up, plain, quantity, spoken, written
from assistant.dosing.weights import Sex, predicted_weight_kg
from assistant.meaning.numbers import say_number

WHOM = {Sex.MALE: "men", Sex.FEMALE: "women"}


@dataclass(frozen=True, slots=True)
class Told:
    """One answer, for the ear and for the eye, with what it rests on."""

    spoken: str
    written: str
    working: str
    source: str


def predicted_weight(figures: Figures, height_cm: int | None, sex: Sex | None) -> Told:
    """Predicted body weight and the tidal volume that goes by it.

    Raises NoDose when the height or the sex is not known.
    """
    weight_kg, tidal_ml, working = _tidal(figures, height_cm, sex)
    setting = figures.ventilation.tidal_ml_per_kg
    per_kg = f"{say_number(setting.set_to)} millilitres for each kilogram"
    return Told(
        f"Predicted body weight {spoken(quantity(weight_kg, 'kg'))}. "
        f"Tidal volume {spoken(quantity(tidal_ml, 'mL'))}: {per_kg}.",
        f"Predicted body weight {plain(weight_kg)} kg. Tidal volume {plain(tidal_ml)} mL: "
        f"{plain(setting.set_to)} mL/kg.",
        working,
        _sources(setting),
    )


def ventilator_start(
    figures: Figures, height_cm: int | None, sex: Sex | None, *, acidotic: bool
) -> Told:
    """How the ventilator is set at first; the volume last, as it may not be known.

    Without height and sex it gives the volume per kilogram, and says what is missing.
    """
    ventilation = figures.ventilation
    rate = ventilation.acidotic_breaths_per_min if acidotic else ventilation.breaths_per_min
    peep, oxygen = ventilation.peep_cm_water, ventilation.oxygen_percent
    whom = "for acidosis" if acidotic else "to start with"
    try:
        _, tidal_ml, working = _tidal(figures, height_cm, sex)
        volume = f"tidal volume {spoken(quantity(tidal_ml, 'mL'))}"
        short = f"tidal volume {plain(tidal_ml)} mL"
    except NoDose as unknown:
        per_kg = ventilation.tidal_ml_per_kg.set_to
        volume = (
            f"tidal volume {say_number(per_kg)} millilitres for each kilogram of predicted "
            f"body weight. {unknown}"
        ).removesuffix(".")
        short = f"tidal volume {plain(per_kg)} mL/kg predicted body weight. {unknown}"[:-1]
        working = ""
    return Told(
        f"Ventilator {whom}: {say_number(rate.set_to)} breaths a minute, "
        f"{say_number(oxygen.set_to)} percent oxygen, peep {say_number(peep.set_to)}, {volume}.",
        f"Ventilator {whom}: {plain(rate.set_to)}/min, {plain(oxygen.set_to)} % oxygen, "
        f"PEEP {plain(peep.set_to)} cmH2O, {short}.",
        working,
        _sources(ventilation.tidal_ml_per_kg, rate, peep, oxygen),
    )


def tube(figures: Figures, sex: Sex | None) -> Told:
    """Size and depth of the tube by the site's rule; for both sexes when it is not known."""
    tubes = [figures.tube(sex)] if sex is not None else list(figures.tubes)
    said = [
        f"{WHOM[one.sex]}: size {say_number(one.size_mm.set_to)}, "
        f"{say_number(one.depth_cm.set_to)} centimetres at the teeth"
        for one in tubes
    ]
    short = [
        f"{WHOM[one.sex]}: size {plain(one.size_mm.set_to)} mm, "
        f"{plain(one.depth_cm.set_to)} cm at the teeth"
        for one in tubes
    ]
    return Told(
        f"Tube for {'. For '.join(said)}.",
        f"Tube for {'. For '.join(short)}.",
        "",
        _sources(*(setting for one in tubes for setting in (one.size_mm, one.depth_cm))),
    )


def cylinder_minutes(figures: Figures, kind: Cylinder, bar: int, litres_per_min: int) -> Told:
    """How long a cylinder lasts, in whole minutes rounded down, down to the site's reserve.

    Oxygen is taken for an ideal gas, which is right within a few percent at these pressures.
    Raises NoDose for a pressure that this cylinder cannot have, and for no flow.
    """
    if bar > kind.full_bar:
        raise NoDose(
            f"The {kind.called} holds at most {say_number(kind.full_bar)} bar; "
            f"I heard {say_number(bar)}."
        )
    if litres_per_min <= 0:
        raise NoDose("Without a flow there is no time to tell.")
    usable_bar = max(Decimal(0), bar - figures.cylinders.reserve_bar)
    litres = usable_bar * kind.water_litres
    minutes = (litres / litres_per_min).quantize(Decimal(1), ROUND_DOWN)
    reserve = figures.cylinders.reserve_bar
    inputs = f"{say_number(bar)} bar, {say_number(litres_per_min)} litres a minute"
    return Told(
        f"{kind.called[:1].upper()}{kind.called[1:]}, {inputs}: about "
        f"{spoken(quantity(minutes, 'min'))}, with {say_number(reserve)} bar left at the end.",
        f"{kind.called[:1].upper()}{kind.called[1:]}, {bar} bar, {litres_per_min} L/min: about "
        f"{written(quantity(minutes, 'min'))}, with {plain(reserve)} bar left at the end.",
        f"({bar} - {plain(reserve)}) bar x {plain(kind.water_litres)} L = {plain(litres)} L; "
        f"/ {litres_per_min} L/min",
        f"{kind.source} ({kind.status.value})",
    )


def _tidal(
    figures: Figures, height_cm: int | None, sex: Sex | None
) -> tuple[Decimal, Decimal, str]:
    """Predicted weight to 0.1 kg, tidal volume to 1 mL, and how."""
    if height_cm is None or sex is None:
        missing = {"the height": height_cm, "the sex": sex}
        names = " and ".join(name for name, known in missing.items() if known is None)
        raise NoDose(f"I do not know {names}: tell me.")
    per_kg = figures.ventilation.tidal_ml_per_kg.set_to
    exact_kg = predicted_weight_kg(Decimal(height_cm), sex)
    tidal_ml = half_up(per_kg * exact_kg, Decimal(1))
    working = f"predicted weight of {height_cm} cm, {sex.value} = {plain(exact_kg)} kg; x {per_kg}"
    return half_up(exact_kg, Decimal("0.1")), tidal_ml, f"{working} mL/kg = {plain(tidal_ml)} mL"


def _sources(*settings: Setting) -> str:
    named = [f"{one.published.source} ({one.published.status.value})" for one in settings]
    return "; ".join(dict.fromkeys(named))
