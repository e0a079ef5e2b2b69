"""What a job says of money: measured power, wear, and the size of spools to buy."""

from __future__ import annotations

import pytest

from planner.errors import InputError


def test_a_measured_power_stands_in_place_of_the_profile(load, sound):
    """It is the machine's; the profile stays as it is, and is said where nothing was measured."""
    sound["printers"][0] |= {"power_w": 87.5, "wear_per_hour": 0.12}
    machine = load(sound).machines[0]

    assert machine.power_w == 87.5
    assert machine.printer.power_w != 87.5
    assert machine.wear_per_hour == 0.12


def test_what_is_not_said_is_not_made_up(load, sound):
    """Wear is unknown, not 0; the power is the profile's; spools to buy hold a kilogram."""
    job = load(sound)

    assert job.machines[0].wear_per_hour is None
    assert job.machines[0].power_w == job.machines[0].printer.power_w
    assert job.new_spool_g == 1000


@pytest.mark.parametrize(
    ("key", "value"), [("power_w", 0), ("power_w", float("nan")), ("wear_per_hour", -0.1)]
)
def test_money_that_cannot_be_is_refused(load, sound, key, value):
    """A printer without power, one that is no number, and wear that pays."""
    sound["printers"][0][key] = value

    with pytest.raises(InputError, match=key):
        load(sound)


def test_an_empty_spool_to_buy_is_refused(load, sound):
    """No number of them would do."""
    with pytest.raises(InputError, match="new_spool_g"):
        load({**sound, "new_spool_g": 0})
