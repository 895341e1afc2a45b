"""The simulated patient of `spoken-brief patient --live`: beside a real room, and steered."""

from pathlib import Path

from assistant.commands.keys import END, key_within, one_key_at_a_time
from assistant.patient.course import Course, Steer
from assistant.rehearsal.bedside import Bedside
from assistant.site.site import Site

KEYS = {
    "d": Steer.DESATURATE,
    "r": Steer.RECOVER,
    "l": Steer.LOSE_SIGNAL,
    "b": Steer.SIGNAL_BACK,
}
STEP_S = 0.05


def play_live(course: Course, site: Site, cases: Path) -> int:
    """Play until q, steered by keys."""
    bedside = Bedside(course, site.oximeter.frame_layout, cases)
    print(f"The simulated oximeter: {bedside.port}")
    print(f"For the team: spoken-brief listen --port {bedside.port}")
    with one_key_at_a_time():
        print("  ".join(f"{key} {how.value}" for key, how in KEYS.items()) + "  q end", flush=True)
        while True:
            bedside.step()
            key = key_within(STEP_S)
            if key in END:
                return 0
            if key in KEYS:
                kept = bedside.steer(KEYS[key])
                note = "" if kept else " (no case is open: not on record)"
                print(f"{bedside.shown_percent} %  {KEYS[key].value}{note}", flush=True)
