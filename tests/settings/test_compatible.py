"""Why a printer cannot print something, in words, or None if it can."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.settings.compatible import compatible
from planner.settings.load import load_filament, load_printer, load_settings


@pytest.fixture
def printer():
    return load_printer("open_frame_220")


@pytest.fixture
def settings():
    return load_settings("everyday_020")


@pytest.fixture
def pla():
    return load_filament("pla")


def test_what_fits_is_none(printer, settings, pla):
    assert compatible(printer, settings, pla) is None


REASONS = [
    ({"nozzle_mm": 0.6}, {}, {}, "its nozzle is 0.6 mm, not 0.4 mm"),
    ({"materials": ("petg", "asa")}, {}, {}, "it is set up for petg, asa, not for pla"),
    ({}, {"nozzle_c": 261.0}, {}, "its nozzle reaches 260 °C, not 261 °C"),
    ({}, {"bed_c": 101.0}, {}, "its bed reaches 100 °C, not 101 °C"),
    ({}, {}, {"needs_enclosure": True}, "pla needs an enclosed printer"),
]


@pytest.mark.parametrize("case", REASONS, ids=lambda case: case[3])
def test_each_reason_is_told(printer, settings, pla, case):
    of_printer, of_settings, of_filament, reason = case
    printer, settings = replace(printer, **of_printer), replace(settings, **of_settings)

    assert compatible(printer, settings, replace(pla, **of_filament)) == reason


def test_limits_may_be_reached_and_a_closed_case_helps(printer, settings, pla):
    asked = replace(settings, nozzle_c=printer.nozzle_c_max, bed_c=printer.bed_c_max)
    closed = replace(printer, enclosed=True, materials=("pla",))

    assert compatible(closed, asked, replace(pla, needs_enclosure=True)) is None
