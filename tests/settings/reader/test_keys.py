"""What single keys are taken for, and above all what they are not taken for."""

from __future__ import annotations

import pytest

TRAPS = [
    "support layer height = 0.3 mm",
    "layer height of support = 0.3",
    "Stützschichthöhe = 0,3 mm",
    "hauteur de couche des supports = 0,3",
    "altura de capa de la balsa = 0.3",
    "max layer height = 0.3",
    "layer height min = 0.08",
    "infill layer height = 0.4",
    "adaptive layer height variation = 0.1",
    "wall speed = 50",
    "Wandgeschwindigkeit = 50 mm/s",
    "raft walls = 2",
    "support walls = 1",
    "outer walls = 1",
    "extra walls = 1",
    "thin walls = 1",
    "thin wall detection = 1",
    "Dünnwanderkennung = 1",
    "layer count = 300",
    "Schichtanzahl = 300",
    "total layers = 300",
    "raft layers = 3",
    "raft top layers = 2",
    "standby temperature = 150",
    "nozzle standby temperature = 150",
    "Düsentemperatur Bereitschaft = 150 °C",
    "first layer nozzle temperature = 215",
    "initial bed temperature = 65",
    "chamber temperature = 45",
    "infill overlap = 15 %",
    "Füllüberlappung = 15 %",
    "recouvrement du remplissage = 15 %",
    "infill wall overlap = 15 %",
    "support density = 15 %",
    "infill density top = 100 %",
    "infill line distance = 2 mm",
    "infill every layers = 2",
    "infill angle = 45 °",
    "wall line width = 0.4",
    "infill line width = 0.4",
    "top line width = 0.4",
    "first layer speed = 20",
    "first layer infill speed = 20",
    "top layer speed = 30",
    "retraction speed = 35 mm/s",
    "retraction length at tool change = 10 mm",
    "extra retraction length = 0.1 mm",
    "retraction minimum travel = 2 mm",
    "z hop speed = 10 mm/s",
    "z offset = 0.05 mm",
    "travel z speed = 10 mm/s",
    "min fan speed = 20 %",
    "bridge fan = 100 %",
    "hot end fan = 100 %",
    "fan first layer = 10 %",
    "fan start layer = 3",
    "brim gap = 0.1 mm",
    "brim lines = 8",
    "prime tower brim width = 3 mm",
    "bed width = 220 mm",
    "nozzle count = 2",
    "filament diameter = 1.75 mm",
    "filament flow = 100 %",
    "max acceleration = 3000",
    "gap fill speed = 20",
    "ironing speed = 20 mm/s",
    "skirt loops = 2",
    "top infill pattern = lines",
    "solid layers = 4",
    "temperature = 210 °C",
    "print speed = 60 mm/s",
]


@pytest.mark.parametrize("line", TRAPS)
def test_a_word_that_changes_the_meaning_is_never_passed_over(line, read):
    """Each is another setting than the one its other words would say, or may be several."""
    assert not read(line)


SAID = [
    ("layer height = 0.2 mm", {"layer_mm": 0.2}),
    ("HeightOfLayer: 0,2mm", {"layer_mm": 0.2}),
    ("LAYER_HEIGHT_UM = 200", {"layer_mm": 0.2}),
    ("lyr-ht [mm] = .2", {"layer_mm": 0.2}),
    ("Schichthöhe = 200 µm", {"layer_mm": 0.2}),
    ("Schichthoehe = 0,02 cm", {"layer_mm": 0.2}),
    ("SCHICHTHÖHE = 0,2", {"layer_mm": 0.2}),
    ("layer = 0.2 mm", {"layer_mm": 0.2}),
    ("first layer = 0.3 mm", {"first_layer_mm": 0.3}),
    ("layer 1 height = 0.3", {"first_layer_mm": 0.3}),
    ("height of layer no. 1 = 0.3", {"first_layer_mm": 0.3}),
    ("Höhe der ersten Schicht = 0,3 mm", {"first_layer_mm": 0.3}),
    ("nozzle = 0.6", {"nozzle_mm": 0.6}),
    ("nozzle = 215", {"nozzle_c": 215}),
    ("hot end = 410 °F", {"nozzle_c": 210}),
    ("nozzle temperature (K) = 483.15", {"nozzle_c": 210}),
    ("bed = 60°", {"bed_c": 60}),
    ("heated bed temp = 60 degC", {"bed_c": 60}),
    ("perimeters = 3", {"walls": 3}),
    ("walls = 3 walls", {"walls": 3}),
    ("number of outlines = 3", {"walls": 3}),
    ("top/bottom layers = 4", {"top_layers": 4, "bottom_layers": 4}),
    ("obere und untere Vollschichten = 4", {"top_layers": 4, "bottom_layers": 4}),
    ("infill = 15", {"infill": 0.15}),
    ("infill = 0.15", {"infill": 0.15}),
    ("Füllgrad = 15 %", {"infill": 0.15}),
    ("infill = gyroid", {"infill_pattern": "gyroid"}),
    ("motif de remplissage = nid d'abeille", {"infill_pattern": "honeycomb"}),
    ("fan = 128 pwm", {"fan": pytest.approx(128 / 255)}),
    ("part cooling fan = off", {"fan": 0}),
    ("feed, outer wall = 1800 mm/min", {"speed_mm_s.outer_wall": 30}),
    ("Innenwandgeschwindigkeit = 50", {"speed_mm_s.inner_walls": 50}),
    ("full fill speed = 40", {"speed_mm_s.solid_fill": 40}),
    ("Fullgrad = 15 %", {}),  # without its dots this word is another one
    ("solid infill speed = 40", {"speed_mm_s.solid_fill": 40}),
    ("infill speed = 60", {"speed_mm_s.sparse_fill": 60}),
    ("travel = 150 mm/s", {"speed_mm_s.travel": 150}),
    ("travel acceleration = 2 m/s²", {"feature_acceleration_mm_s2.travel": 2000}),
    ("acceleration = 1,500", {"acceleration_mm_s2": 1500}),
    ("maximum volumetric flow = 12 mm³/s", {"flow_max_mm3_s": 12}),
    ("minimum layer time = 8", {"layer_time_min_s": 8}),
    ("retraction = 0.8 mm", {"retract_mm": 0.8}),
    ("retraction = off", {"retract_mm": 0}),
    ("z hop = 0.2", {"lift_mm": 0.2}),
    ("Stützen = nein", {"support": False}),
    ("generate support = everywhere", {"support": True}),
    ("overhang angle = 45", {"overhang_deg": 45}),
    ("brim = 5 mm", {"brim_mm": 5}),
    ("brim = no", {"brim_mm": 0}),
    ("bead section = stadium", {"bead": "stadium"}),
    ("filament type = PETG", {"material": "petg"}),
]


@pytest.mark.parametrize(("line", "expected"), SAID)
def test_order_case_language_and_unit_do_not_matter(line, expected, read):
    assert read(line) == expected


AMBIGUOUS = [
    ("wall speed = 50", {"speed_mm_s.outer_wall", "speed_mm_s.inner_walls"}, ""),
    ("solid layers = 4", {"top_layers", "bottom_layers"}, ""),
    ("temperature = 210", {"nozzle_c", "bed_c"}, ""),
    ("infill = 1", {"infill"}, "1 may be 1 % or the whole"),
    ("nozzle temperature = 210;215", {"nozzle_c"}, "differs from tool to tool"),
    ("line width = 110 %", {"line_width_mm"}, "a share of nozzle_mm, which was not read"),
    ("wall thickness = 1.2 mm", {"walls"}, "a thickness, and line_width_mm was not read"),
    ("layer height = 0.2\nheight of layer = 0.3", {"layer_mm"}, "different values (lines 1, 2)"),
    ("layer height = 0.2\nlayer height = 0.3", {"layer_mm"}, "different values (lines 1, 2)"),
]


@pytest.mark.parametrize(("line", "keys", "why"), AMBIGUOUS)
def test_two_candidates_are_named_and_none_is_chosen(line, keys, why, full):
    reading = full(line)

    assert not reading.read
    assert {key for each in reading.ambiguous for key in each.keys} == keys
    assert all(why in each.why for each in reading.ambiguous)


SUSPECT = [
    ("layer height = 200", "layer_mm", "200 is outside 0.02 to 1.5"),
    ("layer height = -0.2", "layer_mm", "outside"),
    ("nozzle temperature = 2150", "nozzle_c", "outside"),
    ("walls = 2.5", "walls", "no whole number"),
    ("infill = 150 %", "infill", "outside"),
    ("fan = 50 rpm", "fan", "50 rpm is no share"),
    ("layer height = 0.2 °C", "layer_mm", "is no length"),
    ("support = 45", "support", "45 is no switch"),
    ("infill speed = 50 %", "speed_mm_s.sparse_fill", "is no speed"),
]


@pytest.mark.parametrize(("line", "key", "why"), SUSPECT)
def test_a_value_that_cannot_be_is_told_and_not_read(line, key, why, full):
    reading = full(line)

    assert not reading.read
    assert [each.keys for each in reading.suspect] == [(key,)]
    assert why in reading.suspect[0].why


def test_an_unknown_word_makes_a_suggestion_only(full):
    """The other words would say the layer height; the unknown one may change that."""
    (suggestion,) = full("zorp layer height = 0.2").suggested

    assert suggestion.keys == ("layer_mm",)
    assert "zorp" in suggestion.why


def test_a_slip_of_a_word_is_named(full):
    (suggestion,) = full("infil density = 20 %").suggested

    assert "did you mean infill?" in suggestion.why


def test_a_mark_that_most_keys_carry_is_no_qualifier(read):
    """Six keys that begin with a program's own sign are read as without it."""
    lines = ["layer_height = 0.2", "wall_count = 3", "infill = 20", "bed_temp = 60"]
    lines += ["nozzle_temp = 210", "brim_width = 3"]

    assert len(read("".join(f"qzv_{line}\n" for line in lines))) == 6


def test_the_name_of_the_whole_is_no_qualifier(read):
    """But one that says whose the settings are (the support's) still is."""
    inside = '"layer height": 0.2, "walls": 3, "infill": 20, "bed temp": 60, "brim width": 3'
    one = f'{{"qzv profile": {{{inside}, "nozzle temp": 210}}}}'

    assert len(read(one)) == 6
    assert len(read(one.replace("qzv profile", "nozzle profile"))) == 6
    assert not read(one.replace("qzv profile", "support"))
