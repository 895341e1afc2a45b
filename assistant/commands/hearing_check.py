"""`spoken-brief check --hearing`: how far this machine hears otherwise than the reference."""

from collections.abc import Iterator

from assistant.fitting.reference import Comparison, KeepingEngine, compare, score, shipped
from assistant.site.site import Site


def compare_hearing(site: Site) -> Comparison:
    """Hear the reference set here. `site` is the example site, whose phrases it is made of.

    Raises BadInput when recogniser or synthesiser are not there.
    """
    return compare(shipped(), list(score(site, KeepingEngine(threads=1))))


def told(found: Comparison) -> Iterator[str]:
    """The comparison in lines."""
    middle, worst = found.log_odds
    yield (
        f"Hearing: {found.compared} sentences held against the reference; their log-odds differ by "
        f"{middle:.2f} in the middle and {worst:.2f} at the worst."
    )
    if found.rendered_differently:
        yield (
            f"{found.rendered_differently} of them are rendered differently here: another "
            "synthesiser, so that the figures say less of the recogniser."
        )
    for name, (feature_middle, feature_worst) in found.features.items():
        if feature_worst > 0:
            yield f"  {name}: {feature_middle:.3f}, at the worst {feature_worst:.3f}"
    for text in found.costly:
        yield f"Less is understood here: {text}."
    for text in found.dangerous:
        yield f"DANGEROUS, do not use this machine: {text}."
    if not (found.costly or found.dangerous):
        yield "No verdict is worse here."
