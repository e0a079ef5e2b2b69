"""The shipped profiles are complete, consistent with each other, and within their sources."""

from __future__ import annotations

from dataclasses import fields
from math import pi, sqrt

import pytest

from planner.settings.compatible import compatible
from planner.settings.library import shipped_names
from planner.settings.load import load_filament, load_guideline, load_printer, load_settings
from planner.settings.model import Feature, Level, Settings
from planner.shipped import profiles_dir

PRINTERS = shipped_names("printers")
FILAMENTS = shipped_names("filaments")
SETTINGS = shipped_names("settings")
GUIDELINES = shipped_names("guidelines")


def test_every_kind_is_shipped():
    """The names that the documentation and the sample rely on."""
    assert {"compact_180", "open_frame_220", "enclosed_300"} < set(PRINTERS)
    assert len(PRINTERS) == 5
    assert set(FILAMENTS) == {"pla", "petg", "abs", "asa", "pc", "pa", "tpu"}
    assert {"everyday_020", "sturdy_020", "hefty_020", "brisk_028", "delicate_012"} < set(SETTINGS)
    assert set(GUIDELINES) == {"everyday", "load_bearing"}


@pytest.mark.parametrize("path", sorted(profiles_dir().rglob("*.yaml")), ids=lambda p: p.stem)
def test_every_profile_says_where_its_numbers_come_from(path):
    """A source, "common practice, no source" or "from memory" stands in the file."""
    text = path.read_text(encoding="utf-8")

    assert "no source" in text or "from memory" in text


@pytest.mark.parametrize("name", SETTINGS)
def test_settings_are_complete_and_can_be_printed(name):
    """Each suits its material's ranges, and at least one shipped printer."""
    settings = load_settings(name)
    filament = load_filament(settings.material)

    assert set(settings.speed_mm_s) == set(Feature)
    defaults = {"first_layer_width_mm", "lift_mm", "feature_acceleration_mm_s2"}
    unwritten = {"name", "origin", *defaults}
    keys = {field.name for field in fields(Settings)}
    assert set(settings.origin) | unwritten == keys
    assert filament.nozzle_c[0] <= settings.nozzle_c <= filament.nozzle_c[1]
    assert filament.bed_c[0] <= settings.bed_c <= filament.bed_c[1]
    assert filament.infill[0] <= settings.infill <= filament.infill[1]
    assert settings.flow_max_mm3_s <= filament.flow_max_mm3_s
    assert settings.layer_mm <= 0.8 * settings.nozzle_mm
    assert 1.0 <= settings.line_width_mm / settings.nozzle_mm <= 1.5
    assert any(compatible(load_printer(each), settings, filament) is None for each in PRINTERS)


@pytest.mark.parametrize("name", PRINTERS)
def test_the_corner_speed_is_the_one_its_comment_derives(name):
    """V = sqrt(a d / (sqrt 2 - 1)) for a right angle, d = 0.02 mm, to the digits printed."""
    printer = load_printer(name)
    expected = sqrt(printer.acceleration_max_mm_s2 * 0.02 / (sqrt(2) - 1))

    assert printer.corner_speed_mm_s == pytest.approx(expected, abs=0.051)


# Strand of 1.75 mm, in g per m: pi/4 x 1.75^2 mm2 x density in g/cm3, a closed form.
@pytest.mark.parametrize(
    ("name", "g_per_m"),
    [
        ("pla", 2.983),
        ("petg", 3.055),
        ("abs", 2.501),
        ("asa", 2.574),
        ("pc", 2.886),
        ("tpu", 2.910),
    ],
)
def test_filament_mass_per_metre(name, g_per_m):
    filament = load_filament(name)
    metre_mm3 = 1000 * pi * 1.75**2 / 4

    assert filament.mass_g(metre_mm3) == pytest.approx(g_per_m, abs=0.0006)
    assert filament.length_m(metre_mm3) == pytest.approx(1.0)


# Lowest and highest density in g/cm3, additive.tools material library (pla, petg, pc).
@pytest.mark.parametrize(
    ("name", "low", "high"), [("pla", 1.22, 1.26), ("petg", 1.25, 1.29), ("pc", 1.18, 1.22)]
)
def test_densities_lie_in_the_published_range(name, low, high):
    assert low <= load_filament(name).density_g_cm3 <= high


@pytest.mark.parametrize("name", FILAMENTS)
def test_filaments_are_named_after_their_material(name):
    """So that a job finds the filament of a material that is on no spool."""
    assert load_filament(name).material == name


@pytest.mark.parametrize("name", GUIDELINES)
def test_rules_have_reason_and_source(name):
    for rule in load_guideline(name).rules:
        assert rule.why
        assert rule.source


def test_the_everyday_guideline_asks_what_the_house_asks():
    rules = {rule.key: rule for rule in load_guideline("everyday").rules}

    assert rules["nozzle_mm"].one_of == (0.4,)
    assert rules["layer_mm"].one_of == (0.2,)
    assert rules["walls"].at_least == 3
    assert rules["infill"].usual_of_material
    assert rules["support"].one_of == (False,)
    assert rules["support"].one_of[0] is False
    assert rules["nozzle_c"].usual_of_material


def test_the_load_bearing_guideline_is_stricter_and_keeps_the_rest():
    everyday = {rule.key: rule for rule in load_guideline("everyday").rules}
    strict = {rule.key: rule for rule in load_guideline("load_bearing").rules}

    assert set(strict) == {*everyday, "material"}
    assert strict["layer_mm"] == everyday["layer_mm"]
    assert strict["walls"].at_least == 4
    assert strict["walls"].level is Level.STOP


def test_bases_are_followed_and_origins_remembered():
    settings = load_settings("hefty_petg_020")

    assert (settings.walls, settings.material, settings.layer_mm) == (6, "petg", 0.2)
    assert settings.speed_mm_s[Feature.OUTER_WALL] == 35
    assert settings.speed_mm_s[Feature.TRAVEL] == load_settings("everyday_020").speed_mm_s["travel"]
    assert settings.origin["walls"] == "profile hefty_020"
    assert settings.origin["nozzle_c"] == "profile hefty_petg_020"
    assert settings.origin["layer_mm"] == "profile everyday_020"
