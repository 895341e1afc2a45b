"""Oxygen stores: lungs, blood and what the body uses, stepped through time.

Two compartments are enough for a rehearsal: a lung with one mixed gas, and a
pool of venous blood behind a shunt. Not modelled: the shift of the curve with carbon dioxide,
collapse of lung, changes of cardiac output. tests/bench/patient.py prints how
far it is from published times; it predicts nothing for a real patient.
"""

import math
from dataclasses import dataclass
from enum import Enum

from assistant.patient.curve import po2_mmhg, saturation

DRY_MMHG = 760.0 - 47.0
"""Barometric pressure at sea level less water vapour at 37 degrees."""
BODY_PER_STANDARD = 863.0 / DRY_MMHG
"""Volume of a gas in the lungs (37 degrees, wet) per volume at standard conditions (dry)."""
OXYGEN_PER_GRAM_ML = 1.34
"""Oxygen that a gram of haemoglobin binds (textbook figure)."""
DISSOLVED_ML_PER_DL_MMHG = 0.003
RESPIRATORY_QUOTIENT = 0.8
USUAL_PCO2_MMHG = 40.0
APNOEA_FAST_MMHG, APNOEA_FAST_MIN = 8.0, 0.3
APNOEA_SLOW_MMHG_PER_MIN = 3.5
"""Carbon dioxide in apnoea: at once towards the venous tension, then 3 to 4 mmHg a minute
(textbook figures, from memory)."""
LAST_VENOUS_ML_PER_DL = 3.0
DEEP_ML_PER_MIN = 10_000.0
"""Eight deep breaths a minute move as much new gas as the oxygen flow brings; the rest is breathed
again. It is the flow at which they were measured (Preoxygenation: comparison of maximal breathing
and tidal volume breathing techniques, Anesthesiology 1999;91:612-6)."""
DEAD_SPACE_ML_PER_KG = 2.2
"""Of each breath, by a normal weight for the height (textbook figure, from memory)."""
REFILL_MIN = 3.0 / 60
"""How soon a collapsed lung fills again when the airway is open."""
STIFF_FRACTION = 0.5
"""Of the usual lung gas: below it the chest shrinks no further, and the pressure falls."""
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


@dataclass(frozen=True, slots=True)
class Body:
    """The figures of one patient."""

    frc_ml: float
    """Gas in the lungs at the end of a quiet breath."""
    vo2_ml_per_min: float
    """Oxygen use, at standard conditions."""
    ventilation_ml_per_min: float
    """Alveolar, at body conditions."""
    output_dl_per_min: float
    """Cardiac output."""
    venous_dl: float
    """Blood in which oxygen is stored behind the capillaries."""
    dead_space_ml: float
    """Of each breath, what reaches no blood."""
    haemoglobin_g_per_dl: float = 14.0

    @classmethod
    def of_size(
        cls,
        weight_kg: float,
        height_cm: float,
        oxygen_use: float = 1.0,
        head_up_degrees: float = 0.0,
    ) -> "Body":
        """A body of this size; `oxygen_use` is 1 at rest, more with fever or sepsis.

        Textbook figures, from memory: 30 mL of lung gas lying flat for each kg of a normal weight
        for the height, a third more sitting, and oxygen use 10 x kg^(3/4) mL/min. Two are set by
        what they lead to: how fast the lung gas is lost with obesity, by the obese patient of
        Anesthesiology 1997;87:979-82 (also from memory); how much of it the head-up position gives
        back, by the ratio of the two groups of Anesthesiology 2005;102:1110-5.
        """
        upright = math.sin(math.radians(head_up_degrees))
        normal_kg = 22 * (height_cm / 100) ** 2
        excess_bmi = max(0.0, weight_kg / (height_cm / 100) ** 2 - 25)
        vo2 = 10 * weight_kg**0.75 * oxygen_use
        return cls(
            frc_ml=30
            * normal_kg
            * (1 + 0.35 * upright)
            * math.exp(-0.03 * excess_bmi * (1 - 0.5 * upright)),
            vo2_ml_per_min=vo2,
            # Gives an arterial carbon dioxide of 40 mmHg: 863 x VCO2 / 40.
            ventilation_ml_per_min=863 * RESPIRATORY_QUOTIENT * vo2 / USUAL_PCO2_MMHG,
            output_dl_per_min=vo2 / 5.0,  # the tissues take 5 mL of every dL
            venous_dl=0.75 * 0.07 * 10 * min(weight_kg, 1.3 * normal_kg),
            dead_space_ml=DEAD_SPACE_ML_PER_KG * normal_kg,
        )

    def content_ml_per_dl(self, tension_mmhg: float) -> float:
        """Oxygen in the blood at an oxygen tension."""
        bound = OXYGEN_PER_GRAM_ML * self.haemoglobin_g_per_dl * saturation(tension_mmhg)
        return bound + DISSOLVED_ML_PER_DL_MMHG * max(0.0, tension_mmhg)

    def saturation_of(self, content_ml_per_dl: float) -> float:
        """The saturation, 0 … 1, of blood with this much oxygen."""
        capacity = OXYGEN_PER_GRAM_ML * self.haemoglobin_g_per_dl
        low, high = 0.0, 1.0 - 1e-6
        for _ in range(24):
            middle = (low + high) / 2
            content = capacity * middle + DISSOLVED_ML_PER_DL_MMHG * po2_mmhg(middle)
            low, high = (middle, high) if content < content_ml_per_dl else (low, middle)
        return low


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
        self._venous = min(arterial, capillary) - extraction

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
        """0 … 1."""
        return self._body.saturation_of(self._arterial())

    def advance(self, seconds: float) -> None:
        """Let time pass."""
        left_min = seconds / 60
        while left_min > 0:
            step_min = min(STEP_MIN, left_min)
            self._step(step_min)
            left_min -= step_min

    def _arterial(self) -> float:
        capillary = self._body.content_ml_per_dl(self.alveolar_po2_mmhg)
        return capillary - self._shunt * (capillary - self._venous)

    def _step(self, step_min: float) -> None:
        body = self._body
        arterial = self._arterial()
        uptake = body.output_dl_per_min * (arterial - self._venous)
        # The last oxygen cannot be used: consumption falls as the venous store empties.
        used = body.vo2_ml_per_min * min(1.0, self._venous / LAST_VENOUS_ML_PER_DL)
        self._venous += step_min * (uptake - used) / body.venous_dl

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
