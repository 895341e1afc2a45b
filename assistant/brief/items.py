"""Every kind of item that a brief may have."""

from typing import get_args

from assistant.brief.confirmed_items import (
    ConfirmItem,
    PaceItem,
    PlanItem,
    TimedItem,
    VentilatorItem,
    WaveItem,
)
from assistant.brief.valued_items import (
    ChooseItem,
    FeaturesItem,
    NameItem,
    NumberItem,
    OxygenItem,
    QuantityItem,
)

AnyItem = (
    ConfirmItem
    | ChooseItem
    | NumberItem
    | NameItem
    | TimedItem
    | WaveItem
    | PaceItem
    | PlanItem
    | VentilatorItem
    | QuantityItem
    | OxygenItem
    | FeaturesItem
)
ITEM_KINDS: tuple[str, ...] = tuple(
    get_args(kind.model_fields["kind"].annotation)[0] for kind in get_args(AnyItem)
)
