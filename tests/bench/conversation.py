"""How much of real time a rehearsal takes, and what takes it: ratios, for any machine.

    python -m tests.bench.conversation [SCENARIO]

Below 1 it is faster than life. On a trolley the room's own time passes anyway: there, what counts
is the share of time in hearing while people talk, and the longest block, which delays a reply.
"""

import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from assistant.audio.sound import BLOCK_S
from assistant.commands.options import shipped_configs
from assistant.conversation.conversation import Conversation
from assistant.hearing.ear import Ear
from assistant.hearing.engines import make_engine
from assistant.journal.folder import new_case
from assistant.journal.journal import Journal
from assistant.patient.finger import SimulatedOximeter
from assistant.rehearsal.cast import Cast
from assistant.rehearsal.conductor import Conductor
from assistant.rehearsal.room import Recording, Room
from assistant.rehearsal.scenario import read_scenario
from assistant.site.site import load_site
from assistant.speaking.voices import CachedVoice

spent_s: Counter[str] = Counter()
longest_s: Counter[str] = Counter()


def timed(owner: type, method: str, name: str) -> None:
    """Count the time that a method takes."""
    inner: Callable[..., Any] = getattr(owner, method)

    def outer(*arguments: Any, **options: Any) -> Any:
        began_s = time.perf_counter()
        try:
            return inner(*arguments, **options)
        finally:
            took_s = time.perf_counter() - began_s
            spent_s[name] += took_s
            longest_s[name] = max(longest_s[name], took_s)

    setattr(owner, method, outer)


def main() -> None:
    """Rehearse once and print the ratios."""
    configs = shipped_configs()
    site = load_site(configs / "tarn-hollow")
    named = Path(sys.argv[1]) if len(sys.argv) > 1 else configs / "rehearsals" / "short.yaml"
    scenario = read_scenario(named, site)
    engine = make_engine("closed")
    timed(Ear, "hear", "hearing: end-pointing and reading")
    timed(type(engine), "read", "  of it the recogniser")
    timed(type(engine), "listen_for", "new grammars")
    timed(Journal, "append", "record: to disk and back")
    timed(CachedVoice, "render", "speech: rendered or from its cache")
    timed(Room, "at_the_microphone", "the simulated room")
    timed(Recording, "add", "its recording")
    timed(SimulatedOximeter, "step", "the simulated patient and oximeter")
    timed(Cast, "pull", "the people, speech included")
    timed(Conversation, "step", "whole conversation")
    with TemporaryDirectory() as cases:
        began_s = time.perf_counter()
        told = Conductor(
            site,
            scenario,
            new_case(Path(cases), site.files),
            engine,
            real_time=False,
            player=None,
            show=lambda _: None,
        ).run()
        took_s = time.perf_counter() - began_s
    to_real_time = took_s / told.lasted_s
    print(f"{scenario.name}: {told.lasted_s:.0f} s of the room; to real time {to_real_time:.3f}")
    print("\nshare of the time taken, and the longest single one in blocks of sound")
    for name, seconds in spent_s.most_common():
        print(f"{seconds / took_s:6.1%} {longest_s[name] / BLOCK_S:7.1f}  {name}")


if __name__ == "__main__":
    main()
