"""Oxygen stores: lungs, blood and what the body uses, stepped through time.

Three compartments are enough for a rehearsal: a lung with one mixed gas, the blood from there to
the finger, and the blood behind the tissues. Some blood passes the lung without meeting gas: a
share that is the patient's own, and more as lung collapses in apnoea, most in the heavy. Not
modelled: the shift of the curve with carbon dioxide, changes of cardiac output.
`python -m tests.bench.patient` prints how far it is from published times and slopes; it predicts
nothing for a real patient.
"""

from enum import Enum

from assistant.patient.body import RESPIRATORY_QUOTIENT, USUAL_PCO2_MMHG, Body
from assistant.patient.curve import po2_mmhg

DRY_MMHG = 760.0 - 47.0
"""Barometric pressure at sea level less water vapour at 37 degrees."""
BODY_PER_STANDARD = 863.0 / DRY_MMHG
"""Volume of a gas in the lungs (37 degrees, wet) per volume at standard conditions (dry)."""
APNOEA_FAST_MMHG, APNOEA_FAST_MIN = 8.0, 0.3
APNOEA_SLOW_MMHG_PER_MIN = 3.5
"""Carbon dioxide in apnoea: at once towards the venous tension, then 3 to 4 mmHg a minute
(textbook figures, from memory)."""
LAST_VENOUS_ML_PER_DL = 3.0
DEEP_ML_PER_MIN = 10_000.0
"""Eight deep breaths a minute move as much new gas as the oxygen flow brings; the rest is breathed
again. It is the flow at which they were measured (Preoxygenation: comparison of maximal breathing
and tidal volume breathing techniques, Anesthesiology 1999;91:612-6)."""
REFILL_MIN = 3.0 / 60
"""How soon a collapsed lung fills again when the airway is open."""
STIFF_FRACTION = 0.5
"""Of the usual lung gas: below it the chest shrinks no further, and the pressure falls."""
ASLEEP = 0.87
"""Oxygen use under anaesthesia, of that awake (textbook figure, from memory)."""
COLLAPSE_MIN = 1.0
"""How soon dependent lung collapses when nobody breathes, and opens when somebody bags."""
STEP_MIN = 0.1 / 60


class Breathing(Enum):
    """What moves gas in and out of the lungs."""

    SPONTANEOUS = "spontaneous"
    DEEP = "deep"
    """As deep as can be, eight times a minute."""
    BAGGED = "bagged"
    APNOEA = "apnoea"
    """Nothing but what the blood takes up: gas of the upper airway follows into the lungs."""
    OBSTRUCTED = "obstructed"
    """Nothing at all: the lungs are drawn in by what the blood takes up."""


class OxygenStores:
    """The lungs and the blood of one patient, from a steady state onwards."""

    def __init__(self, body: Body, start_saturation: float, inspired_oxygen: float = 0.21) -> None:
        """The shunt is the one that gives this arterial saturation, 0 … 1, breathing this.

        A saturation above what lungs without a shunt reach (0.98 on air) is taken as no shunt.
        """
        self._body = body
        self.breathing = Breathing.SPONTANEOUS
        self.inspired_oxygen = inspired_oxygen
        """Fraction in what is breathed, or follows in apnoea."""
        self.bagged_ml_per_min = body.ventilation_ml_per_min
        """Alveolar, while bagged."""
        used = body.vo2_ml_per_min * BODY_PER_STANDARD
        ventilation = body.ventilation_ml_per_min
        fraction = (ventilation * self.inspired_oxygen - used) / (
            ventilation - (1 - RESPIRATORY_QUOTIENT) * used
        )
        self._lung_ml = body.frc_ml
        """All gas in the lungs, at the pressure of the room; dry, but for its own volume."""
        self._oxygen_ml = fraction * body.frc_ml
        self._fast_mmhg = self._slow_mmhg = 0.0
        """Carbon dioxide above usual."""
        arterial = body.content_ml_per_dl(po2_mmhg(min(start_saturation, 0.999)))
        capillary = body.content_ml_per_dl(self.alveolar_po2_mmhg)
        extraction = body.vo2_ml_per_min / body.output_dl_per_min
        ratio = max(0.0, (capillary - arterial) / extraction)
        self._shunt = ratio / (1 + ratio)
        """For good; lung that has collapsed for a while comes on top."""
        self.shut_off = 0.0
        """0 … 1, of all blood: what passes lung that is shut off, as by a plug, if that is more."""
        self._collapsed = 0.0
        """0 … 1, of the collapse that the body comes to."""
        self._arterial = min(arterial, capillary)
        self._venous = self._arterial - extraction
        """Oxygen in the two pools of blood, mL/dL."""

    @property
    def alveolar_oxygen(self) -> float:
        """Fraction of dry gas; below what is there when the pressure in the lungs has fallen."""
        return self._oxygen_ml / max(self._lung_ml, STIFF_FRACTION * self._body.frc_ml)

    @property
    def alveolar_po2_mmhg(self) -> float:
        """The tension of oxygen in the lungs."""
        return self.alveolar_oxygen * DRY_MMHG

    @property
    def arterial_saturation(self) -> float:
        """0 … 1, in the arteries: mixed on its way, so behind the lungs by some 15 s."""
        return self._body.saturation_of(self._arterial)

    def advance(self, seconds: float) -> None:
        """Let time pass."""
        left_min = seconds / 60
        while left_min > 0:
            step_min = min(STEP_MIN, left_min)
            self._step(step_min)
            left_min -= step_min

    def _leaving_lungs(self) -> float:
        """Oxygen in the blood that leaves the lungs, mL/dL: some of it has met no gas."""
        capillary = self._body.content_ml_per_dl(self.alveolar_po2_mmhg)
        shunt = max(self._shunt, self.shut_off)
        past = shunt + (1 - shunt) * self._collapsed * self._body.collapse_shunt
        return capillary - past * (capillary - self._venous)

    def _step(self, step_min: float) -> None:
        body = self._body
        leaving = self._leaving_lungs()
        uptake = body.output_dl_per_min * (leaving - self._venous)
        # Oxygen use falls off as the venous store empties.
        used = self._use() * min(1.0, self._venous / LAST_VENOUS_ML_PER_DL)
        given = body.output_dl_per_min * (self._arterial - self._venous)
        self._arterial += step_min * (uptake - given) / body.arterial_dl
        self._venous += step_min * (given - used) / body.venous_dl
        self._collapse(step_min)

        in_lungs = uptake * BODY_PER_STANDARD
        if self.breathing in (Breathing.APNOEA, Breathing.OBSTRUCTED):
            moved, drawn_in = 0.0, in_lungs - self._carbon_dioxide_rises(step_min)
        else:
            ventilation = self._ventilation()
            self._carbon_dioxide_falls(step_min, ventilation)
            expired = ventilation - (1 - RESPIRATORY_QUOTIENT) * in_lungs
            moved = ventilation * self.inspired_oxygen - expired * self.alveolar_oxygen
            drawn_in = 0.0
        if self.breathing is Breathing.OBSTRUCTED:
            self._lung_ml -= step_min * drawn_in
            follows = 0.0
        else:
            refill = (body.frc_ml - self._lung_ml) / REFILL_MIN
            self._lung_ml += step_min * refill
            follows = max(0.0, drawn_in) + refill
        self._oxygen_ml += step_min * (moved + follows * self.inspired_oxygen - in_lungs)
        most = 1 - (USUAL_PCO2_MMHG + self._fast_mmhg + self._slow_mmhg) / DRY_MMHG
        self._oxygen_ml = min(max(self._oxygen_ml, 0.0), most * self._lung_ml)

    def _use(self) -> float:
        """Oxygen use, mL a minute: less in those who neither breathe nor are awake."""
        awake = self.breathing in (Breathing.SPONTANEOUS, Breathing.DEEP)
        return self._body.vo2_ml_per_min * (1.0 if awake else ASLEEP)

    def _collapse(self, step_min: float) -> None:
        still = self.breathing in (Breathing.APNOEA, Breathing.OBSTRUCTED)
        self._collapsed += step_min * (still - self._collapsed) / COLLAPSE_MIN

    def _ventilation(self) -> float:
        """mL a minute, alveolar."""
        if self.breathing is Breathing.BAGGED:
            return self.bagged_ml_per_min
        usual = self._body.ventilation_ml_per_min
        return max(usual, DEEP_ML_PER_MIN) if self.breathing is Breathing.DEEP else usual

    def _carbon_dioxide_rises(self, step_min: float) -> float:
        """Returns what comes out of the blood, mL a minute."""
        rise = (APNOEA_FAST_MMHG - self._fast_mmhg) / APNOEA_FAST_MIN
        self._fast_mmhg += step_min * rise
        self._slow_mmhg += step_min * APNOEA_SLOW_MMHG_PER_MIN
        return self._body.frc_ml * (rise + APNOEA_SLOW_MMHG_PER_MIN) / DRY_MMHG

    def _carbon_dioxide_falls(self, step_min: float, ventilation: float) -> None:
        per_min = ventilation / self._body.frc_ml
        self._fast_mmhg -= step_min * per_min * self._fast_mmhg
        self._slow_mmhg -= step_min * self._slow_mmhg / 3.0  # body stores wash out slowly
