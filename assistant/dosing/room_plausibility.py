"""The other numbers of a site's room held against the program's own reference."""

from collections.abc import Iterator

from assistant.dosing.figures import Figures, Setting
from assistant.dosing.sourced import Published
from assistant.dosing.stated import Figure
from assistant.dosing.yardstick import yardstick
from assistant.files.faults import Fault

USUAL_HEIGHTS_CM = (160, 180)
"""Of most adults; from memory."""


def implausible_room(figures: Figures) -> Iterator[Fault]:
    """What of figures.yaml the reference does not bear out."""
    known = yardstick()
    ventilation = figures.ventilation
    settings: list[tuple[tuple[int | str, ...], Setting, str]] = [
        (("ventilation", name), getattr(ventilation, name), name)
        for name in type(ventilation).model_fields
    ]
    for number, tube in enumerate(figures.tubes):
        settings += [
            (("tubes", number, name), getattr(tube, name), name) for name in ("size", "depth")
        ]
    for loc, setting, name in settings:
        theirs = getattr(known.room, name)
        wide = theirs.range.widened(known.factor)
        ours = setting.published.range
        for key, figure in (
            ("published", ours.low),
            ("published", ours.high),
            ("set_to", setting.set_to),
        ):
            if not wide.holds(figure):
                allowed = f"{theirs.range} in the program's reference ({theirs.source})"
                yield Fault((*loc, key), str(figure), allowed)
    yield from _depth_by_height(figures, known.room.depth)


def _depth_by_height(figures: Figures, theirs: Published) -> Iterator[Fault]:
    """A rule whose depths, of adults of usual heights, no tube has."""
    rule = figures.depth_by_height
    if rule is None:
        return
    for height_cm in USUAL_HEIGHTS_CM:
        depth = Figure(rule.depth_cm(height_cm), "cm")
        if not theirs.range.holds(depth):
            allowed = (
                f"a rule that comes to {theirs.range} at {height_cm} cm, as in the program's "
                f"reference ({theirs.source})"
            )
            loc = ("depth_by_height", "per_centimetre")
            yield Fault(loc, f"{depth} at {height_cm} cm", allowed)
            return
