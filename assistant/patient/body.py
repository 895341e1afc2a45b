"""The figures of one patient: how much gas and blood there is, and how fast oxygen is used."""

import math
from dataclasses import dataclass

from assistant.patient.curve import po2_mmhg, saturation

OXYGEN_PER_GRAM_ML = 1.34
"""Oxygen that a gram of haemoglobin binds (textbook figure)."""
DISSOLVED_ML_PER_DL_MMHG = 0.003
DEAD_SPACE_ML_PER_KG = 2.2
"""Of each breath, by a normal weight for the height (textbook figure, from memory)."""
RESPIRATORY_QUOTIENT = 0.8
USUAL_PCO2_MMHG = 40.0
TAKEN_ML_PER_DL = 4.2
"""Oxygen that the tissues take out of the blood at rest (textbook figure: 4 to 5)."""
ARTERIAL, VENOUS = 0.27, 0.68
"""Of all blood: from the lungs' veins through the left heart to the finger, and behind the tissues
(textbook figures, from memory); the rest is in capillaries."""
FAT_BURNS_NOT = 0.6
"""Of the weight above normal."""
LUNG_LEFT, LUNG_LOSS, UPRIGHT_HELPS = 0.2, 0.085, 0.4
"""Lung gas falls towards this share, by so much for each point of body-mass index above 25; sitting
up spares so much of that."""
COLLAPSE, COLLAPSE_PER_INDEX = 0.04, 0.004
"""Of the blood flow, and more for each point of body-mass index above 25."""


@dataclass(frozen=True, slots=True)
class Body:
    """The figures of one patient."""

    frc_ml: float
    """Gas in the lungs at the end of a quiet breath."""
    vo2_ml_per_min: float
    """Oxygen use awake, at standard conditions."""
    ventilation_ml_per_min: float
    """Alveolar, at body conditions."""
    output_dl_per_min: float
    """Cardiac output."""
    arterial_dl: float
    """Blood from the lungs' capillaries to the finger."""
    venous_dl: float
    """Blood behind the tissues, in which most oxygen is stored."""
    dead_space_ml: float
    """Of each breath, what reaches no blood."""
    collapse_shunt: float
    """Share of the blood that comes to pass by collapsed lung, lying still and not breathing."""
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
        for the height, a third more sitting, and oxygen use 10 x kg^(3/4) mL/min. Fat uses less:
        two fifths of the weight above normal count for that (The impact of morbid obesity on
        oxygen cost of breathing at rest, Am J Respir Crit Care Med 1999;160:883-6: some 300 mL/min
        once a ventilator breathes, from memory). Blood is 70 mL/kg over the root of the body-mass
        index by 22 (Estimating blood volume in obese and morbidly obese patients, Obes Surg
        2006;16:773-6, from memory).

        Set by what they lead to, against tests/bench/patient.py: how fast lung gas is lost with
        obesity (The effects of body mass on lung volumes, respiratory mechanics, and gas exchange
        during general anesthesia, Anesth Analg 1998;87:654-60: exponentially, from memory), how
        much of it the head-up position gives back, how much lung collapses.
        """
        upright = math.sin(math.radians(head_up_degrees))
        index = weight_kg / (height_cm / 100) ** 2
        normal_kg = 22 * (height_cm / 100) ** 2
        excess_index = max(0.0, index - 25)
        burning_kg = weight_kg - FAT_BURNS_NOT * max(0.0, weight_kg - normal_kg)
        vo2 = 10 * burning_kg**0.75 * oxygen_use
        blood_dl = 0.70 * weight_kg / math.sqrt(index / 22)
        sagging = excess_index * (1 - UPRIGHT_HELPS * upright)
        left = LUNG_LEFT + (1 - LUNG_LEFT) * math.exp(-LUNG_LOSS * sagging)
        return cls(
            frc_ml=30 * normal_kg * (1 + 0.35 * upright) * left,
            vo2_ml_per_min=vo2,
            # Gives an arterial carbon dioxide of 40 mmHg: 863 x VCO2 / 40.
            ventilation_ml_per_min=863 * RESPIRATORY_QUOTIENT * vo2 / USUAL_PCO2_MMHG,
            output_dl_per_min=vo2 / TAKEN_ML_PER_DL,
            arterial_dl=ARTERIAL * blood_dl,
            venous_dl=VENOUS * blood_dl,
            dead_space_ml=DEAD_SPACE_ML_PER_KG * normal_kg,
            collapse_shunt=COLLAPSE + COLLAPSE_PER_INDEX * sagging,
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
