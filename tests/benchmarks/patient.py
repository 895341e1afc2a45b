"""How far the simulated patient is from published figures: python -m tests.benchmarks.patient.

It prints and asserts nothing; tests/patient holds the order and plausible bands.
"""

from assistant.patient.stores import Body, Breathing, OxygenStores

READ, MEMORY = "read", "from memory"
HEALTHY, ILL, OBESE = Body.of_size(70, 178), Body.of_size(70, 178, 1.4), Body.of_size(127, 172)
APNOEA = (
    # who, body, start on air, oxygen, minutes of it, until, published min, source, status
    ("healthy 70 kg", HEALTHY, 0.98, 0.93, 5, 0.80, 8.7, "Benumof 1997, figure 1", MEMORY),
    ("moderately ill 70 kg", ILL, 0.94, 0.93, 5, 0.80, 5.5, "Benumof 1997, figure 1", MEMORY),
    ("obese 127 kg", OBESE, 0.97, 0.93, 5, 0.80, 3.1, "Benumof 1997, figure 1", MEMORY),
    ("healthy 70 kg", HEALTHY, 0.98, 1.00, 5, 0.90, 595 / 60, "Berthoud 1991, controls", READ),
    ("obese 127 kg", OBESE, 0.97, 1.00, 5, 0.90, 196 / 60, "Berthoud 1991, obese", READ),
    ("healthy 70 kg", HEALTHY, 0.98, 1.00, 3, 0.95, 3.73, "Baraka 1999, tidal", MEMORY),
)


def apnoea_min(body: Body, start: float, oxygen: float, minutes: float, until: float) -> float:
    """Minutes from the end of breathing until the saturation is down."""
    stores = OxygenStores(body, start)
    stores.inspired_oxygen = oxygen
    stores.advance(60 * minutes)
    stores.breathing, stores.inspired_oxygen = Breathing.APNOEA, 0.21
    seconds = 0
    while stores.arterial_saturation > until and seconds < 3600:
        stores.advance(1)
        seconds += 1
    return seconds / 60


def main() -> None:
    """Print a line for each published figure."""
    print(f"{'apnoea':22}{'until':>6}{'here':>7}{'there':>7}{'ratio':>7}  source (status)")
    for who, body, start, oxygen, minutes, until, published, source, status in APNOEA:
        here = apnoea_min(body, start, oxygen, minutes, until)
        print(
            f"{who:22}{100 * until:5.0f}%{here:7.2f}{published:7.2f}{here / published:7.2f}"
            f"  {source} ({status})"
        )
    stores = OxygenStores(HEALTHY, 0.98)
    stores.inspired_oxygen = 1.0
    stores.advance(180)
    print(
        f"alveolar oxygen after 3 min of oxygen: {stores.alveolar_oxygen:.3f}, published 0.92"
        f" (Pandit 2003, {READ})"
    )


if __name__ == "__main__":
    main()
