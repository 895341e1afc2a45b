"""Stretches of time, each with its beginning and its end in s."""

from collections.abc import Iterable, Sequence

Span = tuple[float, float]


def overlap(one: Span, other: Span) -> bool:
    """Whether two stretches have time in common."""
    return one[0] < other[1] and other[0] < one[1]


def less(spans: Iterable[Span], taken: Sequence[Span]) -> list[Span]:
    """What is left of stretches when others are taken out of them."""
    left = list(spans)
    for begin, end in taken:
        left = [
            (since, until)
            for since_s, until_s in left
            for since, until in ((since_s, min(until_s, begin)), (max(since_s, end), until_s))
            if until > since
        ]
    return left


def total_s(spans: Iterable[Span]) -> float:
    """How long stretches are together, in s, where they do not overlap."""
    return round(sum(end - begin for begin, end in spans), 2)


def joined(spans: Iterable[Span]) -> list[Span]:
    """Stretches in order, those that touch as one."""
    found: list[Span] = []
    for begin, end in spans:
        if found and begin <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], end)
        else:
            found.append((begin, end))
    return found
