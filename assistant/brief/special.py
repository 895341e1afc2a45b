"""What is special about a patient: told one or two at a time, until there is nothing else."""

from assistant.brief.events.asking import Answered, FeatureTold
from assistant.brief.going_on import ask_next
from assistant.brief.moment import Happened, Moment, Steps
from assistant.brief.told_doses import look_again
from assistant.brief.valued_items import FeaturesItem
from assistant.grammar.readings import Reading
from assistant.speaking.mouth import Line, Urgency
from assistant.speaking.sentences import filled


def feature(now: Moment, reading: Reading) -> Steps:
    """Something that this patient has; there may be more."""
    item = now.case.current
    if not isinstance(item, FeaturesItem):
        return
    slots = ("feature", "also")
    ids = dict.fromkeys(str(reading.values[one]) for one in slots if one in reading.values)
    told = [now.site.brief.feature(one) for one in ids]
    for one in told:
        happened = FeatureTold(item=item.id, feature=one.id)
        yield Happened(happened, f"{item.label}: {one.called}", item.id)
    yield from look_again(now)
    noted = filled(now.says.noted, value=", ".join(one.called for one in told))
    yield Line(f"{noted} {item.ask_more}", "ask", item.id, Urgency.ASK)


def no_feature(now: Moment, _: Reading) -> Steps:
    """There is nothing, or nothing more."""
    item = now.case.current
    if isinstance(item, FeaturesItem):
        yield from settle_features(now, item)


def settle_features(now: Moment, item: FeaturesItem) -> Steps:
    """All that is special was told."""
    told = now.case.features
    value = " ".join(one.id for one in told) or "none"
    spoken = ", ".join(one.called for one in told) or item.nothing_said[0]
    yield Happened(
        Answered(item=item.id, value=value, spoken=spoken), f"{item.label}: {spoken}", item.id
    )
    yield from look_again(now)
    yield from ask_next(now)
