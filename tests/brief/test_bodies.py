"""Bodies that hardly exist, and light ones that may be a child's."""

import pytest


def tags(lines):
    """What each line is."""
    return [line.tag for line in lines]


def test_a_height_that_does_not_fit_the_weight_is_called_unusual(table):
    """125 kg at 130 cm is an index of 74: said before the read-back, which awaits its yes."""
    table.tell("weight", kilograms=125.0)
    said = table.hear("height", centimetres=130.0)
    assert said[-1].tag == "read-back"
    assert said[-1].text.startswith(
        "That is unusual with one hundred and twenty-five kilograms. I heard one hundred and "
        "thirty:"
    )


def test_a_weight_that_does_not_fit_the_height_is_called_unusual(table):
    """35 kg at 190 cm is an index of 10."""
    table.tell("height", centimetres=190.0)
    said = table.hear("weight", kilograms=35.0)
    assert said[-1].text.startswith("That is unusual with one hundred and ninety centimetres.")


@pytest.mark.parametrize(("kilograms", "centimetres"), [(72.0, 172.0), (125.0, 142.0)])
def test_other_bodies_are_not(table, kilograms, centimetres):
    """An index of 24, and one of 62."""
    table.tell("weight", kilograms=kilograms)
    assert table.hear("height", centimetres=centimetres)[-1].text.startswith("I heard")


def test_no_dose_for_a_light_patient_without_the_age(table):
    """40 kg may be a child's: the age is asked for, and with an adult's the dose is told."""
    table.tell("weight", kilograms=40.0)
    said = table.hear("dose", drug="ketamine")
    assert said[0].text == "Below forty-five kilograms I need the age first. Tell me the age."
    assert tags(table.hear("dose", drug="ketamine", weight_kg=35.0)) == ["no-age"]
    table.tell("age", years=81.0)
    assert tags(table.hear("dose", drug="ketamine")) == ["dose"]


def test_a_child_s_age_gives_no_dose(table):
    """Twelve years are refused, and are not asked for again: a dose is refused for them."""
    table.tell("weight", kilograms=40.0)
    assert tags(table.hear("dose", drug="ketamine")) == ["no-age"]
    assert "out-of-range" in tags(table.hear("age", years=12.0))
    said = table.hear("dose", drug="ketamine")
    assert tags(said) == ["dose-refused"]
    assert "an age from eighteen" in said[0].text
