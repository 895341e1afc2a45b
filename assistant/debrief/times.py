"""Times for people, written and rounded in one way wherever they stand."""


def clock(at_s: float | None) -> str:
    """A moment, in minutes and seconds from the beginning: 12:05."""
    return "?" if at_s is None else _minutes(round(at_s))


def fine_clock(at_s: float | None) -> str:
    """The same with tenths, for a list in which one thing follows close upon another: 12:05.3."""
    if at_s is None:
        return "?"
    whole_s, tenth = divmod(round(abs(at_s) * 10), 10)
    return f"{'-' if at_s < 0 else ''}{_minutes(whole_s)}.{tenth}"


def short_time(seconds: float | None) -> str:
    """A length: 1.5 s; a minute and more as minutes and seconds, 1:15 min."""
    if seconds is None:
        return "\N{EN DASH}"
    return f"{seconds:.1f} s" if round(seconds, 1) < 60 else f"{clock(seconds)} min"


def _minutes(whole_s: int) -> str:
    return f"{'-' if whole_s < 0 else ''}{abs(whole_s) // 60}:{abs(whole_s) % 60:02d}"
