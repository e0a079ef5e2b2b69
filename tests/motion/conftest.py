"""A printer and a filament for the tests of motion, with round numbers."""

from __future__ import annotations

import pytest

from planner.settings.model import Filament, Printer


@pytest.fixture
def open_frame():
    """Numbers invented for the tests."""
    return Printer(
        name="bench",
        bed_width_mm=220,
        bed_depth_mm=220,
        height_mm=250,
        nozzle_mm=0.4,
        nozzle_c_max=260,
        bed_c_max=100,
        enclosed=False,
        speed_max_mm_s=200,
        acceleration_max_mm_s2=1500,
        corner_speed_mm_s=8,
        flow_max_mm3_s=11,
        power_w=150,
        start_s=300,
        end_s=200,
    )


@pytest.fixture
def pla():
    """Give a strand of 1.75 mm that melts at 15 mm3/s."""
    return Filament(
        name="pla",
        material="PLA",
        density_g_cm3=1.24,
        diameter_mm=1.75,
        nozzle_c=(190, 220),
        bed_c=(20, 60),
        infill=(0.1, 0.2),
        flow_max_mm3_s=15,
        glass_transition_c=60,
        price_per_kg=20,
    )
