"""What an item takes for an answer, and how a decimal is said back."""

from typing import Any

import pytest
from pydantic import ValidationError

from assistant.brief.valued_items import NumberItem, QuantityItem
from assistant.language.tongue import ENGLISH
from assistant.speaking.says import Says

COMMON: dict[str, Any] = {
    "id": "it",
    "ask": "Which?",
    "why": "So.",
    "sources": ("common-practice",),
}
NUMBER = {**COMMON, "kind": "number", "unit": "degrees", "unit_said": ("degrees",)}
QUANTITY = {**COMMON, "kind": "quantity", "unit": "millimetres", "unit_said": ("millimetres",)}


def test_a_decimal_is_wanted_and_said_as_it_was_told() -> None:
    """Seven point five is between seven and eight, and no rounding changes it."""
    tube = QuantityItem(**QUANTITY, wanted_low=7, wanted_high=7.5, decimals=True)

    assert [tube.wants(size) for size in (6.9, 7.0, 7.5, 7.6)] == [False, True, True, False]
    assert tube.spoken(7.5, (), ENGLISH) == "seven point five millimetres"


def test_a_decimal_is_read_back_digit_by_digit(site: Any) -> None:
    """With its point."""
    says: Says = site.wording.says
    heat = NumberItem(**NUMBER, low=30, high=42.5, decimals=True)

    assert heat.read_back(37.2, "", says, ENGLISH) == (
        "I heard thirty-seven point two: three seven point two, degrees. Correct?"
    )


@pytest.mark.parametrize(
    ("what", "allowed"),
    [
        ({"low": 6.5, "high": 9}, "tenths with decimals"),
        ({"low": 6.55, "high": 9, "decimals": True}, "in tenths"),
        ({"low": 6, "high": 120, "decimals": True}, "below 100"),
        (
            {"low": 30, "high": 90, "decimals": True, "sets": "weight_kg"},
            "false where it sets",
        ),
    ],
)
def test_a_range_that_nobody_could_tell_is_refused(what: dict[str, Any], allowed: str) -> None:
    """Each with what would be allowed."""
    with pytest.raises(ValidationError, match=allowed):
        NumberItem(**NUMBER, **what)
