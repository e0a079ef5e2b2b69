"""Values: shares of other keys, thicknesses, lists, habits of a file."""

from __future__ import annotations

import pytest


def test_a_width_in_per_cent_is_a_share_of_the_nozzle(full):
    read = full("nozzle bore = 0.6 mm\nline width = 110 %\n").read

    assert read["line_width_mm"].value == pytest.approx(0.66)
    assert read["line_width_mm"].note == "110 % of nozzle_mm"


def test_a_first_layer_in_per_cent_is_a_share_of_the_layer(read):
    """Also where that layer is itself a share of the nozzle: 0.4 x 50 % x 120 %."""
    text = "nozzle = 0.4 mm\nlayer height = 50 %\nfirst layer height = 120 %\n"

    assert read(text)["first_layer_mm"] == pytest.approx(0.24)


def test_a_share_that_comes_out_impossible_is_suspect(full):
    reading = full("nozzle = 0.4 mm\nline width = 1500 %\n")

    assert "line_width_mm" not in reading.read
    assert [each.keys for each in reading.suspect] == [("line_width_mm",)]


THICK = [
    ("wall thickness = 1.35 mm", "walls", 3),  # 1.35 / 0.45
    ("top thickness = 0.8 mm", "top_layers", 4),  # 0.8 / 0.2
    ("bottom thickness = 0.9 mm", "bottom_layers", 4),  # 0.3 + 3 x 0.2
]


@pytest.mark.parametrize(("line", "key", "count"), THICK)
def test_a_thickness_is_counted_where_it_is_whole(line, key, count, read):
    text = "line width = 0.45\nlayer height = 0.2\nfirst layer height = 0.3\n"

    assert read(text + line)[key] == count


def test_a_thickness_never_overrules_a_count(full):
    """The count is read as it is said; that the thickness comes to another one is told."""
    reading = full("layer height = 0.2\ntop layers = 4\ntop thickness = 1 mm\n")

    assert reading.read["top_layers"].value == 4
    assert "comes to 5 top_layers, but line 2 says 4" in reading.ambiguous[0].why


def test_an_angle_from_the_horizontal_is_turned(read):
    """Ours is measured from the vertical."""
    assert read("overhang angle from the horizontal = 50 °\n") == {"overhang_deg": 40}
    assert read("overhang angle from vertical = 50 °\n") == {"overhang_deg": 50}


def test_a_thickness_between_two_counts_names_both(full):
    reading = full("layer height = 0.2\ntop thickness = 0.7 mm\n")

    assert "top_layers" not in reading.read
    assert "3 or 4" in reading.ambiguous[0].why


LISTS = [
    "0.4;0.4",
    "0.4, 0.4",
    "[0.4, 0.4]",
    "0,4;0,4",
    "0.4 | 0.4",
    '"0.4", "0.4"',
    "0.4 mm; 0.4 mm",
]


@pytest.mark.parametrize("value", LISTS)
def test_a_list_of_equal_values_is_one_value(value, read):
    assert read(f"nozzle diameter = {value}") == {"nozzle_mm": 0.4}


def test_a_json_list_of_different_values_is_ambiguous_by_tool(full):
    reading = full('{"nozzle diameter": [0.4, 0.6]}')

    assert not reading.read
    assert "0.4, 0.6" in reading.ambiguous[0].why


@pytest.mark.parametrize("behind", [" ; fine", " # fine", " // fine"])
def test_a_remark_behind_a_value_is_no_part_of_it(behind, read):
    assert read(f"[a]\nlayer height = 0.2{behind}") == {"layer_mm": 0.2}


def test_one_among_fractions_is_the_whole_and_among_per_cents_unsure(read):
    assert read("infill = 0.2\nfan = 1\n") == {"infill": 0.2, "fan": 1.0}
    assert read("infill = 20\nfan = 1\n") == {"infill": 0.2}
    assert read("infill = 20\nfan = 0.5\n") == {"infill": 0.2}


@pytest.mark.parametrize("value", ["nan", "inf", "1e999", "-", "", "0.2.3", "0.2 0.3", "about 0.2"])
def test_what_is_no_number_is_never_one(value, read):
    assert not read(f"layer height = {value}\nwalls = 3\n").get("layer_mm")


@pytest.mark.parametrize(
    ("no", "yes"),
    [("nein", "ja"), ("non", "oui"), ("no", "sí"), ("não", "sim"), ("off", "on"), (0, 1)],
)
def test_switches_speak_many_languages(no, yes, read):
    assert read(f"support = {no}") == {"support": False}
    assert read(f"support = {yes}") == {"support": True}


@pytest.mark.parametrize("value", ["260,260", "210,200"])
def test_a_comma_between_two_tools_is_not_taken_for_a_decimal_mark(value, full):
    """Both 260.26 and 260 twice could be meant: a person decides."""
    reading = full(f"nozzle temperature = {value}\n")

    assert "nozzle_c" not in reading.read
    assert [each.keys for each in reading.ambiguous] == [("nozzle_c",)]
